"""The carver's guide of a set is measured against geometry, rendered by poppler, and proved by `verify`."""

from __future__ import annotations

import io
import json
import math
import re
import subprocess
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image, ImageDraw
from support.browsing import Tabs, browser, tabs, visited

__all__ = ["browser", "tabs"]

Run = Callable[..., Any]
CARD = "code,name,colour\nR1,Madder,#a02820\nB1,Indigo,#202c60\nW1,Ivory,#f0e8d8\n"
RUG = """[rug]
name = "Roundel"
size = "30x40 cm"
density = "25x25 per dm"
pile = "10 mm"
[design]
artwork = "art.png"
fitted = false
[yarns]
card = "wool.csv"
[pile]
carved = { "B1" = "6 mm" }
[carve]
grooves = ["round R1"]
depth = "4 mm"
width = "3 mm"
when = "after washing"
"""
#: The circle of R1 by its middle and its radius, and the square of B1 by its side, in millimetres.
MIDDLE, RADIUS, SIDE = (100, 250), 75, 80


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The set of a rug with a disc that has a groove round it and a square that is carved down."""
    from chartmaker.jobs import make, read_order

    folder = tmp_path_factory.mktemp("carved")
    (folder / "wool.csv").write_text(CARD)
    (folder / "rug.toml").write_text(RUG)
    picture = Image.new("RGB", (300, 400), "#f0e8d8")
    pen = ImageDraw.Draw(picture)
    x, y = MIDDLE
    pen.ellipse((x - RADIUS, y - RADIUS, x + RADIUS - 1, y + RADIUS - 1), fill="#a02820")
    pen.rectangle((200, 32, 200 + SIDE - 1, 32 + SIDE - 1), fill="#202c60")
    picture.save(folder / "art.png")
    make(read_order(folder / "rug.toml"), folder / "set")
    return folder / "set"


def test_the_set_has_the_carver_s_guide_and_verify_proves_it(made: Path, chartmaker: Run) -> None:
    assert (made / "carving.pdf").is_file()
    carving = json.loads((made / "summary.json").read_text())["carving"]
    # A circle of radius 75 mm is 2 pi r round, and a square of 80 mm has four sides; the tolerance is for knots of 4
    # mm and a little smoothing.
    assert carving["grooves"] == [
        {"groove": "round R1", "length_m": pytest.approx(2 * math.pi * RADIUS / 1000, rel=0.02)}
    ]
    assert carving["step_m"] == pytest.approx(4 * SIDE / 1000, rel=0.03)
    assert carving["finished_mm"] == {"R1": 10, "B1": 6, "W1": 10}
    result = chartmaker("verify", made)
    assert result.code == 0, result.out
    assert "carving.pdf" in result.out


def test_a_guide_made_later_is_proved_beside_the_set(made: Path, chartmaker: Run, tmp_path: Path) -> None:
    """The guide is held to what it says itself: another groove than the set's is no fault, but a moved line is."""
    from chartmaker.jobs import read_map
    from chartmaker.jobs.carved import carved_of_map, carving_writer

    cut = ("--groove", "B1 | W1", "--depth", "3 mm", "--width", "3 mm", "--when", "before washing")
    later, wrong = tmp_path / "later.pdf", tmp_path / "wrong.pdf"
    assert chartmaker("carving", made / "knots.png", *cut, "--out", later, "--quiet").code == 0
    result = chartmaker("verify", made, "--sheets", later)
    assert result.code == 0, result.out
    found = read_map(made / "knots.png")
    carved = carved_of_map(found.knot_map, found.workshop)
    named = tuple(replace(groove, name="B1 | W1") for groove in carved.carving.grooves)  # this groove is cut round R1
    with wrong.open("wb") as stream:
        carving_writer(replace(carved, carving=replace(carved.carving, grooves=named)), found.workshop, None)(stream)
    result = chartmaker("verify", made, "--sheets", wrong)
    assert result.code == 9
    assert "of the grooves are not drawn" in result.out and "m of sides there" in result.out


