"""Knots that hang together take the inks that most repeats give them together.

What most repeats have at each place by itself may be a stroke that is broken, because some repeats draw it a knot
further to one side, or no dot at all, because each repeat has its dot on another of the four knots that it touches.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from chartmaker.convert.flat.knotting import EMPTY
from chartmaker.convert.flat.runs import Bits, Index
from chartmaker.convert.repeats.wholes import WholeLattice, class_of

Inks = NDArray[np.int16]
#: So many repeats a side, those nearest to the middle, have a say.
MOST_REPEATS = 25

_ALL_ROUND = np.ones((3, 3), dtype=bool)


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
    for down, across in _groups(unsure, whole):
        ways = _ways(knots, whole, (down, across), voting)
        place = class_of(whole, down, across)[np.arange(len(down)), np.arange(len(down))]
        found, times = np.unique(ways, axis=0, return_counts=True)
        if not len(found):
            continue
        merit = [(int(many), int((own == drawing[place]).sum())) for many, own in zip(times, found, strict=True)]
        best = max(merit)
        if merit.count(best) == 1:
            result[place] = found[merit.index(best)]
    return result


def _groups(unsure: Bits, whole: WholeLattice) -> list[tuple[Index, Index]]:
    """Return the rows and the columns of unsure places that touch, counted on beyond the end of a repeat.

    Those that go on from each repeat into the next without an end are left out.
    """
    from scipy.ndimage import find_objects, label

    places = class_of(whole, np.arange(2 * whole.down.knots), np.arange(2 * whole.across.knots))
    numbered, _ = label(unsure[places], _ALL_ROUND)
    found, seen = list[tuple[Index, Index]](), np.zeros(len(unsure), dtype=bool)
    for number, (rows, columns) in enumerate(find_objects(numbered), start=1):
        if rows.start and columns.start and rows.stop < len(places) and columns.stop < places.shape[1]:
            down, across = np.nonzero(numbered[rows, columns] == number)
            down, across = down + rows.start, across + columns.start
            own = places[down, across]
            if not seen[own].any() and len(np.unique(own)) == len(own):
                found.append((down, across))
            seen[own] = True
    return found


def _ways(knots: Inks, whole: WholeLattice, group: tuple[Index, Index], voting: tuple[Index, Index]) -> Inks:
    """Return how each repeat in the middle draws a group of places, shape (repeats, places)."""
    down, across = group
    may = [np.isin(np.arange(size), lines) for size, lines in zip(knots.shape, voting, strict=True)]
    found = []
    for times in _in_the_middle(knots.shape[0], whole.down.knots):
        rows = down + times * whole.down.knots
        if rows.min() < 0 or rows.max() >= len(may[0]) or not may[0][rows].all():
            continue
        shift = times * whole.shift % whole.across.knots
        for further in _in_the_middle(knots.shape[1], whole.across.knots):
            columns = across + shift + further * whole.across.knots
            if columns.min() >= 0 and columns.max() < len(may[1]) and may[1][columns].all():
                own = knots[rows, columns]
                if (own != EMPTY).all():
                    found.append(own)
    return np.array(found, dtype=np.int16).reshape(-1, len(down))


def _in_the_middle(size: int, knots: int) -> range:
    """Return the numbers of the repeats in the middle of a side, with one more at either end."""
    beside = max(size // knots - MOST_REPEATS, 0) // 2
    return range(beside - 2, size // knots - beside + 1)
