"""The keys are the straight edges of flat artwork on which the lines of the knot grid should fall."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.colours.labelling import OUTSIDE, Labels
from chartmaker.ground.colour import FloatArray

#: An edge is a key if it runs straight for at least this many knots.
LEAST_KNOTS = 5.0
#: Shorter edges, of at least this many knots, still count as parts of the side of a frame that motifs touch.
FINE_KNOTS = 2.0
#: Edges this close to each other, in knots, are one key, because a knot cannot tell them apart.
JOINED_KNOTS = 0.15
#: A stretch of a slanting edge has neighbours one pixel to either side that are at least this share of its own length.
LIKE_ITSELF = 1 / 3
#: Positions are rounded to this share of a pixel, so that sums and mirror images of them are exact.
STEP_PX = 1 / 16
#: The artwork's length is divided into this many parts, to tell which keys run side by side.
BINS = 128
_BAND_PIXELS = 4_000_000

#: Stretches of edge: the row before each, the first and the end of its pixels, and its inks as `Edges` have them.
Stretches: TypeAlias = tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.intp], NDArray[np.intp]]


@dataclass(frozen=True, eq=False)
class Edges:
    """Straight stretches of edge, all parallel, with where each lies and from where to where it runs, in pixels.

    `place` is measured across the edges, to 1/16 pixel, and `first` and `end` along them. `inks` tells which colours
    meet, as 256 times the one before the edge plus the one behind it. All have shape (edges,), ordered by place.
    """

    place: FloatArray
    first: NDArray[np.intp]
    end: NDArray[np.intp]
    inks: NDArray[np.intp]

    def __len__(self) -> int:
        return len(self.place)

    @property
    def length(self) -> NDArray[np.intp]:
        return np.asarray(self.end - self.first)

    def only(self, which: NDArray[np.bool_] | NDArray[np.intp]) -> Edges:
        """Return some of them."""
        return Edges(self.place[which], self.first[which], self.end[which], self.inks[which])


@dataclass(frozen=True, eq=False)
class Keys:
    """Lines that the grid should have, in rising order.

    `place` says where each lies, in pixels, and `weight` how long the edges are that ask for it, as a share of the
    artwork's side, 1 at most; both have shape (keys,). `along` says beside which of BINS parts of the artwork's side
    each runs, shape (keys, BINS). Keys that share no part have no stripe between them.
    """

    place: FloatArray
    weight: FloatArray
    along: NDArray[np.bool_]

    def __len__(self) -> int:
        return len(self.place)

    def only(self, which: NDArray[np.bool_] | NDArray[np.intp]) -> Keys:
        """Return some of them."""
        return Keys(self.place[which], self.weight[which], self.along[which])

    def moved(self, by_px: int) -> Keys:
        """Return the keys so many pixels further on."""
        return self if not by_px else Keys(self.place + by_px, self.weight, self.along)


def upright_edges(labels: Labels, least_px: float) -> Edges:
    """Return the straight upright edges between two inks that are at least `least_px` long."""
    return _edges(labels.first.T, labels.second.T, labels.second_share.T, least_px)


def level_edges(labels: Labels, least_px: float) -> Edges:
    """Return the straight level edges between two inks that are at least `least_px` long."""
    return _edges(labels.first, labels.second, labels.second_share, least_px)


def keys_of(edges: Edges, knot_px: float, knot_along_px: float, side_px: int) -> Keys:
    """Return the keys that `edges` make, after joining edges that nearly coincide, the longest first.

    Parameters
    ----------
    edges : Edges
    knot_px, knot_along_px : float
        The pixels of a knot across the edges and along them.
    side_px : int
        The pixels of the artwork along the edges.
    """
    places, number = np.unique(edges.place, return_inverse=True)
    length = np.bincount(number, edges.length, len(places))
    reach = JOINED_KNOTS * knot_px
    found = []
    free = np.ones(len(places), dtype=bool)
    for index in np.lexsort((places, -length)):
        if not free[index]:
            continue
        near = free & (np.abs(places - places[index]) <= reach)
        free[near] = False
        if length[near].sum() >= LEAST_KNOTS * knot_along_px:
            mean = (places[near] * length[near]).sum() / length[near].sum()
            found.append((float(np.round(mean / STEP_PX) * STEP_PX), near))
    found.sort(key=lambda key: key[0])
    weight = np.array([length[near].sum() for _, near in found], dtype=np.float64) / side_px
    middles = (np.arange(BINS) + 0.5) * side_px / BINS
    key_of = np.full(len(places), -1, dtype=np.intp)
    for index, (_, near) in enumerate(found):
        key_of[near] = index
    own, held = key_of[number], key_of[number] >= 0
    steps = np.zeros((len(found), BINS + 1), dtype=np.int64)  # up where an edge begins, and down behind its end
    np.add.at(steps, (own[held], np.searchsorted(middles, edges.first[held], side="left")), 1)
    np.add.at(steps, (own[held], np.searchsorted(middles, edges.end[held], side="right")), -1)
    along = steps.cumsum(axis=1)[:, :BINS] > 0
    return Keys(np.array([place for place, _ in found]), np.minimum(weight, 1.0), along)


def _edges(first: ByteArray, second: ByteArray, share: ByteArray, least_px: float) -> Edges:
    """Return the edges between neighbouring rows of labels of at least `least_px`."""
    found = []
    for top, last in _bands(first.shape):
        line, start, end, inks = _unslanting(first, top, last, least_px)
        found.append((line + 1 + _beyond(first, second, share, line, start, end), start, end, inks))
    place, start, end, inks = (np.concatenate(own) for own in zip(*found, strict=True))
    order = np.lexsort((start, place))
    return Edges(place, start, end, inks).only(order)


def _unslanting(inks: ByteArray, top: int, last: int, least_px: float) -> Stretches:
    """Return the stretches of at least `least_px`, between row `top` and row `last`, that are no part of a slant."""
    above, below = max(top - 1, 0), min(last + 1, len(inks) - 1)  # a slant goes on in the lines next to these
    least = max(1, int(least_px * LIKE_ITSELF))
    line, start, end, met = _stretches(np.ascontiguousarray(inks[above : below + 1]), above, least)
    kept = (line >= top) & (line < last) & (end - start >= least_px) & ~_slanting(line, start, end, met)
    return line[kept], start[kept], end[kept], met[kept]


def stretches(inks: ByteArray, least_px: float) -> Stretches:
    """Return the straight stretches of edge between neighbouring rows of inks, at least `least_px` long."""
    least = max(1, int(least_px))
    found = [_stretches(np.ascontiguousarray(inks[top : last + 1]), top, least) for top, last in _bands(inks.shape)]
    line, start, end, met = (np.concatenate(own) for own in zip(*found, strict=True))
    return line, start, end, met


def _bands(shape: tuple[int, ...]) -> Iterator[tuple[int, int]]:
    """Yield (first, end) of the lines between rows in bands that take little memory."""
    step = max(1, _BAND_PIXELS // shape[1])
    for top in range(0, max(shape[0] - 1, 1), step):
        yield top, min(top + step, shape[0] - 1)


def _stretches(band: ByteArray, top: int, least_px: int) -> Stretches:
    """Return line, first, end and inks of each unbroken stretch of edge between a row of a band and the next."""
    upper, lower = band[:-1], band[1:]
    inks = np.zeros((upper.shape[0], upper.shape[1] + 1), dtype=np.uint16)  # the last column ends each line
    np.copyto(inks[:, :-1], upper.astype(np.uint16) * 256 + lower, where=upper != lower)
    flat = inks.ravel()
    bounds = np.append(0, np.flatnonzero(flat[1:] != flat[:-1]) + 1)
    ends = np.append(bounds[1:], len(flat))
    value = flat[bounds]
    outside = (value >> 8 == OUTSIDE) & (value & 255 == OUTSIDE)
    kept = (value != 0) & (ends - bounds >= least_px) & ~outside
    line, start = np.divmod(bounds[kept], inks.shape[1])
    return line + top, start, start + (ends - bounds)[kept], value[kept].astype(np.intp)


def _slanting(
    line: NDArray[np.intp], start: NDArray[np.intp], end: NDArray[np.intp], inks: NDArray[np.intp]
) -> NDArray[np.bool_]:
    """Return which stretches are steps of a slanting edge, going on a pixel up on one side and down on the other."""
    if not len(line):
        return np.zeros(0, dtype=bool)
    size = int(end.max()) + 1
    span = int(line.max()) + 3

    def code(at: NDArray[np.intp], where: NDArray[np.intp]) -> NDArray[np.intp]:
        return np.asarray((inks * span + at + 1) * size + where)

    begins, finishes = code(line, start), code(line, end)
    by_start, by_end = np.argsort(begins), np.argsort(finishes)
    length = end - start

    def neighbour(known: NDArray[np.intp], order: NDArray[np.intp], wanted: NDArray[np.intp]) -> NDArray[np.bool_]:
        at = order[np.minimum(np.searchsorted(known, wanted, sorter=order), len(order) - 1)]
        return np.asarray((known[at] == wanted) & (length[at] >= LIKE_ITSELF * length))

    before_up, before_down = (neighbour(finishes, by_end, code(line + step, start)) for step in (-1, 1))
    behind_up, behind_down = (neighbour(begins, by_start, code(line + step, end)) for step in (-1, 1))
    return np.asarray((before_up & behind_down) | (before_down & behind_up))


def _beyond(
    first: ByteArray,
    second: ByteArray,
    share: ByteArray,
    line: NDArray[np.intp],
    start: NDArray[np.intp],
    end: NDArray[np.intp],
) -> FloatArray:
    """Return how far, in pixels, each edge lies beyond the line between its pixels, judging by their mixture."""
    length = end - start
    edge = np.repeat(np.arange(len(line)), length)
    along = np.arange(len(edge)) - np.repeat(np.cumsum(length) - length, length) + start[edge]
    upper, lower = (line[edge], along), (line[edge] + 1, along)
    forth = np.where(second[lower] == first[upper], share[lower], 0).astype(np.int64)
    back = np.where(second[upper] == first[lower], share[upper], 0).astype(np.int64)
    sums = np.bincount(edge, forth - back, len(line))
    return np.asarray(np.round(sums / (254 * np.maximum(length, 1)) / STEP_PX) * STEP_PX)
