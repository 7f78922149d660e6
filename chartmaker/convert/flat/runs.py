"""Runs of one yarn along lines of pixels, and the runs that they touch on neighbouring lines."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.artwork.cells import PIXEL, Edges, Whole
from chartmaker.colours.labelling import OUTSIDE

Index = NDArray[np.intp]
Bits = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Pixels:
    """The yarn of each pixel, and the second yarn of a mixed one with its share in parts of WHOLE_SHARE.

    All have shape (lines, length), and runs are sought along the second axis.
    """

    first: ByteArray
    second: ByteArray
    share: ByteArray

    @property
    def turned(self) -> Pixels:
        """The same pixels, with columns for lines."""
        return Pixels(*(np.ascontiguousarray(plane.T) for plane in (self.first, self.second, self.share)))


@dataclass(frozen=True, eq=False)
class Runs:
    """Runs of pixels of one yarn, line by line, which in each line stand in order and without a gap.

    A run of `yarn` has the pixels `first` .. `end` of its `line`. Along the line it reaches from `low` to `high`, with
    mixed pixels counted by their mixture; across, the line lies between `near` and `far`, all in KNOT units. `of_pixel`
    is each pixel's run, shape (lines, length).
    """

    line: Index
    first: Index
    end: Index
    yarn: ByteArray
    low: Whole
    high: Whole
    near: Whole
    far: Whole
    of_pixel: NDArray[np.int32]

    def __len__(self) -> int:
        return len(self.line)


def runs_of(pixels: Pixels, along: Edges, across: Edges) -> Runs:
    """Return the runs of `pixels`, whose lines follow each other across the cells `across`."""
    lines, length = pixels.first.shape
    begins = np.empty(pixels.first.shape, dtype=bool)
    begins[:, 0] = True
    np.not_equal(pixels.first[:, 1:], pixels.first[:, :-1], out=begins[:, 1:])
    start = np.flatnonzero(begins)
    end = np.append(start[1:], lines * length)
    line = start // length
    first = start - line * length
    yarn = pixels.first.ravel()[start]
    place = (along.first_pixel + first) * PIXEL
    inner = np.flatnonzero(first > 0)
    if pixels.share.any():
        place[inner] += _mixed(pixels, start, end, inner)
    low = along.in_knots(place)
    high = np.append(low[1:], 0)
    last = np.flatnonzero(np.append(first[1:] == 0, True))
    high[last] = along.in_knots(np.array([(along.first_pixel + length) * PIXEL]))[0]
    edges = across.pixel_edges()
    of_pixel = np.repeat(np.arange(len(start), dtype=np.int32), end - start).reshape(lines, length)
    return Runs(line, first, end - line * length, yarn, low, high, edges[line], edges[line + 1], of_pixel)


def _mixed(pixels: Pixels, start: Index, end: Index, inner: Index) -> Whole:
    """Return how far mixed pixels move the beginnings of the `inner` runs, in PIXEL units.

    The part of a mixed pixel that has the neighbour's yarn lies on the neighbour's side. A pixel that is a whole run
    between two runs of its second yarn gives half of that part to either side.
    """
    first, second, share = pixels.first.ravel(), pixels.second.ravel(), 2 * pixels.share.ravel().astype(np.int64)
    after, before = start[inner], start[inner] - 1
    here, there = first[after], first[before]
    size = end - start
    back = np.where(second[before] == here, share[before], 0)
    onward = np.where(second[after] == there, share[after], 0)
    # The pixel before the last may be mixed with the neighbour too, because a slanting edge passes through both.
    deep = size[inner - 1] > 3
    back += np.where(deep & (back > 0) & (second[before - 1] == here), share[before - 1], 0)
    deep = size[inner] > 3
    next_one = np.minimum(after + 1, len(first) - 1)
    onward += np.where(
        deep & (onward > 0) & (second[next_one] == there),
        share[next_one],
        0,
    )
    width = pixels.first.shape[1]
    lone_before = (size[inner - 1] == 1) & (before % width > 0)
    lone_before &= first[np.maximum(before - 1, 0)] == here
    lone_after = (size[inner] == 1) & (after % width < width - 1)
    lone_after &= first[next_one] == there
    return np.where(lone_after, onward // 2, onward) - np.where(lone_before, back // 2, back)


def touching(runs: Runs) -> tuple[Index, Index]:
    """Return the pairs of runs of one yarn on neighbouring lines that touch, be it only at a corner."""
    lines, length = runs.of_pixel.shape
    own = np.flatnonzero((runs.line < lines - 1) & (runs.yarn != OUTSIDE))
    below = runs.of_pixel.ravel()
    base = (runs.line[own] + 1) * length
    begin = below[base + np.maximum(runs.first[own] - 1, 0)].astype(np.intp)
    count = below[base + np.minimum(runs.end[own], length - 1)] - begin + 1
    one, other = np.repeat(own, count), counted_from(begin, count)
    alike = runs.yarn[one] == runs.yarn[other]
    return one[alike], other[alike]


def counted_from(begin: NDArray[np.integer], count: NDArray[np.integer]) -> Index:
    """Return `count[i]` whole numbers from `begin[i]` on, for each i, one after another."""
    ends = np.cumsum(count)
    total = int(ends[-1]) if len(ends) else 0
    return np.asarray(np.arange(total) + np.repeat(begin - (ends - count), count), dtype=np.intp)


@dataclass(frozen=True, eq=False)
class Pieces:
    """Connected pieces of one yarn: the `number` of each run's piece, and the `area` of each in KNOT units squared."""

    number: Index
    area: Whole


def pieces_of(runs: Runs, one: Index, other: Index) -> Pieces:
    """Return the pieces that runs form when the pairs `one`, `other` of them touch."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    graph = coo_array((np.ones(len(one), dtype=np.int8), (one, other)), shape=(len(runs), len(runs)))
    count, number = connected_components(graph, directed=False)
    area = np.bincount(number, ((runs.high - runs.low) * (runs.far - runs.near)).astype(np.float64), count)
    return Pieces(number.astype(np.intp), area.astype(np.int64))
