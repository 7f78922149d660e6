"""The whole job is done on drawings and photographs that nobody made for it, and `verify` reads the result back."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pypdfium2 as pdfium
import pytest
from PIL import Image
from skimage import data

from chartmaker.figures.reckoning import figures_of
from chartmaker.ground.errors import ArtworkError, CardError, SheetError
from chartmaker.jobs import making as job
from chartmaker.jobs.outputs import put_chart
from chartmaker.jobs.reading import read_font
from chartmaker.jobs.yarnareas import yarn_areas
from chartmaker.order.rugfile import from_tables
from chartmaker.order.workshop import Workshop
from chartmaker.verify.folder import verify_folder

ROOT = Path(__file__).parents[2]
#: Public-domain ornament (its source is in fixtures/drawings) and two photographs that come with scikit-image.
DRAWINGS = sorted((ROOT / "fixtures" / "drawings").glob("*.png"))
PHOTOGRAPHS = ("astronaut", "coffee")


def make(artwork: Path, out: Path, **design: object) -> job.Made:
    with Image.open(artwork) as picture:
        width, height = picture.size
    columns = 42
    tables = {
        "rug": {
            "width": f"{columns * 4} mm",
            "length": f"{columns * 4 * height / width:.3f} mm",
            "density": "25x30 per dm",
        },
        "design": {"artwork": str(artwork), **design},
        "yarns": {"card": str(ROOT / "examples" / "osmerfold_wool.csv"), "colours": 9},
        "chart": {"paper": "A3"},
    }
    order = from_tables(tables, where="the test")
    return job.make(order, out, replace=False)


@pytest.mark.parametrize("name", [*(path.stem for path in DRAWINGS), *PHOTOGRAPHS])
def test_real_artwork_becomes_a_set_that_verify_proves(tmp_path: Path, name: str) -> None:
    artwork = ROOT / "fixtures" / "drawings" / f"{name}.png"
    if name in PHOTOGRAPHS:
        artwork = tmp_path / f"{name}.png"
        Image.fromarray(getattr(data, name)()).save(artwork)
    made = make(artwork, tmp_path / "set")
    knot_map = made.converted.conversion.knot_map
    assert made.converted.conversion.style.style == ("shaded" if name in PHOTOGRAPHS else "flat")
    assert knot_map.empty == 0
    assert len(knot_map.yarns) <= 9
    assert np.bincount(knot_map.knots.ravel()).min() > 0
    verdict = verify_folder(tmp_path / "set")
    assert verdict.knot_map.sha256 == made.summary["map"]["sha256"]
    assert not verdict.differences


def test_what_only_the_artwork_tells_is_settled_on_the_cover(tmp_path: Path) -> None:
    """Whoever approves the chart signs its cover, and may never see summary.json."""
    artwork = tmp_path / "art.png"
    picture = np.full((80, 60, 3), (235, 225, 205), dtype=np.uint8)
    picture[20:60, 15:45] = (120, 40, 40)
    Image.fromarray(picture).save(artwork)
    tables = {
        "rug": {"width": "20 cm", "length": "29 cm", "density": "20x20 per dm"},
        "design": {"artwork": str(artwork), "fit": "stretch"},
        "yarns": {"colours": 2},
    }
    order = from_tables(tables, where="the test")
    made = job.make(order, tmp_path / "set", replace=False)
    (said,) = (each.what for each in made.findings if "circles become ovals" in each.what)
    cover = pdfium.PdfDocument(tmp_path / "set" / "chart.pdf")[0].get_textpage().get_text_range()
    assert f"To settle before weaving artwork: {said}" in " ".join(cover.split())
    assert not verify_folder(tmp_path / "set").differences
    with (tmp_path / "set" / "chart.pdf").open("wb") as stream:
        put_chart(stream, figures_of(made.converted.conversion.knot_map, order.workshop), None, remarks=())
    found = [each.what for each in verify_folder(tmp_path / "set").differences if each.file == "chart.pdf"]
    assert any("what is to be settled: artwork" in words for words in found)


def test_a_photograph_in_an_ellipse_mirrored(tmp_path: Path) -> None:
    artwork = tmp_path / "coffee.jpg"
    Image.fromarray(data.coffee()).save(artwork, quality=92)
    order = from_tables(
        {
            "rug": {"size": "21x16 cm", "density": "9/60 indian", "shape": "ellipse"},
            "design": {"artwork": str(artwork), "fit": "crop", "mirror": "both", "stipple": 0.5},
            "yarns": {"colours": 6},
        },
        where="the test",
    )
    made = job.make(order, tmp_path / "set", replace=False)
    knots = made.converted.conversion.knot_map.knots
    assert made.summary["map"]["empty"] > 0
    assert (knots == knots[::-1]).all()
    assert (knots == knots[:, ::-1]).all()
    assert not verify_folder(tmp_path / "set").differences


def test_an_order_that_lacks_something_is_refused_with_what_is_missing(tmp_path: Path) -> None:
    Image.fromarray(data.coffee()).save(tmp_path / "coffee.png")
    rug = {"rug": {"size": "6x4 cm", "density": "25x30 per dm"}}
    with pytest.raises(ArtworkError, match=r"no artwork: give \[design\] artwork"):
        job.convert_order(from_tables(rug | {"yarns": {"colours": 3}}, where="the test"))
    artwork = {"design": {"artwork": str(tmp_path / "coffee.png"), "fit": "crop"}}
    with pytest.raises(CardError, match=r"no yarn card: give .* \[yarns\] colours"):
        job.convert_order(from_tables(rug | artwork, where="the test"))
    assert job.convert_order(from_tables(rug | artwork | {"yarns": {"colours": 3}}, where="the test")).conversion.dyed


def test_the_workshop_s_font_is_read_from_beside_the_rug_file(tmp_path: Path) -> None:
    (tmp_path / "own.ttf").write_bytes(b"letters")
    assert read_font(Workshop(), tmp_path) is None
    assert read_font(Workshop.model_validate({"chart": {"font": "own.ttf"}}), tmp_path) == b"letters"
    with pytest.raises(SheetError, match=r"other\.ttf.*cannot read the font of \[chart\] font: No such file"):
        read_font(Workshop.model_validate({"chart": {"font": "other.ttf"}}), tmp_path)


def test_a_yarn_has_the_same_symbol_in_two_rugs_of_one_card_and_a_dyed_shade_has_one_too(tmp_path: Path) -> None:
    rng = np.random.default_rng(8)
    Image.fromarray(np.kron(rng.integers(0, 256, (4, 4, 3)), np.ones((9, 9, 1))).astype(np.uint8)).save(
        tmp_path / "blocks.png"
    )
    card = {"card": str(ROOT / "examples" / "osmerfold_wool.csv")}
    found = []
    for yarns in ({**card, "colours": 9}, {**card, "colours": 4}, {"colours": 5}):
        tables = {
            "rug": {"size": "9x9 cm", "density": "40x40 per dm"},
            "design": {"artwork": str(tmp_path / "blocks.png")},
            "yarns": yarns,
        }
        converted = job.convert_order(from_tables(tables, where="the test"))
        found.append({yarn.code: yarn.symbol for yarn in converted.conversion.knot_map.yarns})
    shared = set(found[0]) & set(found[1])
    assert len(shared) >= 2
    assert all(found[0][code] == found[1][code] for code in shared)
    assert None not in found[2].values()
    assert len(set(found[2].values())) == 5


def painting_in_a_frame(folder: Path) -> dict[str, dict[str, object]]:
    """Write a photograph in a flat frame and a mask of the photograph; return tables for a rug file without regions."""
    srgb = np.full((150, 150, 3), (40, 90, 160), dtype=np.uint8)
    srgb[8:-8, 8:-8] = (250, 245, 230)
    srgb[16:-16, 16:-16] = (40, 90, 160)
    srgb[30:-30, 30:-30] = np.asarray(Image.fromarray(data.coffee()).resize((90, 90)))
    mask = np.zeros((150, 150), dtype=np.uint8)
    mask[30:-30, 30:-30] = 255
    Image.fromarray(srgb).save(folder / "framed.png")
    Image.fromarray(mask).save(folder / "mask.png")
    return {
        "rug": {"size": "20x20 cm", "density": "25x25 per dm"},
        "design": {"artwork": str(folder / "framed.png"), "style": "flat"},
        "yarns": {"card": str(ROOT / "examples" / "osmerfold_wool.csv"), "colours": 9},
    }


def test_an_order_with_regions_becomes_a_set_that_verify_proves(tmp_path: Path) -> None:
    tables = painting_in_a_frame(tmp_path)
    regions = [{"box": [0, 0, 8, 150], "tidy": 0}, {"mask": str(tmp_path / "mask.png"), "style": "shaded"}]
    order = from_tables({**tables, "region": regions}, where="the test")
    assert tmp_path / "mask.png" in order.inputs
    made = job.make(order, tmp_path / "set", replace=False)
    assert made.summary["conversion"]["style"] == "mixed"
    told = made.summary["conversion"]["regions"]
    assert [(region["number"], region["style"]) for region in told] == [(1, "flat"), (2, "shaded")]
    assert told[1]["knots"] == 30 * 30
    assert sorted(made.summary["files"]["read"]) == ["artwork", "card", "mask 2"]
    assert not verify_folder(tmp_path / "set").differences
    boxed = [{"box": [30, 30, 120, 120], "style": "shaded"}]
    other = job.convert_order(from_tables({**tables, "region": boxed}, where="the test"))
    assert other.conversion.knot_map.sha256 == made.summary["map"]["sha256"]


def test_a_tufted_rug_is_drawn_by_regions(tmp_path: Path) -> None:
    """The fields of the frame have its two inks and no more, while those of the photograph have others."""
    tables = painting_in_a_frame(tmp_path)
    tables["rug"] |= {"technique": "tufted"}
    inner = {"box": [30, 30, 120, 120], "style": "shaded"}
    order = from_tables({**tables, "region": [inner]}, where="the test")
    conversion = job.convert_order(order).conversion
    areas = yarn_areas(conversion, order.design, order.regions)
    assert areas.shape == (150, 150)
    assert len(np.unique(areas[30:120, 30:120])) > 3
    frame = areas.copy()
    frame[30:120, 30:120] = areas[0, 0]
    assert set(np.unique(frame)) == {areas[0, 0], areas[10, 10]}
