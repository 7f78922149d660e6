"""Drawing finer than a knot is found by the filters of morphology, which scipy has too."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy.ndimage import grey_closing, grey_opening, maximum_filter, minimum_filter

from chartmaker.checks.finer import _filtered

PLANES = st.tuples(st.integers(1, 24), st.integers(1, 24)).flatmap(lambda shape: arrays(np.uint8, shape))


@given(PLANES, st.tuples(st.integers(1, 12), st.integers(1, 12)))
def test_the_least_and_the_most_round_a_pixel_are_those_of_scipy(plane: np.ndarray, size: tuple[int, int]) -> None:
    assert np.array_equal(_filtered(plane, np.minimum, size), minimum_filter(plane, size))
    assert np.array_equal(_filtered(plane, np.maximum, size), maximum_filter(plane, size))


@given(PLANES, st.tuples(st.integers(1, 12), st.integers(1, 12)))
def test_filtering_back_and_ahead_opens_and_closes_a_plane_as_scipy_does(
    plane: np.ndarray, size: tuple[int, int]
) -> None:
    """An edge between two wide areas is nothing thin, however many pixels a knot has."""
    opened = _filtered(_filtered(plane, np.minimum, size), np.maximum, size, ahead=True)
    closed = _filtered(_filtered(plane, np.maximum, size, ahead=True), np.minimum, size)
    assert np.array_equal(opened, grey_opening(plane, size))
    assert np.array_equal(closed, grey_closing(plane, size))
