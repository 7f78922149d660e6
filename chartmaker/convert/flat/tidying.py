"""Specks, which are stray knots that the artwork does not have, are tidied away."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.cells import KNOT, PIXEL, Cells, Edges, Whole
from chartmaker.convert.flat.lines import LEAST_COVERAGE
from chartmaker.convert.flat.runs import Bits, Index, Pieces, Runs, counted_from
from chartmaker.knots.knotmap import NO_KNOT

#: An island is all there is of a piece of artwork if that covers at most this many cells for each of its knots.
WHOLE_CELLS = 3


def tidied(
    knots: NDArray[np.uint16], share: Whole, rows: Runs, pieces: Pieces, cells: Cells, most: int
) -> tuple[NDArray[np.uint16], Bits]:
    """Return the knots without stray islands of up to `most` knots, with which knots were changed.

    An island stays if the piece of artwork that it comes from is hardly larger, because a dot is a dot. Crumbs of
    larger things go: each of their knots takes the neighbouring yarn that covers most of its cell.

    Parameters
    ----------
    knots : ndarray, shape (rows, columns)
    share : ndarray of int, shape (rows, columns, yarns)
        How much of each cell each yarn covers, in KNOTths.
    rows : Runs
        The runs of the artwork's yarns along rows of pixels.
    pieces : Pieces
        The connected pieces that they form.
    cells : Cells
    most : int
    """
    from skimage.measure import label

    numbered = label(knots, connectivity=2, background=NO_KNOT)
    size = np.bincount(numbered.ravel())
    small = (size <= most) & (size > 0)
    small[0] = False
    row, column = np.nonzero(small[numbered])
    result = knots.copy()
    if len(row):
        smallest = _smallest_piece(knots, numbered, rows, pieces, cells, row, column)
        crumb = (smallest > WHOLE_CELLS * KNOT * KNOT * size)[numbered[row, column]]
        for r, c in zip(row[crumb].tolist(), column[crumb].tolist(), strict=True):
            result[r, c] = _neighbour(knots, share, r, c, int(knots[r, c]))
    return result, result != knots


def _smallest_piece(
    knots: NDArray[np.uint16],
    numbered: NDArray[np.intp],
    rows: Runs,
    pieces: Pieces,
    cells: Cells,
    row: Index,
    column: Index,
) -> NDArray[np.float64]:
    """Return the area of the smallest piece of its own yarn under each island, by island number.

    Only the islands with the cells `row`, `column` are looked at; `numbered` holds the number of each cell's island.
    """
    top, high = _pixels_of(cells.down, row)
    left, wide = _pixels_of(cells.across, column)
    at = np.repeat(np.arange(len(row)), high)
    line = counted_from(top, high)
    pixel = counted_from(left[at], wide[at])
    line, at = np.repeat(line, wide[at]), np.repeat(at, wide[at])
    run = rows.of_pixel[line, pixel]
    own = rows.yarn[run] == knots[row, column][at]
    smallest = np.full(int(numbered.max()) + 1, np.inf)
    np.minimum.at(smallest, numbered[row, column][at[own]], pieces.area[pieces.number[run[own]]].astype(np.float64))
    return smallest


def _pixels_of(edges: Edges, cell: Index) -> tuple[Whole, Whole]:
    """Return the first pixel of each cell, counted from the first of all, and how many pixels the cell reaches over."""
    first = edges.at[cell] // PIXEL - edges.first_pixel
    return first, -(-edges.at[cell + 1] // PIXEL) - edges.first_pixel - first


def _neighbour(knots: NDArray[np.uint16], share: Whole, row: int, column: int, yarn: int) -> int:
    """Return the yarn among the neighbours that covers most of the cell, or `yarn` itself if none covers enough."""
    around = knots[max(row - 1, 0) : row + 2, max(column - 1, 0) : column + 2]
    others = [int(other) for other in np.unique(around) if other != yarn and other < share.shape[2]]
    best = max(others, key=lambda other: int(share[row, column, other]), default=yarn)
    return best if best != yarn and share[row, column, best] >= LEAST_COVERAGE else yarn
