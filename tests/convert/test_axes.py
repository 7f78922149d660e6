"""Axes of drawings that repeat are found where they were drawn, and the grid lies on them."""

from __future__ import annotations

import numpy as np
from hypothesis import assume, given
from hypothesis import strategies as st
from support import ornament
from support.drawing_measures import edges, guards, motifs
from support.drawing_measures.placed import Drawing, Placed
from support.drawings import COLOURS, card_of, converted, drawing, picked, rows_for
from support.holdouts import INKS, labels_among_neighbours
from support.making import SQUARE, make_rug

from chartmaker.convert.laying.axes import Axis, axis_of


def woven(srgb: np.ndarray, labels: np.ndarray, colours: np.ndarray, columns: int, rows: int) -> Placed:
    result = converted(srgb, make_rug(columns, rows, SQUARE), card_of(colours))
    placement = result.placed.placement
    drawn = Drawing(labels, labels.shape[0] / rows, labels.shape[1] / columns, len(colours))
    return Placed(drawn, placement.raster_row_edges, placement.column_edges, picked(result))


@given(st.integers(0, 99), st.integers(9, 30), st.integers(0, 29), st.booleans())
def test_an_axis_is_found_where_it_was_drawn(seed: int, half: int, start: int, on_pixel: bool) -> None:
    """Each repeat is a random half and its image, with a pixel between them or none; every row is one such line."""
    own = np.random.default_rng(seed).integers(0, 4, (7, half)).astype(np.uint8)
    repeat = np.hstack([own, own[:, ::-1][:, on_pixel:]])
    size = repeat.shape[1]
    inks = np.tile(repeat, 5)[:, start % size : 5 * size - 2]
    axis = axis_of(inks, size)
    assume(axis is not None)  # there is none to choose where two are equally near
    away = (axis.place + start % size - (half - on_pixel / 2)) / (size / 2)
    assert abs(away - round(away)) < 1e-9
    assert axis.plain
    assert axis_of(inks[:, ::-1], size) == Axis(inks.shape[1] - axis.place, True)


def test_a_drawing_without_an_axis_has_none() -> None:
    """A bar of three inks in turn is its own image nowhere."""
    assert axis_of(np.tile(np.array([0, 0, 0, 1, 1, 2], np.uint8).repeat(5), (8, 6)), 30) is None


def test_motifs_that_repeat_off_the_middle_are_mirrored() -> None:
    """Of a tiling that begins with an axis at its left edge, and has none in its middle, the motifs mirror."""
    paint = ornament.tiling(ornament.MOTIFS["flower"], 13.3, "square", 0.9, 0.0)
    srgb, labels = ornament.rendered(paint, 90, 60, (600, 900), INKS)
    placed = woven(srgb, labels, INKS, 90, 60)
    assert motifs.mirror(placed).value >= 0.9
    assert guards.fidelity(placed).value >= 0.985


def test_bars_of_one_width_in_a_repeat_come_out_in_one_width() -> None:
    """Ten bars and gaps of one width share 33 knots, and the gaps take what is over (common practice)."""
    srgb, colours = drawing("crosses"), np.array(COLOURS["crosses"][1], dtype=np.uint8)
    labels = labels_among_neighbours(srgb, colours)
    assert edges.stripes(woven(srgb, labels, colours, 100, rows_for(srgb, 100))).value == 1.0
