"""Artwork that was enlarged by whole factors is taken back to its own size."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from chartmaker.artwork.artwork import Artwork
from chartmaker.artwork.own_size import at_own_size, back_on
from chartmaker.artwork.placing import evenly_placed

small = arrays(np.uint8, st.tuples(st.integers(2, 9), st.integers(2, 9), st.just(3)), elements=st.integers(0, 1))


@given(small, st.integers(1, 5), st.integers(1, 5))
def test_an_enlargement_gives_the_artwork_that_was_enlarged(srgb: np.ndarray, down: int, across: int) -> None:
    """NumPy repeats the pixels; taking them back must give the same picture with its edges over the same places."""
    large = np.repeat(np.repeat(srgb, down, axis=0), across, axis=1)
    coverage = np.where(large[..., 0] == 0, 255, 0).astype(np.uint8)
    whole = evenly_placed(0, 0, *large.shape[:2], 4, 5)
    taken, placement = at_own_size(Artwork(large, coverage), whole)
    there = back_on(Artwork(large), taken, placement)
    assert np.allclose(there.column_edges, whole.column_edges)
    assert np.allclose(there.row_edges, whole.row_edges)
    again, _ = at_own_size(Artwork(srgb, np.where(srgb[..., 0] == 0, 255, 0).astype(np.uint8)), placement)
    assert np.array_equal(taken.srgb, again.srgb)
    assert np.array_equal(taken.coverage, again.coverage)
    assert placement.height == taken.height
    assert placement.width == taken.width
    rows, columns = (large.shape[axis] // taken.srgb.shape[axis] for axis in (0, 1))
    assert np.array_equal(taken.srgb.repeat(rows, axis=0).repeat(columns, axis=1), large)


def test_artwork_that_was_not_enlarged_comes_back_untouched() -> None:
    artwork = Artwork(np.arange(7 * 5 * 3, dtype=np.uint8).reshape(7, 5, 3))
    placement = evenly_placed(0, 0, 7, 5, 4, 5)
    assert at_own_size(artwork, placement) == (artwork, placement)
