"""Lines through an artwork show how pure and how regular the cells of a grid are."""

from __future__ import annotations

import numpy as np
import pytest

from chartmaker.convert.laying.sample import LEAST_REPEATS, Sample

EVEN = np.arange(0.0, 401.0, 10.0)


def test_purity_is_the_share_of_the_commonest_ink() -> None:
    """Cells of ten pixels, three of them of another ink, are 0.7 pure, counted by hand."""
    line = np.tile(np.array([0, 0, 0, 0, 0, 0, 0, 1, 1, 1], np.uint8), 40)[None]
    assert Sample(line).purity(EVEN) == pytest.approx(0.7)
    assert Sample(line).purity(np.append(EVEN[:-1] + 7, 400.0)[1:]) < 0.71


def test_a_line_that_repeats_often_enough_is_regular() -> None:
    """One of two lines repeats ten times, every four cells, and the other never does."""
    period = np.array([0, 1, 1, 0], np.uint8)
    other = np.random.default_rng(1).permutation(np.arange(40) % 5).astype(np.uint8)
    regular = Sample(np.tile(period, 10).repeat(10)[None]).regularity(EVEN)
    assert regular == 1.0
    assert Sample(other.repeat(10)[None]).regularity(EVEN) == 0.0
    assert LEAST_REPEATS == 10  # if it took more repeats, the line above would be too short


def test_a_bent_grid_loses_regularity() -> None:
    dots = np.tile(np.array([0] * 10 + [1] * 20 + [0] * 10, np.uint8), 10)[None]
    bent = EVEN + 7 * np.sin(EVEN / 40)
    bent[[0, -1]] = 0, 400
    assert Sample(dots).regularity(EVEN) == 1.0
    assert Sample(dots).regularity(bent) < 0.5
