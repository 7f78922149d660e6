"""A side of a border as a strip that goes across: its pixels, and what covers the knots that are laid over it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.artwork.cells import KNOT, PIXEL, Cells, Edges, Whole
from chartmaker.colours.labelling import Labels
from chartmaker.convert.flat.coverage import cell_areas, coverages
from chartmaker.convert.flat.knotting import Yarns, knots_of, shares_of
from chartmaker.convert.flat.tiles import labels_under
from chartmaker.convert.repeats.finding import BorderRepeat
from chartmaker.convert.repeats.frames import Box

Inks = NDArray[np.int16]

#: When some of a strip is made into knots by itself, so many rows beside it are seen as well.
_AROUND = 6


@dataclass(frozen=True, eq=False)
class Drawing:
    """Flat artwork with the grid laid over it: the ink of each pixel, and how it is made into knots."""

    labels: Labels
    plane: ByteArray
    cells: Cells
    yarns: Yarns
    lines: bool
    tidy: int

    @property
    def square(self) -> bool:
        """Whether knots are as high as they are wide, on average."""
        high, wide = (float(edges.at[-1] - edges.at[0]) / len(edges) for edges in (self.cells.down, self.cells.across))
        return abs(high - wide) < 0.01 * wide

    @property
    def turned(self) -> Drawing:
        """The drawing with its columns for rows."""
        own = self.labels
        labels = Labels(own.first.T, own.second.T, own.second_share.T, own.left, own.top)
        cells = Cells(self.cells.across, self.cells.down)
        return Drawing(labels, self.plane.T, cells, self.yarns, self.lines, self.tidy)


@dataclass(frozen=True, eq=False)
class Strip:
    """A side of a border, seen as if it went across: the rows and columns of the rug that it takes, and its pixels."""

    drawing: Drawing
    rows: slice
    columns: slice
    box: Box

    @property
    def pixels(self) -> ByteArray:
        """The ink of each pixel."""
        return self.drawing.plane[self.box.window]

    @property
    def down(self) -> Edges:
        """The edges of its rows."""
        return Edges(self.drawing.cells.down.at[self.rows.start : self.rows.stop + 1])

    @property
    def knot_height_px(self) -> float:
        return float(self.down.at[-1] - self.down.at[0]) / PIXEL / len(self.down)

    @cached_property
    def cover(self) -> Whole:
        """How much of the cells of the rug in its rows each ink covers, in KNOTths, shape (rows, columns, inks)."""
        return self.shares(self.drawing.cells.across)

    def shares(self, across: Edges) -> Whole:
        """Return how much of the cells between some edges each ink covers, in KNOTths, shape (rows, cells, inks)."""
        cells, own = Cells(self.down, across), self.drawing
        cover = coverages(labels_under(own.labels, cells), cells, len(own.yarns.of_colour))[0]
        return shares_of(own.yarns.sums(cover), cell_areas(cells))

    def woven(self, across: Edges) -> Inks:
        """Return the knots between some edges, made as those of any flat drawing are, shape (rows, cells)."""
        own = self.drawing
        first, end = max(self.rows.start - _AROUND, 0), min(self.rows.stop + _AROUND, len(own.cells.down))
        cells = Cells(Edges(own.cells.down.at[first : end + 1]), across)
        made = knots_of(cells, labels_under(own.labels, cells), own.yarns, None, own.lines, own.tidy)
        return own.yarns.inks(made.knots)[self.rows.start - first : self.rows.stop - first]

    def without(self, top: int, foot: int) -> Strip:
        """Return the strip without some of its first and last rows."""
        rows = slice(self.rows.start + top, self.rows.stop - foot)
        return Strip(self.drawing, rows, self.columns, self.box)


def strip_of(repeat: BorderRepeat, drawing: Drawing) -> Strip:
    """Return the strip of a side of a border."""
    box = repeat.run.box
    if not repeat.run.across:
        drawing, box = drawing.turned, Box(box.left, box.top, box.right, box.bottom)
    cells = drawing.cells
    rows, columns = _between(cells.down, box.top, box.bottom), _between(cells.across, box.left, box.right)
    return Strip(drawing, rows, columns, box)


def _between(edges: Edges, low: float, high: float) -> slice:
    """Return the cells between the lines of the grid that are nearest to two places in pixels."""
    first, end = edges.in_knots(np.rint(np.array([low, high]) * PIXEL).astype(np.int64))
    return slice(round(int(first) / KNOT), round(int(end) / KNOT))
