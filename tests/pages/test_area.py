"""Averages over areas are the exact means of the blocks that each new cell covers."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from skimage.transform import downscale_local_mean

from chartmaker.artwork.artwork import Artwork
from chartmaker.pages.proof import area


def whole(values: np.ndarray, rows: int, columns: int) -> np.ndarray:
    bands = list(area.averaged_bands(lambda first, last: values[first:last], values.shape, rows, columns))
    assert [start for start, _ in bands] == list(np.cumsum([0, *(len(cells) for _, cells in bands)])[:-1])
    return np.concatenate([cells for _, cells in bands])


@given(st.integers(1, 23), st.integers(1, 23), st.integers(1, 23), st.integers(1, 23), st.integers(0, 2**32 - 1))
def test_every_new_cell_is_the_mean_of_what_it_covers(
    old_rows: int, old_columns: int, rows: int, columns: int, seed: int
) -> None:
    """Each old cell is split into as many parts as there are new ones, and scikit-image averages blocks of old ones."""
    values = np.random.default_rng(seed).random((old_rows, old_columns, 2))
    fine = values.repeat(rows, axis=0).repeat(columns, axis=1)
    expected = downscale_local_mean(fine, (old_rows, old_columns, 1))
    np.testing.assert_allclose(whole(values, rows, columns), expected, rtol=0, atol=1e-12)


def test_bands_are_the_same_as_the_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    values = np.random.default_rng(1).random((97, 31, 3))
    at_once = whole(values, 41, 13)
    monkeypatch.setattr(area, "_BAND_NUMBERS", 500)
    np.testing.assert_allclose(whole(values, 41, 13), at_once, rtol=0, atol=1e-12)


def test_transparent_places_colour_nothing() -> None:
    srgb = np.zeros((2, 4, 3), dtype=np.uint8)
    srgb[:, :2] = 255
    coverage = np.array([[255, 0, 0, 255]] * 2, dtype=np.uint8)
    ((start, light, cover),) = area.artwork_bands(Artwork(srgb, coverage), 1, 2)
    assert start == 0
    np.testing.assert_allclose(light[0], [[1, 1, 1], [0, 0, 0]], atol=1e-12)
    np.testing.assert_allclose(cover[0], [0.5, 0.5])