@pytest.mark.parametrize(
    ("subject", "options", "most_mm"),
    # For knots: half a knot of the grid, as much for smoothing, and half a line; a tufted rug has a pixel in place of a
    # knot.
    [("set/knots.png", (), 4.5), ("rug.toml", ("--set", "rug.technique=tufted"), 1.7)],
)
def test_lines_lie_where_they_are_cut(
    made: Path, chartmaker: Run, tmp_path: Path, subject: str, options: tuple[str, ...], most_mm: float
) -> None:
    """Poppler renders 2 pixels a millimetre: the red line is the circle, as seen from the pile side."""
    out = tmp_path / "carving.pdf"
    result = chartmaker("carving", made.parent / subject, *options, "--roll", "36 in", "--out", out, "--quiet")
    assert result.code == 0, result.err
    subprocess.run(["pdftoppm", "-r", "50.8", "-png", "-f", "2", "-singlefile", out, tmp_path / "page"], check=True)
    page = np.asarray(Image.open(tmp_path / "page.png").convert("RGB")).astype(int)
    foot, left = page.shape[0] - 30 * 2, 18 * 2
    rows, columns = np.nonzero((page[..., 0] - page[..., 1] > 70) & (page[..., 0] - page[..., 2] > 70))
    x, y = (columns - left) / 2, 400 - (foot - rows) / 2
    away = np.hypot(x - MIDDLE[0], y - MIDDLE[1])
    assert np.abs(away - RADIUS).max() < most_mm
    turn = np.histogram(np.arctan2(y - MIDDLE[1], x - MIDDLE[0]), bins=72)[0]
    assert turn.min() > 0  # the line goes all the way round, though it is dashed
    pale = (page[..., 2] - page[..., 0] > 30)[foot - 2 * 399 : foot - 2]
    middle = pale[:, left + 298 : left + 303].any(axis=1)
    assert middle.mean() > 0.97, "only what is cut is dashed"


def test_the_guide_says_what_is_carved_and_what_is_left(made: Path) -> None:
    words = subprocess.run(
        ["pdftotext", "-layout", made / "carving.pdf", "-"], capture_output=True, text=True, check=True
    ).stdout
    assert "4 mm deep, 3 mm wide" in words and "Carved after washing" in words
    assert "As the pile is seen; rug 30 x 40 cm" in words  # over the plan of its sheets
    assert "at least 6 mm" in words  # 10 mm less the 4 mm of the groove, while the square stands at 6 mm
    assert "Shear the whole pile level first, to 10 mm" in words
    assert "Lower the fields of B1 from 10 to 6 mm" in words
    assert "What must NOT be cut" in words and "Test square" in words and "guards on" in words
    assert "Lower another place, without a groove, from 10 to 6 mm, as B1 is." in words  # no groove meets B1
    assert "Roundel, carving, pile side: " in words  # the pattern of a tufted rug has pieces of the same names
    assert "Heavy dashes: a groove. Ticks: lower the side of the ticks to the number there (to 6)." in words
    assert "Rings" not in words and "Both on one line" not in words, "it has no loops, and no groove meets B1"
    assert "at two heights" not in words, "both sides of this groove stand 10 mm high"
    assert "beside the lowest groove, at R1: 10 mm, of which 6 are left" in words


@pytest.mark.parametrize(
    ("options", "code", "said"),
    [
        (("--groove", "R1 | W1"), 3, "no default to be trusted"),
        (("--groove", "R1 | W1", "--depth", "10 mm", "--width", "3 mm"), 3, "the ground would be cut"),
        (("--groove", "between R1", "--depth", "1 mm", "--width", "3 mm"), 3, "is no groove"),
        (("--groove", "R1 | B1", "--depth", "1 mm", "--width", "3 mm"), 0, "runs nowhere"),
        (("--groove", "round Z9", "--depth", "1 mm", "--width", "3 mm"), 0, "which this map does not tie"),
    ],
)
def test_a_groove_or_height_that_cannot_be_cut_is_refused_or_reported(
    made: Path, chartmaker: Run, tmp_path: Path, options: tuple[str, ...], code: int, said: str
) -> None:
    bare = tmp_path / "rug.toml"
    bare.write_text(
        '[rug]\nsize = "30x40 cm"\ndensity = "25x25 per dm"\npile = "10 mm"\n[pile]\ncarved = {"B1" = "6 mm"}\n'
    )
    out = tmp_path / "carving.pdf"
    result = chartmaker("carving", made / "knots.png", "--rug", bare, *options, "--out", out)
    assert (result.code, out.exists()) == (code, code == 0)
    assert said in result.err + result.out


def faults(made: Path, change: Callable[[Any], Any]) -> list[str]:
    """Draw the guide again from a changed drawing, and return what `verify` finds in it."""
    from chartmaker.jobs import read_map
    from chartmaker.jobs.carved import carved_of_map, carving_writer
    from chartmaker.verify.carvings import carving_differences, expected_carving

    found = read_map(made / "knots.png")
    stream = io.BytesIO()
    carving_writer(change(carved_of_map(found.knot_map, found.workshop)), found.workshop, None)(stream)
    return list(carving_differences(stream.getvalue(), expected_carving(found.knot_map, found.workshop)))


