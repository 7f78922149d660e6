"""Long lines stay whole and straight beside what is only a short gap or a short stroke."""

from __future__ import annotations

import numpy as np
import pytest
from support.drawing_measures import guards
from support.drawing_measures.placed import Drawing, Placed
from support.drawings import COLOURS, card_of, converted, drawing, picked
from support.holdouts import INKS, labels_among_neighbours
from support.making import SQUARE, make_rug


@pytest.mark.parametrize("apart", [0.7, 0.8, 0.9])
def test_a_line_stays_straight_where_tips_come_near(apart: float) -> None:
    """A guard line, just between two columns, has its knots in one of them all along (common practice)."""
    y, x = np.mgrid[: 40 * 12, : 30 * 12] / 12
    labels = np.where(x < 6, 1, 0)
    labels[np.abs(x - 6.07) <= 0.23] = 4
    for middle in range(5, 40, 10):
        tip = x - 6.3 - apart
        labels[(tip >= 0) & (tip < 12) & (np.abs(y - middle - 0.4) <= 0.3 + tip / 4)] = 2
    knots = picked(converted(INKS[labels], make_rug(30, 40, SQUARE), card_of(INKS), style="flat", fitted=False))
    places = [np.flatnonzero(row == 4).tolist() for row in knots]
    assert all(place == places[0] for place in places)
    assert len(places[0]) == 1


def test_hardly_a_line_is_broken_in_few_knots() -> None:
    """The harlequin's outlines are followed as scikit-image's skeleton runs, in 80 columns of oblong knots."""
    srgb, colours = drawing("harlequin"), np.array(COLOURS["harlequin"][1], dtype=np.uint8)
    rows = round(80 * srgb.shape[0] / srgb.shape[1] / 0.75)
    result = converted(srgb, make_rug(80, rows, "9/60 indian"), card_of(colours))
    placement = result.placed.placement
    labels = labels_among_neighbours(srgb, colours)
    drawn = Drawing(labels, srgb.shape[0] / rows, srgb.shape[1] / 80, len(colours))
    placed = Placed(drawn, placement.raster_row_edges, placement.column_edges, picked(result))
    assert guards.unbroken(placed).value >= 0.96


def test_nothing_remains_of_a_ring_that_is_too_thin() -> None:
    """A ring of a fifth of a knot turns four times from one direction of the grid to the other (geometry)."""
    y, x = np.mgrid[: 30 * 16, : 30 * 16] / 16
    labels = np.where(np.abs(np.hypot(x - 15.3, y - 14.8) - 9.7) <= 0.1, 4, 0)
    labels[:64, :64] = 4
    knots = picked(converted(INKS[labels], make_rug(30, 30, SQUARE), card_of(INKS), style="flat", tidy=0))
    assert (knots == 4).sum() == 16
