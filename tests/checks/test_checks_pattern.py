"""Remarks on the pattern are made exactly where a test has put a fault, and a sound design gets none."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from support.making import SettledMap, knot_maps, make_map, make_rug, settled

from chartmaker.checks import check_map
from chartmaker.checks.borders import unequal_borders
from chartmaker.checks.coarse import blocks
from chartmaker.checks.holes import holes
from chartmaker.checks.places import MOST_PLACES, places_where, stretches
from chartmaker.checks.strays import lone_knots, stray_knots
from chartmaker.checks.symmetric import almost_symmetric
from chartmaker.ground.findings import Finding, Place, place_words
from chartmaker.knots.knotmap import NO_KNOT

Cells = NDArray[np.uint16]


def covered(places: tuple[Place, ...], shape: tuple[int, ...]) -> NDArray[np.bool_]:
    mask = np.zeros(shape, dtype=bool)
    for row_from, row_to, column_from, column_to in places:
        assert row_from < row_to
        assert column_from < column_to
        mask[row_from:row_to, column_from:column_to] = True
    return mask


def bordered(rows: int = 160, columns: int = 120) -> Cells:
    """Return a rug with stripes of 3, 8 and 2 knots round a field of motifs, symmetric both ways."""
    cells = np.zeros((rows, columns), dtype=np.uint16)
    for depth, yarn in ((0, 1), (3, 2), (11, 3), (13, 0)):
        cells[depth : rows - depth, depth : columns - depth] = yarn
    row, column = np.ogrid[:rows, :columns]
    for centre in ((rows / 4, columns / 4), (rows / 2, columns / 2)):
        for up in (centre[0], rows - centre[0]):
            for over in (centre[1], columns - centre[1]):
                cells[(row + 0.5 - up) ** 2 + (column + 0.5 - over) ** 2 < 90] = 4
    return cells


def square(cells: Cells) -> SettledMap:
    return make_map(cells, make_rug(cells.shape[1], cells.shape[0], "40x40 per dm"))


def only(findings: object) -> Finding:
    (finding,) = tuple(findings)  # type: ignore[arg-type]
    return finding


def test_a_well_made_design_gets_no_remark() -> None:
    assert check_map(*settled(square(bordered()))) == ()
    assert check_map(*settled(square(np.zeros((50, 50), dtype=np.uint16)))) == ()


@given(st.integers(0, 2**32 - 1), st.integers(1, 40), st.integers(1, 400))
def test_places_cover_all_the_knots_and_are_no_more_than_asked_for(seed: int, most: int, number: int) -> None:
    rng = np.random.default_rng(seed)
    mask = np.zeros((97, 203), dtype=bool)
    mask.flat[rng.choice(mask.size, number)] = True
    places = places_where(mask, most)
    assert len(places) <= most <= MOST_PLACES
    assert covered(places, mask.shape)[mask].all()
    assert all(mask[a:b, c:d].any() for a, b, c, d in places)


def test_a_place_in_words_counts_from_one() -> None:
    assert str(place_words((0, 1, 4, 9))) == "row 1, columns 5 to 9"
    assert str(place_words((2, 7, 0, 1))) == "rows 3 to 7, column 1"
    assert stretches(np.array([1, 2, 5, 9]), gap=2) == [(1, 5), (9, 9)]


@given(knot_maps(most_columns=25, most_rows=25, most_yarns=4))
def test_lone_knots_are_those_without_a_neighbour_of_their_yarn(knot_map: SettledMap) -> None:
    cells = knot_map.knots
    expected = []
    for row, column in np.argwhere(cells != NO_KNOT).tolist():
        window = cells[max(row - 1, 0) : row + 2, max(column - 1, 0) : column + 2]
        if (window == cells[row, column]).sum() == 1:
            expected.append((row, column))
    rows, columns = lone_knots(cells)
    assert list(zip(rows.tolist(), columns.tolist(), strict=True)) == expected


def test_a_speck_is_found_and_a_mirrored_dot_is_not() -> None:
    cells = bordered()
    cells[60, 30], cells[60, 89], cells[99, 30], cells[99, 89] = 5, 5, 5, 5
    assert list(stray_knots(square(cells))) == []
    cells[70, 31] = 6
    finding = only(stray_knots(square(cells)))
    assert finding.severity == "note"
    assert finding.where == "row 71, column 32"
    assert finding.places == ((70, 71, 31, 32),)


def test_one_slip_in_four_quarters_is_the_odd_one_out() -> None:
    cells = bordered()
    cells[40:43, 20] = 2
    finding = only(almost_symmetric(square(cells)))
    assert "3 knots differ from the other quarters" in finding.what
    assert np.array_equal(np.argwhere(covered(finding.places, cells.shape)), [[40, 20], [41, 20], [42, 20]])


@pytest.mark.parametrize("way", ["left to right", "top to bottom", "by a half turn"])
def test_a_slip_in_one_mirror_names_the_mirror(way: str) -> None:
    rng = np.random.default_rng(4)
    quarter = np.kron(rng.integers(0, 4, (20, 20)), np.ones((3, 2), dtype=int)).astype(np.uint16)
    cells = {
        "left to right": np.hstack([quarter, quarter[:, ::-1]]),
        "top to bottom": np.vstack([quarter, quarter[::-1]]),
        "by a half turn": np.hstack([quarter, quarter[::-1, ::-1]]),
    }[way]
    assert list(almost_symmetric(square(cells))) == []
    cells[7, 5] = 3 if cells[7, 5] != 3 else 2
    finding = only(almost_symmetric(square(cells)))
    assert f"{way}, but 2 knots differ from their mirror image: 1 slip, unless" in finding.what
    assert covered(finding.places, cells.shape).sum() == 2
    assert covered(finding.places, cells.shape)[7, 5]


def test_a_design_that_was_never_symmetric_gets_no_remark() -> None:
    cells = bordered()
    cells[50:80, 20:60] = np.random.default_rng(1).integers(0, 5, (30, 40))
    assert list(almost_symmetric(square(cells))) == []


@pytest.mark.parametrize("off", [-3, -1, 1, 2])
@pytest.mark.parametrize("across", [True, False])
def test_an_axis_beside_the_middle_is_noticed(off: int, across: bool) -> None:
    rng = np.random.default_rng(6)
    half = np.kron(rng.integers(0, 4, (30, 40)), np.ones((2, 1), dtype=int)).astype(np.uint16)
    whole = np.hstack([half, half[:, ::-1]])
    more = np.tile(rng.integers(0, 4, (60, 1)), (1, abs(off))).astype(np.uint16)
    more[::2] = 5
    cells = np.hstack([more, whole] if off > 0 else [whole, more])
    finding = only(almost_symmetric(square(cells if across else np.ascontiguousarray(cells.T))))
    side = ("to the right of" if off > 0 else "to the left of") if across else ("above" if off > 0 else "below")
    distance = "1 knot" if abs(off) == 2 else f"{abs(off) / 2:g} knots"
    assert f"about a line {distance} {side} the middle" in finding.what


def widened(side: str, by: int) -> Cells:
    """Return the bordered rug with its middle stripe widened on one side, at the expense of the field."""
    turns = {"bottom": 0, "left": 3, "top": 2, "right": 1}[side]  # quarter turns that bring the side to row 0
    cells = np.rot90(bordered(), turns)
    wide = np.vstack([cells[:8], np.repeat(cells[8:9], by, axis=0), cells[8 : 15 + 60], cells[75 + by :]])
    return np.rot90(wide, -turns)


@pytest.mark.parametrize("side", ["left", "right", "bottom", "top"])
def test_a_wider_border_is_measured_on_both_sides(side: str) -> None:
    cells = widened(side, 4)
    other = {"left": "right", "right": "left", "bottom": "top", "top": "bottom"}[side]
    finding = only(unequal_borders(square(cells)))
    assert finding.severity == "warning"
    # At 40 knots a dm a knot is 2.5 mm: the middle stripe ends at 11 knots, 2.75 cm, or at 15 knots, 3.75 cm.
    assert f"3.8 cm at the {side}" in finding.what or f"3.8 cm wide at the {side}" in finding.what
    assert f"2.8 cm at the {other}" in finding.what or f"2.8 cm wide at the {other}" in finding.what
    assert "stripe 2 (Y002" in finding.what
    assert list(unequal_borders(square(widened(side, 1)))) == []  # the tolerance is that of rounding to whole knots


def test_another_design_on_one_side_is_no_unequal_border() -> None:
    assert list(unequal_borders(square(widened("left", 16)))) == []


def test_ends_may_be_wider_than_sides_but_it_is_noted() -> None:
    cells = bordered()
    cells[11:20, 11:-11], cells[-20:-11, 11:-11] = 2, 2
    finding = only(unequal_borders(square(cells)))
    assert finding.severity == "note"
    assert "left and bottom" in finding.where


def test_open_ground_is_no_border() -> None:
    cells = np.zeros((120, 120), dtype=np.uint16)
    row, column = np.ogrid[:120, :120]
    cells[(row - 60) ** 2 + (column - 45) ** 2 < 900] = 1
    assert list(unequal_borders(square(cells))) == []


def test_an_enlarged_design_is_noticed() -> None:
    rng = np.random.default_rng(2)
    small = rng.integers(0, 4, (60, 50)).astype(np.uint16)
    scaled = small[np.ix_((np.arange(150) / 2.5).astype(int), (np.arange(120) / 2.4).astype(int))]
    finding = only(blocks(square(scaled)))
    assert "about 2.4 x 2.5 knots" in finding.what
    assert list(blocks(square(small))) == []
    assert list(blocks(square(np.kron(small[:30, :30], np.ones((8, 8), dtype=np.uint16))))) == []
    assert list(blocks(square(bordered()))) == []


def test_a_cell_rubbed_out_is_noticed_inside_the_outline() -> None:
    cells = bordered()
    cells[:30, :9] = NO_KNOT
    cells[70, 40:43] = NO_KNOT
    shaped = make_map(cells, make_rug(120, 160, "40x40 per dm", shape="artwork"))
    finding = only(holes(shaped))
    assert finding.what.startswith("3 cells have no knot, though they lie inside the outline")
    assert finding.places == ((70, 71, 40, 43),)
    assert only(holes(square(cells))).what.startswith("273 cells have no knot, though the rug is a rectangle")


def test_cells_outside_of_the_outline_are_no_holes() -> None:
    cells = bordered()
    cells[:30, :9] = NO_KNOT
    assert list(holes(make_map(cells, make_rug(120, 160, "40x40 per dm", shape="artwork")))) == []
    assert places_where(np.zeros((4, 5), dtype=bool)) == ()


def test_knots_mixed_one_by_one_are_described_as_mixed() -> None:
    cells = np.zeros((100, 100), dtype=np.uint16)
    cells[1::5, 1::5] = 1  # 400 knots of 10,000
    finding = only(stray_knots(square(cells)))
    assert finding.what.startswith("400 knots, 4.0 % of the rug, stand alone among other yarns")
    assert (finding.where, finding.severity) == ("the whole rug", "note")
    assert covered(finding.places, cells.shape)[1::5, 1::5].all()


def test_only_rectangles_have_borders_of_one_width() -> None:
    wide = widened("left", 4)
    shaped = make_map(wide, make_rug(wide.shape[1], wide.shape[0], "40x40 per dm", shape="ellipse"))
    assert list(unequal_borders(shaped)) == []


def test_sides_in_other_yarns_are_another_design() -> None:
    cells = bordered()
    cells[:, -6:] = 4  # twice as wide as the stripe of yarn 1 on the left
    assert list(unequal_borders(square(cells))) == []


def test_a_narrow_strip_has_no_axis_beside_its_middle() -> None:
    rng = np.random.default_rng(6)
    half = rng.integers(0, 4, (60, 11)).astype(np.uint16)
    cells = np.hstack([np.full((60, 1), 5, dtype=np.uint16), half, half[:, ::-1]])
    assert list(almost_symmetric(square(cells))) == []


def test_remarks_come_worst_first() -> None:
    cells = bordered()
    cells[70, 31] = 6  # a note
    cells[90, 50:52] = NO_KNOT  # a warning
    severities = [finding.severity for finding in check_map(*settled(square(cells)))]
    assert severities == sorted(severities, key=["error", "warning", "note"].index)
    assert {"warning", "note"} <= set(severities)


def test_dots_of_a_border_are_no_specks_and_the_gap_between_legs_is_no_slip() -> None:
    """A dotted guard repeats its single knots, while a slip has surroundings like no other knot (common practice)."""
    knots = np.zeros((40, 60), dtype=np.uint16)
    knots[3, 3::6] = 1
    assert list(stray_knots(make_map(knots))) == []
    knots[20, 17:19] = 2
    knots[22, 20] = 1
    (finding,) = stray_knots(make_map(knots))
    assert finding.what.startswith("1 single knot stands alone") and "row 23" in finding.where
    figure = np.zeros((40, 60), dtype=np.uint16)
    figure[10:30, 20:40] = NO_KNOT  # the empty ground between the figure's legs
    figure[35, 5] = NO_KNOT  # a single knot that was rubbed out
    rug = make_rug(60, 40, shape="artwork")
    (hole,) = holes(make_map(figure, rug))
    assert hole.what.startswith("1 cell has no knot")