def test_verify_finds_a_guide_that_is_wrong(made: Path) -> None:
    from chartmaker.sheets.pattern.drawing import turned_over

    def heights_alike(carved: Any) -> Any:
        return replace(carved, carving=replace(carved.carving, finished_mm=(7.0, 7.0, 7.0)))

    def one_higher(carved: Any) -> Any:
        return replace(carved, carving=replace(carved.carving, finished_mm=(9.0, 6.0, 10.0)))

    def no_groove(carved: Any) -> Any:
        return replace(carved, carving=replace(carved.carving, grooves=()))

    def from_behind(carved: Any) -> Any:
        return replace(carved, drawing=replace(carved.drawing, outlines=turned_over(carved.drawing.outlines)))

    assert faults(made, lambda carved: carved) == []
    assert any("height of" in fault for fault in faults(made, heights_alike))
    assert any("its fields have no heights" in fault for fault in faults(made, heights_alike))
    assert any("of its 5 fields have another height" in fault for fault in faults(made, one_higher))
    assert any("of the grooves are not drawn" in fault for fault in faults(made, no_groove))
    assert "grooves are drawn where none is asked for" in faults(made, from_behind)


LOOPED = """[rug]
name = "Loops"
size = "30x40 cm"
density = "25x25 per dm"
technique = "tufted"
pile = "10 mm"
[design]
artwork = "art.png"
fitted = false
[yarns]
card = "wool.csv"
[pile]
cut = "12 mm"
heights = { "W1" = "14 mm" }
carved = { "B1" = "6 mm" }
[pattern]
loops = ["R1"]
roll = "36 in"
[carve]
grooves = ["round R1", "round B1"]
depth = "4 mm"
width = "3 mm"
"""


@pytest.fixture(scope="module")
def looped(made: Path) -> Path:
    """The set of the same drawing, tufted: a disc in loops, a square carved down, and a higher ground."""
    from chartmaker.jobs import make, read_order

    (made.parent / "looped.toml").write_text(LOOPED)
    make(read_order(made.parent / "looped.toml"), made.parent / "looped")
    return made.parent / "looped"


def test_loops_and_pile_of_several_heights_are_never_shorn_level(looped: Path) -> None:
    """Shears at one level would cut the loops and the higher pile (common practice)."""
    asked = ["pdftotext", "-layout", looped / "carving.pdf", "-"]
    words = re.sub(r"\s+", " ", subprocess.run(asked, capture_output=True, text=True, check=True).stdout)
    assert "pile level first" not in words
    assert "never level over the whole rug: W1 to 12 mm; B1 to 10 mm. Keep the shears off R1: LOOP PILE." in words
    assert re.search(r"R1 Madder LOOP 10 not shorn 10 never cut", words)
    unsaid = r"\(assumed\)"
    row = rf"B1 Indigo cut 12 10 6 4 W1 Ivory cut 14 12 {unsaid} 12 {unsaid} nothing"
    assert re.search(row, words)
    assert "Never shear, lower or groove it" in words and "Beside the loops of R1 slope the cut pile alone" in words
    assert "first lower the side of the ticks, then cut the groove" in words
    # Between R1 in loops at 10 mm and W1 tufted at 12 nothing is lowered, and the groove needs a side to count from.
    assert "Where the pile stands at two heights beside it, its depth counts from the lower side." in words
    # The test square is the place where the ground is nearest: B1, lowered to 6 mm and grooved 4 mm deep.
    assert "ticks from 10 to 6 mm, as B1 is." in words
    assert "beside the lowest groove, at B1: 6 mm, of which 2 are left" in words
    assert " red " not in words and " blue " not in words  # a copier knows no colours


def test_what_is_cut_is_told_by_form_on_a_grey_copy(made: Path, looped: Path, tmp_path: Path) -> None:
    """Poppler renders 8 pixels a millimetre in grey; the square of B1 is lowered, and ground lies beside it.

    Its line is whole where it is only lowered, and in dashes where a groove runs besides; in both rugs ticks stand on
    the side of the square, every few millimetres, and nothing stands on the other side.
    """
    for folder, dashed in ((made, False), (looped, True)):
        pdf = folder / "carving.pdf"
        if not dashed:
            pdf = tmp_path / "roll.pdf"
            from chartmaker.jobs import read_map, write_carving

            found = read_map(folder / "knots.png", over={"pattern": {"roll": "36 in"}})
            write_carving(found, pdf)
        subprocess.run(
            ["pdftoppm", "-r", "203.2", "-gray", "-f", "2", "-singlefile", pdf, tmp_path / "page"], check=True
        )
        page = np.asarray(Image.open(tmp_path / "page.pgm"))
        foot, left = page.shape[0] - 30 * 8, 18 * 8

        def dark(y_mm: float, page: Any = page, foot: int = foot, left: int = left) -> np.ndarray[Any, Any]:
            """Return where the page is dark on a line across the square's middle part, at a height from the foot."""
            part = page[foot - round(y_mm * 8) - 1 : foot - round(y_mm * 8) + 2, left + 210 * 8 : left + 270 * 8]
            return np.asarray(part.min(axis=0) < 128)

        edge = min(np.arange(366, 370.01, 0.125), key=lambda y: -dark(y).mean())  # the square's upper side
        assert (dark(edge).mean() > 0.99) != dashed
        inside, outside = dark(edge - 1.6), dark(edge + 1.6)
        assert not outside.any()
        assert 7 <= np.count_nonzero(np.diff(inside.astype(int)) == 1) <= 13  # some ten ticks on 60 mm


