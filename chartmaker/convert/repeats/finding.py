"""All repeats of a drawing are found: that of its field, and those along the sides of its borders."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import get_args

import numpy as np

from chartmaker.artwork.artwork import ByteArray
from chartmaker.artwork.lattices import LEAST_PX, SAID_PX, Lattice, Period, lattice_at, lattice_in, period_at, period_in
from chartmaker.colours.labelling import Labels
from chartmaker.convert.laying.keys import FINE_KNOTS, Edges, level_edges, upright_edges
from chartmaker.convert.laying.mirrorings import middle_of
from chartmaker.convert.repeats.frames import LEAST_BAND_KNOTS, Box, Layout, Run, Side, layout_of
from chartmaker.convert.repeats.pitches import pitch_of
from chartmaker.convert.repeats.wholes import some_lines
from chartmaker.order.wholesizes import Pitch

#: Lengths that are said of sides of borders, by band and side.
Said = Mapping[tuple[int, Side], int]
#: The sides of a border.
SIDES: tuple[Side, ...] = get_args(Side)
#: Repeats shorter than this many knots are texture.
LEAST_KNOTS = 3.0
#: Repeats are looked for in the middle of large drawings, in so many pixels a side at most.
MOST_SEARCHED_PX = 2000
#: This share of a field is left out on each side if it does not repeat up to its rim.
#: A line of pixels belongs to a repeat if this share of them agrees with those a repeat further in.
RIM, LEAST_GROWN = 0.12, 0.85


@dataclass(frozen=True)
class FieldRepeat:
    """A box within which a lattice repeats both ways."""

    box: Box
    lattice: Lattice


@dataclass(frozen=True)
class BorderRepeat:
    """A side of a border along which something repeats.

    `pitch_px` is the exact period in pixels, or None where repeats do not lie equally far apart in the artwork.
    """

    run: Run
    period: Period
    pitch_px: Fraction | None = None

    def pitch(self, shape: tuple[int, int]) -> Pitch | None:
        """Return the pitch in a picture whose height and width have so many pixels, or None if there is none."""
        if self.pitch_px is None:
            return None
        length = self.run.box.width if self.run.across else self.run.box.height
        times = int(Fraction(length) / self.pitch_px)
        return Pitch(self.run.band, self.run.across, self.pitch_px / shape[self.run.across], times)

    def as_said(self, said_px: Said) -> tuple[int, Side] | None:
        """Return its band and its side if a repeat is as long as is said of it, or None."""
        part = self.run.band, self.run.side
        said = said_px.get(part)
        return None if said is None or abs(self.period.length - said) > SAID_PX + 1 else part

    @property
    def kept(self) -> tuple[float, ...]:
        """All that it says as numbers, for `side_again`."""
        box, period = self.run.box, self.period
        place = box.top, box.left, box.bottom, box.right
        pitch = (0, 1) if self.pitch_px is None else self.pitch_px.as_integer_ratio()
        return (self.run.band, SIDES.index(self.run.side), *place, period.length, period.agreement, *pitch)


def side_again(kept: Sequence[float]) -> BorderRepeat:
    """Return the side whose numbers `BorderRepeat.kept` returned."""
    band, side, top, left, bottom, right, length, agreement, pixels, times = kept
    run = Run(int(band), SIDES[int(side)], Box(top, left, bottom, right))
    return BorderRepeat(run, Period(length, agreement), Fraction(int(pixels), int(times)) if pixels else None)


@dataclass(frozen=True)
class Repeats:
    """The layout of a drawing with all that repeats in it; `field` is None if the field does not repeat."""

    layout: Layout
    field: FieldRepeat | None
    borders: tuple[BorderRepeat, ...]


def repeats_of(labels: Labels, knot_px: tuple[float, float]) -> Repeats:
    """Return what repeats in a drawing.

    Parameters
    ----------
    labels : Labels
        The ink of each pixel.
    knot_px : (float, float)
        The height and the width of a knot in pixels.
    """
    edges = level_edges(labels, FINE_KNOTS * knot_px[1]), upright_edges(labels, FINE_KNOTS * knot_px[0])
    layout = layout_of((labels.first.shape[0], labels.first.shape[1]), edges, knot_px)
    borders = repeats_along(labels, edges, knot_px, (), {})
    return Repeats(layout, field_repeat(labels.first, layout.field, _least(knot_px)), borders)


def repeats_along(
    labels: Labels, edges: tuple[Edges, Edges], knot_px: tuple[float, float], without: Sequence[str], said_px: Said
) -> tuple[BorderRepeat, ...]:
    """Return what repeats along the sides of the borders of a drawing.

    Parameters
    ----------
    labels : Labels
        The ink of each pixel.
    edges : (Edges, Edges)
        The straight edges that frames are found by, level and upright.
    knot_px : (float, float)
        The height and the width of a knot in pixels.
    without : sequence of str
        The sides that nobody asks for.
    said_px : mapping
        About how long repeats are along the sides of which that is said. If they are not, they are looked for.
    """
    layout = layout_of((labels.first.shape[0], labels.first.shape[1]), edges, knot_px)
    inks, least, borders = labels.first, _least(knot_px), []
    for run in layout.runs((LEAST_BAND_KNOTS * knot_px[0], LEAST_BAND_KNOTS * knot_px[1])):
        if run.side in without:
            continue
        own = inks[run.box.window] if run.across else np.ascontiguousarray(inks[run.box.window].T)
        length_px = said_px.get((run.band, run.side))
        said = None if length_px is None else period_at(own, length_px)
        period = said or period_in(own, least[run.across])
        if period is not None:
            borders.append(BorderRepeat(run, period, pitch_of(own, period.length, knot_px[run.across])))
    return tuple(borders)


def _least(knot_px: tuple[float, float]) -> tuple[float, float]:
    """Return the size of the smallest repeats, down and across, in pixels."""
    return max(LEAST_KNOTS * knot_px[0], LEAST_PX), max(LEAST_KNOTS * knot_px[1], LEAST_PX)


def field_repeat(
    inks: ByteArray, box: Box, least_px: tuple[float, float], said_px: tuple[int, int] | None = None
) -> FieldRepeat | None:
    """Return what repeats in a box, or in as much of it as repeats, because a frame may run along its rim.

    It is looked for in the middle of the box first; its height and width in pixels may be said.
    """
    rim = RIM * box.height, RIM * box.width
    inner = Box(box.top + rim[0], box.left + rim[1], box.bottom - rim[0], box.right - rim[1])
    for part in (inner, box):
        own = inks[part.window]
        if min(own.shape) < 2 * LEAST_PX:
            continue
        middle = tuple(middle_of(size, MOST_SEARCHED_PX) for size in own.shape)
        lattice = lattice_in(own[middle], least_px) if said_px is None else lattice_at(own, said_px)
        if lattice is not None:
            return FieldRepeat(grown(inks, box, part, lattice), lattice)
    return None


def grown(inks: ByteArray, box: Box, inner: Box, lattice: Lattice) -> Box:
    """Return the largest box, within `box` and round `inner`, whose pixels agree with those a repeat further in.

    A side that reaches that of `box` lies just there, though that may be within a pixel.
    """
    (down, across), (own_down, own_across) = box.window, inner.window
    times = 2 if lattice.shift else 1
    left, right = _reach(inks[own_down, across], _within(own_across, across), lattice.width)
    top, bottom = _reach(
        np.ascontiguousarray(inks[down, own_across].T), _within(own_down, down), times * lattice.height
    )
    return Box(
        box.top if top == 0 else down.start + top,
        box.left if left == 0 else across.start + left,
        box.bottom if down.start + bottom == down.stop else down.start + bottom,
        box.right if across.start + right == across.stop else across.start + right,
    )


def _within(own: slice, whole: slice) -> slice:
    return slice(own.start - whole.start, own.stop - whole.start)


def _reach(lines: ByteArray, inner: slice, period: float) -> tuple[int, int]:
    """Return from where to where lines agree with those a period further in, outward from some of them.

    A period is seldom a whole number of pixels, so that the pixels beside it have a say too.
    """
    seen, many = some_lines(lines.T).T, lines.shape[1]
    further, before = np.zeros(many), np.zeros(many)
    for step in range(int(period) - 1, int(period) + 3):
        agree = (seen[:, :-step] == seen[:, step:]).mean(axis=0)
        np.maximum(further[:-step], agree, out=further[:-step])
        np.maximum(before[step:], agree, out=before[step:])
    low, high = inner.start, inner.stop
    while low > 0 and further[low - 1] >= LEAST_GROWN:
        low -= 1
    while high < many and before[high] >= LEAST_GROWN:
        high += 1
    return low, high
