"""A free pattern on a hand loom's bands gives both papers, and poppler renders the pattern as it was drawn."""

from __future__ import annotations

import csv
import json
import re
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw
from scipy.ndimage import label

from chartmaker.jobs import make, read_order, shown_artwork, verify_folder, write_pattern
from chartmaker.verify.artworks import Shown
from chartmaker.verify.difference import Difference

CARD = "code,name,colour\nR1,Madder,#a02820\nB1,Indigo,#202c60\nW1,Ivory,#f0e8d8\nG1,Olive,#707030\n"
RUG = """[rug]
name = "Meadow"
size = "40x60 cm"
density = "25x25 per dm"
technique = "hand-loomed"
[design]
artwork = "art.png"
[yarns]
card = "wool.csv"
[loom]
shrinkage_along = 0
shrinkage_across = 0
[pattern]
roll = "24 in"
"""
#: A pixel of the artwork is a millimetre. A disc lies across the edge of two bands, and a triangle within one.
DISC, TRIANGLE = (60, 380, 159, 479), ((250, 120), (360, 150), (260, 230))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("inlaid")
    (folder / "wool.csv").write_text(CARD)
    picture = Image.new("RGB", (400, 600), "#f0e8d8")
    pen = ImageDraw.Draw(picture)
    pen.rectangle((0, 420, 399, 599), fill="#202c60")
    pen.rectangle((0, 40, 399, 59), fill="#202c60")
    picture.save(folder / "plain.png")
    pen.ellipse(DISC, fill="#a02820")
    pen.polygon(TRIANGLE, fill="#707030")
    picture.save(folder / "art.png")
    (folder / "rug.toml").write_text(RUG)
    (folder / "plain.toml").write_text(RUG.replace("art.png", "plain.png"))
    return folder


@pytest.fixture(scope="module")
def made(folder: Path) -> Path:
    make(read_order(folder / "rug.toml"), folder / "set")
    return folder / "set"


def test_the_set_has_the_bands_and_the_pattern_of_what_is_tufted_in(made: Path) -> None:
    names = {path.name for path in made.iterdir()}
    assert {"bands.pdf", "bands.csv", "pattern.pdf", "guide.pdf", "pattern.svg"} <= names
    bands = list(csv.DictReader((made / "bands.csv").open()))
    assert [(band["code"], int(band["lines"])) for band in bands] == [("B1", 45), ("W1", 90), ("B1", 5), ("W1", 10)]
    pattern = json.loads((made / "summary.json").read_text())["pattern"]
    assert sorted(pattern["numbers"].values()) == ["G1", "R1"]  # the bands need no number
    assert pattern["area_m2"]["R1"] == pytest.approx(np.pi / 4 * 0.1**2, rel=0.01)  # the field of the circle
    # the field of the triangle
    assert pattern["area_m2"]["G1"] == pytest.approx(0.5 * 0.11 * 0.11 - 0.5 * 0.01 * 0.03, rel=0.02)
    assert verify_folder(made).differences == ()


def test_the_pattern_of_what_is_tufted_in_is_held_against_the_artwork_too(
    folder: Path, made: Path, tmp_path: Path
) -> None:
    """Of a disc drawn 3 mm smaller, which is less than a knot, the map knows nothing."""
    shown = shown_artwork(read_order(folder / "rug.toml"))
    assert verify_folder(made, shown=shown).differences == ()
    with Image.open(folder / "plain.png") as picture:
        pen = ImageDraw.Draw(picture)
        pen.ellipse((DISC[0] + 3, DISC[1] + 3, DISC[2] - 3, DISC[3] - 3), fill="#a02820")
        pen.polygon(TRIANGLE, fill="#707030")
        picture.save(folder / "smaller.png")
    (folder / "smaller.toml").write_text(RUG.replace("art.png", "smaller.png"))
    write_pattern(folder / "smaller.toml", tmp_path / "pattern.pdf")
    other = tmp_path / "set"
    shutil.copytree(made, other)
    for name in ("pattern.pdf", "pattern.svg"):
        shutil.copy(tmp_path / name, other / name)

    def found_in(shown: Shown | None = None) -> list[Difference]:
        found = verify_folder(other, shown=shown).differences
        return [each for each in found if "SHA-256" not in each.what and "map" not in each.what]

    assert found_in() == []
    found = found_in(shown)
    assert {each.file for each in found} == {"pattern.pdf", "pattern.svg"}
    assert all("is not in the artwork's yarn" in each.what or "a field is" in each.what for each in found), found


def test_the_yarn_of_the_bands_under_the_pattern_is_reported(made: Path) -> None:
    """It is as much as such places take where they are seen; the blue band ends 10 mm above the middle of the disc."""
    summary = json.loads((made / "summary.json").read_text())
    said = next(each["what"] for each in summary["findings"] if "go on under the pattern" in each["what"])
    grams = {code: float(mass) for code, mass in re.findall(r"(B1|W1) (\d+) g", said)}
    off = 10 / 50
    cap = (np.arccos(off) - off * np.sqrt(1 - off**2)) / np.pi  # the share of a circle beyond a chord
    blue = next(yarn for yarn in summary["yarns"] if yarn["code"] == "B1")
    knots = np.pi / 4 * 100**2 * (1 - cap) / 4**2
    assert grams["B1"] == pytest.approx(knots * blue["mass_g"] / blue["knots"], abs=0.7)


