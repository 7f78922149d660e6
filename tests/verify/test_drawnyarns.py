"""What a pattern shows is held to its map at hand-worked places: rows are counted from the foot, as they are woven."""

from __future__ import annotations

import numpy as np
import pytest
from support.making import make_map

from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.verify.drawnyarns import UNTOLD, Drawn, map_differences, off_edges, wrong_fields


def drawn(due: np.ndarray, pixels: int = 2) -> Drawn:
    """Return a drawing, in pixels of half a knot, whose fields are the areas of one yarn; -1 is left out."""
    yarns = due.repeat(pixels, axis=0).repeat(pixels, axis=1).astype(np.int32)
    return Drawn(yarns, yarns + 1, 1.0)


def halves() -> np.ndarray:
    """Return a picture, from its top: 20 rows of 20, the left half of yarn 0, the right of 1, and a corner left out."""
    due = np.zeros((20, 20), dtype=np.int32)
    due[:, 10:], due[15:, :5] = 1, -1
    return due


def faults(shown: Drawn, due: np.ndarray | None = None) -> list[str]:
    due = halves() if due is None else due
    return list(map_differences(shown, make_map(np.where(due < 0, NO_KNOT, due)[::-1])))


def test_a_true_pattern_and_one_whose_edges_stray_by_a_knot_are_let_pass() -> None:
    assert faults(drawn(halves())) == faults(drawn(halves(), 1)) == faults(drawn(halves(), 3)) == []
    stray = halves()
    stray[:15, 10], stray[14, :5] = 0, -1
    assert faults(drawn(stray)) == []


def test_too_much_of_another_yarn_is_found_with_its_first_place() -> None:
    """Off the edge lie 360 of 400 places, less 9 and 11 on both sides of the corner; one in 200 may differ."""
    off = int(off_edges(halves()).sum())
    assert off == 20 * 18 - 9 - 11
    one, two = halves(), halves()
    one[3, 15], two[3, 15], two[18, 17] = 0, 0, 0
    assert faults(drawn(one)) == []
    (fault,) = faults(drawn(two))
    share = f"{100 * 2 / off:.2f} %"
    assert fault == f"{share} of the places off the edges have another yarn than the map, the first in row 2, column 18"
    untold = np.where(two != halves(), UNTOLD, halves())
    assert faults(drawn(untold)) == []


def test_a_field_that_is_mostly_another_yarn_is_named() -> None:
    due = np.zeros((30, 30), dtype=np.int32)
    due[4:8, 20:25] = 1
    shown = drawn(due)
    wrong = Drawn(np.zeros_like(shown.yarns), shown.fields, 1.0)  # the field of yarn 1 has the number of yarn 0
    assert off_edges(due)[5:7, 21:24].all() and not off_edges(due)[4].all()
    field = "a field is Y000, and the map has Y001 there, in row 25, column 22"
    assert faults(wrong, due) == [
        f"{100 * 6 / off_edges(due).sum():.2f} % of the places off the edges have another yarn than the map, the first "
        "in row 24, column 22",
        field,
    ]
    left_out = Drawn(np.where(shown.yarns == 1, -1, 0), shown.fields, 1.0)
    assert faults(left_out, due)[1] == field.replace("is Y000", "is left out")
    assert faults(drawn(np.zeros_like(due)), np.where(due == 1, -1, 0))[0].endswith("in row 24, column 22")


def test_no_more_than_eight_fields_are_named() -> None:
    due = np.zeros((40, 40), dtype=np.int32)
    fields = np.zeros((40, 40), dtype=np.int32)
    for number in range(9):
        row, column = 4 + 12 * (number // 3), 4 + 12 * (number % 3)
        due[row : row + 4, column : column + 4], fields[row : row + 4, column : column + 4] = 1, number + 1
    assert len(faults(Drawn(np.zeros_like(due), fields, 1.0), due)) == 1 + 8


def test_fields_are_wrong_by_more_than_half_and_the_worst_comes_first() -> None:
    fields = np.array([0] * 4 + [1] * 4 + [2] * 5 + [4] * 3 + [5] * 3, dtype=np.int32)
    wrong = np.array([1, 1, 0, 0] + [1, 1, 1, 0] + [1] * 5 + [1] * 3 + [0] * 3, dtype=bool)
    assert wrong_fields(fields, wrong) == [2, 1, 4]
    assert wrong_fields(fields, np.zeros_like(wrong)) == []


@pytest.mark.parametrize("turn", range(4))
def test_a_place_is_off_the_edges_if_its_eight_neighbours_are_alike(turn: int) -> None:
    due = np.zeros((6, 7), dtype=np.int32)
    due[0, 1] = 1
    expected = np.ones((6, 7), dtype=bool)
    expected[:2, :3] = False
    assert (off_edges(np.rot90(due, turn)) == np.rot90(expected, turn)).all()


def test_a_place_is_looked_up_by_its_share_from_the_top_left() -> None:
    shown = Drawn(np.arange(12, dtype=np.int32).reshape(3, 4), -np.arange(12, dtype=np.int32).reshape(3, 4), 1.0)
    yarns, fields = shown.at(np.array([0.0, 0.34, 0.999, 1.0]), np.array([0.24, 0.25, 1.0]))
    assert yarns.tolist() == [[0, 1, 3], [4, 5, 7], [8, 9, 11], [8, 9, 11]]
    assert (fields == -yarns).all()
