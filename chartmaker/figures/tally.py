"""Knots counted by bands of rows, by strips and by yarns."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from chartmaker.knots.knotmap import NO_KNOT, KnotArray

_BAND_CELLS = 4_000_000  # cells widened at a time, so that a map of any size takes about 100 MB


def tally(knots: KnotArray, row_bands: Sequence[range], column_bands: Sequence[range], yarns: int) -> NDArray[np.int64]:
    """Return the knots of each yarn in each rectangle of bands, shape (row bands, column bands, yarns)."""
    counts = np.zeros((len(row_bands), len(column_bands), yarns), dtype=np.int64)
    for down, rows in enumerate(row_bands):
        for over, columns in enumerate(column_bands):
            step = max(_BAND_CELLS // max(len(columns), 1), 1)
            for row in range(rows.start, rows.stop, step):
                part = knots[row : min(row + step, rows.stop), columns.start : columns.stop]
                cells = np.minimum(part, yarns).ravel()
                counts[down, over] += np.bincount(cells, minlength=yarns + 1)[:yarns]
    return counts


def runs_by_row(knots: KnotArray, strips: Sequence[range]) -> NDArray[np.int64]:
    """Return how many runs of one yarn each row has, cut at strip edges as in the row script, shape (rows,)."""
    rows, columns = knots.shape
    edges = [strip.start for strip in strips]
    counts = np.zeros(rows, dtype=np.int64)
    step = max(_BAND_CELLS // columns, 1)
    for row in range(0, rows, step):
        band = knots[row : row + step]
        starts = np.ones(band.shape, dtype=bool)
        starts[:, 1:] = band[:, 1:] != band[:, :-1]
        starts[:, edges] = True
        starts &= band != NO_KNOT
        counts[row : row + step] = starts.sum(axis=1)
    return counts


def bands_of(rows: int, height: int) -> tuple[range, ...]:
    """Return the rows of each band of `height` rows, from the first woven; the last band may have fewer."""
    return tuple(range(row, min(row + height, rows)) for row in range(0, rows, height))
