"""Grids made coarser or finer by the area that each new cell covers."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from chartmaker.artwork.artwork import Artwork
from chartmaker.ground.colour import LINEAR_OF_BYTE, FloatArray

#: Takes (row_from, row_to), half-open, gives those rows, shape (rows, columns, channels).
RowReader = Callable[[int, int], FloatArray]

# How many numbers a band of rows may hold: 8 bytes each, a few copies at once, twenty with the differences of colour.
_BAND_NUMBERS = 1_000_000


def _averaged(values: FloatArray, axis: int, edges: FloatArray) -> FloatArray:
    """Return `values` averaged along an axis between each of `edges` and the next, which are evenly spaced.

    The mean is exact for cells of constant value, whether the new ones are wider or narrower: the running
    total is read off, between its points linearly, at the edges of each new cell.
    """
    along = (slice(None),) * axis
    shape = list(values.shape)
    shape[axis] += 1
    total = np.zeros(shape)
    np.cumsum(values, axis=axis, out=total[(*along, slice(1, None))])
    below = np.minimum(edges.astype(np.intp), values.shape[axis] - 1)
    beyond = (edges - below).reshape(-1, *(1,) * (values.ndim - axis - 1))
    at_edges = total.take(below, axis) + values.take(below, axis) * beyond
    return np.asarray(np.diff(at_edges, axis=axis) * ((len(edges) - 1) / (edges[-1] - edges[0])))


def averaged_bands(
    read_rows: RowReader, shape: tuple[int, int, int], rows: int, columns: int
) -> Iterator[tuple[int, FloatArray]]:
    """Yield (first row, cells) of a grid averaged into `rows` x `columns` cells, a few rows at a time.

    Parameters
    ----------
    read_rows : callable
        Gives any rows of the grid that is averaged.
    shape : (rows, columns, channels) of that grid
    rows, columns : int
        Of the result.

    Yields
    ------
    (int, ndarray of float64, shape (some rows, columns, channels))
    """
    old_rows, old_columns, channels = shape
    each = max(1, int(_BAND_NUMBERS / (max(old_columns, columns) * channels * max(1.0, old_rows / rows))))
    across = np.arange(columns + 1) * old_columns / columns
    for start in range(0, rows, each):
        stop = min(start + each, rows)
        first = start * old_rows // rows
        last = -(-stop * old_rows // rows)
        along = np.arange(start, stop + 1) * old_rows / rows - first
        cells: FloatArray = np.asarray(read_rows(first, last), dtype=np.float64)
        sides = [
            (axis, edges)
            for axis, edges, same in ((0, along, rows == old_rows), (1, across, columns == old_columns))
            if not same
        ]
        for axis, edges in sides if old_rows > rows else reversed(sides):  # what makes it smaller comes first
            cells = _averaged(cells, axis, edges)
        yield start, cells


def artwork_bands(artwork: Artwork, rows: int, columns: int) -> Iterator[tuple[int, FloatArray, FloatArray]]:
    """Yield (first row, linear light, cover) of an artwork averaged into `rows` x `columns` cells, top row first.

    Yields
    ------
    (int, ndarray shape (some rows, columns, 3), ndarray shape (some rows, columns))
        The linear light is that of the covered part of a cell; `cover` is 0 to 1.
    """
    srgb, coverage = artwork.srgb, artwork.coverage

    def read(first: int, last: int) -> FloatArray:
        light = LINEAR_OF_BYTE[srgb[first:last]]
        if coverage is None:
            return light
        cover = coverage[first:last, :, None] / 255
        return np.concatenate([light * cover, cover], axis=2)

    shape = (artwork.height, artwork.width, 3 if coverage is None else 4)
    for start, cells in averaged_bands(read, shape, rows, columns):
        if coverage is None:
            yield start, cells, np.ones(cells.shape[:2])
        else:
            cover = cells[..., 3]
            yield start, cells[..., :3] / np.maximum(cover, 1e-9)[..., None], cover
