"""How many knots a repeat takes: a lattice in pixels becomes one in whole knots, if that can be done without force.

A repeat is rounded to whole knots. What the drawing is then too long is cut off, the same on both sides, as a border
cuts a field; where it is too short by a few knots, its outermost cells become narrower.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.artwork.lattices import LEAST_BUT_RIMS, Lattice
from chartmaker.convert.laying.mirrorings import Mirrorings

#: A repeat may grow or shrink by this share to become whole.
MOST_SCALE = Fraction(405, 10000)
#: Of the drawing, this many repeats at most are cut off at each rim.
MOST_CUT_REPEATS = Fraction(1, 2)
#: This many knots at most that are missing at each end are made by narrower cells.
MOST_MISSING = 3
#: Repeats shorter than this many knots are texture.
LEAST_KNOTS = 4
#: How far from where a lattice says it lies, in pixels, the last repeat is looked for, and on how many lines.
_NEAR_PX, _LINES = 3, 400
#: Periods are measured to this part of a pixel.
_PARTS = 16


@dataclass(frozen=True)
class Side:
    """What one direction of a lattice becomes: `knots` a repeat, each `period_px` pixels long."""

    knots: int
    period_px: Fraction

    def scale(self, knot_px: Fraction) -> Fraction:
        """Return by which share a repeat grows, or shrinks if that is below zero."""
        return self.knots * knot_px / self.period_px - 1

    def over(self, knots: int, knot_px: Fraction) -> Fraction:
        """Return how many knots more than the `knots` there are the whole drawing would take at that scale."""
        return knots * self.scale(knot_px)

    def cut(self, knots: int, knot_px: Fraction) -> Fraction:
        """Return how many knots are cut off at each end."""
        return max(self.over(knots, knot_px) / 2, Fraction(0))

    def missing(self, knots: int, knot_px: Fraction) -> Fraction:
        """Return how many knots are missing at each end, for which the outermost cells are narrower."""
        return max(-self.over(knots, knot_px) / 2, Fraction(0))


@dataclass(frozen=True)
class WholeLattice:
    """Repeats of whole knots: a knot equals that a repeat further right, and that one down and `shift` to the right.

    `axes_px` is where the drawing mirrors, down and across, if it does.
    """

    down: Side
    across: Side
    shift: int
    axes_px: tuple[float | None, float | None] = (None, None)

    @property
    def sides(self) -> tuple[Side, Side]:
        """What recurs, down and across, in the drawing as seen from its side: shifted rows repeat within a repeat."""
        times = self.across.knots // self.shift if self.shift else 1
        return self.down, Side(self.across.knots // times, self.across.period_px / times)


@dataclass(frozen=True)
class Period:
    """How a drawing repeats, down and across in pixels; a `centred` one has every second row half a repeat on."""

    down_px: Fraction
    across_px: Fraction
    centred: bool
    mirrorings: tuple[Mirrorings, Mirrorings] = (Mirrorings(), Mirrorings())

    def whole(self, knots: tuple[int, int], knot_px: tuple[Fraction, Fraction]) -> WholeLattice | None:
        """Return the repeats in whole knots, or None if they do not come out without too much being forced.

        Where every second row lies half a repeat on and an even number of knots would be too much, two rows make one
        repeat.

        Parameters
        ----------
        knots : (int, int)
            The rows and the columns of the grid.
        knot_px : (Fraction, Fraction)
            The height and the width of a knot in pixels.
        """
        down_mirrors, across_mirrors = self.mirrorings
        axes = down_mirrors.held, across_mirrors.held
        across = _side(self.across_px, knots[1], knot_px[1], across_mirrors, even=self.centred)
        down = _side(self.down_px, knots[0], knot_px[0], down_mirrors, even=False)
        if (across is None or down is None) and self.centred:
            across = _side(self.across_px, knots[1], knot_px[1], across_mirrors, even=False)
            down = _side(2 * self.down_px, knots[0], knot_px[0], down_mirrors, even=True)
            return None if across is None or down is None else WholeLattice(down, across, 0, axes)
        if across is None or down is None:
            return None
        return WholeLattice(down, across, across.knots // 2 if self.centred else 0, axes)

    def counts(self, knots: tuple[int, int], knot_px: tuple[Fraction, Fraction]) -> tuple[tuple[int, ...], ...]:
        """Return the numbers of rows, and of columns, with which a repeat is whole as drawn.

        They are the nearest below and above what there is, or only that, if a repeat is whole with it.
        """
        found = []
        sides = zip((self.down_px, self.across_px), knots, knot_px, (1, 2 if self.centred else 1), strict=True)
        for period, number, size, step in sides:
            low = max(int(period / size) // step * step, step)
            times = number * size / period
            counts = {round(times * count) for count in (low, low + step)}
            found.append((number,) if number in counts else tuple(sorted(counts)))
        return tuple(found)


def period_of(inks: ByteArray, lattice: Lattice) -> Period | None:
    """Return the exact period of a lattice of some of a drawing, if all of it repeats so.

    There is none if the rows are shifted neither by nothing nor by a half.
    """
    if not lattice.centred and lattice.shift:
        return None
    times = 2 if lattice.centred else 1
    down, across = exact_period(inks, times * lattice.height), exact_period(inks.T, lattice.width)
    return None if down is None or across is None else Period(down / times, across, lattice.centred)


def exact_period(inks: ByteArray, near: float) -> Fraction | None:
    """Return a period of the rows of a drawing as a whole number of pixels that so many of them take together.

    The furthest repeat is looked for, step by step twice as far, of which most pixels agree with the first, and a
    parabola through that and its neighbours tells parts of a pixel. Whole numbers decide, so that a mirrored drawing
    has the very same period. There is none if not even the best of the furthest agrees.
    """
    height, seen = len(inks), some_lines(inks)
    most, times = max(1, int(0.75 * height / near)), 1
    period = Fraction(near)
    while True:
        place = round(times * period)
        tried = [at for at in range(place - _NEAR_PX - 1, place + _NEAR_PX + 2) if 0 < at < height]
        agree = {at: int((seen[at:] == seen[:-at]).sum()) * height // (height - at) for at in tried}
        best = min(tried[1:-1], key=lambda at: (-agree[at], abs(at - times * period)))
        if times == most:
            break
        period, times = Fraction(best, times), min(2 * times, most)
    low, middle, high = (agree[at] for at in (best - 1, best, best + 1))
    if middle < LEAST_BUT_RIMS * seen.size:
        return None
    curve = 2 * middle - low - high
    if curve <= 0 or bool((seen[best:] == seen[:-best]).all()):
        return Fraction(best, times)
    beyond = round(Fraction((high - low) * _PARTS, 2 * curve))
    return Fraction(best * _PARTS + beyond, times * _PARTS)


def some_lines(inks: ByteArray) -> ByteArray:
    """Return some columns of a drawing, which are the same in its mirror image."""
    some = np.arange(0, (inks.shape[1] + 1) // 2, max(1, inks.shape[1] // _LINES))
    return inks[:, np.union1d(some, inks.shape[1] - 1 - some)]


def _side(period: Fraction, knots: int, knot_px: Fraction, mirrorings: Mirrorings, *, even: bool) -> Side | None:
    """Return the best whole number of knots for a period; None if the scale or the remainder would be too much.

    It is the nearest with which most motifs stay their own mirror images.
    """
    step = 2 if even else 1
    least = max(math.ceil(period / knot_px * (1 - MOST_SCALE)), LEAST_KNOTS)
    found = []
    for count in range(-(-least // step) * step, int(period / knot_px * (1 + MOST_SCALE)) + 1, step):
        side = Side(count, period)
        over = side.over(knots, knot_px) / 2
        fits = over <= MOST_CUT_REPEATS * count if over >= 0 else -over <= MOST_MISSING
        if abs(side.scale(knot_px)) <= MOST_SCALE and fits:
            found.append(side)

    def cost(side: Side) -> tuple[bool, Fraction, int]:
        return not mirrorings.keeps(side.knots, period), abs(side.scale(knot_px)), side.knots

    return min(found, key=cost, default=None)


def class_of(whole: WholeLattice, rows: NDArray[np.intp], columns: NDArray[np.intp]) -> NDArray[np.intp]:
    """Return which place of the repeat each of the knots at `rows` x `columns` has."""
    high, wide = whole.down.knots, whole.across.knots
    times, row = np.divmod(rows, high)
    return np.asarray(row[:, None] * wide + (columns[None] - times[:, None] * whole.shift) % wide)


def touching(which: NDArray[np.bool_], whole: WholeLattice) -> Iterator[tuple[NDArray[np.intp], ...]]:
    """Yield places of a repeat that touch, with their rows and columns, counted on beyond the end of the repeat.

    Those that reach further than a repeat does are left out.

    Parameters
    ----------
    which : ndarray of bool, shape (rows * columns of a repeat,)
        The places that count, as `class_of` numbers them.
    whole : WholeLattice
    """
    from scipy.ndimage import find_objects, label

    high, wide = whole.down.knots, whole.across.knots
    places = class_of(whole, np.arange(2 * high), np.arange(2 * wide))
    numbered, _ = label(which[places], np.ones((3, 3)))
    seen = np.zeros(len(which), dtype=bool)
    for number, (rows, columns) in enumerate(find_objects(numbered), start=1):
        inside = rows.start and columns.start and rows.stop < 2 * high and columns.stop < 2 * wide
        if inside and rows.stop - rows.start < high and columns.stop - columns.start < wide:
            down, across = np.nonzero(numbered[rows, columns] == number)
            down, across = down + rows.start, across + columns.start
            own = places[down, across]
            if not seen[own].any():
                yield own, down, across
            seen[own] = True
