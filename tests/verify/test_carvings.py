"""What a carver's guide says and draws is held to a rug whose heights, edges and metres are worked out by hand.

It is 200 x 240 mm in knots of 2 x 4 mm: a ground of Y000, tied at 12 mm and shorn to 10, with two squares of 40 mm.
Y001 is carved down from 10 to 6 mm, and Y002 is left in loops of 10 mm with a groove round it.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np
import pytest
from scipy.ndimage import distance_transform_edt
from support import standing
from support.making import SettledMap, make_map, make_rug, settled

from chartmaker.figures.carving import Carving
from chartmaker.jobs.carved import carved_of_map
from chartmaker.order.carve import Carve
from chartmaker.order.workshop import Workshop
from chartmaker.sheets.carving.carvingsheets import write_carving_pdf
from chartmaker.verify import carvings
from chartmaker.verify.carvedrugs import Bits, ExpectedCarving
from chartmaker.verify.carvings import _Mark

CARVE = {"grooves": ["round Y002"], "depth": "4 mm", "width": "3 mm"}


def rug(**carve: object) -> ExpectedCarving:
    """Return the rug: from the left and from the foot, the squares begin at (40, 140) and at (120, 40) mm."""
    knots = np.zeros((60, 100), dtype=np.uint16)
    knots[35:45, 20:40], knots[10:20, 60:80] = 1, 2
    workshop = {
        "pile": {"cut": "12 mm", "carved": {"Y001": "6 mm"}},
        "pattern": {"loops": ["Y002"]},
        "carve": {**CARVE, **carve},
    }
    made = make_rug(100, 60, "50x25 per dm", pile="10 mm", technique="tufted")
    return carvings.expected_carving(*settled(make_map(knots, made, Workshop.model_validate(workshop))))


RUG = rug()


def test_the_rug_is_the_one_that_is_told() -> None:
    carving = RUG.carving
    assert (RUG.knot_mm, RUG.scale, RUG.shape) == ((2, 4), 1.5, (360, 300))
    assert (carving.cut_mm, carving.shorn_mm, carving.finished_mm) == ((12, 12, 10), (10, 10, 10), (10, 6, 10))
    assert carving.loops == (False, False, True)


Rows = dict[str, dict[bytes, str]]


def rows() -> Rows:
    """Return what the table says of each yarn when it is right."""
    cut, shorn = {b"cut": "12", b"shorn": "10", b"cut-pile": "cut"}, RUG.carving.assumed
    assert not any(each.cut or each.shorn or each.finished for each in shorn), shorn
    return {
        "Y000": {b"height": "10", b"off": "nothing", **cut},
        "Y001": {b"height": "6", b"off": "4", **cut},
        "Y002": {b"height": "10", b"off": "never", b"cut": "10", b"unshorn": "not shorn", b"loop-pile": "LOOP"},
    }


WRONG_ROWS: dict[str, tuple[str, dict[bytes, str | None], str]] = {
    "another height": ("Y001", {b"height": "6.5"}, "gives Y001 a height of '6.5', not 6 mm"),
    "no height": ("Y000", {b"height": None}, "gives Y000 a height of '', not 10 mm"),
    "another height at the loom": ("Y000", {b"cut": "11"}, "does not say that Y000 is tied 12 mm high"),
    "no height at the loom": ("Y002", {b"cut": None}, "does not say that Y002 is tied 10 mm high"),
    "shorn to another": ("Y001", {b"shorn": "9"}, "does not say that Y001 is shorn to 10 mm"),
    "not said to be shorn": ("Y001", {b"shorn": None}, "does not say that Y001 is shorn to 10 mm"),
    "shorn and not shorn": ("Y001", {b"unshorn": "not shorn"}, "does not say that Y001 is shorn to 10 mm"),
    "loops shorn": ("Y002", {b"unshorn": None, b"shorn": "10"}, "does not say that Y002 is shorn to 10 mm"),
    "loops shorn as well": ("Y002", {b"shorn": "10"}, "does not say that Y002 is shorn to 10 mm"),
    "loops cut": ("Y002", {b"loop-pile": None, b"cut-pile": ""}, "does not say of Y002 whether its pile is cut"),
    "loops and cut": ("Y002", {b"cut-pile": ""}, "does not say of Y002 whether its pile is cut"),
    "neither": ("Y000", {b"cut-pile": None}, "does not say of Y000 whether its pile is cut"),
    "assumed at the loom": ("Y000", {b"assumed-cut": "*"}, "does not mark which heights of Y000 nobody gave"),
    "assumed as shorn": ("Y000", {b"assumed-shorn": "*"}, "does not mark which heights of Y000 nobody gave"),
    "assumed at the end": ("Y001", {b"assumed-height": "*"}, "does not mark which heights of Y001 nobody gave"),
    "more off": ("Y001", {b"off": "5"}, "does not say right how much of Y001"),
    "nothing off": ("Y001", {b"off": "nothing"}, "does not say right how much of Y001"),
    "some off what stays": ("Y000", {b"off": "4"}, "does not say right how much of Y000"),
}


@pytest.mark.parametrize("what", WRONG_ROWS)
def test_each_wrong_height_is_found_by_its_own_words(what: str) -> None:
    code, change, words = WRONG_ROWS[what]
    said = rows()
    said[code] = {tag: told for tag, told in {**said[code], **change}.items() if told is not None}
    (fault,) = carvings._heights(said, RUG)
    assert words in fault


def test_heights_are_right_to_a_ten_thousandth_and_marked_where_assumed() -> None:
    assert list(carvings._heights(rows(), RUG)) == []
    cuts = (12.34567, 12, 10)
    said = rows()
    said["Y000"][b"cut"] = "12.3457"
    assert list(carvings._heights(said, replace(RUG, carving=replace(RUG.carving, cut_mm=cuts)))) == []
    assumed = tuple(replace(each, cut=True, shorn=True, finished=True) for each in RUG.carving.assumed)
    marked = replace(RUG, carving=replace(RUG.carving, assumed=assumed))
    assert len(list(carvings._heights(rows(), marked))) == 3
    for code, row in (said := rows()).items():  # what is not shorn has no height before that could be assumed
        row.update({b"assumed-cut": "*", b"assumed-height": "*"} | ({b"assumed-shorn": "*"} if code != "Y002" else {}))
    assert list(carvings._heights(said, marked)) == []


def test_a_true_guide_is_proved_and_by_what_it_says_itself_too() -> None:
    """It is the guide with loops, low pile, two lowered yarns and three grooves, which was looked at."""
    data, made = standing.paper("carving_loops"), standing.looped(True)
    assert list(carvings.carving_differences(data, carvings.expected_carving(*settled(made)))) == []
    without = made.workshop.model_copy(
        update={"carve": Carve(), "pile": made.workshop.pile.model_copy(update={"carved_mm": {}})}
    )
    assert list(carvings.told_carving_differences(data, made, without)) == []
    two = replace(made, yarns=(*made.yarns[:3], replace(made.yarns[3], code="Z9"), made.yarns[4]))
    assert any("Y000 | Y003 names a yarn" in fault for fault in carvings.told_carving_differences(data, two, without))
    plain = carvings.expected_carving(made, without)
    found = " ".join(carvings.carving_differences(data, plain))
    assert NO_GROOVE in found and NOT_LOWERED in found and "ticks are drawn where none belong" in found
    higher = data_of(standing.looped(True), lambda carving: replace(carving, finished_mm=(13, 12, 7, 9, 5)))
    said = "it leaves Y000 at 13 mm, higher than it is shorn"
    assert said in list(carvings.told_carving_differences(higher, made, without))


def data_of(made: SettledMap, change: Callable[[Carving], Carving]) -> bytes:
    """Return the guide of a rug whose carving is altered."""
    carved, stream = carved_of_map(made, made.workshop), io.BytesIO()
    write_carving_pdf(stream, replace(carved, carving=change(carved.carving)), made.workshop)
    return stream.getvalue()


def test_before_washing_a_rug_has_its_size_on_the_loom() -> None:
    """What shrinks by a twentieth and by a fifth was larger by 1/0.95 and 1/0.8 (finished = woven less its share)."""
    plain = make_map(np.zeros((60, 100), dtype=np.uint16), make_rug(100, 60, "50x25 per dm", pile="10 mm"))
    loom = {"shrinkage_across": 0.05, "shrinkage_along": 0.2}
    sizes = []
    for when in ("before washing", "after washing"):
        found = carvings.expected_carving(plain, Workshop.model_validate({"loom": loom, "carve": {"when": when}}))
        sizes.append((found.width_mm, found.height_mm))
    assert sizes == [(pytest.approx(200 / 0.95, rel=0.01), pytest.approx(300, rel=0.01)), (200, 240)]


def test_each_field_has_the_height_of_a_yarn_beside_it() -> None:
    """A word or a letter beside the height says that a field is lowered or in loops."""

    def wrong(*fields: tuple[float, float, str]) -> list[str]:
        return list(carvings._field_heights(list(fields), RUG))

    right = [
        (10.0, 10.0, "10"),
        (60.0, 160.0, "to 6"),
        (140.0, 60.0, "10 L"),
        (79.0, 141.0, "10"),
        (81.0, 160.0, "to 6"),
    ]
    assert wrong(*right) == []
    for field in (
        (10.0, 10.0, "6"),
        (10.0, 10.0, "to 10"),
        (60.0, 160.0, "6"),
        (140.0, 60.0, "10"),
        *((x, y, "to 6") for x, y in ((85.0, 160.0), (37.0, 160.0), (60.0, 134.0), (60.0, 186.0))),
    ):
        assert wrong(*right, field) == ["1 of its 6 fields have another height"], field
    assert wrong((60.0, 160.0, "6 of 6"), (1.0, 1.0, "")) == ["2 of its 2 fields have another height"]
    assert wrong() == ["its fields have no heights"]
    level = replace(RUG, carving=replace(RUG.carving, finished_mm=(10, 10, 10)))
    assert list(carvings._field_heights([], level)) == []


@pytest.mark.parametrize(("metres", "right"), [("0.05", 1), ("0.04", 0), ("0.21", 1), ("0.22", 0), ("0.1", 0), ("", 0)])
def test_a_groove_is_about_as_long_as_the_sides_of_its_knots(metres: str, right: int) -> None:
    """Round the square are 2 x 20 x 2 mm and 2 x 10 x 4 mm of sides; a shorter line by 0.6 and 5 cm is let pass."""
    faults = list(carvings._metres({"round Y002": metres}, RUG))
    assert faults == [] if right else f"gives the groove round Y002 {metres} m, and the knots have 0.16 m" in faults[0]
    assert carvings._sides_mm(RUG.knot_map.knots, RUG.carving.grooves[0], RUG) == 160
    assert len(list(carvings._metres({}, RUG))) == 1


def ring(edges: Bits, away: float) -> Bits:
    """Return a line on both sides of edges, so many pixels away."""
    distance = distance_transform_edt(~edges)
    return np.asarray((distance > away - 1) & (distance <= away))


def square(left_mm: float, low_mm: float) -> Bits:
    """Return the edge of a square of 40 mm, on the first pixels after it."""
    edges = np.zeros(RUG.shape, dtype=bool)
    left, top = round(left_mm * 1.5), round((240 - low_mm - 40) * 1.5)
    edges[top : top + 61, [left, left + 60]] = True
    edges[[top, top + 60], left : left + 61] = True
    return edges


ROUND, LOWERED = square(120, 40), square(40, 140)
NO_GROOVE, NOT_LOWERED = "grooves are drawn where none is asked for", "fields are bounded that are not lowered"


@pytest.mark.parametrize(
    ("red_px", "blue_px", "faults"),
    [
        (8.5, 8.5, []),  # 1.3 knots of 6 pixels and one more
        (10.0, 11.5, [NO_GROOVE]),
        (13.0, 0.5, [NO_GROOVE, "% of the grooves are not drawn"]),
        (0.5, 12.2, ["% of the edges of lowered fields are not drawn"]),
        (0.5, 13.5, [NOT_LOWERED, "% of the edges of lowered fields are not drawn"]),
    ],
)
def test_lines_stray_no_further_than_a_knot_and_a_gap(red_px: float, blue_px: float, faults: list[str]) -> None:
    found = list(carvings._lines(ring(ROUND, red_px), ring(LOWERED, blue_px), RUG))
    assert len(found) == len(faults) and all(words in fault for words, fault in zip(faults, found, strict=True)), found


def test_lines_that_lack_or_that_nobody_asked_for_are_found() -> None:
    nothing = np.zeros(RUG.shape, dtype=bool)
    lack = ["100.0 % of the grooves are not drawn", "100.0 % of the edges of lowered fields are not drawn"]
    assert list(carvings._lines(nothing, nothing, RUG)) == lack
    assert list(carvings._lines(LOWERED, ROUND, RUG)) == [NO_GROOVE, NOT_LOWERED, *lack]
    plain = rug(grooves=[])
    assert list(carvings._lines(ROUND, LOWERED, plain)) == [NO_GROOVE]
    assert list(carvings._lines(nothing, LOWERED, plain)) == []
    half = ROUND.copy()
    half[:, 210:] = False
    (fault,) = carvings._lines(half, LOWERED, RUG)
    assert float(fault.split(" %")[0]) == pytest.approx(100 * (60 + 2 * (30 - 11.8)) / 240, abs=1)
    speck = LOWERED.copy()
    speck[5:7, 5:6] = True  # less than a hundredth of the line
    assert list(carvings._lines(ROUND, speck, RUG)) == []
    speck[5:9, 5:6] = True
    assert list(carvings._lines(ROUND, speck, RUG)) == [NOT_LOWERED]


def test_a_groove_along_what_is_lowered_stands_for_both() -> None:
    both = rug(grooves=["round Y001", "round Y002"])
    nothing, red = np.zeros(RUG.shape, dtype=bool), ROUND | LOWERED
    assert list(carvings._lines(red, nothing, both)) == []
    assert list(carvings._lines(red, LOWERED, both)) == []
    beside_groove = np.zeros(RUG.shape, dtype=bool)
    beside_groove[238, 180:240] = True  # two pixels above a groove, where pale lines mix with its ink
    assert list(carvings._lines(red, beside_groove, both)) == []


def inward(every_mm: float, long_mm: float = 2.0) -> Iterator[_Mark]:
    """Yield ticks on the sides of the lowered square, pointing into it."""
    for along in np.arange(every_mm / 2, 40, every_mm):
        yield _Mark(40 + along, 140, 40 + along, 140 + long_mm)
        yield _Mark(40 + along, 180, 40 + along, 180 - long_mm)
        yield _Mark(40, 140 + along, 40 + long_mm, 140 + along)
        yield _Mark(80, 140 + along, 80 - long_mm, 140 + along)


def rings(*places: tuple[float, float]) -> list[_Mark]:
    return [_Mark(x, y, x, y) for x, y in places]


def marked(ticks: list[_Mark], ringed: list[_Mark], expected: ExpectedCarving = RUG) -> list[str]:
    return list(carvings._side_marks({b"ticks": ticks, b"ring": ringed}, expected))


def turned(ticks: list[_Mark]) -> list[_Mark]:
    return [_Mark(each.x, each.y, 2 * each.x - each.to_x, 2 * each.y - each.to_y) for each in ticks]


def test_ticks_and_rings_stand_on_the_side_that_is_meant() -> None:
    ticks, middle = list(inward(5)), rings((140, 60))
    assert marked(ticks, middle) == marked(list(inward(5, 0.1)), middle) == []
    assert marked(turned(ticks), middle) == ["0 of 32 ticks stand on the right side"]
    assert marked([], middle) == ["0 of 0 ticks stand on the right side"]
    assert marked(ticks[:25] + turned(ticks[25:]), middle) == []  # 85 % of 32, but for 3
    assert marked(ticks[:24] + turned(ticks[24:]), middle) == ["24 of 32 ticks stand on the right side"]
    assert marked(ticks, []) == ["0 of 0 rings stand on the right side"]
    beside = rings(*[(119, 60), (140, 81), (140, 60)] * 10)  # a knot beside the loops is as good as on them
    assert marked(ticks, beside) == []
    off = rings((140, 60), *[(115, 60), (140, 89)] * 10)
    assert marked(ticks, off) == ["1 of 21 rings stand on the right side"]


def test_no_edge_is_far_from_its_mark() -> None:
    middle = rings((140, 60))
    assert marked(list(inward(20)), middle) == []
    (few,) = marked([each for each in inward(20) if each.x != 40], middle)
    assert "% of the edges lack their ticks" in few
    (far,) = marked(list(inward(5)), rings((121, 41)))
    assert "% of the edges lack their rings" in far


def test_marks_where_nothing_is_lowered_or_in_loops_are_found() -> None:
    carving = replace(RUG.carving, finished_mm=(10, 10, 10), loops=(False,) * 3)
    level = replace(RUG, carving=carving)
    assert marked([], [], level) == []
    assert marked(list(inward(5)), [], level) == ["ticks are drawn where none belong"]
    assert marked([], rings((140, 60)), level) == ["rings are drawn where none belong"]


def test_marks_are_read_from_their_points() -> None:
    drawn = b"1 2 m 3 4.5 l S -1e-3 0 m 5 6 l S 7 8 m"
    assert carvings._marks(b"ticks", drawn) == [_Mark(1, 2, 3, 4.5), _Mark(-0.001, 0, 5, 6)]
    assert carvings._marks(b"ring", b"0 0 m 4 0 l 4 6 l 0 6 l h S") == [_Mark(2, 3, 2, 3)]
    assert carvings._marks(b"ring", b"") == [_Mark(0, 0, 0, 0)]


@pytest.mark.parametrize(("full", "middle", "least", "inked"), [(51, 36, 20, 1), (50, 50, 0, 0), (100, 70, 0, 0)])
def test_ink_takes_away_two_bands_of_light(full: int, middle: int, least: int, inked: int) -> None:
    bands = [np.array([value], dtype=np.int16) for value in (full, middle, least)]
    assert carvings._is_ink(*bands).tolist() == [bool(inked)]
    assert not carvings._is_ink(*[np.array([value], dtype=np.int16) for value in (100, 100, 40)]).any()
    assert carvings._is_ink(*[np.array([value], dtype=np.int16) for value in (100, 71, 39)]).all()