def test_verify_finds_marks_and_heights_that_are_wrong(looped: Path) -> None:
    """What is told of loops, of sides and of the heights before carving is read back, each by its own fault."""

    def level(carved: Any) -> Any:
        return replace(carved, carving=replace(carved.carving, shorn_mm=carved.carving.cut_mm))

    def no_loops(carved: Any) -> Any:
        return replace(carved, carving=replace(carved.carving, loops=(False,) * 3))

    def other_side(carved: Any) -> Any:
        turned = replace(carved)
        turned.__dict__["ticks"] = tuple(
            replace(each, to_x_mm=2 * each.x_mm - each.to_x_mm, to_y_mm=2 * each.y_mm - each.to_y_mm)
            for each in carved.ticks
        )
        return turned

    def without(what: str) -> Callable[[Any], Any]:
        def change(carved: Any) -> Any:
            bare = replace(carved)
            bare.__dict__[what] = ()
            return bare

        return change

    assert faults(looped, lambda carved: carved) == []
    assert any("shorn to 10 mm" in fault for fault in faults(looped, level))
    assert any("cut or in loops" in fault for fault in faults(looped, no_loops))
    assert any("0 of 0 rings" in fault for fault in faults(looped, no_loops))
    assert any("ticks stand on the right side" in fault for fault in faults(looped, other_side))
    assert any("0 of 0 ticks" in fault for fault in faults(looped, without("ticks")))
    assert any("0 of 0 rings" in fault for fault in faults(looped, without("rings")))


@pytest.mark.parametrize(
    ("seed", "density", "fields", "side"),
    [
        *((seed, "30x30 per dm", (6, 5), 9) for seed in range(4)),
        *((seed, "37x16 per dm", (3, 6), 5) for seed in (11, 23)),
    ],
)
def test_a_true_guide_raises_no_alarm_however_many_specks_the_rug_has(
    seed: int, density: str, fields: tuple[int, int], side: int
) -> None:
    """Areas of a few knots are left out of the drawing, and what they cut off from others is drawn as one with them."""
    from support.making import make_map, make_rug

    from chartmaker.jobs.carved import carved_of_map, carving_writer
    from chartmaker.order.workshop import Workshop
    from chartmaker.verify.carvings import carving_differences, expected_carving

    rng, yarns = np.random.default_rng(seed), 3 + side // 9
    knots = np.kron(rng.integers(0, yarns, fields), np.ones((side, side), dtype=int))
    noisy = rng.random(knots.shape) < 0.12
    knots = np.where(noisy, rng.integers(0, yarns, knots.shape), knots)
    carve = {"grooves": ["round Y001"], "depth": "3 mm", "width": "3 mm"} if side == 9 else {"when": "after washing"}
    carved = {"Y002": "6 mm", "Y003": "7 mm"} if side == 9 else {"Y002": "6 mm"}
    workshop = Workshop.model_validate({"pile": {"cut": "12 mm", "carved": carved}, "carve": carve})
    rug = make_map(knots, make_rug(knots.shape[1], knots.shape[0], density, pile="10 mm"), workshop)
    stream = io.BytesIO()
    carving_writer(carved_of_map(rug, workshop), workshop, None)(stream)
    assert list(carving_differences(stream.getvalue(), expected_carving(rug, workshop))) == []


