"""How repeats in a row come to stand on whole knots: each begins at the line of the grid that is nearest to its place.

All of them are drawn on the same number of knots, which is no more than a repeat is long. Now and then a knot is left
over between two of them. It lies where the row changes least along its way, which is the ground between two motifs.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.artwork.cells import KNOT, PIXEL, Edges

#: Repeats of fewer knots than this are texture, and a row has at least so many of them.
LEAST_KNOTS, LEAST_REPEATS = 4, 3
#: Within half a knot of the place between two repeats, no more than this share of the row may differ from that place;
#: a little more if the row is its own mirror image there, and at least so much of it ground, as where the tips of
#: diamonds meet.
MOST_CHANGE, MOST_MIRRORED_CHANGE, LEAST_GROUND = 0.012, 0.08, 0.7
#: So many places between two repeats are tried, those nearest to the middle of the row.
MOST_SEAMS = 2
#: Places that differ by no more than this share of the row are equally calm.
_AS_CALM = 0.005
#: Repeats of more knots than this are left as they lie.
MOST_KNOTS = 64
#: Where the ends of a row come no further off than this, in knots, its repeats are whole. Of a place that lies no
#: further than that from the middle between two lines no one can say which is nearer.
MOST_ASTRAY, UNSURE_KNOTS = Fraction(1, 4), 0.02
#: The first and the last repeat may reach this far, in knots, beyond the ends of the row, where its ground goes on.
BEYOND_KNOTS = 0.5


@dataclass(frozen=True, eq=False)
class Row:
    """The pixels of a row of repeats that goes across, `left` of which is its first, and the grid that lies over it.

    `inks` has shape (height, width), and `edges` are those of the columns of the whole rug.
    """

    inks: ByteArray
    left: int
    period: Fraction
    edges: Edges

    @property
    def most_knots(self) -> int:
        """The most knots on which a repeat can be drawn so that all find room."""
        return round(self.knots) if self.is_whole else int(self.knots)

    @property
    def is_whole(self) -> bool:
        """Whether a repeat is whole knots long, so nearly that all of them can begin as many knots apart."""
        return bool(abs(self.knots - round(self.knots)) * self.inks.shape[1] <= MOST_ASTRAY * self.period)

    @cached_property
    def knots(self) -> Fraction:
        """How many knots long a repeat is."""
        return self.period / Fraction(self.knot_px)

    @property
    def knot_px(self) -> float:
        """The width of a knot, on average over the row."""
        low, high = self.edges.in_knots(np.array([self.left, self.left + self.inks.shape[1]]) * PIXEL)
        return float(self.inks.shape[1] * KNOT / max(int(high - low), 1))


@dataclass(frozen=True)
class Seam:
    """A place between two repeats, in pixels from the middle of a row, and the share of the row that changes there."""

    place: float
    change: float


@dataclass(frozen=True, eq=False)
class Rhythm:
    """Repeats drawn on so many `knots` each, by the column where each begins, and the place of its middle in pixels.

    The middle of a drawing lies `phase` quarters of a knot off the middle of its repeat. Those that are not `whole`
    are cut off by an end of the row. Where it is `calm`, nothing but ground or straight lines lies between two of them.
    """

    knots: int
    phase: int
    calm: bool
    starts: NDArray[np.intp]
    middles: NDArray[np.float64]
    whole: NDArray[np.bool_]

    @property
    def unsteady(self) -> int:
        """By how many knots the gaps between repeats differ."""
        return int(np.ptp(np.diff(self.starts)))

    def only(self, which: NDArray[np.intp]) -> Rhythm:
        """Return the rhythm of some of the repeats."""
        return replace(self, starts=self.starts[which], middles=self.middles[which], whole=self.whole[which])

    def edges(self, knot_px: float) -> Edges:
        """Return the edges of the knots of each repeat, as its drawing sees the artwork, with what lies between."""
        steps = (np.arange(self.knots + 1) - self.knots / 2) * knot_px
        at = np.rint((self.middles[:, None] + self.phase * knot_px / 4 + steps) * PIXEL).astype(np.int64)
        return Edges(np.maximum.accumulate(at.ravel()))

    @property
    def drawn(self) -> NDArray[np.intp]:
        """Which of the cells of `edges` belong to a drawing, shape (repeats, knots)."""
        return np.asarray(np.arange(len(self.starts))[:, None] * (self.knots + 1) + np.arange(self.knots))

    @property
    def columns(self) -> NDArray[np.intp]:
        """The columns of the rug that each repeat takes, shape (repeats, knots)."""
        return np.asarray(self.starts[:, None] + np.arange(self.knots))


def rhythms_of(row: Row, seam: Seam, knots: int, phase: int) -> Iterator[Rhythm]:
    """Yield the ways in which repeats can stand on so many knots each, if there are enough of them."""
    middles, whole = _middles(row, seam.place, row.knot_px)
    if int(whole.sum()) >= LEAST_REPEATS:
        for starts in _starts(row, middles, knots, phase):
            if (np.diff(starts) >= knots).all():
                yield Rhythm(knots, phase, seam.change <= MOST_CHANGE, starts, middles, whole)


def seams_of(row: Row) -> list[Seam]:
    """Return the places between repeats where a row changes least within a knot."""
    half, period = max(1, round(row.knot_px / 2)), float(row.period)
    width, samples = row.inks.shape[1], int(period)
    differ = np.zeros(width)
    for reach in range(1, half + 1):
        unlike = (row.inks[:, reach:] != row.inks[:, :-reach]).mean(axis=0)
        differ[reach:] += unlike / 2
        differ[:-reach] += unlike / 2
    inner = np.arange(half, width - half) + 0.5 - width / 2
    times = int((width / 2 - half) / period) + 1
    at = np.arange(samples)[:, None] * (period / samples) + np.arange(-times, times + 1) * period
    within = (at >= inner[0]) & (at <= inner[-1])
    change = np.where(within, np.interp(at, inner, differ[half : width - half] / half), 0.0)
    folded = np.round(change.sum(axis=1) / np.maximum(within.sum(axis=1), 1), 6)
    calm = folded <= folded.min() + _AS_CALM
    if folded.min() > MOST_MIRRORED_CHANGE or calm.all():
        return []
    first = int(np.flatnonzero(~calm)[0])
    ends = np.flatnonzero(np.diff(np.concatenate([[0], np.roll(calm, -first).astype(int), [0]]))).reshape(-1, 2)
    length = ends[:, 1] - ends[:, 0]
    found = (first + (ends[length >= length.max() - 1].sum(axis=1) - 1) / 2) * period / samples % period
    away = np.round(np.minimum(found, period - found), 6)
    near = np.sort(away)[:MOST_SEAMS][-1]
    seams = [Seam(place, float(folded.min())) for place in found[away <= near].tolist()]
    return [seam for seam in seams if seam.change <= MOST_CHANGE or _ground_at(row, seam.place) >= LEAST_GROUND]


def _ground_at(row: Row, place: float) -> float:
    """Return which share of a row its commonest ink has at a place in every repeat, the least of all."""
    period, half = float(row.period), row.inks.shape[1] / 2
    times = int(half / period)
    at = place + np.arange(-times, times) * period + half
    lines = row.inks[:, np.clip(np.floor(at), 0, row.inks.shape[1] - 1).astype(np.intp)].T
    return min(float(np.bincount(line).max()) / len(line) for line in lines)


def _middles(row: Row, seam: float, knot_px: float) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Return the middles of the repeats in a row, in pixels of the artwork, and which of them lie whole within it."""
    period, half = float(row.period), row.inks.shape[1] / 2
    times = int(half / period) + 2
    begin = seam % period + np.arange(-times, times + 1) * period
    begin = begin[(begin + period > knot_px - half) & (begin < half - knot_px)]
    beyond = BEYOND_KNOTS * knot_px
    whole = (begin >= -half - beyond) & (begin + period <= half + beyond)
    return row.left + half + begin + period / 2, whole


