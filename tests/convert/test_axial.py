"""Strokes along an axis between two knots are drawn on both sides of it, whichever side they lay on."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from chartmaker.convert.repeats.axial import along_axes
from chartmaker.convert.repeats.wholes import Side, WholeLattice

#: A repeat of 6 rows and 8 columns of ten pixels each; columns 3 and 4 are images of each other, and 7 and 0.
WHOLE = WholeLattice(Side(6, Fraction(60)), Side(8, Fraction(80)), 0, (None, 40.0))
EDGES = np.arange(0, 130, 10.0), np.arange(0, 170, 10.0)
Inks = np.ndarray


def drawn(rows: list[str], liked: int) -> list[str]:
    """Return a drawing after strokes have been evened, where the artwork shows only the ink `liked`."""
    inks = np.array([list(row) for row in rows]).astype(np.int16)
    result = along_axes(inks.ravel(), WHOLE, EDGES, lambda places, seen: (seen == liked).astype(np.int64))
    return ["".join(map(str, row)) for row in result.reshape(inks.shape)]


def test_a_stroke_beside_an_axis_is_drawn_on_both_sides_or_on_none() -> None:
    rows = ["00010000", "00010000", "00020000", "00000000", "00000001", "10000001"]
    both = ["00011000", "00011000", "00022000", "00000000", "00000001", "10000001"]
    none = ["00000000", "00000000", "00000000", "00000000", "00000001", "10000001"]
    assert drawn(rows, 1) == both
    assert drawn(rows, 0) == none


def test_the_axis_half_a_repeat_on_counts_and_a_single_knot_does_not() -> None:
    rows = ["00000001", "00000001", "00000000", "00010000", "00000000", "00000000"]
    assert drawn(rows, 1) == ["10000001", "10000001", "00000000", "00010000", "00000000", "00000000"]


def test_a_stroke_goes_on_into_the_next_repeat() -> None:
    rows = ["00010000", "00000000", "00000000", "00000000", "00000000", "00010000"]
    assert drawn(rows, 1) == ["00011000", *rows[1:5], "00011000"]


@given(st.lists(st.lists(st.integers(0, 2), min_size=8, max_size=8), min_size=6, max_size=6), st.integers(0, 9))
def test_an_image_gets_the_image_of_the_drawing(rows: list[list[int]], seed: int) -> None:
    inks = np.array(rows, dtype=np.int16)
    worth = np.random.default_rng(seed).integers(0, 5, (6, 4, 3))
    worth = np.concatenate([worth, worth[:, ::-1]], axis=1).reshape(-1, 3)

    def shown(places: Inks, seen: Inks) -> Inks:
        return np.asarray(worth[places, seen])

    even = along_axes(inks.ravel(), WHOLE, EDGES, shown).reshape(6, 8)
    image = along_axes(inks[:, ::-1].ravel(), WHOLE, EDGES, shown).reshape(6, 8)
    assert (image == even[:, ::-1]).all()
    assert (even[:, [1, 2, 5, 6]] == inks[:, [1, 2, 5, 6]]).all()
