"""The command `pattern`, and the set of a tufted rug as the commands make and verify it."""

from __future__ import annotations

import json
import re
import subprocess
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pypdfium2 as pdfium
import pytest
from PIL import Image, ImageDraw

Run = Callable[..., Any]
CARD = "code,name,colour\nR1,Madder,#a02820\nB1,Indigo,#202c60\nW1,Ivory,#f0e8d8\nG1,Olive,#707030\n"
COLOURS = {"W1": "#f0e8d8", "R1": "#a02820", "B1": "#202c60", "G1": "#707030"}
RUG = """[rug]
name = "Heron"
size = "30x40 cm"
density = "25x25 per dm"
technique = "tufted"
[design]
artwork = "art.png"
[yarns]
card = "wool.csv"
"""


@pytest.fixture(scope="module")
def rug(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A tufted rug with an unsymmetric figure, a thin line and a speck of a few tufts."""
    folder = tmp_path_factory.mktemp("tufted")
    (folder / "wool.csv").write_text(CARD)
    (folder / "rug.toml").write_text(RUG)
    picture = Image.new("RGB", (300, 400), COLOURS["W1"])
    pen = ImageDraw.Draw(picture)
    pen.rectangle((10, 10, 289, 389), outline=COLOURS["R1"], width=12)
    pen.ellipse((45, 60, 165, 210), fill=COLOURS["B1"])
    pen.polygon(((150, 125), (260, 100), (165, 165)), fill=COLOURS["G1"])
    pen.line((100, 210, 130, 350), fill=COLOURS["R1"], width=7)
    pen.rectangle((200, 250, 203, 253), fill=COLOURS["B1"])
    picture.save(folder / "art.png")
    return folder / "rug.toml"


@pytest.fixture(scope="module")
def made(rug: Path) -> Path:
    from chartmaker.jobs import make, read_order

    make(read_order(rug), rug.parent / "set")
    return rug.parent / "set"


def test_the_guide_has_room_for_a_height_beside_the_turn(made: Path) -> None:
    """16.5 mm before turn 3 was once read as `16.5 mm3`; now eight letters of 8.5 pt, 0.6 em each, have room."""
    words = subprocess.run(["pdftotext", "-bbox", made / "guide.pdf", "-"], check=True, capture_output=True, text=True)
    places = dict(re.findall(r'xMin="([\d.]+)"[^>]*>(pile|turn)<', words.stdout))
    at = {word: float(x) * 25.4 / 72 for x, word in places.items()}
    assert at["turn"] - at["pile"] > 8 * 0.6 * 8.5 * 25.4 / 72 + 1


def test_the_guide_tells_the_height_tufted_from_the_height_finished(made: Path) -> None:
    """A tool set to the finished height would tuft a rug that is too low once it is shorn; and no yarn takes 0.0 cones.

    The cut is estimated as 1.15 times the pile, to the half millimetre (figures/heights.py says on what it rests).
    """
    summary = json.loads((made / "summary.json").read_text())
    words = subprocess.run(
        ["pdftotext", "-layout", made / "guide.pdf", "-"], check=True, capture_output=True, text=True
    )
    tufted, finished = (re.findall(rf"([\d.]+) mm {kind}", words.stdout) for kind in ("tufted", "finished"))
    assert len(tufted) == len(finished) == len(summary["yarns"])
    assert all(0.8 < float(low) / float(high) < 0.95 for low, high in zip(finished, tufted, strict=True))
    assert "0.0 cones" not in words.stdout and "<0.1 cones" in words.stdout


def test_the_set_of_a_tufted_rug_is_what_a_tufter_works_from(made: Path) -> None:
    names = {path.name for path in made.iterdir()}
    assert names == {
        *("knots.png", "pattern.pdf", "guide.pdf", "pattern.svg", "yarns.csv", "proof.png", "proof.html"),
        "summary.json",
    }
    summary = json.loads((made / "summary.json").read_text())
    assert summary["pattern"]["merged_fields"] == 1
    assert any("too small to be tufted" in finding["what"] for finding in summary["findings"])
    # the yarns have the same shares by area and by knots, but for the edges of the knots
    total = sum(summary["pattern"]["area_m2"].values())
    assert total == pytest.approx(0.12, rel=1e-3)
    for yarn in summary["yarns"]:
        assert summary["pattern"]["area_m2"][yarn["code"]] / total == pytest.approx(yarn["share"], abs=0.01)


@pytest.mark.parametrize(("options", "pages"), [((), 3), (("--side", "front", "--set", "pattern.paper=A4"), 5)])
def test_a_pattern_can_be_drawn_again_from_the_order(
    rug: Path, chartmaker: Run, options: tuple[str, ...], pages: int
) -> None:
    out = rug.parent / f"p{len(options)}{pages}"
    out.mkdir(exist_ok=True)
    result = chartmaker("pattern", rug, *options, "--out", out / "pattern.pdf", "--replace", "--json")
    assert result.code == 0
    assert json.loads(result.out)["sheets"] == pages
    assert sorted(path.name for path in out.iterdir()) == ["guide.pdf", "pattern.pdf", "pattern.svg"]


def test_a_pattern_can_be_drawn_from_a_knot_map(made: Path, chartmaker: Run) -> None:
    assert chartmaker("pattern", made / "knots.png", "--out", made.parent / "of-knots.pdf", "--quiet").code == 0


def test_a_picture_for_a_projector_is_written_alone(made: Path, chartmaker: Run, tmp_path: Path) -> None:
    out = tmp_path / "pattern.png"
    result = chartmaker("pattern", made / "knots.png", "--resolution", "800x600", "--out", out, "--json")
    assert result.code == 0 and "sheets" not in json.loads(result.out)
    assert [path.name for path in tmp_path.iterdir()] == ["pattern.png"]
    with Image.open(out) as picture:
        assert (picture.format, picture.size) == ("PNG", (800, 600))
    again = chartmaker("pattern", made / "knots.png", "--out", out)
    assert again.code != 0 and "exists already" in again.err


@pytest.mark.parametrize("roll", ["10 cm", "9 m"])
def test_an_impossible_roll_is_refused(rug: Path, chartmaker: Run, roll: str) -> None:
    result = chartmaker("pattern", rug, "--roll", roll, "--out", rug.parent / "never.pdf")
    assert result.code == 3 and "24 to 160 inch" in result.err


def test_verify_proves_the_papers_of_a_tufted_rug(made: Path, rug: Path, chartmaker: Run) -> None:
    result = chartmaker("verify", made, "--rug", rug)
    assert result.code == 0, result.out
    assert "pattern.pdf" in result.out


def test_verify_holds_the_pattern_against_the_artwork_that_is_named(made: Path, rug: Path, chartmaker: Run) -> None:
    """Artwork whose left and right are exchanged is another file, and the drawing is not in its yarns."""
    other = rug.parent / "other.toml"
    other.write_text(RUG.replace("art.png", "other.png"))
    Image.open(rug.parent / "art.png").transpose(Image.Transpose.FLIP_LEFT_RIGHT).save(rug.parent / "other.png")
    result = chartmaker("verify", made, "--rug", other)
    assert result.code == 9
    assert "another artwork than this" in result.out and "is not in the artwork's yarn" in result.out


def test_a_set_without_a_pattern_is_not_held_against_an_artwork(rug: Path, chartmaker: Run) -> None:
    tied = rug.parent / "tied"
    tied.mkdir()
    small = ("--size", "3x4 cm", "--fit", "stretch", "--set", "rug.technique=knotted", "--quiet")
    assert chartmaker("knot", rug, *small, "--out", tied / "knots.png").code == 0
    result = chartmaker("verify", tied, "--rug", rug)
    assert result.code != 0 and "holds no pattern" in result.err


def test_a_field_over_several_sheets_has_its_number_on_each(rug: Path, made: Path, chartmaker: Run) -> None:
    """The ground of the rug shows on all four sheets, and its number stands on each where there is room."""
    out = rug.parent / "numbered"
    out.mkdir()
    assert chartmaker("pattern", rug, "--pattern-paper", "A4", "--out", out / "pattern.pdf", "--quiet").code == 0
    words = subprocess.run(["pdftotext", out / "pattern.pdf", "-"], capture_output=True, text=True, check=True).stdout
    guide = subprocess.run(["pdftotext", "-layout", out / "guide.pdf", "-"], capture_output=True, text=True, check=True)
    assert re.search(r"\b(?:cream|white)\b", guide.stdout)  # the plain word for the colour stands below the code
    numbers = json.loads((made / "summary.json").read_text())["pattern"]["numbers"]
    ground = next(number for number, code in numbers.items() if code == "W1")
    sheets = [page for page in words.split("\f") if "full size, 1 : 1" in page]
    assert len(sheets) == 4
    numbered = [page for page in sheets if re.search(rf"(?<!\S){ground}(?!\S)", page)]
    assert len(numbered) == len(sheets)


def test_the_plan_of_a_roll_prints_at_the_desk_and_says_which_side_of_which_map_it_is(
    rug: Path, made: Path, chartmaker: Run, tmp_path: Path
) -> None:
    """A sheet of A3 is 297 by 420 mm (ISO 216); one side and another of a pattern lie mirrored (common practice)."""
    code = json.loads((made / "summary.json").read_text())["map"]["code"]
    for side, words in (("back", "From the back, mirrored"), ("front", "As the pile is seen")):
        out = tmp_path / side
        out.mkdir()
        run = chartmaker("pattern", rug, "--roll", "30 cm", "--side", side, "--out", out / "pattern.pdf", "--quiet")
        assert run.code == 0, run.err
        plan, first = list(pdfium.PdfDocument(out / "pattern.pdf"))[:2]
        title = f", pattern, {'back' if side == 'back' else 'pile'} side: "
        assert title in first.get_textpage().get_text_bounded()  # the carver's pieces have the same names
        told = plan.get_textpage().get_text_bounded()
        assert words in told and f"map {code}" in told and "1 rows" not in told
        assert max(plan.get_size()) / 72 * 25.4 < 420.5 and min(plan.get_size()) / 72 * 25.4 < 297.5


def test_the_three_files_of_a_pattern_are_written_together(rug: Path, chartmaker: Run, tmp_path: Path) -> None:
    (tmp_path / "pattern.svg").mkdir()  # a folder stands where the last of the three files should go
    result = chartmaker("pattern", rug, "--out", tmp_path / "pattern.pdf", "--replace", "--quiet")
    assert result.code != 0
    assert [path.name for path in tmp_path.iterdir()] == ["pattern.svg"]


@pytest.mark.parametrize("command", ["pattern", "carving", "check"])
def test_a_rug_file_beside_a_rug_file_is_refused(rug: Path, chartmaker: Run, tmp_path: Path, command: str) -> None:
    """It would be taken no notice of, and the reader would think that it was."""
    out = () if command == "check" else ("--out", tmp_path / "out.pdf")
    for subject in (rug, rug.parent / "art.png"):  # the picture is an order because a size goes with it
        size = () if subject is rug else ("--size", "3x4 cm")
        if command == "carving" and subject is not rug:
            continue  # it takes no artwork
        result = chartmaker(command, subject, "--rug", rug, *size, *out)
        assert result.code == 2 and "go with a knot map, not with a rug file or an artwork" in result.err
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize(
    ("width", "pages", "said"), [(1490, 1, False), (1500, 1, False), (1510, 3, True), (1530, 3, False)]
)
def test_a_rug_that_the_roll_is_wide_enough_for_comes_in_one_piece_or_it_is_said_why(
    made: Path, width: int, pages: int, said: bool
) -> None:
    """On 60 inches, 1,524 mm, a rug of 150 cm has 24 mm left for rulers and marks; one of 151 cm has not."""
    from chartmaker.jobs import read_map
    from chartmaker.jobs.drawn import drawing_of_map, pattern_findings
    from chartmaker.sheets.pattern.fullsize import tiling_of

    found = read_map(made / "knots.png", over={"pattern": {"roll": "60 in"}})
    drawing = drawing_of_map(found)
    wide = replace(drawing, outlines=replace(drawing.outlines, width_mm=float(width)))
    tiles = len(tiling_of(wide, found.workshop).tiles)
    assert tiles + (tiles > 1) == pages
    told = [finding.what for finding in pattern_findings(wide, found.workshop) if finding.where == "[pattern] roll"]
    assert bool(told) == said
    assert not said or "on a roll of 153.4 cm or more it comes in one." in told[0]


def test_the_pattern_of_a_rug_that_nobody_tufts_is_remarked_on(rug: Path, chartmaker: Run, tmp_path: Path) -> None:
    for technique, remarked in (("knotted", True), ("tufted", False)):
        out = tmp_path / f"{technique}.pdf"
        words = chartmaker("pattern", rug, "--set", f"rug.technique={technique}", "--out", out, "--replace")
        assert words.code == 0
        assert ("nobody works by a full-size pattern" in " ".join((words.out + words.err).split())) == remarked
