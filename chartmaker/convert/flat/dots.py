"""Small pieces of artwork keep at least one knot each if they cover most of one."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.cells import KNOT, Whole
from chartmaker.colours.labelling import OUTSIDE
from chartmaker.convert.flat.lines import LEAST_COVERAGE
from chartmaker.convert.flat.runs import Bits, Index, Pieces, Runs, counted_from

#: A piece of artwork is kept as a dot if it covers this much of a cell; anything smaller is dust.
LEAST_AREA = round(0.25 * KNOT) * KNOT
#: Pieces that reach over more knots than this in either direction are not dots.
LARGEST = 3 * KNOT


def with_dots(
    knots: NDArray[np.uint16], share: Whole, rows: Runs, pieces: Pieces, lined: Bits
) -> tuple[NDArray[np.uint16], Bits]:
    """Return the knots with at least one for each small piece of artwork, and which of them were changed.

    A piece takes the cell that it covers most of. If it covers several equally, it takes them all, so that its place on
    the card or in the rug makes no difference. If it can, it leaves alone the knots that lines were given.

    Parameters
    ----------
    knots : ndarray, shape (rows, columns)
    share : ndarray of int, shape (rows, columns, yarns)
        How much of each cell each yarn covers, in KNOTths.
    rows : Runs
        The runs of the artwork's yarns along rows of pixels.
    pieces : Pieces
    lined : ndarray of bool, shape (rows, columns)
        Knots that lines were given.
    """
    small = _small(rows, pieces)
    chosen = np.flatnonzero(small[pieces.number] & (rows.yarn != OUTSIDE))
    if not len(chosen):
        return knots, np.zeros(knots.shape, dtype=bool)
    piece, cell, own = _cells_of_pieces(rows, pieces, chosen, knots.shape)
    yarn = np.zeros(len(pieces.area), dtype=np.intp)
    yarn[pieces.number[chosen]] = rows.yarn[chosen]
    woven = knots.ravel()
    whole = share.reshape(-1, share.shape[2])[cell, yarn[piece]] * KNOT
    there = (woven[cell] == yarn[piece]) & (2 * own >= whole)
    met = np.zeros(len(pieces.area), dtype=bool)
    met[piece[there]] = True
    able = ~met[piece] & (own >= LEAST_COVERAGE * KNOT)
    piece, cell, own = piece[able], cell[able], own[able]
    free = ~lined.ravel()[cell]
    can = np.zeros(len(met), dtype=bool)
    can[piece[free]] = True
    value = np.where(free | ~can[piece], own, -1)
    most = np.full(len(met), -1, dtype=np.int64)
    np.maximum.at(most, piece, value)
    take = value == most[piece]
    piece, cell, own = piece[take], cell[take], own[take]
    order = np.lexsort((yarn[piece], -own, cell))
    first = np.diff(cell[order], prepend=-1) != 0
    result = woven.copy()
    result[cell[order][first]] = yarn[piece[order][first]]
    return result.reshape(knots.shape), (result != woven).reshape(knots.shape)


def _small(rows: Runs, pieces: Pieces) -> Bits:
    """Return which pieces are small enough to be dots."""
    count = len(pieces.area)
    small = (pieces.area >= LEAST_AREA) & (pieces.area <= LARGEST * LARGEST)
    run = np.flatnonzero(small[pieces.number])
    number, far = pieces.number[run], np.iinfo(np.int64).max
    for low, high in ((rows.low, rows.high), (rows.near, rows.far)):
        least, greatest = np.full(count, far), np.full(count, -1)
        np.minimum.at(least, number, low[run])
        np.maximum.at(greatest, number, high[run])
        small &= greatest - least <= LARGEST
    return small


def _cells_of_pieces(rows: Runs, pieces: Pieces, run: Index, shape: tuple[int, int]) -> tuple[Index, Index, Whole]:
    """Return the cells that pieces lie in: each one's piece, its flat index, and how much of it the piece covers."""
    for low, high in ((rows.near, rows.far), (rows.low, rows.high)):
        run = run[high[run] > low[run]]
    spans = list[Whole]()
    at = np.arange(len(run))
    for low, high in ((rows.near, rows.far), (rows.low, rows.high)):
        first = low[run][at] // KNOT
        count = (high[run][at] - 1) // KNOT - first + 1
        cell = counted_from(first, count)
        spans = [np.repeat(values, count) for values in spans]
        at = np.repeat(at, count)
        inner = np.minimum(high[run][at], (cell + 1) * KNOT) - np.maximum(low[run][at], cell * KNOT)
        spans += [cell, inner]
    row, high_part, column, wide_part = spans
    key = pieces.number[run][at] * (shape[0] * shape[1]) + row * shape[1] + column
    met, place = np.unique(key, return_inverse=True)
    own = np.bincount(place, (high_part * wide_part).astype(np.float64), len(met)).astype(np.int64)
    piece, cell = np.divmod(met, shape[0] * shape[1])
    return piece, cell, own
