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


def averaged_columns(values: FloatArray, columns: int) -> FloatArray:
    """Return `values`, shape (rows, old columns, channels), averaged into `columns` equal cells of each row.

    The mean is exact for cells of constant value, whether the new ones are wider or narrower: the running
    total is read off, between its points linearly, at the edges of each new cell.
    """
    rows, old_columns, channels = values.shape
    if columns == old_columns:
        return values
    total = np.zeros((rows, old_columns + 1, channels))
    np.cumsum(values, axis=1, out=total[:, 1:])
    edges = np.arange(columns + 1) * old_columns / columns
    below = np.minimum(edges.astype(np.intp), old_columns - 1)
    at_edges = total[:, below] + values[:, below] * (edges - below)[:, None]
    return np.asarray(np.diff(at_edges, axis=1) * (columns / old_columns))


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
    for start in range(0, rows, each):
        stop = min(start + each, rows)
        first = start * old_rows // rows
        last = -(-stop * old_rows // rows)
        wide = averaged_columns(np.asarray(read_rows(first, last), dtype=np.float64), columns)
        if rows == old_rows:
            yield start, wide
            continue
        total = np.zeros((last - first + 1, columns, channels))
        np.cumsum(wide, axis=0, out=total[1:])
        edges = np.arange(start, stop + 1) * old_rows / rows - first
        below = np.minimum(edges.astype(np.intp), last - first - 1)
        at_edges = total[below] + wide[below] * (edges - below)[:, None, None]
        yield start, np.diff(at_edges, axis=0) * (rows / old_rows)


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
