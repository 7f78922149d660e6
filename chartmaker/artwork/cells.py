"""The edges of the knots' cells are kept in whole units, so that nothing about a knot depends on rounding."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.placing import Placement
from chartmaker.ground.colour import FloatArray

#: Units along a pixel, which are twice the parts of a mixed pixel, so that half a part is a whole number too.
PIXEL = 508
#: Units along a knot, for places that are measured in knots.
KNOT = 4096

Whole = NDArray[np.int64]
#: The rows and the columns of a part of a grid.
Window = tuple[slice, slice]
_Pixel = TypeVar("_Pixel", bound=np.generic)


@dataclass(frozen=True, eq=False)
class Edges:
    """The rising edges of cells side by side, shape (cells + 1,), in PIXEL units of the artwork."""

    at: Whole

    def __len__(self) -> int:
        return len(self.at) - 1

    @property
    def first_pixel(self) -> int:
        return int(self.at[0] // PIXEL)

    @property
    def pixels(self) -> int:
        """How many pixels the cells reach over, perhaps only in part at both ends."""
        return int(-(-self.at[-1] // PIXEL)) - self.first_pixel

    def in_knots(self, places: Whole) -> Whole:
        """Return `places`, in PIXEL units, in KNOT units from the first edge.

        A place on an edge is a whole number of knots; mirrored edges give mirrored places, exactly.
        """
        held = np.clip(places, self.at[0], self.at[-1])
        cell = np.clip(np.searchsorted(self.at, held, side="right") - 1, 0, len(self) - 1)
        size = self.at[cell + 1] - self.at[cell]
        return np.asarray(cell * KNOT + np.rint((held - self.at[cell]) * KNOT / size).astype(np.int64))

    def pixel_edges(self) -> Whole:
        """Return the edges of the pixels that the cells reach over, in KNOT units, shape (pixels + 1,)."""
        return self.in_knots((self.first_pixel + np.arange(self.pixels + 1)) * PIXEL)

    def in_pixels(self, places: Whole | FloatArray) -> FloatArray:
        """Return `places`, in KNOT units from the first edge, in pixels from the first pixel, undoing `in_knots`."""
        held = np.clip(places, 0, len(self) * KNOT)
        cell = np.minimum(held // KNOT, len(self) - 1).astype(np.intp)
        size = self.at[cell + 1] - self.at[cell]
        units = self.at[cell] - self.first_pixel * PIXEL + (held - cell * KNOT) * size / KNOT
        return np.asarray(np.rint(units * 4) / (4 * PIXEL))


@dataclass(frozen=True, eq=False)
class Cells:
    """The cells of some rows and columns of the knot grid, in raster order."""

    down: Edges
    across: Edges

    @property
    def shape(self) -> tuple[int, int]:
        return len(self.down), len(self.across)

    def part(self, window: Window) -> Cells:
        """Return only the cells of a window."""
        down, across = (
            Edges(edges.at[own.start : own.stop + 1])
            for edges, own in zip((self.down, self.across), window, strict=True)
        )
        return Cells(down, across)

    def from_pixel(self, top: int, left: int) -> Cells:
        """Return the cells as they lie on a part of the artwork that begins at a pixel."""
        return Cells(Edges(self.down.at - top * PIXEL), Edges(self.across.at - left * PIXEL))

    def under(self, plane: NDArray[_Pixel]) -> tuple[NDArray[_Pixel], Cells]:
        """Return only the pixels of a plane that the cells reach over, with the cells as they lie on these."""
        (top, bottom), (left, right) = (
            (max(int(edges.at[0] // PIXEL), 0), min(int(-(-edges.at[-1] // PIXEL)), size))
            for edges, size in zip((self.down, self.across), plane.shape, strict=True)
        )
        return plane[top:bottom, left:right], self.from_pixel(top, left)


def cells_of(placement: Placement) -> Cells:
    """Return the cells of a placement, with their edges rounded to the nearest unit."""
    down, across = (
        Edges(np.rint(np.round(edges * PIXEL, 4)).astype(np.int64))
        for edges in (placement.raster_row_edges, placement.column_edges)
    )
    return Cells(down, across)
