"""The areas that colours cover in each cell, held against a separate, exact calculation of the tests."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from support.metrics import coverage

from chartmaker.artwork.cells import PIXEL, cells_of
from chartmaker.artwork.placing import evenly_placed
from chartmaker.colours.labelling import OUTSIDE, WHOLE_SHARE, Labels
from chartmaker.convert.flat.coverage import cell_areas, coverages

planes = arrays(np.uint8, st.tuples(st.integers(3, 30), st.integers(3, 30)), elements=st.integers(0, 2))


def hard(plane: np.ndarray) -> Labels:
    return Labels(plane, plane, np.zeros_like(plane))


@given(planes, st.integers(1, 20), st.integers(1, 20))
def test_areas_are_those_of_the_pixels_in_each_cell(plane: np.ndarray, rows: int, columns: int) -> None:
    cells = cells_of(evenly_placed(0, 0, *plane.shape, rows, columns))
    found, outside = coverages(hard(plane), cells, 3)
    share = found / cell_areas(cells)[..., None]
    # each of the four sides of a cell lies within half a unit of where it should
    off = 2 / (PIXEL * min(plane.shape[0] / rows, plane.shape[1] / columns))
    assert np.allclose(share, coverage(plane.astype(int), 3, rows, columns), atol=off)
    assert (found.sum(axis=2) == cell_areas(cells)).all()
    assert not outside.any()


def test_a_mixed_pixel_counts_for_both_its_colours() -> None:
    first, second = np.array([[0, 0], [OUTSIDE, 1]], np.uint8), np.array([[0, 1], [OUTSIDE, 1]], np.uint8)
    labels = Labels(first, second, np.array([[0, 100], [0, 0]], np.uint8))
    found, outside = coverages(labels, cells_of(evenly_placed(0, 0, 2, 2, 1, 1)), 2)
    pixel = PIXEL**2
    assert found.tolist() == [[[(2 * WHOLE_SHARE - 100) * pixel, (WHOLE_SHARE + 100) * pixel]]]
    assert outside.tolist() == [[WHOLE_SHARE * pixel]]


@given(planes, st.integers(1, 9), st.integers(1, 9))
def test_a_mirrored_plane_has_the_mirrored_areas(plane: np.ndarray, rows: int, columns: int) -> None:
    cells = cells_of(evenly_placed(0, 0, *plane.shape, rows, columns))
    found, _ = coverages(hard(plane), cells, 3)
    assert np.array_equal(coverages(hard(plane[::-1, ::-1]), cells, 3)[0], found[::-1, ::-1])
