"""Thinning of labelled areas to lines one point wide."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.convert.flat.labelling import OUTSIDE

#: The eight neighbours, (down, right), clockwise from the one above.
RING = ((-1, 0), (-1, 1), (0, 1), (1, 1), (1, 0), (1, -1), (0, -1), (-1, -1))


def ring_codes(labels: ByteArray, points: NDArray[np.intp]) -> ByteArray:
    """Return which neighbours have the same label as each point, one bit each in the order of RING.

    Parameters
    ----------
    labels : ndarray of uint8, shape (height, width)
        With a margin of OUTSIDE round it.
    points : ndarray, shape (n,)
        Flat indices into `labels`, none in the margin.
    """
    flat, width = labels.ravel(), labels.shape[1]
    own, code = flat[points], np.zeros(len(points), dtype=np.uint8)
    for bit, (down, right) in enumerate(RING):
        code |= (flat[points + down * width + right] == own).astype(np.uint8) << bit
    return code


def ways_of_codes() -> ByteArray:
    """Return for each ring code how many ways lead away: runs of set neighbours in the ring, shape (256,).

    Corners of a staircase have three neighbours but two ways; joints have three ways or more, ends one.
    """
    bits = np.arange(256)[:, None] >> np.arange(8) & 1
    return np.asarray((bits < np.roll(bits, -1, axis=1)).sum(axis=1), dtype=np.uint8)


def thinned(labels: ByteArray, anchored: NDArray[np.bool_]) -> ByteArray:
    """Return `labels` with every area thinned to lines one point wide; what is thinned away becomes OUTSIDE.

    The two alternating passes of Guo, Hall, Communications of the ACM 32 (1989): connected areas stay connected,
    lines keep their ends. All labels are thinned at once, each point looking only at neighbours of its own label.

    Parameters
    ----------
    labels : ndarray of uint8, shape (height, width)
        With a margin of OUTSIDE round it.
    anchored : ndarray of bool, shape (height, width)
        Points that stay, whatever their neighbours do.
    """
    result = labels.copy()
    flat, width = result.ravel(), labels.shape[1]
    free = (~anchored & (labels != OUTSIDE)).ravel()
    steps = np.array([down * width + right for down, right in RING])
    removable = _removable()
    todo = np.flatnonzero(free)
    todo = todo[ring_codes(result, todo) != 255]
    while len(todo):
        gone = []
        for table in removable:
            out = todo[table[ring_codes(result, todo)]]
            flat[out] = OUTSIDE
            free[out] = False
            todo = todo[free[todo]]
            gone.append(out)
        near = (np.concatenate(gone)[:, None] + steps).ravel()
        met = np.zeros(len(flat), dtype=bool)
        met[near[free[near]]] = True
        todo = np.flatnonzero(met)
    return result


def _removable() -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Return for the two passes which ring codes let a point be taken away, shape (256,) each."""
    p2, p3, p4, p5, p6, p7, p8, p9 = ((np.arange(256) >> bit & 1).astype(bool) for bit in range(8))
    pieces = sum((~a & (b | c)).astype(int) for a, b, c in ((p2, p3, p4), (p4, p5, p6), (p6, p7, p8), (p8, p9, p2)))
    one = sum((a | b).astype(int) for a, b in ((p9, p2), (p3, p4), (p5, p6), (p7, p8)))
    two = sum((a | b).astype(int) for a, b in ((p2, p3), (p4, p5), (p6, p7), (p8, p9)))
    fewest = np.minimum(one, two)
    base = (pieces == 1) & (fewest >= 2) & (fewest <= 3)
    return base & ~((p6 | p7 | ~p9) & p8), base & ~((p2 | p3 | ~p5) & p4)
