"""The nearest yarn of every colour, exact by CIEDE2000."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from chartmaker.colours.bounds import de00_bounds
from chartmaker.colours.quick import quick_de00
from chartmaker.ground.colour import FloatArray, ciede2000
from chartmaker.ground.engines import engine

#: Candidates are narrowed down in boxes with these sides, in CIELAB units, each half the one before.
SIDES = (32, 16, 8, 4, 2, 1)
#: The reference formula decides between two yarns that are closer to a tie than this; quick_de00 is right to 1e-9.
CLOSE_CALL = 1e-6
#: Differences are compared to this many decimals.
DECIMALS = 9
#: This many colours, and this many pairs of a colour and a yarn, are worked on at a time.
BLOCK, BLOCK_PAIRS = 1 << 15, 500_000

#: The mark of a box in which no colour was met yet.
UNMET = -1

# Boxes are numbered within this range of L, a and b, which holds all of sRGB. Colours beyond it go the slow way.
_LOW = np.array([0, -128, -128])
_SPAN = np.array([128, 256, 256])  # multiples of the largest side


def brute_force(lab: FloatArray, yarns_lab: FloatArray) -> NDArray[np.uint16]:
    """Return the index of each colour's nearest yarn by trying them all; ties go to the lower index, shape (n,)."""
    nearest = np.empty(len(lab), dtype=np.uint16)
    step = max(1, BLOCK_PAIRS // len(yarns_lab))
    for first in range(0, len(lab), step):
        part = lab[first : first + step]
        nearest[first : first + step] = _least(ciede2000(part[:, None], yarns_lab[None]))
    return nearest


def _least(de00: FloatArray) -> NDArray[np.intp]:
    """Return where each row is least, the first of equals.

    Values that only rounding tells apart count as equal, because rounding differs from one processor to another.
    """
    return np.asarray(np.round(de00, DECIMALS).argmin(axis=1))


def nearest_yarns(lab: FloatArray, yarns_lab: FloatArray) -> NDArray[np.uint16]:
    """Return the index of the yarn nearest to each colour by CIEDE2000; ties go to the lower index.

    Parameters
    ----------
    lab : ndarray, shape (n, 3)
        Colours in CIELAB.
    yarns_lab : ndarray, shape (yarns, 3)

    Returns
    -------
    ndarray of uint16, shape (n,)
    """
    return YarnFinder(yarns_lab).nearest(lab)


class YarnFinder:
    """Finds the nearest yarns of many colours on the same card, remembering what it has learnt.

    CIELAB is cut into boxes, and for each box that occurs the yarns that can be nearest to any colour in it are found
    once. A yarn stays only if its least possible difference from the box is not above another yarn's greatest
    (`de00_bounds`). Most boxes keep one yarn or two, so few differences are computed, yet none that matters is missed.
    """

    def __init__(self, yarns_lab: FloatArray) -> None:
        self._yarns = np.asarray(yarns_lab, dtype=np.float64)
        # For each box: its only yarn, or UNMET, or (below that) UNMET - 1 - its place in the lists that follow.
        self._known = np.full(int(np.prod(_SPAN)) + 1, UNMET, dtype=np.int32)
        self._starts = np.zeros(1, dtype=np.int64)
        self._candidates = np.empty(0, dtype=np.uint16)

    def nearest(self, lab: FloatArray) -> NDArray[np.uint16]:
        """Return the index of the nearest yarn of each colour of `lab`, shape (n, 3), as uint16, shape (n,)."""
        if len(lab) * len(self._yarns) <= BLOCK_PAIRS // 10:
            return brute_force(lab, self._yarns)
        nearest = np.empty(len(lab), dtype=np.uint16)
        blocks = [slice(first, first + BLOCK) for first in range(0, len(lab), BLOCK)]
        boxes = np.concatenate(engine().each(lambda block: _boxes(lab[block]), blocks))
        self._learn(boxes)

        def work(block: slice) -> None:
            nearest[block] = self._decide(lab[block], boxes[block])

        engine().each(work, blocks)
        return nearest

    def _learn(self, boxes: NDArray[np.int32]) -> None:
        """Narrow down the candidates of boxes that were not met before."""
        met = np.zeros(len(self._known), dtype=bool)
        met[boxes] = True
        fresh = np.flatnonzero(met[:-1] & (self._known[:-1] == UNMET))
        if not len(fresh):
            return
        owner, yarn = _narrowed(fresh, self._yarns)
        counts = np.bincount(owner, minlength=len(fresh))
        starts = np.cumsum(counts) - counts
        self._known[fresh] = np.where(counts == 1, yarn[starts], UNMET - len(self._starts) - np.arange(len(fresh)))
        self._starts = np.concatenate([self._starts, self._starts[-1] + np.cumsum(counts)])
        self._candidates = np.concatenate([self._candidates, yarn.astype(np.uint16)])

    def _decide(self, lab: FloatArray, boxes: NDArray[np.int32]) -> NDArray[np.uint16]:
        known = self._known[boxes]
        nearest = known.astype(np.uint16)
        beyond = np.flatnonzero(known == UNMET)
        if len(beyond):
            nearest[beyond] = brute_force(lab[beyond], self._yarns)
        several = np.flatnonzero(known < UNMET)
        place = UNMET - 1 - known[several]
        start = self._starts[place]
        count = self._starts[place + 1] - start
        for number in np.flatnonzero(np.bincount(count)):
            here = np.flatnonzero(count == number)
            choice = self._candidates[start[here, None] + np.arange(number)]
            nearest[several[here]] = self._best(lab[several[here]], choice)
        return nearest

    def _best(self, lab: FloatArray, choice: NDArray[np.uint16]) -> NDArray[np.uint16]:
        """Return the nearest of each colour's candidates in `choice`, shape (n, candidates), which stand rising."""
        best = np.empty(len(lab), dtype=np.uint16)
        step = max(1, 2 * BLOCK // choice.shape[1])
        for first in range(0, len(lab), step):
            part, own = lab[first : first + step], choice[first : first + step]
            de00, unsure = quick_de00(part[:, None], self._yarns[own])
            place = de00.argmin(axis=1)
            least = np.take_along_axis(de00, place[:, None], axis=1)
            close = ((de00 <= least + CLOSE_CALL).sum(axis=1) > 1) | unsure.any(axis=1)
            if close.any():
                place[close] = _least(ciede2000(part[close, None], self._yarns[own[close]]))
            best[first : first + step] = np.take_along_axis(own, place[:, None], axis=1)[:, 0]
        return best


def _boxes(lab: FloatArray) -> NDArray[np.int32]:
    """Return the number of the smallest box that each colour lies in; colours beyond all boxes get their count."""
    place = np.floor(lab).astype(np.int32) - _LOW.astype(np.int32)
    within = ((place >= 0) & (place < _SPAN)).all(axis=1)
    number = (place[:, 0] * _SPAN[1] + place[:, 1]) * _SPAN[2] + place[:, 2]
    return np.where(within, number, int(np.prod(_SPAN))).astype(np.int32)


def _narrowed(boxes: NDArray[np.intp], yarns: FloatArray) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return pairs (index into `boxes`, candidate yarn), sorted by both, found in boxes that halve at each level."""
    place = np.stack(np.unravel_index(boxes, tuple(_SPAN)), axis=1)
    owner_of: NDArray[np.intp] = np.zeros(len(boxes), dtype=np.intp)  # the larger box that each box lies in
    owner, yarn = np.zeros(len(yarns), dtype=np.intp), np.arange(len(yarns))
    for side in SIDES:
        spans = _SPAN // side
        codes = np.ravel_multi_index(tuple((place // side).T), tuple(spans))
        levels, first, inverse = np.unique(codes, return_index=True, return_inverse=True)
        parent = owner_of[first]
        starts = np.searchsorted(owner, np.arange(parent.max() + 2))
        many = (starts[1:] - starts[:-1])[parent]
        child = np.repeat(np.arange(len(levels)), many)
        within = np.arange(len(child)) - np.repeat(np.cumsum(many) - many, many)
        yarn = yarn[starts[parent][child] + within]
        low = np.stack(np.unravel_index(levels, tuple(spans)), axis=1) * float(side) + _LOW
        keep = _possible(low, float(side), child, yarns[yarn])
        owner, yarn, owner_of = child[keep], yarn[keep], inverse
    return owner, yarn


def _possible(low: FloatArray, side: float, box: NDArray[np.intp], yarns: FloatArray) -> NDArray[np.bool_]:
    """Return which pairs (box, yarn) can be nearest; `box` is sorted, and `low` holds the boxes' lower corners."""

    def bounds(part: slice) -> tuple[FloatArray, FloatArray]:
        corner = low[box[part]]
        return de00_bounds(corner, corner + side, yarns[part])

    parts = [slice(first, first + BLOCK) for first in range(0, len(box), BLOCK)]
    least, most = (np.concatenate(side_) for side_ in zip(*engine().each(bounds, parts), strict=True))
    starts = np.searchsorted(box, np.arange(len(low)))
    ceiling = np.minimum.reduceat(most, starts)
    return np.asarray(least <= ceiling[box])