def test_the_guide_gives_the_yarn_for_what_is_tufted_in(made: Path) -> None:
    """200 g a square metre and millimetre (three data sheets), 5 % of waste, rods of 10 mm and a disc of 100 mm."""
    told = ["pdftotext", "-layout", made / "guide.pdf", "-"]
    words = subprocess.run(told, capture_output=True, text=True, check=True).stdout
    assert "W1" not in words and "B1" not in words
    found = re.search(r"R1 +(\d+) +10 mm", words)
    assert found is not None
    assert int(found[1]) == pytest.approx(200 * 10 * np.pi / 4 * 0.1**2 / 0.95, abs=0.7)


def test_the_pattern_is_the_figure_alone_mirrored(made: Path, tmp_path: Path) -> None:
    """Poppler renders 2 pixels a millimetre: two closed edges show where disc and triangle lie, seen from behind."""
    subprocess.run(
        ["pdftoppm", "-r", "50.8", "-png", "-singlefile", made / "pattern.pdf", tmp_path / "page"], check=True
    )
    page = np.asarray(Image.open(tmp_path / "page.png").convert("RGB"))
    left, foot = 18 * 2, page.shape[0] - 30 * 2
    drawn = page[foot - 1200 : foot, left : left + 800]
    areas, number = label(drawn[..., 2] >= 200)
    assert number == 3
    picture = Image.new("L", (400, 600), 0)
    pen = ImageDraw.Draw(picture)
    pen.ellipse(DISC, fill=1)
    pen.polygon(TRIANGLE, fill=2)
    due = np.asarray(picture)[:, ::-1].repeat(2, axis=0).repeat(2, axis=1)
    inside = areas[..., None] == [areas[due == 1][5000], areas[due == 2][5000]]
    for which in (0, 1):
        same = inside[..., which] & (due == which + 1)
        assert same.sum() > 0.97 * (due == which + 1).sum() and same.sum() > 0.99 * inside[..., which].sum()


def test_bands_alone_need_no_pattern(folder: Path) -> None:
    make(read_order(folder / "plain.toml", {"rug": {"size": "10x15 cm"}}), folder / "plain")
    assert not {"pattern.pdf", "guide.pdf", "pattern.svg"} & {path.name for path in (folder / "plain").iterdir()}
    assert verify_folder(folder / "plain").differences == ()
    (folder / "set" / "guide.pdf").rename(folder / "guide.pdf")
    try:
        assert any(each.file == "guide.pdf" for each in verify_folder(folder / "set").differences)
    finally:
        (folder / "guide.pdf").rename(folder / "set" / "guide.pdf")


def test_verify_finds_a_pattern_laid_wrong_side_up(made: Path, tmp_path: Path) -> None:
    """Drawn as the pile is seen, where it must be mirrored for the back, the figure lies in other places."""
    write_pattern(made / "knots.png", tmp_path / "pattern.pdf", {"pattern": {"side": "front", "roll": "24 in"}})
    whole = (made / "pattern.pdf").read_bytes()
    (made / "pattern.pdf").write_bytes((tmp_path / "pattern.pdf").read_bytes())
    try:
        said = [each.what for each in verify_folder(made).differences if each.file == "pattern.pdf"]
    finally:
        (made / "pattern.pdf").write_bytes(whole)
    assert any("have another yarn than the map" in what for what in said)


def test_bands_alone_are_held_against_the_artwork(folder: Path, tmp_path: Path) -> None:
    """The right artwork agrees; in others a band has another colour, or all of it is the other way up."""
    order = read_order(folder / "plain.toml")
    make(order, tmp_path / "set")
    assert verify_folder(tmp_path / "set", shown=shown_artwork(order)).differences == ()
    picture = Image.open(folder / "plain.png")
    others = {"turned": picture.rotate(180), "dyed": picture.copy()}
    ImageDraw.Draw(others["dyed"]).rectangle((0, 40, 399, 59), fill="#707030")
    for name, other in others.items():
        other.save(folder / f"{name}.png")
        (folder / f"{name}.toml").write_text(RUG.replace("art.png", f"{name}.png"))
        shown = shown_artwork(read_order(folder / f"{name}.toml"))
        found = verify_folder(tmp_path / "set", shown=shown).differences
        assert [each.file for each in found if "another artwork than this" in each.what] == ["summary.json"]
        bands = [each.what for each in found if "has another colour there" in each.what]
        assert (
            bands
            == {
                "turned": [each for each in bands if each],
                "dyed": ["band 3 is B1, and the artwork has another colour there"],
            }[name]
        )
        assert bands
