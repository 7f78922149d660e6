"""The command `sizes` makes one design in every size of its rug file, and `make` and `knot` take fit = "relay"."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from support.framed import fixed

RUG = """[rug]
name = "Small frame"
size = "25x35 cm"
density = "20x20 per dm"
[design]
artwork = "design.png"
[yarns]
card = "wool.csv"
[sizes]
of = {sizes}
"""
CARD = """code,name,colour
R1,Madder,#961e22
B1,Indigo,#18285c
W1,Ivory,#ece0c4
G1,Olive,#60783c
O1,Ochre,#cc963c
K1,Umber,#281e1c
"""


def rug_file(folder: Path, sizes: list[str]) -> Path:
    Image.fromarray(fixed("medallion").artwork.srgb).save(folder / "design.png")
    (folder / "wool.csv").write_text(CARD)
    (folder / "rug.toml").write_text(RUG.format(sizes=json.dumps(sizes)))
    return folder / "rug.toml"


def test_each_size_is_a_set_and_all_are_on_one_page(tmp_path: Path, chartmaker: Callable[..., Any]) -> None:
    rug = rug_file(tmp_path, ["25x35 cm", "30x45 cm"])
    done = chartmaker("sizes", rug, "--out", tmp_path / "sizes")
    assert (done.code, done.err) == (0, "")
    small, large = (tmp_path / "sizes" / name for name in ("rug-25x35-cm", "rug-30x45-cm"))
    assert (tmp_path / "sizes" / "collection.html").is_file()
    told = [json.loads((folder / "summary.json").read_text()) for folder in (small, large)]
    widths = [[band["width_knots"] for band in each["layout"]["bands"]] for each in told]
    assert widths[0] == widths[1]
    repeats = [
        [band["sides"]["bottom"]["repeats"] for band in each["layout"]["bands"] if band["sides"]["bottom"]]
        for each in told
    ]
    assert repeats[1][0] > repeats[0][0]
    for folder in (small, large):
        verified = chartmaker("verify", folder)
        assert verified.code == 0, verified.out + verified.err
    again = chartmaker("sizes", rug, "--out", tmp_path / "sizes")
    assert "2 sets are already there." in again.out


def test_a_rug_file_without_sizes_is_refused_in_one_message(tmp_path: Path, chartmaker: Callable[..., Any]) -> None:
    done = chartmaker("sizes", rug_file(tmp_path, []), "--out", tmp_path / "sizes")
    assert done.code == 3 and "no sizes" in done.err and not (tmp_path / "sizes").exists()


def test_a_size_that_does_not_come_out_leaves_the_others_alone(tmp_path: Path, chartmaker: Callable[..., Any]) -> None:
    done = chartmaker("sizes", rug_file(tmp_path, ["25x35 cm", "9x12 cm"]), "--out", tmp_path / "sizes", "--json")
    assert done.code == 10
    states = {each["name"]: each["state"] for each in json.loads(done.out)["sets"]}
    assert states == {"rug-25x35-cm": "made", "rug-9x12-cm": "failed"}


def test_regions_and_relay_do_not_go_together(tmp_path: Path, chartmaker: Callable[..., Any]) -> None:
    rug = rug_file(tmp_path, [])
    rug.write_text(rug.read_text() + '[[region]]\nbox = [0, 0, 50, 50]\nstyle = "flat"\n')
    done = chartmaker("knot", rug, "--fit", "relay", "--out", tmp_path / "knots.png")
    assert done.code == 3 and "leave one of them out" in done.err


def test_a_proof_asks_how_the_artwork_lies(tmp_path: Path, chartmaker: Callable[..., Any]) -> None:
    rug = rug_file(tmp_path, [])
    assert chartmaker("knot", rug, "--fit", "relay", "--out", tmp_path / "knots.png").code == 0
    design = tmp_path / "design.png"
    done = chartmaker(
        "proof", tmp_path / "knots.png", "--artwork", design, "--fit", "relay", "--out", tmp_path / "proof.html"
    )
    assert done.code == 5 and "stretch, crop or pad" in done.err


@pytest.mark.parametrize(
    ("craft", "density", "paper"),
    [("tufted", "20x20 per dm", "pattern.pdf"), ("knotted", "30x24 per dm", "chart.pdf")],
)
def test_another_craft_and_another_density_keep_the_borders(
    craft: str, density: str, paper: str, tmp_path: Path, chartmaker: Callable[..., Any]
) -> None:
    """A border drawn 4.5 cm wide with repeats of 5 cm keeps both, to half a knot (common practice of designers)."""
    rug = rug_file(tmp_path, ["25x35 cm", "36x52 cm"])
    rug.write_text(rug.read_text().replace('density = "20x20 per dm"', f'density = "{density}"\ntechnique = "{craft}"'))
    done = chartmaker("sizes", rug, "--out", tmp_path / "sizes")
    assert (done.code, done.err) == (0, "")
    across, along = (float(number) for number in density.removesuffix(" per dm").split("x"))
    repeats = []
    for folder in sorted((tmp_path / "sizes").glob("rug-*")):
        told = json.loads((folder / "summary.json").read_text())
        assert (folder / paper).is_file() and told["rug"]["technique"] == craft
        for side, per_dm in (("left", across), ("top", along)):
            knots = sum(band["width_knots"][side] for band in told["layout"]["bands"])
            assert abs(knots - 45 * per_dm / 100) <= 1.5  # there are three bands, and each may be off by half a knot
        own = next(band["sides"] for band in told["layout"]["bands"] if band["sides"]["bottom"])
        assert abs(own["bottom"]["repeat_knots"] - 50 * across / 100) <= 0.5
        assert abs(own["left"]["repeat_knots"] - 50 * along / 100) <= 0.5
        repeats.append(own["left"]["repeats"])
        assert chartmaker("verify", folder).code == 0
    assert repeats[1] > repeats[0]


def test_a_design_that_is_laid_anew_is_not_called_stretched(tmp_path: Path, chartmaker: Callable[..., Any]) -> None:
    rug = rug_file(tmp_path, ["25x35 cm"])
    rug.write_text(rug.read_text().replace("20x20 per dm", "20x27 per dm").replace("[yarns]", 'fit = "relay"\n[yarns]'))
    done = chartmaker("check", rug, "--size", "30x45 cm")
    assert done.code == 0 and "stretched" not in done.out, done.out
