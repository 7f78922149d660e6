"""The parts that a design is drawn of: bands of its border with their corners and repeats, and its field."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from chartmaker.artwork.artwork import ByteArray
from chartmaker.convert.flat.labelling import Labels
from chartmaker.convert.laying.keys import LEAST_KNOTS, level_edges, upright_edges
from chartmaker.convert.repeats.finding import FieldRepeat, field_repeat
from chartmaker.convert.repeats.frames import Box, Run, Side, layout_of
from chartmaker.convert.repeats.lattices import period_in
from chartmaker.ground.colour import FloatArray
from chartmaker.relay.patterns import Tile, lattice_beside, on_lattice, on_pattern
from chartmaker.relay.pieces import Pieces, pieces_of

#: Repeats shorter than so many knots are texture.
LEAST_PERIOD_KNOTS = 3.0
#: So much of a band may be unlike itself a repeat on, the rims of its areas left out.
MOST_UNLIKE = 0.003
#: A part of a repeat is the repeat if at most so many times as much is unlike after it as after the whole, up to this.
MOST_TIMES_UNLIKE, MOST_UNLIKE_PART = 1.5, 0.012
#: So much of a band agrees a repeat on at least, rims included.
LEAST_LOOSE = 0.88
#: A repeat that was drawn on a grid may lie so many knots off where it would be.
LOOSE_KNOTS = 0.6
#: The shares of a side that its ends may take, where the corners reach into them.
ENDS = (0.0, 0.1, 0.2, 0.3)
#: So much of a side agrees with its mirror image, if its halves are mirror images.
LEAST_MIRRORED = 0.97
#: So much of each line of pixels along the rim of a field has one ink, if a line is drawn there.
LEAST_LINED = 0.98
#: Sides: those that run across first.
SIDES: tuple[Side, ...] = ("top", "bottom", "left", "right")


@dataclass(frozen=True)
class Repeating:
    """How a side of a band repeats, in pixels along it: an end, repeats of one length, an end as long as the first.

    `plain` is how far plain ground reaches round the line between two repeats.
    """

    end: float
    period: float
    times: int
    plain: float


@dataclass(frozen=True)
class BandSide:
    """A side of a band between its corners: where it lies, and how it repeats, None if it does not.

    A `plain` side is the same all along, and so has any length; the halves of a `mirrored` one are mirror images.
    """

    run: Run
    repeating: Repeating | None
    plain: bool
    mirrored: bool

    @property
    def length(self) -> float:
        """Its length in pixels."""
        return self.run.box.width if self.run.across else self.run.box.height


@dataclass(frozen=True)
class Band:
    """What lies between two frames, from the rim inward, with its four sides."""

    outer: Box
    inner: Box
    sides: dict[Side, BandSide]

    def width(self, side: Side) -> float:
        """Return its width at a side, in pixels."""
        outer, inner = self.outer, self.inner
        return {
            "top": inner.top - outer.top,
            "bottom": outer.bottom - inner.bottom,
            "left": inner.left - outer.left,
            "right": outer.right - inner.right,
        }[side]


@dataclass(frozen=True)
class Parts:
    """A design taken apart, in pixels of the artwork: its bands from the rim inward, and its field.

    The field has a `lattice` if it repeats, `pieces` if some stand in it, and a `tile` of the pattern under them if
    that is not plain; if it has none of these, it is drawn as a whole.
    """

    bands: tuple[Band, ...]
    field: Box
    lattice: FieldRepeat | None
    pieces: Pieces | None
    tile: Tile | None = None


def parts_of(labels: Labels, knot_px: tuple[float, float], said: Sequence[tuple[float, float]] = ()) -> Parts:
    """Return the parts of a design.

    Parameters
    ----------
    labels : Labels
        The ink of each pixel.
    knot_px : (float, float)
        The height and the width of a knot in pixels.
    said : sequence of (float, float)
        The widths of its borders from the rim inward, in pixels down and across, if they are said; else they are found
        from straight frames.
    """
    inks = labels.first
    height, width = inks.shape
    rim = Box(0.0, 0.0, float(height), float(width))
    boxes = [rim]
    if said:
        for down, across in said:
            last = boxes[-1]
            boxes.append(Box(last.top + down, last.left + across, last.bottom - down, last.right - across))
    else:
        edges = level_edges(labels, LEAST_KNOTS * knot_px[1]), upright_edges(labels, LEAST_KNOTS * knot_px[0])
        boxes = [_whole(frame) for frame in layout_of((height, width), edges, knot_px).frames]
    least = LEAST_PERIOD_KNOTS * knot_px[0], LEAST_PERIOD_KNOTS * knot_px[1]
    lattice = field_repeat(inks, boxes[-1], least)
    if lattice is not None and _beside(lattice.box, boxes[-1]):
        boxes.append(_whole(lattice.box))  # a line along the rim of the field that its motifs break
    elif lattice is None and not said:
        boxes.append(_within_line(inks, boxes[-1]))
    bands = tuple(
        Band(outer, inner, {side: _side(inks, number, side, outer, inner, knot_px) for side in SIDES})
        for number, (outer, inner) in enumerate(pairwise(dict.fromkeys(boxes)))
    )
    return Parts(bands, boxes[-1], *_field(np.ascontiguousarray(inks[boxes[-1].window]), boxes[-1], lattice, knot_px))


def _field(
    inks: ByteArray, box: Box, lattice: FieldRepeat | None, knot_px: tuple[float, float]
) -> tuple[FieldRepeat | None, Pieces | None, Tile | None]:
    """Return what repeats in a field, what stands in it, and the pattern under that."""
    if lattice is not None:
        return lattice, *(on_lattice(inks, lattice.lattice, knot_px) or (None, None))
    pieces = pieces_of(inks, knot_px)
    if pieces is not None:
        return None, pieces, None
    least = LEAST_PERIOD_KNOTS * knot_px[0], LEAST_PERIOD_KNOTS * knot_px[1]
    standing = on_pattern(inks, knot_px, least)
    if standing is not None:
        repeat, pieces, tile = standing
        return None if repeat is None else FieldRepeat(box, repeat), pieces, tile
    repeat = lattice_beside(inks, least)
    under = None if repeat is None else on_lattice(inks, repeat, knot_px)
    if repeat is None or under is None:
        return None, None, None
    return FieldRepeat(box, repeat), *under


def _within_line(inks: ByteArray, field: Box) -> Box:
    """Return what lies within a line along the rim of a field, which motifs touch so that it bounds no frame."""
    own = inks[field.window]
    ground = int(np.bincount(own.ravel()).argmax())
    deep = []
    for lines in (own, own[::-1], own.T, own[:, ::-1].T):
        ink = int(np.bincount(lines[0]).argmax())
        along = (lines == ink).mean(axis=1) >= LEAST_LINED
        deep.append(0 if ink == ground or along.all() else int(along.argmin()))
    top, bottom, left, right = deep
    if min(deep) == 0 or top + bottom >= own.shape[0] // 4 or left + right >= own.shape[1] // 4:
        return field
    return Box(field.top + top, field.left + left, field.bottom - bottom, field.right - right)


def _beside(inner: Box, outer: Box) -> bool:
    """Whether a box leaves something of another on any side."""
    return not (inner.height > outer.height - 1 and inner.width > outer.width - 1)


def _whole(box: Box) -> Box:
    """Return a box on whole pixels."""
    return Box(*(float(round(edge)) for edge in (box.top, box.left, box.bottom, box.right)))


def _side(inks: ByteArray, number: int, side: Side, outer: Box, inner: Box, knot_px: tuple[float, float]) -> BandSide:
    """Return a side of a band with how it repeats."""
    box = {
        "top": Box(outer.top, inner.left, inner.top, inner.right),
        "bottom": Box(inner.bottom, inner.left, outer.bottom, inner.right),
        "left": Box(inner.top, outer.left, inner.bottom, inner.left),
        "right": Box(inner.top, inner.right, inner.bottom, outer.right),
    }[side]
    run = Run(number, side, box)
    own = inks[box.window] if run.across else np.ascontiguousarray(inks[box.window].T)
    if not own.size or _is_plain(own):
        return BandSide(run, None, plain=True, mirrored=True)
    mirrored = float((own == own[:, ::-1]).mean()) >= LEAST_MIRRORED
    return BandSide(run, _repeating_of(own, knot_px[run.across]), plain=False, mirrored=mirrored)


def _repeating_of(own: ByteArray, knot_px: float) -> Repeating | None:
    """Return how a band that lies across repeats: all along, or but for its ends, which corners may reach into."""
    length = own.shape[1]
    for exact in (True, False):
        for end in ENDS:
            first = int(end * length)
            inner = own[:, first : length - first]
            found = period_in(inner, LEAST_PERIOD_KNOTS * knot_px) if exact else None
            period = found.length if found is not None else None if exact else _loose_period(inner, knot_px)
            if period is not None:
                return _repeating(own, _shortest(inner, period, knot_px), first)
    return None


def _loose_period(own: ByteArray, knot_px: float) -> float | None:
    """Return the shortest shift at which a band agrees with itself best, but for rims; None if there is none.

    Few repeats that were drawn on a grid differ by more of their rims than a repeat may that is found exactly.
    """
    lines, length = own[:: max(1, own.shape[0] // 40)], own.shape[1]
    shifts = np.arange(int(LEAST_PERIOD_KNOTS * knot_px), int(0.65 * length))
    agreement = np.array([float((lines[:, s:] == lines[:, : length - s]).mean()) for s in shifts.tolist()])
    reach = max(1, round(LOOSE_KNOTS * knot_px))
    for at in range(1, len(shifts) - 1):
        highest = agreement[at] == agreement[max(at - reach, 0) : at + reach + 1].max()
        if highest and agreement[at] >= LEAST_LOOSE and _agrees(own, float(shifts[at]), reach):
            return float(shifts[at])
    return None


def _is_plain(own: ByteArray) -> bool:
    """Whether a band is the same all along it: it has any length."""
    return bool((own == own[:, :1]).all())


def _shortest(own: ByteArray, period: float, knot_px: float) -> float:
    """Return the shortest repeat that a period is made of.

    A drawing of repeats that are no whole number of pixels agrees with itself best after several of them; after one it
    does nearly as well, but for the rims of its areas.
    """
    reach = max(1, round(LOOSE_KNOTS * knot_px))
    allowed = max(MOST_UNLIKE, min(MOST_TIMES_UNLIKE * _unlike(own, period, reach), MOST_UNLIKE_PART))
    for parts in range(int(period / (LEAST_PERIOD_KNOTS * knot_px)), 1, -1):
        if all(_unlike(own, number * period / parts, reach) <= allowed for number in range(1, min(parts, 4))):
            return period / parts
    return period


def _agrees(own: ByteArray, shift: float, reach: int) -> bool:
    """Whether a band agrees with itself so many pixels on, `reach` more or fewer, but for rims of areas."""
    return _unlike(own, shift, reach) <= MOST_UNLIKE


def _unlike(own: ByteArray, shift: float, reach: int) -> float:
    """Return the share of a band that disagrees with itself so many pixels on, rims of areas left out."""
    step, length = round(shift), own.shape[1]
    near = [
        own[:, reach + by : length - step - reach + by] == own[:, reach + step : length - reach]
        for by in range(-reach, reach + 1)
    ]
    unlike = ~np.logical_or.reduce(near)
    block = unlike[:-1, :-1] & unlike[1:, :-1] & unlike[:-1, 1:] & unlike[1:, 1:]
    return float(block.mean()) if block.size else 1.0


def _repeating(own: ByteArray, period: float, least_end: float) -> Repeating | None:
    """Return how a band repeats that lies across: its repeats stand in the middle of it, its ends are alike.

    Either the middle of a repeat is the middle of the band, or the line between two is. That is taken which has
    plain ground between repeats, or else the shorter ends.
    """
    length = own.shape[1]
    found = []
    for odd in (0, 1):
        times = int(((length - 2 * least_end) / period - odd) // 2) * 2 + odd
        if times < 1:
            continue
        end = (length - times * period) / 2
        found.append(Repeating(end, period, times, _plain_round(own, end + period * np.arange(times + 1))))
    return min(found, key=lambda repeating: (-min(repeating.plain, 0.25 * period), repeating.end), default=None)


def _plain_round(own: ByteArray, lines: FloatArray) -> float:
    """Return over how many pixels round all of the `lines` between repeats the band is the same all along."""
    same = (own[:, 1:] == own[:, :-1]).all(axis=0)  # a pixel more or less is not seen there
    least = float(own.shape[1])
    for line in lines:
        at = int(min(max(round(float(line)), 0), len(same)))
        ahead, behind = same[at:], same[:at][::-1]
        reach = [len(each) if each.all() else int(each.argmin()) for each in (ahead, behind) if len(each)]
        least = min(least, 2.0 * min(reach))
    return least
