"""`pattern`, and the set of a tufted rug: read back by pdftoppm and Pillow, by pdfium, and held by `verify`."""

from __future__ import annotations

import json
import re
import subprocess
import xml.etree.ElementTree as ET
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image, ImageDraw

Run = Callable[..., Any]
CARD = "code,name,colour\nR1,Madder,#a02820\nB1,Indigo,#202c60\nW1,Ivory,#f0e8d8\nG1,Olive,#707030\n"
COLOURS = {"W1": "#f0e8d8", "R1": "#a02820", "B1": "#202c60", "G1": "#707030"}
RUG = """[rug]
name = "Heron"
size = "60x80 cm"
density = "25x25 per dm"
technique = "tufted"
[design]
artwork = "art.png"
[yarns]
card = "wool.csv"
"""


@pytest.fixture(scope="module")
def rug(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A tufted rug with an unsymmetric figure, a thin line and a specks of a few tufts."""
    folder = tmp_path_factory.mktemp("tufted")
    (folder / "wool.csv").write_text(CARD)
    (folder / "rug.toml").write_text(RUG)
    picture = Image.new("RGB", (600, 800), COLOURS["W1"])
    pen = ImageDraw.Draw(picture)
    pen.rectangle((20, 20, 579, 779), outline=COLOURS["R1"], width=24)
    pen.ellipse((90, 120, 330, 420), fill=COLOURS["B1"])
    pen.polygon(((300, 250), (520, 200), (330, 330)), fill=COLOURS["G1"])
    pen.line((200, 420, 260, 700), fill=COLOURS["R1"], width=7)
    pen.rectangle((400, 500, 403, 503), fill=COLOURS["B1"])
    picture.save(folder / "art.png")
    return folder / "rug.toml"


@pytest.fixture(scope="module")
def made(rug: Path) -> Path:
    from chartmaker.jobs import make, read_order

    make(read_order(rug), rug.parent / "set")
    return rug.parent / "set"


def artwork(rug: Path) -> np.ndarray:
    return np.asarray(Image.open(rug.parent / "art.png").convert("RGB"))


def test_the_set_of_a_tufted_rug_is_what_a_tufter_works_from(made: Path) -> None:
    names = {path.name for path in made.iterdir()}
    assert names == {
        *("knots.png", "pattern.pdf", "guide.pdf", "pattern.svg", "yarns.csv", "proof.png", "proof.html"),
        "summary.json",
    }
    summary = json.loads((made / "summary.json").read_text())
    assert summary["pattern"]["merged_fields"] == 1
    assert any("too small to be tufted" in finding["what"] for finding in summary["findings"])
    # by area and by knots the yarns have the same shares, to the edges of the knots
    total = sum(summary["pattern"]["area_m2"].values())
    assert total == pytest.approx(0.48, rel=1e-3)
    for yarn in summary["yarns"]:
        assert summary["pattern"]["area_m2"][yarn["code"]] / total == pytest.approx(yarn["share"], abs=0.005)


def test_the_svg_filled_by_a_browser_s_rule_is_the_artwork_mirrored(made: Path, rug: Path) -> None:
    """Pillow fills the paths (even-odd); 99.5 % of the area must be in its yarn."""
    root = ET.parse(made / "pattern.svg").getroot()
    assert (root.get("width"), root.get("height")) == ("600.000mm", "800.000mm")
    fine = 2
    picture = np.zeros((800 * fine, 600 * fine, 3), np.uint8)
    for path in root.iter("{http://www.w3.org/2000/svg}path"):
        inside = np.zeros(picture.shape[:2], dtype=bool)
        for part in path.get("d", "").split("M")[1:]:
            at = np.array(re.findall(r"[\d.]+", part), float).reshape(-1, 2) * fine - 0.5
            one = Image.new("1", picture.shape[1::-1])
            ImageDraw.Draw(one).polygon([tuple(p) for p in at.tolist()], fill=1)
            inside ^= np.asarray(one)
        colour = path.get("fill", "")
        assert colour == COLOURS[path.get("data-yarn", "")]
        picture[inside] = [int(colour[i : i + 2], 16) for i in (1, 3, 5)]
    due = artwork(rug)[:, ::-1].repeat(fine, 0).repeat(fine, 1)
    assert (picture == due).all(axis=2).mean() >= 0.995


def test_the_printed_edges_lie_where_the_colours_change_and_nowhere_else(rug: Path, chartmaker: Run) -> None:
    """Rendered by poppler at 2 pixels a millimetre: true to scale, mirrored, no edge too many and none too few."""
    from scipy.ndimage import distance_transform_edt

    folder = rug.parent / "poppler"
    folder.mkdir()
    assert chartmaker("pattern", rug, "--roll", "36 in", "--out", folder / "pattern.pdf", "--quiet").code == 0
    subprocess.run(["pdftoppm", "-r", "50.8", "-png", "-singlefile", "pattern.pdf", "page"], cwd=folder, check=True)
    page = np.asarray(Image.open(folder / "page.png").convert("RGB"))
    low, left = 30 * 2, 18 * 2  # what stands round the drawing, in pixels
    blue = page[page.shape[0] - low - 1602 : page.shape[0] - low + 2, left - 2 : left + 1202, 2]
    edges = blue < 200  # all but edges is printed in full blue
    rows, columns = np.flatnonzero(edges.any(1)), np.flatnonzero(edges.any(0))
    assert rows[-1] - rows[0] == pytest.approx(1600, abs=2.5) and columns[-1] - columns[0] == pytest.approx(
        1200, abs=2.5
    )
    due = np.pad(artwork(rug)[:, ::-1].repeat(2, 0).repeat(2, 1), ((2, 2), (2, 2), (0, 0)))
    changes = np.zeros(edges.shape, dtype=bool)
    changes[1:] |= (due[1:] != due[:-1]).any(2)
    changes[:, 1:] |= (due[:, 1:] != due[:, :-1]).any(2)
    far = distance_transform_edt(~changes)[edges]
    assert far.max() <= 2 * 1.5 + 1.5  # the tolerance, and half an edge
    speck = changes.copy()
    speck[995:1012, 380:405] = False  # the speck of a few tufts, which is merged
    assert distance_transform_edt(~edges)[speck].max() <= 2 * 1.5 + 1.5


@pytest.mark.parametrize(("options", "pages"), [((), 9), (("--side", "front"), 9)])
def test_a_pattern_can_be_drawn_again_from_the_order(
    rug: Path, chartmaker: Run, options: tuple[str, ...], pages: int
) -> None:
    out = rug.parent / f"p{len(options)}{pages}"
    out.mkdir(exist_ok=True)
    result = chartmaker("pattern", rug, *options, "--out", out / "pattern.pdf", "--replace", "--json")
    assert result.code == 0
    assert json.loads(result.out)["sheets"] == pages
    assert sorted(path.name for path in out.iterdir()) == ["guide.pdf", "pattern.pdf", "pattern.svg"]


def test_a_knot_map_can_be_traced_as_well(made: Path, chartmaker: Run) -> None:
    assert chartmaker("pattern", made / "knots.png", "--out", made.parent / "of-knots.pdf", "--quiet").code == 0


@pytest.mark.parametrize("roll", ["10 cm", "9 m"])
def test_an_impossible_roll_is_refused(rug: Path, chartmaker: Run, roll: str) -> None:
    result = chartmaker("pattern", rug, "--roll", roll, "--out", rug.parent / "never.pdf")
    assert result.code == 3 and "24 to 160 inch" in result.err


def test_verify_proves_the_papers_of_a_tufted_rug(made: Path, chartmaker: Run) -> None:
    result = chartmaker("verify", made)
    assert result.code == 0, result.out
    assert "pattern.pdf" in result.out


def fault_of(made: Path, tmp_path: Path, name: str, change: Callable[[Any], Any]) -> list[str]:
    """Draw a file of the set anew from a changed drawing, and return what `verify` finds in it."""
    import io

    from chartmaker.figures.reckoning import figures_of
    from chartmaker.jobs import read_map
    from chartmaker.jobs.drawn import drawing_of_map, pattern_writers
    from chartmaker.verify import patterns

    found = read_map(made / "knots.png")
    stream = io.BytesIO()
    drawing = change(drawing_of_map(found))
    pattern_writers(drawing, figures_of(found.knot_map, found.workshop), None)[name](stream)
    expected = patterns.expected_pattern(found.knot_map, found.workshop)
    readers = {"pattern.pdf": patterns.pattern_differences, "pattern.svg": patterns.svg_differences}
    return list((readers | {"guide.pdf": patterns.guide_differences})[name](stream.getvalue(), expected))


@pytest.mark.parametrize("name", ["pattern.pdf", "pattern.svg"])
def test_verify_finds_a_pattern_that_was_not_turned_over(made: Path, tmp_path: Path, name: str) -> None:
    from dataclasses import replace

    from chartmaker.sheets.pattern.drawing import turned_over

    faults = fault_of(made, tmp_path, name, lambda drawing: replace(drawing, outlines=turned_over(drawing.outlines)))
    assert any("another yarn" in fault for fault in faults)
    assert not fault_of(made, tmp_path, name, lambda drawing: drawing)


def test_verify_finds_numbers_that_are_exchanged(made: Path, tmp_path: Path) -> None:
    from dataclasses import replace

    def exchanged(drawing: Any) -> Any:
        numbers = {0: 1, 1: 0}
        rings = tuple((numbers.get(label, label), rings) for label, rings in drawing.outlines.rings)
        return replace(drawing, outlines=replace(drawing.outlines, rings=rings))

    assert any("another yarn" in fault for fault in fault_of(made, tmp_path, "pattern.pdf", exchanged))


def test_verify_finds_a_number_left_out_and_a_guide_of_other_yarns(made: Path, tmp_path: Path) -> None:
    from dataclasses import replace

    def without(drawing: Any) -> Any:
        return replace(drawing, outlines=replace(drawing.outlines, numbers=drawing.outlines.numbers[1:]))

    assert any("has no number" in fault for fault in fault_of(made, tmp_path, "pattern.pdf", without))
    turned = fault_of(made, tmp_path, "guide.pdf", lambda drawing: replace(drawing, yarns=drawing.yarns[::-1]))
    assert any(re.search(r"number 1 is \w+, not", fault) for fault in turned)
