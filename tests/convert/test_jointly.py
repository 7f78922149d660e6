"""What hangs together in a repeat comes from one repeat; the drawings are made by hand."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from chartmaker.convert.repeats.jointly import drawn_together
from chartmaker.convert.repeats.wholes import Side, WholeLattice

#: A repeat is 6 rows x 8 knots.
WHOLE = WholeLattice(Side(6, Fraction(60)), Side(8, Fraction(80)), 0)


def together(repeats: list[np.ndarray], rows: int, columns: int, whole: WholeLattice = WHOLE) -> np.ndarray:
    """Return the drawing that repeats, laid row by row in a map, have together, shape (6, 8)."""
    knots = np.vstack([np.hstack(repeats[row * columns : (row + 1) * columns]) for row in range(rows)]).astype(np.int16)
    votes = np.stack([(np.array(repeats) == ink).sum(axis=0) for ink in (0, 1)])
    drawing = votes.argmax(axis=0).ravel().astype(np.int16)
    unsure = votes.max(axis=0).ravel() < 0.9 * len(repeats)
    lines = np.arange(knots.shape[0]), np.arange(knots.shape[1])
    return drawn_together(knots, drawing, unsure, whole, lines).reshape(6, 8)


def repeat(*places: tuple[int, int]) -> np.ndarray:
    drawn = np.zeros((6, 8), dtype=np.int16)
    for row, column in places:
        drawn[row, column] = 1
    return drawn


def test_a_dot_on_one_of_four_knots_is_not_lost() -> None:
    """Most repeats have ground on each of the four, and yet each has a dot."""
    dots = [repeat((row, column)) for row, column in [(2, 3)] * 5 + [(2, 4)] * 4 + [(3, 3)] * 4 + [(3, 4)] * 3]
    assert np.array_equal(together(dots, 4, 4), repeat((2, 3)))


def test_a_stroke_is_not_put_together_of_two() -> None:
    """Five repeats draw one diagonal, four another, and three begin as the first and end as the second."""
    one = repeat((1, 2), (2, 3), (3, 4), (4, 5))
    other = repeat((1, 3), (2, 4), (3, 5), (4, 6))
    bent = repeat((1, 2), (2, 3), (2, 4), (3, 5), (4, 6))
    assert np.array_equal(together([one] * 5 + [other] * 4 + [bent] * 3, 3, 4), one)


def test_two_ways_that_are_as_common_leave_the_drawing_as_it_is() -> None:
    dots = [repeat((2, 3))] * 6 + [repeat((2, 4))] * 6
    assert not together(dots, 3, 4).any()


def test_what_goes_on_from_repeat_to_repeat_is_left_to_each_place() -> None:
    """A line through all repeats, a row higher in a quarter of them, is no part of a repeat."""
    line, higher = repeat(*[(3, c) for c in range(8)]), repeat(*[(2, c) for c in range(8)])
    assert np.array_equal(together([line] * 9 + [higher] * 3, 3, 4), line)


@given(st.lists(st.sampled_from([0, 1, 2, 3]), min_size=12, max_size=12), st.booleans(), st.booleans())
@settings(max_examples=40)
def test_a_mirrored_map_has_the_mirrored_drawing(which: list[int], down: bool, across: bool) -> None:
    kinds = [
        repeat((2, 3)),
        repeat((3, 4), (4, 5)),
        repeat((0, 0), (5, 7), (2, 4)),
        repeat((2, 3), (3, 3)),
    ]
    axes = tuple(axis for axis, flipped in enumerate((down, across)) if flipped)
    knots = np.array([kinds[number] for number in which]).reshape(3, 4, 6, 8)
    image = np.flip(knots, (*axes, *(axis + 2 for axis in axes)))
    own, other = (together(list(one.reshape(12, 6, 8)), 3, 4) for one in (knots, image))
    assert np.array_equal(np.flip(own, axes), other)
