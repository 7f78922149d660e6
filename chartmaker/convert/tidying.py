"""Specks: stray knots that the artwork does not have."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from chartmaker.convert.lines import LEAST_COVERAGE
from chartmaker.picture import ByteArray

_EIGHT = np.ones((3, 3), dtype=np.uint8)
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
    from scipy.ndimage import label

    result = knots.copy()
    for yarn in range(counts.shape[2]) if most else ():
        numbered, islands = label(knots == yarn, _EIGHT)
        small = np.bincount(numbered.ravel(), minlength=islands + 1) <= most
        small[0] = False
        if not small.any():
            continue
        crumbs = small & ~_whole(numbered, islands, fine == yarn, points)
        rows, columns = np.nonzero(crumbs[numbered])
        for row, column in zip(rows.tolist(), columns.tolist(), strict=True):
            result[row, column] = _neighbour(knots, counts, row, column, yarn, points)
    return result, result != knots


def _whole(numbered: NDArray[np.int32], islands: int, mask: NDArray[np.bool_], points: int) -> NDArray[np.bool_]:
    """Return which islands are the whole of a patch of the artwork, shape (islands + 1,)."""
    from scipy.ndimage import label

    patches, count = label(mask, _EIGHT)
    rows, columns = np.nonzero(mask)
    patch = patches[rows, columns].astype(np.int64)
    island = numbered[rows // points, columns // points]
    cells = np.bincount(patch, minlength=count + 1) / points**2
    held = island > 0
    pairs = np.unique(island[held] * (count + 1) + patch[held])
    # of several patches in an island, one that is small enough makes it whole
    smallest = np.full(islands + 1, np.inf)
    np.minimum.at(smallest, pairs // (count + 1), cells[pairs % (count + 1)])
    return np.asarray(smallest <= WHOLE_CELLS * np.bincount(numbered.ravel(), minlength=islands + 1))


def _neighbour(
    knots: NDArray[np.uint16], counts: NDArray[np.uint16], row: int, column: int, yarn: int, points: int
) -> int:
    """Return the yarn among the neighbours that covers most of the cell; `yarn` itself if none covers enough."""
    around = knots[max(row - 1, 0) : row + 2, max(column - 1, 0) : column + 2]
    others = [int(other) for other in np.unique(around) if other != yarn and other < counts.shape[2]]
    best = max(others, key=lambda other: int(counts[row, column, other]), default=yarn)
    enough = best != yarn and counts[row, column, best] >= LEAST_COVERAGE * points**2
    return best if enough else yarn