@pytest.mark.parametrize(
    ("tables", "said"),
    [
        ('[pattern]\nloops = ["R1", "W1"]\n', "would run between R1 and W1, which are both left in loops"),
        ('[pattern]\nloops = ["B1"]\n', "left in loops, which cannot be carved"),
    ],
)
def test_what_would_cut_loops_is_refused(looped: Path, chartmaker: Run, tmp_path: Path, tables: str, said: str) -> None:
    for name in ("wool.csv", "art.png"):
        (tmp_path / name).write_bytes((looped.parent / name).read_bytes())
    (tmp_path / "rug.toml").write_text(LOOPED.replace('[pattern]\nloops = ["R1"]\n', tables))
    result = chartmaker("make", tmp_path / "rug.toml", "--out", tmp_path / "set")
    assert result.code == 3 and said in result.err, result.err


def test_the_proof_shows_relief_and_the_page_gives_heights_and_grooves(made: Path) -> None:
    """The light comes from the top left, so that of a lowered square one wall is lit and the opposite one is dark."""
    from chartmaker.jobs import read_map
    from chartmaker.jobs.carved import carved_of_map
    from chartmaker.pages.proof.relief import lit

    found = read_map(made / "knots.png")
    carving = carved_of_map(found.knot_map, found.workshop).carving
    light = lit(found.knot_map.knots, carving, 400, 300, 1.0)  # a pixel is a millimetre
    assert light[70, 198:203].min() < 0.8 < 1.2 < light[70, 277:283].max()
    assert light[30:35, 240].min() < 0.8 < 1.2 < light[109:115, 240].max()
    assert light[200:300, 50:150].mean() == pytest.approx(1, abs=0.01)  # the disc as a whole keeps its tone
    groove = light[250, 170:181]  # at its right side one goes down into the groove and then up again
    assert groove.argmin() < groove.argmax() and groove.min() < 0.9 and groove.max() > 1.1
    page = (made / "proof.html").read_text()
    facts = json.loads(re.search(r'id="page-facts"[^>]*>(.*?)</script>', page, re.DOTALL)[1])  # type: ignore[index]
    codes = [yarn["code"] for yarn in facts["yarns"]]
    assert dict(zip(codes, facts["carved"]["heights"], strict=True)) == {"R1": "10", "B1": "6", "W1": "10"}
    assert facts["carved"]["grooves"] == [[codes.index("R1"), None]]


def test_the_pointer_shows_height_and_groove(made: Path, browser: Tabs) -> None:
    """In Chromium the pointer rests on knots whose places follow from the drawing: 4 mm a knot, rows from the foot."""
    at = {
        "in the disc, off its edge": ((400 - MIDDLE[1]) // 4, MIDDLE[0] // 4, "10 mm", False),
        "the disc's last knot, half covered": ((400 - MIDDLE[1]) // 4, (MIDDLE[0] + RADIUS) // 4 + 1, "10 mm", True),
        "the knot beside it": ((400 - MIDDLE[1]) // 4, (MIDDLE[0] + RADIUS) // 4 + 2, "10 mm", True),
        "in the lowered square": ((400 - 32 - SIDE // 2) // 4, (200 + SIDE // 2) // 4, "6 mm", False),
        "at its edge, where no groove runs": ((400 - 32 - SIDE // 2) // 4, 51, "6 mm", False),
    }
    with visited(
        browser.new_context(viewport={"width": 1280, "height": 860}, reduced_motion="reduce"), made / "proof.html"
    ) as seen:
        page = seen.page
        for place, (row, column, height, groove) in at.items():
            page.fill("#wipe", "0")
            page.fill("#go-row", str(row))
            page.fill("#go-column", str(column))
            page.click("#go button")
            page.evaluate("() => new Promise(f => requestAnimationFrame(() => requestAnimationFrame(() => f())))")
            box = page.locator("#rug").bounding_box()
            assert box is not None
            page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
            told = seen.words("#readout")
            assert f"row {row}" in told and f"column {column}" in told, told
            assert f"pile {height} high" in told, (place, told)
            assert ("groove beside it, 4 mm deep, 3 mm wide" in told) == groove, (place, told)


@pytest.mark.parametrize(
    ("old", "new"),
    [('"heights":["10"', '"heights":["11"'), ('"depth":"4"', '"depth":"5"'), ("[[0,null]]", "[[1,null]]")],
)
def test_verify_finds_a_proof_page_with_other_heights_or_grooves(made: Path, old: str, new: str) -> None:
    from chartmaker.jobs import read_map
    from chartmaker.verify.expected import expected_of
    from chartmaker.verify.proofs import page_differences
    from chartmaker.verify.recount.whole import recount_of

    found = read_map(made / "knots.png")
    expected = expected_of(found.knot_map, found.workshop, recount_of(found.knot_map, found.workshop))
    page = (made / "proof.html").read_text()
    assert page_differences(page.encode(), expected) == []
    assert old in page
    assert any("of what is carved" in fault for fault in page_differences(page.replace(old, new).encode(), expected))
