"""How often each cell of a grid is woven, where some are images of others."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.memory import Key

#: Rows that are counted together.
_BAND_ROWS = 256


@dataclass(frozen=True, eq=False)
class Times:
    """How often each cell of the grid, in raster order, is woven; a cell that only copies another counts as 0.

    The numbers are either the products of `rows` and `columns`, or `each`, shape (rows, columns).
    """

    rows: NDArray[np.int64]
    columns: NDArray[np.int64]
    each: NDArray[np.uint8] | None = None

    @property
    def key(self) -> Key:
        """Everything that the numbers depend on."""
        return (self.rows, self.columns, self.each)

    def part(self, window: tuple[slice, slice]) -> Times:
        """Return the numbers of some rows and columns."""
        each = None if self.each is None else self.each[window]
        return Times(self.rows[window[0]], self.columns[window[1]], each)

    def band(self, first: int, end: int) -> NDArray[np.integer]:
        """Return the numbers of the cells of rows `first` .. `end`."""
        if self.each is not None:
            return self.each[first:end]
        return np.asarray(self.rows[first:end, None] * self.columns[None])

    def woven(self, cells: NDArray[np.bool_]) -> int:
        """Return how many knots of the rug some cells stand for."""
        if self.each is not None:
            return int(self.each[cells].sum())
        # A few rows at a time, because the product of whole planes would be one of numbers eight times as large.
        starts = range(0, len(cells), _BAND_ROWS)
        return sum(int(self.rows[at : at + _BAND_ROWS] @ cells[at : at + _BAND_ROWS] @ self.columns) for at in starts)
