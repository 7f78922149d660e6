"""Where edges and knots of a carved rug lie, and what its map is without specks, is worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest
from support.making import make_map, make_rug, settled

from chartmaker.figures.carving import carving_of
from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.verify.carvedrugs import ExpectedCarving, edges_of, knot_at


def carved(rows: list[str]) -> ExpectedCarving:
    """Return a rug of knots of 10 x 20 mm from its rows, the first woven last; a dot is no knot."""
    knots = np.array([[NO_KNOT if cell == "." else int(cell) for cell in row] for row in rows[::-1]], dtype=np.uint16)
    high, wide = knots.shape
    knot_map, workshop = settled(make_map(knots, make_rug(wide, high, "10x5 per dm")))
    carving = carving_of(knot_map.yarns, knot_map.rug, workshop)
    return ExpectedCarving(knot_map, 10.0 * wide, 20.0 * high, carving, smallest_knots=3.0)


@pytest.mark.parametrize(
    ("x", "y", "place"),
    [(0, 0, (0, 0)), (9.9, 19.9, (0, 0)), (10.1, 20.1, (1, 1)), (-5, -5, (0, 0)), (99, 99, (1, 2)), (25, 5, (0, 2))],
)
def test_a_point_lies_in_the_knot_whose_row_is_counted_from_the_foot(
    x: float, y: float, place: tuple[int, int]
) -> None:
    assert knot_at(x, y, carved(["000", "111"])) == place


def test_edges_run_on_the_first_pixels_of_the_knots_that_meet() -> None:
    """A knot is 15 pixels wide and 30 high, at 1.5 pixels a millimetre, and the picture begins at the top."""
    expected = carved(["02", "01"])
    shown = {}
    for one, other in ((0, 1), (0, 2), (1, 2)):
        pairs = np.zeros((4, 4), dtype=bool)
        pairs[one, other] = pairs[other, one] = True
        shown[one, other] = np.argwhere(edges_of(pairs, expected, expected.knot_map.knots)).tolist()
    assert expected.shape == (60, 30) and expected.knot_mm == (10, 20)
    assert shown[0, 2] == [[row, 15] for row in range(30)]
    assert shown[0, 1] == [[row, 15] for row in range(30, 60)]
    assert shown[1, 2] == [[30, column] for column in range(15, 30)]


def test_no_edge_runs_where_the_pile_ends() -> None:
    expected, pairs = carved(["0.", "01"]), np.zeros((3, 3), dtype=bool)
    pairs[0, 1] = pairs[1, 0] = True  # the last place is no yarn's
    found = np.argwhere(edges_of(pairs, expected, expected.knot_map.knots)).tolist()
    assert found == [[row, 15] for row in range(30, 60)]


@pytest.mark.parametrize(("wide", "left"), [(5, 0), (6, 6)])
def test_an_area_of_twice_the_smallest_is_no_speck(wide: int, left: int) -> None:
    """Nobody carves round an area of fewer knots than twice the smallest field, here 3 knots."""
    inner = "0" + "1" * wide + "0" * (9 - wide)
    assert (carved(["0" * 10, inner, "0" * 10]).calm == 1).sum() == left
    assert (carved(["0" * 10, "1" * 5 + "0" * 5, "0" * 5 + "1" * 5, "0" * 10]).calm == 1).sum() == 0  # at a corner


def test_a_speck_is_as_what_is_nearest_and_no_knot_stays_none() -> None:
    calm = carved(["000000222222", "000100222022", "000000222222", "....00222222"]).calm
    assert calm[::-1].tolist() == [*[[0] * 6 + [2] * 6] * 3, [NO_KNOT] * 4 + [0] * 2 + [2] * 6]


def test_a_map_of_specks_alone_stays_as_it_is() -> None:
    assert carved(["01", "10"]).calm.tolist() == [[1, 0], [0, 1]]
