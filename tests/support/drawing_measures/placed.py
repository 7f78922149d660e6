"""The pixels of a drawing, the knots that were made of them, and the edges of the cells of these knots."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Grid = NDArray[np.integer]
Floats = NDArray[np.float64]


class Score(NamedTuple):
    """A measure as a ratio, `part` of `whole`, so that hold-outs can be added up."""

    part: float
    whole: float

    @property
    def value(self) -> float:
        """The ratio, or NaN where there was nothing to measure."""
        return self.part / self.whole if self.whole else float("nan")


def summed(scores: list[Score]) -> Score:
    return Score(sum(score.part for score in scores), sum(score.whole for score in scores))


@dataclass(frozen=True, eq=False)
class Drawing:
    """The ink of every pixel, shape (height, width), the number of `inks`, and the size of an even knot in pixels.

    What depends only on the drawing is kept with it, so that several conversions share the work.
    """

    labels: Grid
    knot_height: float
    knot_width: float
    inks: int

    @cached_property
    def transposed(self) -> Drawing:
        return Drawing(self.labels.T, self.knot_width, self.knot_height, self.inks)


@dataclass(frozen=True, eq=False)
class Placed:
    """The knots of a drawing, shape (rows, columns), in raster order, as indices of the drawing's inks.

    `row_edges` (rows + 1) and `column_edges` (columns + 1) say in pixels where the cells begin and end.
    """

    drawing: Drawing
    row_edges: Floats
    column_edges: Floats
    knots: Grid

    @property
    def labels(self) -> Grid:
        return self.drawing.labels

    def down(self, pixels: Floats | float) -> Floats:
        """Return places in pixels from the top as places in knots."""
        return np.asarray(np.interp(pixels, self.row_edges, np.arange(len(self.row_edges))))

    def across(self, pixels: Floats | float) -> Floats:
        """Return places in pixels from the left as places in knots."""
        return np.asarray(np.interp(pixels, self.column_edges, np.arange(len(self.column_edges))))

    @cached_property
    def row_centres(self) -> Floats:
        return (self.row_edges[1:] + self.row_edges[:-1]) / 2

    @cached_property
    def column_centres(self) -> Floats:
        return (self.column_edges[1:] + self.column_edges[:-1]) / 2

    @cached_property
    def transposed(self) -> Placed:
        return Placed(self.drawing.transposed, self.column_edges, self.row_edges, self.knots.T)

    @cached_property
    def cover(self) -> Floats:
        """The exact share of each cell that each ink covers, shape (rows, columns, inks)."""
        return coverage(self.labels, self.drawing.inks, self.row_edges, self.column_edges)


def placed_evenly(labels: Grid, knots: Grid) -> Placed:
    """Return `knots` with evenly spaced edges over the whole drawing."""
    (height, width), (rows, columns) = labels.shape, knots.shape
    drawing = Drawing(labels, height / rows, width / columns, int(max(labels.max(), knots.max())) + 1)
    return Placed(drawing, even_edges(height, rows), even_edges(width, columns), knots)


def even_edges(pixels: float, cells: int) -> Floats:
    return np.arange(cells + 1) * pixels / cells


def coverage(labels: Grid, inks: int, row_edges: Floats, column_edges: Floats) -> Floats:
    """Return the share of each cell that each ink covers; nothing covers what lies outside the drawing."""
    down, across = integration(row_edges, labels.shape[0]), integration(column_edges, labels.shape[1])
    return np.stack([down(across((labels == ink).astype(float), 1), 0) for ink in range(inks)], axis=-1)


def integration(edges: Floats, pixels: int):  # type: ignore[no-untyped-def]
    """Return a function that averages an array over the cells between `edges` along an axis."""
    at = np.clip(edges, 0, pixels)
    low = np.minimum(at.astype(int), pixels - 1)
    part, extent = at - low, np.diff(edges)

    def averaged(values: Floats, axis: int) -> Floats:
        total = np.concatenate([np.zeros_like(values.take([0], axis)), np.cumsum(values, axis=axis)], axis=axis)
        shape = [-1 if a == axis else 1 for a in range(values.ndim)]
        upto = total.take(low, axis)
        upto = upto + part.reshape(shape) * (total.take(low + 1, axis) - upto)
        return np.diff(upto, axis=axis) / extent.reshape(shape)

    return averaged
