"""Specks: stray knots that the artwork does not have."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.convert.flat.labelling import OUTSIDE
from chartmaker.convert.flat.lines import LEAST_COVERAGE
from chartmaker.knots.knotmap import NO_KNOT

#: An island is the whole of the thing it stands for if that covers at most so many cells for each of its knots.
WHOLE_CELLS = 3.0


def tidied(
    knots: NDArray[np.uint16], counts: NDArray[np.uint16], fine: ByteArray, points: int, most: int
) -> tuple[NDArray[np.uint16], NDArray[np.bool_]]:
    """Return the knots without stray islands of up to `most` knots, with which knots were changed.

    An island stays where the patch of artwork that it comes from is hardly larger: a dot is a dot. What goes is the
    crumb of a larger thing. It takes the neighbouring yarn that covers most of its cell.

    Parameters
    ----------
    knots : ndarray, shape (rows, columns)
    counts : ndarray, shape (rows, columns, yarns)
        Points of each cell that each yarn covers.
    fine : ndarray of uint8, shape (rows * points, columns * points)
        The yarn at each point.
    """
    from skimage.measure import label

    numbered = label(knots, connectivity=2, background=NO_KNOT)
    size = np.bincount(numbered.ravel())
    small = (size <= most) & (size > 0)
    small[0] = False
    rows, columns = np.nonzero(small[numbered])
    result = knots.copy()
    if len(rows):
        patches = label(fine, connectivity=2, background=OUTSIDE)
        smallest = _smallest_patch(knots, numbered, fine, patches, rows, columns, points)
        crumb = (smallest > WHOLE_CELLS * size)[numbered[rows, columns]]
        for row, column in zip(rows[crumb].tolist(), columns[crumb].tolist(), strict=True):
            result[row, column] = _neighbour(knots, counts, row, column, int(knots[row, column]), points)
    return result, result != knots


def _smallest_patch(
    knots: NDArray[np.uint16],
    numbered: NDArray[np.intp],
    fine: ByteArray,
    patches: NDArray[np.intp],
    rows: NDArray[np.intp],
    columns: NDArray[np.intp],
    points: int,
) -> NDArray[np.float64]:
    """Return the size, in cells, of the smallest patch of its own yarn under each island, by island number.

    Only the islands are looked at that have the cells `rows`, `columns`; `numbered` holds the number of each cell's
    island, `patches` that of each point's patch of equal labels in `fine`.
    """
    cells = np.bincount(patches.ravel()) / points**2
    shape = (knots.shape[0], points, knots.shape[1], points)
    yarn = fine.reshape(shape)[rows, :, columns]
    patch = patches.reshape(shape)[rows, :, columns]
    covered = np.where(yarn == knots[rows, columns, None, None], cells[patch], np.inf).min(axis=(1, 2))
    smallest = np.full(int(numbered.max()) + 1, np.inf)
    np.minimum.at(smallest, numbered[rows, columns], covered)
    return smallest


def _neighbour(
    knots: NDArray[np.uint16], counts: NDArray[np.uint16], row: int, column: int, yarn: int, points: int
) -> int:
    """Return the yarn among the neighbours that covers most of the cell; `yarn` itself if none covers enough."""
    around = knots[max(row - 1, 0) : row + 2, max(column - 1, 0) : column + 2]
    others = [int(other) for other in np.unique(around) if other != yarn and other < counts.shape[2]]
    best = max(others, key=lambda other: int(counts[row, column, other]), default=yarn)
    enough = best != yarn and counts[row, column, best] >= LEAST_COVERAGE * points**2
    return best if enough else yarn
