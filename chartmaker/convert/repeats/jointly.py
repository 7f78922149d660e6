"""Knots that hang together take the inks that most repeats give them together.

What most repeats have at each place by itself may be a stroke that is broken, because some repeats draw it a knot
further to one side, or no dot at all, because each repeat has its dot on another of the four knots that it touches.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from chartmaker.convert.flat.knotting import EMPTY
from chartmaker.convert.flat.runs import Bits, Index
from chartmaker.convert.repeats.wholes import WholeLattice, touching

Inks = NDArray[np.int16]
#: So many repeats a side, those nearest to the middle, have a say.
MOST_REPEATS = 25


def drawn_together(knots: Inks, drawing: Inks, unsure: Bits, whole: WholeLattice, voting: tuple[Index, Index]) -> Inks:
    """Return the drawing of a repeat in which unsure places that touch come from one repeat.

    Of all ways in which repeats draw such places, the commonest is taken, of equally common ones that which agrees most
    with the drawing. If there are two of those, the drawing stays as it is.

    Parameters
    ----------
    knots : ndarray of int16, shape (rows, columns)
    drawing : ndarray of int16, shape (rows * columns of a repeat,)
        The ink at each place, as `class_of` numbers them.
    unsure : ndarray of bool, of the same shape
        The places at which too many repeats have another ink.
    whole : WholeLattice
    voting : (ndarray, ndarray)
        The rows and the columns that have a say.
    """
    result = drawing.copy()
    may = [np.isin(np.arange(size), lines) for size, lines in zip(knots.shape, voting, strict=True)]
    for place, down, across in touching(unsure, whole):
        ways = _ways(knots, whole, (down, across), (may[0], may[1]))
        found, times = np.unique(ways, axis=0, return_counts=True)
        if not len(found):
            continue
        merit = [(int(many), int((own == drawing[place]).sum())) for many, own in zip(times, found, strict=True)]
        best = max(merit)
        if merit.count(best) == 1:
            result[place] = found[merit.index(best)]
    return result


def _ways(knots: Inks, whole: WholeLattice, group: tuple[Index, Index], may: tuple[Bits, Bits]) -> Inks:
    """Return how each repeat in the middle draws a group of places, shape (repeats, places)."""
    (down, across), wide = group, whole.across.knots
    times = _near_the_middle(down, whole.down.knots, len(may[0]))
    rows = down + times[:, None] * whole.down.knots
    times, rows = times[_all_of(may[0], rows)], rows[_all_of(may[0], rows)]
    found = [np.empty((0, len(down)), dtype=np.int16)]
    for shift, own in zip((times * whole.shift % wide).tolist(), rows, strict=True):
        columns = across + shift + _near_the_middle(across + shift, wide, len(may[1]))[:, None] * wide
        ways = knots[own, columns[_all_of(may[1], columns)]]
        found.append(ways[(ways != EMPTY).all(axis=1)])
    return np.concatenate(found)


def _near_the_middle(lines: Index, knots: int, size: int) -> Index:
    """Return by how many repeats some lines can be moved so that they lie near the middle of a side."""
    twice, reach = int(lines.min() + lines.max()), MOST_REPEATS * knots
    return np.arange(-((reach - (size - 1) + twice) // (2 * knots)), (size - 1 + reach - twice) // (2 * knots) + 1)


def _all_of(may: Bits, lines: Index) -> Bits:
    """Return which of some rows or columns, shape (repeats, places), may have a say."""
    inside = (lines >= 0) & (lines < len(may))
    return np.asarray((inside & may[np.clip(lines, 0, len(may) - 1)]).all(axis=1))