def _starts(row: Row, middles: NDArray[np.float64], knots: int, phase: int) -> list[NDArray[np.intp]]:
    """Return the column where each repeat begins; of two equally near, the one further from the middle of the row.

    If the lines of the grid lie so unevenly that gaps differ by more than a knot, repeats may also be spread evenly.
    Whole repeats begin as many knots apart as they are long, unless no one can say which line is nearest to them.
    """
    low, high = row.edges.in_knots(np.array([row.left, row.left + row.inks.shape[1]]) * PIXEL) / KNOT
    at = row.edges.in_knots(np.rint(middles * PIXEL).astype(np.int64)) / KNOT
    spread = low + (middles - row.left) * (high - low) / row.inks.shape[1]
    found = []
    for places in (at, spread):
        begin = np.round(places + phase / 4 - knots / 2, 3)
        if row.is_whole and knots == row.most_knots:
            steps = knots * np.arange(len(begin))
            first = float(np.median(begin - steps))
            if abs(first % 1 - 0.5) > UNSURE_KNOTS and np.abs(round(first) + steps - begin).max() < 1:
                found.append(round(first) + steps)
                break
        outer = begin < (low + high) / 2 - knots / 2
        found.append(np.where(outer, np.ceil(begin - 0.5), np.floor(begin + 0.5)).astype(np.intp))
        if np.ptp(np.diff(found[0])) <= 1:
            break
    return found
