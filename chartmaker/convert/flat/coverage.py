"""How much of each knot's cell each colour covers, as an exact number."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.cells import PIXEL, Cells, Edges, Whole
from chartmaker.colours.labelling import WHOLE_SHARE, Labels


def coverages(labels: Labels, cells: Cells, colours: int) -> tuple[Whole, Whole]:
    """Return the area that each colour covers of each cell, and what lies outside, shapes (rows, columns[, colours]).

    Areas are whole numbers, in square PIXEL units times the parts of a mixed pixel. A mixed pixel counts for both of
    its colours in the proportion of its mixture.
    """
    (row, down, high), (column, across, wide) = (
        _slivers(edges, first, size)
        for edges, first, size in (
            (cells.down, labels.top, labels.first.shape[0]),
            (cells.across, labels.left, labels.first.shape[1]),
        )
    )
    kinds, size = colours + 1, len(cells.down) * len(cells.across)
    pick = np.ix_(row, column)
    first, share = labels.first[pick], labels.second_share[pick]
    cell = down[:, None] * len(cells.across) + across
    area = (high[:, None] * wide).astype(np.float64)  # below 2 ** 53 sums of whole numbers are exact
    index = cell * kinds + np.minimum(first, colours)
    total = np.bincount(index.ravel(), (area * (WHOLE_SHARE - share)).ravel(), size * kinds)
    mixed = share > 0
    if mixed.any():
        other = np.minimum(labels.second[pick][mixed], colours)
        total += np.bincount(cell[mixed] * kinds + other, area[mixed] * share[mixed], size * kinds)
    counts = total.astype(np.int64).reshape(len(cells.down), len(cells.across), kinds)
    return counts[..., :colours], counts[..., colours]


def _slivers(edges: Edges, first: int, pixels: int) -> tuple[NDArray[np.intp], NDArray[np.intp], Whole]:
    """Return the pieces into which the cells' edges cut pixels: each one's pixel, its cell and its size."""
    lines = (edges.first_pixel + np.arange(1, edges.pixels)) * PIXEL
    cuts = np.unique(np.concatenate([edges.at, lines]))
    low = cuts[:-1]
    cell = np.searchsorted(edges.at, low, side="right") - 1
    return np.clip(low // PIXEL - first, 0, pixels - 1), cell, np.diff(cuts)


def cell_areas(cells: Cells) -> Whole:
    """Return the area of each cell in the units of `coverages`, shape (rows, columns)."""
    return np.asarray(np.diff(cells.down.at)[:, None] * np.diff(cells.across.at)[None] * WHOLE_SHARE)
