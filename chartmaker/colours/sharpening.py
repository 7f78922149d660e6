"""Edges that compression smeared over several pixels become as sharp again as they were drawn."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.colours.labelling import WHOLE_SHARE, Labels
from chartmaker.ground.colour import FloatArray

#: A pixel with less than this of a second colour is sure to have the first one; the rest is noise.
LEAST_SECOND = 0.08
#: An edge is smeared over no more pixels than this.
LONGEST = 5

_NO_RUN = 255

Parts = NDArray[np.int16]


@dataclass(frozen=True, eq=False)
class Mixed:
    """Each pixel as a mixture of two colours, shape (height, width): `of_low` is the share of the lower index."""

    low: ByteArray
    high: ByteArray
    of_low: FloatArray


def sharpened(labels: Labels) -> Mixed:
    """Return the mixture in each pixel, with at most one mixed pixel across each edge.

    A smeared edge is a run of mixed pixels between two that are sure of their colours. What the run has of either
    colour says where in it the edge was, to a part of a pixel. A pixel on an edge lies in a run along its row and in
    one along its column, of which the shorter one crosses the edge more squarely. A pixel in no such run, as in a tip
    or a dot, goes wholly to the colour of which it has most.
    """
    share = labels.second_share.astype(np.int16)
    along = _runs(labels.first, labels.second, share)
    across = _runs(labels.first.T, labels.second.T, share.T).turned
    shorter = across.length < along.length
    low, high = np.where(shorter, across.low, along.low), np.where(shorter, across.high, along.high)
    alike = (across.length == along.length) & (across.low == along.low) & (across.high == along.high)
    of_low = np.where(shorter, across.of_low, along.of_low)
    of_low = np.where(alike, (across.of_low + along.of_low) // 2, of_low)
    return Mixed(low, high, np.asarray(of_low / np.float32(WHOLE_SHARE), dtype=np.float32))


@dataclass(frozen=True, eq=False)
class _Runs:
    """Each pixel's run: its length, its two colours, and the lower one's share in the pixel once it is sharp.

    Where there is no run the length is _NO_RUN, and both colours are the pixel's first. Shares are in parts of
    WHOLE_SHARE, since whole numbers give the same whichever way they are added up.
    """

    length: ByteArray
    low: ByteArray
    high: ByteArray
    of_low: Parts

    @property
    def turned(self) -> _Runs:
        return _Runs(self.length.T, self.low.T, self.high.T, self.of_low.T)


def _runs(first: ByteArray, second: ByteArray, share: Parts) -> _Runs:
    """Return the runs along the rows of an artwork."""
    none, all_of_it = np.full(first.shape, _NO_RUN, np.uint8), np.full(first.shape, WHOLE_SHARE, np.int16)
    found = _Runs(none, first.copy(), first.copy(), all_of_it)
    row, start, length = _mixed_runs(share >= LEAST_SECOND * WHOLE_SHARE)
    before, after = first[row, start - 1], first[row, start + length]
    of_before, whole = np.zeros(len(row), np.int16), before != after
    for step in range(LONGEST):
        at = np.flatnonzero(length > step)
        pixel = row[at], start[at] + step
        one, other, part = first[pixel], second[pixel], share[pixel]
        for colour in (one, other):
            whole[at] &= (colour == before[at]) | (colour == after[at])
        of_before[at] += np.where(one == before[at], WHOLE_SHARE - part, part)
    for step in range(LONGEST):
        at = np.flatnonzero((length > step) & whole)
        pixel = row[at], start[at] + step
        left = np.clip(of_before[at] - step * WHOLE_SHARE, 0, WHOLE_SHARE)
        found.length[pixel] = length[at]
        found.low[pixel], found.high[pixel] = np.minimum(before[at], after[at]), np.maximum(before[at], after[at])
        found.of_low[pixel] = np.where(before[at] < after[at], left, WHOLE_SHARE - left)
    return found


def _mixed_runs(mixed: NDArray[np.bool_]) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.intp]]:
    """Return the row, the first column and the length of each short run that has a sure pixel at either end."""
    bounded = np.pad(mixed, ((0, 0), (1, 1))).astype(np.int8)
    change = np.diff(bounded, axis=1)
    (row, start), end = np.nonzero(change == 1), np.nonzero(change == -1)[1]
    kept = (start > 0) & (end < mixed.shape[1]) & (end - start <= LONGEST)
    return row[kept], start[kept], (end - start)[kept]
