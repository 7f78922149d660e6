"""What the heads and the front of a row script say of its strips, its rows and its ways is held against the map."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from support.making import SQUARE, make_map, make_rug
from test_scriptrows import EDGED, span

from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.order.workshop import Workshop
from chartmaker.readback.printed import Block
from chartmaker.verify import scripts
from chartmaker.verify.expected import expected_of
from chartmaker.verify.scriptrows import Script
from chartmaker.verify.sheets import Sheet


def script(knots: Any, **chart: Any) -> Script:
    workshop = Workshop.model_validate({"chart": {"reading": "left to right", **chart}})
    cells = np.array(knots, dtype=np.uint16)
    made = make_map(cells, make_rug(cells.shape[1], cells.shape[0], SQUARE), workshop)
    return Script(expected_of(made, workshop), 1)


ALIKE = [[0, 1, 2, 2, 1, 0, 0, 1, 2, 2, 1, 0], [3, 1, 2, 2, 1, 3, 3, 1, 2, 2, 1, 3]]
UNLIKE = [[*range(12)], [0] * 12]


@pytest.mark.parametrize(
    ("knots", "strips", "columns", "twin"),
    # The middle strip of three mirrors itself; strips that end elsewhere than their mirrors are told one by one.
    [
        (ALIKE, None, range(6), range(6, 12)),
        (ALIKE, None, range(6, 12), range(6)),
        (ALIKE, None, range(3), range(9, 12)),
        (ALIKE, None, range(2, 5), range(7, 10)),
        (ALIKE, (range(4), range(4, 8), range(8, 12)), range(4), range(8, 12)),
        (ALIKE, (range(4), range(4, 8), range(8, 12)), range(4, 8), None),
        (ALIKE, (range(5), range(5, 12)), range(5), None),
        (ALIKE, (range(12),), range(12), None),
        (UNLIKE, None, range(6), None),
    ],
)
def test_a_strip_is_told_with_the_one_that_mirrors_it(knots: Any, strips: Any, columns: range, twin: Any) -> None:
    expected = script(knots, strips=2).expected
    expected = expected if strips is None else replace(expected, strips=strips)
    assert scripts.twin_of(expected, columns) == twin


@pytest.mark.parametrize(
    ("told", "twins", "said"),
    [
        ({range(6): [0, 1, 2], range(6, 12): [0, 1, 2]}, set(), []),
        ({range(6): [0, 1, 2]}, {range(6, 12)}, []),
        ({range(6): [0, 1, 2]}, set(), ["in 1 strip"]),
        ({range(6): [0, 1, 2]}, {range(6, 11)}, ["in 1 strip"]),
        ({}, set(), ["in 1 strip"]),
        ({range(6): [0, 1], range(6, 12): [0, 1, 2]}, set(), ["in 1 strip"]),
        ({range(6): [0, 1], range(6, 12): [0, 2, 1]}, set(), ["in 2 strips"]),
        ({range(6): [0, 1, 2, 3], range(6, 12): [0, 1, 2]}, set(), ["in 1 strip"]),
        ({range(6, 12): [0, 1, 2], range(6): [0, 1, 2]}, set(), ["not in the order of weaving"]),
    ],
)
def test_every_row_of_every_column_is_told_once(told: Any, twins: Any, said: list[str]) -> None:
    """Of five rows that are the same from either end three are told."""
    found = script([[0] * 12, [1] * 12, UNLIKE[0], [1] * 12, [0] * 12])
    found.told, found.twins = told, twins
    words = list(scripts._whole(found))
    assert len(words) == len(said) and all(a.endswith(b) or b in a for a, b in zip(words, said, strict=True)), words
    found.expected = replace(found.expected, chart=found.expected.chart.model_copy(update={"reading": "right to left"}))
    assert any("order of weaving" in each for each in scripts._whole(found)) == (
        len(told) > 1 and said != ["not in the order of weaving"]
    )


@pytest.mark.parametrize("leftward", [False, True])
def test_an_example_is_a_run_behind_empty_places(leftward: bool) -> None:
    """Rows 1, 2 and 4 begin so as they are read from the left; from the right only the first does."""
    knots = np.where(np.array(EDGED) == 9, NO_KNOT, EDGED)
    found = script(knots, reading="right to left" if leftward else "left to right")
    assert scripts._jumps(found)
    right = {
        (row, column) for row in range(-1, 6) for column in range(-1, 8) if scripts._begins(found, row, column, -1)
    }
    assert right == ({(1, 5)} if leftward else {(1, 3), (2, 2), (4, 4)})
    assert not scripts._begins(found, 1, 5 if leftward else 3, 4)
    bare = np.where(np.arange(6) < 3, knots[0] * 0, NO_KNOT)
    ends = script([bare] * 4, reading="right to left" if leftward else "left to right")
    assert scripts._jumps(ends) == leftward


def test_of_two_strips_that_mirror_each_other_the_first_woven_gives_the_example() -> None:
    knots = np.zeros((2, 8), dtype=np.uint16)
    knots[0, [0, 7]] = NO_KNOT
    for reading, begins in (("left to right", (1, 2, 7)), ("right to left", (1, 7, 2))):
        found = script(knots, strips=2, reading=reading)
        assert scripts._jumps(found)
        assert scripts._begins(found, *begins)
        assert not scripts._begins(found, *begins[:2], -1)
    knots[0] = [0, 0, NO_KNOT, NO_KNOT, NO_KNOT, NO_KNOT, 0, 0]
    for reading in ("left to right", "right to left"):
        assert not scripts._jumps(script(knots, strips=2, reading=reading))


def head(found: Script, columns: range, *, picked: bool = False, reading: str = "", **numbers: int) -> list[str]:
    said = {name: str(number) for name, number in numbers.items()} | ({"reading": reading} if reading else {})
    return list(scripts._head(found, said, numbers, columns, picked=picked))


WHOLE = {"first_row": 1, "last_row": 2, "first_column": 1, "last_column": 12, "strip": 1, "strips": 1}


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({}, []),
        ({"strip": 2}, ["its head says '2' for strip, not 1"]),
        ({"strips": 2}, ["its head says '2' for strips, not 1"]),
        ({"twin": 2}, ["its head says other columns than those of its strip"]),
        ({"parts": 2}, []),
        ({"part": 1, "parts": 1}, []),
        ({"part": 2, "parts": 1}, ["its head says '2' for part, not 1"]),
    ],
)
def test_a_head_names_its_strip(more: dict[str, int], said: list[str]) -> None:
    assert head(script(UNLIKE), range(12), **WHOLE | more) == said


def test_a_part_of_a_strip_is_a_column_wider_at_most_than_another() -> None:
    """Twelve columns in five parts are 2, 2, 3, 2 and 3 wide."""
    edges = [0, 2, 4, 7, 9, 12]
    for part in range(5):
        told = {**WHOLE, "part": part + 1, "parts": 5}
        assert head(script(UNLIKE), range(edges[part], edges[part + 1]), **told) == []
        wrong = head(script(UNLIKE), range(edges[part], edges[part + 1] - 1), **told)
        assert wrong == ["its head says other columns than those of its strip"]
    for columns in (range(11), range(1, 12)):
        assert head(script(UNLIKE), columns, **WHOLE) == ["its head says other columns than those of its strip"]


def test_a_head_names_the_rows_of_the_way_back() -> None:
    """Of five rows the third is tied once, so rows 1 to 3 are 4 to 5 on the way back; of four, 1 and 2 are 3 and 4."""
    five = script([[0] * 12, [1] * 12, UNLIKE[0], [1] * 12, [0] * 12])
    for last, first_back, last_back in ((3, 4, 5), (2, 4, 5), (1, 5, 5)):
        rows = {**WHOLE, "last_row": last, "first_back": first_back, "last_back": last_back}
        assert head(five, range(12), **rows) == []
        assert head(five, range(12), **rows | {"first_back": first_back + 1}) == [
            f"its head says '{first_back + 1}' for first_back, not {first_back}"
        ]
        assert head(five, range(12), **rows | {"last_back": 4}) == ["its head says '4' for last_back, not 5"]
        assert head(five, range(12), picked=True, **{**WHOLE, "last_row": last}) == []
    assert head(five, range(12), **{**WHOLE, "first_row": 3, "last_row": 3}) == []
    four = script([UNLIKE[0], [1] * 12, [1] * 12, UNLIKE[0]])
    assert head(four, range(12), **{**WHOLE, "first_back": 3, "last_back": 4}) == []


def test_a_head_names_the_strip_that_it_stands_for_as_well() -> None:
    found = script(ALIKE, strips=2)
    told = {**WHOLE, "last_column": 6, "strips": 2, "twin": 2, "twin_first": 7, "twin_last": 12}
    assert head(found, range(6), **told) == []
    assert found.twins == {range(6, 12)}
    for name, number in (("twin", 1), ("twin_first", 8), ("twin_last", 11)):
        assert head(found, range(6), **told | {name: number}) == [
            f"its head says '{number}' for {name}, not {told[name]}"
        ]


def test_a_script_is_read_one_way_throughout() -> None:
    found = script(UNLIKE)
    assert head(found, range(12), reading="from left to right", **WHOLE) == []
    wrong = "its head says 'from right to left', but rows are read left to right"
    assert head(found, range(12), reading="from right to left", **WHOLE) == [wrong]
    assert head(script(UNLIKE), range(12), reading="from right to left", **WHOLE) == [wrong]
    assert head(script(UNLIKE), range(12), reading="von links", **WHOLE) == []


def ways(found: Script, *facts: dict[str, str]) -> list[str]:
    root = Block("", {}, [span("fact", each, 20.0, 100.0) for each in facts])
    return list(scripts._ways(found, Sheet(1, 210.0, 297.0, root)))


def test_the_front_says_which_rows_are_read_on_the_way_back() -> None:
    five = script([[0] * 12, [1] * 12, UNLIKE[0], [1] * 12, [0] * 12])
    right = {"half": "3", "after": "4", "rows": "5"}
    assert ways(five, right) == ways(script(UNLIKE)) == []
    for name in right:
        assert ways(five, right | {name: "7"}) == [f"it says '7' for {name}, not {right[name]}"]
    assert ways(script(UNLIKE), {"half": "1"}) == ["it says '1' for half, not nothing"]
    assert ways(five, right, {"half": "3"}) == ["it says '3, 3' for half, not 3"]
    example = "its example of a run behind places without knots is not one of the rug's"
    assert ways(script(UNLIKE), {"example": "1", "from_column": "3"}) == [example]
    edged = script(np.where(np.array(EDGED) == 9, NO_KNOT, EDGED))
    assert ways(edged) == ways(edged, {"example": "1", "from_column": "2"}) == [example]
    assert ways(edged, {"example": "1", "from_column": "3"}) == []


def test_the_front_says_where_each_new_lot_begins() -> None:
    found = script(UNLIKE)
    lots = ({"lot_row": "21", "lot_section": "3", "lot_code": "Y001"},)
    wrong = ["it does not say right where new lots of yarn begin"]
    assert ways(found, *lots) == wrong
    found.expected = replace(found.expected, lots=lots)
    assert ways(found, *lots) == []
    assert ways(found) == ways(found, *lots, *lots) == ways(found, {**lots[0], "lot_row": "20"}) == wrong


def test_the_front_gives_the_heights_of_the_pile() -> None:
    """Y001 is shorn to 8 mm where the rest stands at 10; a height that nobody gave is marked."""
    found = script([[0, 1] * 6, [1, 0] * 6])
    heights = {"cut_mm": (12.0, 0.0), "pile_mm": (10.0, 0.0)}
    found.expected = replace(
        found.expected,
        loom_measures=heights,
        heights_mm=((12.0, 10.0), (12.0, 8.0)),
        assumed=frozenset({"assumed_cut"}),
    )
    base = {"cut_mm": "12", "assumed_cut": "(assumed)", "pile_mm": "10"}
    own = {"own_code": "Y001", "own_cut_mm": "12", "own_pile_mm": "8"}
    assert ways(found, base, own) == []
    told = ["it does not say that the pile is cut at 12 mm and finished at 10"]
    for wrong in (
        {**base, "cut_mm": "11"},
        {**base, "pile_mm": "11"},
        {**base, "assumed_pile": "(assumed)"},
        {name: base[name] for name in ("cut_mm", "pile_mm")},
    ):
        assert ways(found, wrong, own) == told
    other = ["it does not say right which yarns are cut or finished at heights of their own"]
    for name, value in (("own_code", "Y000"), ("own_cut_mm", "11"), ("own_pile_mm", "9")):
        assert ways(found, base, own | {name: value}) == other
    assert ways(found, base) == ways(found, base, own, own) == other
