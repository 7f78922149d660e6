"""Edges that are straight pixel by pixel are straight knot by knot, although their pixels are mixed."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import ornament
from support.drawing_measures import edges
from support.drawing_measures.placed import Drawing, Placed
from support.drawings import card_of, converted, picked
from support.holdouts import INKS
from support.making import SQUARE, make_rug

from chartmaker.artwork.artwork import Artwork
from chartmaker.artwork.placing import evenly_placed
from chartmaker.colours.labelling import Labels, label_pixels
from chartmaker.convert.laying.straightening import straightened

EVEN = evenly_placed(0, 0, 240, 360, 40, 60)


def slanting(steepness: float, shift: float) -> tuple[np.ndarray, np.ndarray]:
    """Return two areas whose edge slants by `steepness`, on 60 x 40 knots, and the ink of every pixel."""

    def paint(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return (y > 20 + shift + steepness * (x - 30)).astype(np.uint8)

    return ornament.rendered(paint, 60, 40, (240, 360), INKS)


@pytest.mark.parametrize("steepness", [0.02, -0.013, 0.031])
def test_an_edge_steps_where_its_pixels_step(steepness: float) -> None:
    """The measure is written apart from the converter; it finds no dent in any straight stretch of pixels."""
    srgb, labels = slanting(steepness, 0.3)
    result = converted(srgb, make_rug(60, 40, SQUARE), card_of(INKS), style="flat", fitted=True)
    placement = result.placed.placement
    placed = Placed(
        Drawing(labels, 6, 6, len(INKS)), placement.raster_row_edges, placement.column_edges, picked(result)
    )
    assert edges.upright_edges(placed.transposed.drawing)
    assert edges.dents(placed).part == 0


def planes_of(labels: Labels) -> tuple[np.ndarray, ...]:
    return labels.first, labels.second, labels.second_share


@given(st.floats(-0.05, 0.05), st.floats(-0.5, 0.5))
def test_the_mixture_is_the_same_all_along_and_mirrors(steepness: float, shift: float) -> None:
    """Along a stretch the pixels that it does not share with another edge have the mean of what they had."""
    srgb, _ = slanting(steepness, shift)
    before = label_pixels(Artwork(srgb), INKS)
    after = straightened(before, EVEN)
    assert np.array_equal(after.first, before.first)
    amount = [np.where(labels.second == 1, 1.0, -1.0) * labels.second_share for labels in (before, after)]
    edge = np.argmax(before.first == 1, axis=0)
    for start, end in zip(*_runs(edge), strict=True):
        if end - start >= 30 and 0 < edge[start] < 240:
            for row in (edge[start] - 1, edge[start]):
                own = amount[1][row, start:end]
                assert len(np.unique(own)) == 1
                assert abs(own.mean() - amount[0][row, start:end].mean()) <= 0.5
    turned = straightened(Labels(*(plane[:, ::-1] for plane in planes_of(before))), EVEN)
    for one, other in zip(planes_of(turned), planes_of(after), strict=True):
        assert np.array_equal(one, other[:, ::-1])


def _runs(values: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    bounds = np.flatnonzero(np.diff(values)) + 1
    return np.append(0, bounds), np.append(bounds, len(values))
