"""A stroke that runs along an axis between two knots is drawn on both sides of it, or on neither."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from chartmaker.convert.flat.runs import Index
from chartmaker.convert.laying.mirrorings import halves_before
from chartmaker.convert.repeats.wholes import WholeLattice, class_of
from chartmaker.ground.colour import FloatArray

Inks = NDArray[np.int16]
#: Fewer unlike knots than this, one after another, are the tip of a motif and no stroke.
LEAST_LONG = 2


def along_axes(
    drawing: Inks,
    whole: WholeLattice,
    edges: tuple[FloatArray, FloatArray],
    shown: Callable[[Index, Inks], NDArray[np.int64]],
) -> Inks:
    """Return the drawing of a repeat in which strokes along the axes of the artwork are their own images.

    The side that shows more of the artwork is drawn on both.

    Parameters
    ----------
    drawing : ndarray of int16, shape (rows * columns of a repeat,)
        The ink at each place, as `class_of` numbers them.
    whole : WholeLattice
    edges : (ndarray of float, ndarray of float)
        The edges of the rows, in raster order, and of the columns.
    shown : callable
        How much of the artwork some places show with some inks.
    """
    sizes = whole.down.knots, whole.across.knots
    recur = (2 * sizes[0] if whole.shift else sizes[0]), sizes[1]  # the next repeat down may lie further to the right
    result = drawing.copy()
    for way, (axis, size, lines) in enumerate(zip(whole.axes_px, sizes, edges, strict=True)):
        halves = None if axis is None else halves_before(lines, axis)
        for edge in () if halves is None else (halves, halves + size):  # there is another axis half a repeat on
            if edge % 2 == 0:
                across, along = np.array([edge // 2 - 1, edge // 2]), np.arange(recur[1 - way])
                sides = class_of(whole, across, along) if way == 0 else class_of(whole, along, across).T
                _even(result, sides, shown)
    return result


def _even(drawing: Inks, sides: Index, shown: Callable[[Index, Inks], NDArray[np.int64]]) -> None:
    """Give both sides of an axis, shape (2, knots along it), the inks of one of them wherever a stroke lies on one."""
    like = np.flatnonzero(drawing[sides[0]] == drawing[sides[1]])
    sides = np.roll(sides, -like[0] if len(like) else 0, axis=1)  # no stroke goes on from the end to the beginning
    inks = drawing[sides]
    unlike = np.concatenate([[False], inks[0] != inks[1], [False]])
    first, end = np.flatnonzero(unlike[1:] & ~unlike[:-1]), np.flatnonzero(unlike[:-1] & ~unlike[1:])
    for start, stop in zip(first.tolist(), end.tolist(), strict=True):
        if stop - start < LEAST_LONG:
            continue
        run = slice(start, stop)
        merit = [
            (int(shown(sides[:, run].ravel(), np.tile(own[run], 2)).sum()), -int(own[run].sum(dtype=np.int64)))
            for own in inks
        ]
        if merit[0] != merit[1]:
            drawing[sides[:, run]] = inks[0 if merit[0] > merit[1] else 1, run]
