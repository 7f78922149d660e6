"""The grid is shifted as a whole where a drawing has no straight edges that its lines could follow."""

from __future__ import annotations

import numpy as np
import pytest

from chartmaker.convert.laying.fitting import Line
from chartmaker.convert.laying.phase import phased_edges
from chartmaker.convert.laying.sample import Sample

LINE = Line(0, 400, 40)


def blocks(shift: int) -> np.ndarray:
    """Return inks in blocks of a knot, ten pixels, that begin `shift` pixels late, with no two lines alike."""
    return np.roll(np.random.default_rng(3).integers(0, 4, (64, 40)).astype(np.uint8).repeat(10, axis=1), shift, axis=1)


@pytest.mark.parametrize("eighths", [-3, -2, -1, 1, 2, 3])
def test_the_grid_goes_to_where_its_cells_are_pure(eighths: int) -> None:
    edges = phased_edges(LINE, Sample(blocks(round(eighths * 1.25))))
    np.testing.assert_allclose(edges[1:-1] - LINE.even_edges[1:-1], eighths * 1.25)
    assert (edges[0], edges[-1]) == (0, 400)


def test_nothing_moves_where_nothing_is_gained() -> None:
    assert phased_edges(LINE, Sample(blocks(0))).tolist() == LINE.even_edges.tolist()
    assert phased_edges(LINE, Sample(np.zeros((64, 400), np.uint8))).tolist() == LINE.even_edges.tolist()


def test_a_drawing_that_mirrors_stays_where_it_is() -> None:
    half = np.roll(blocks(0), 3, axis=1)[:, :200]
    assert phased_edges(LINE, Sample(np.hstack([half, half[:, ::-1]]))).tolist() == LINE.even_edges.tolist()


def test_the_mirror_image_is_shifted_the_other_way() -> None:
    inks = blocks(4)
    assert (400 - phased_edges(LINE, Sample(inks[:, ::-1]))[::-1]).tolist() == phased_edges(LINE, Sample(inks)).tolist()
