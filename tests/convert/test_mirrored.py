"""A repeat that is its own mirror image is drawn as one; the drawings are made by hand."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from chartmaker.artwork.cells import KNOT
from chartmaker.convert.repeats.mirrored import mirrored
from chartmaker.convert.repeats.wholes import Side, WholeLattice

#: A repeat of 6 rows and 9 columns of ten pixels each; column 4 has its axis in the middle.
WHOLE = WholeLattice(Side(6, Fraction(60)), Side(9, Fraction(90)), 0, (None, 45.0))
EDGES = np.arange(0, 130, 10.0), np.arange(0, 190, 10.0)
Inks = np.ndarray


def drawn(rows: list[str], shown: dict[int, int], whole: WholeLattice = WHOLE) -> list[str]:
    """Return the mirrored drawing, where of each ink as much is `shown` everywhere, in tenths of a knot."""
    inks = np.array([list(row) for row in rows]).astype(np.int16)
    worth = np.array([shown.get(ink, 0) * KNOT // 10 for ink in range(3)])
    result = mirrored(inks.ravel(), whole, EDGES, lambda places, seen: worth[seen])
    return ["".join(map(str, row)) for row in result.reshape(inks.shape)]


STAR = ["000000000", "000010000", "001111100", "000111000", "001000100", "000000000"]
BENT = ["000000000", "000010000", "001111100", "000111000", "001001000", "000000000"]


def test_what_differs_gets_the_inks_of_the_side_that_shows_more() -> None:
    """A star has a foot a knot further in at its right; more of the artwork is shown with feet than without."""
    bent = [*BENT[:4], "001000000", BENT[5]]
    assert drawn(bent, {0: 3, 1: 6}) == STAR
    assert drawn(bent, {0: 6, 1: 3}) == [*STAR[:4], "000000000", STAR[5]]
    assert drawn(STAR, {0: 6, 1: 3}) == STAR


def test_no_ink_is_drawn_where_the_artwork_has_none() -> None:
    bent = [*BENT[:4], "001000000", BENT[5]]
    assert drawn(bent, {0: 0, 1: 9})[4] == "001000100"
    assert drawn(bent, {0: 0, 1: 0}) == bent


def test_a_dot_is_not_lost() -> None:
    """One of two dots that are images of each other is missing; though ground shows more, both are drawn."""
    rows = ["000000000"] * 2 + ["020000000"] + ["000000000"] * 3
    assert drawn(rows, {0: 8, 2: 2})[2] == "020000020"


def test_both_axes_hold_at_last() -> None:
    whole = WholeLattice(WHOLE.down, WHOLE.across, 0, (35.0, 45.0))
    rows = ["000000000", "010000000", "000110000", "000111000", "000010000", "000000000"]
    inks = np.array([list(row) for row in drawn(rows, {0: 3, 1: 6}, whole)])
    assert (inks == inks[:, ::-1]).all()
    assert (inks[1:6] == inks[1:6][::-1]).all()


@given(st.lists(st.lists(st.integers(0, 2), min_size=9, max_size=9), min_size=6, max_size=6), st.integers(0, 9))
def test_an_image_gets_the_image_of_the_drawing(rows: list[list[int]], seed: int) -> None:
    inks = np.array(rows, dtype=np.int16)
    half = np.random.default_rng(seed).integers(0, KNOT, (6, 5, 3))
    worth = np.concatenate([half, half[:, 3::-1]], axis=1).reshape(-1, 3)

    def shown(places: Inks, seen: Inks) -> Inks:
        return np.asarray(worth[places, seen])

    own = mirrored(inks.ravel(), WHOLE, EDGES, shown).reshape(6, 9)
    image = mirrored(inks[:, ::-1].ravel(), WHOLE, EDGES, shown).reshape(6, 9)
    assert (image == own[:, ::-1]).all()
    assert (own[:, 4] == inks[:, 4]).all()
