"""How each side of a band repeats between its corners: found in the drawing, or near the length that is said."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from chartmaker.artwork.artwork import ByteArray
from chartmaker.artwork.lattices import Lattice, period_in
from chartmaker.convert.repeats.frames import Box, Run
from chartmaker.ground.colour import FloatArray
from chartmaker.relay.said import Repeat

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
#: Pixels so near to a frame, in knots, may be mixed with its neighbour's or be some of them: no knot shows them alone.
FRAME_KNOTS = 0.25
#: So much of a side agrees with its mirror image, if its halves are mirror images.
LEAST_MIRRORED = 0.97


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


def side_of(inks: ByteArray, run: Run, knot_px: tuple[float, float], said: Repeat = "found") -> BandSide:
    """Return a side of a band with how it repeats; `said` is the length of its repeat in pixels, if that is known."""
    plain = _plain_within(inks, run, knot_px)
    if plain is not None:
        return BandSide(plain, None, plain=True, mirrored=True)
    own = inks[run.box.window] if run.across else np.ascontiguousarray(inks[run.box.window].T)
    mirrored = float((own == own[:, ::-1]).mean()) >= LEAST_MIRRORED
    knot = knot_px[run.across]
    repeating = None if said == "none" else _repeating_of(own, knot)
    if isinstance(said, float) and (repeating is None or abs(repeating.period - said) > knot):
        repeating = _repeating(own, period_near(own, said, knot), 0, knot)
    return BandSide(run, repeating, plain=False, mirrored=mirrored)


def period_near(own: ByteArray, said: float, reach: float) -> float:
    """Return the period of a band that lies across, to a part of a pixel, within `reach` pixels of the one said.

    The longest shift that the band has room for says most about the period.
    """
    length = own.shape[1]
    period, step = said, max(reach, 1.0)
    times = 1
    while times * period < 0.7 * length:
        shifts = [times * (period + by) for by in np.linspace(-step, step, 9).tolist()]
        shifts = [shift for shift in shifts if 1 <= round(shift) < length]
        if not shifts:
            break
        agree = [float((own[:, round(s) :] == own[:, : length - round(s)]).mean()) for s in shifts]
        best = max(range(len(shifts)), key=lambda at: (agree[at], -abs(shifts[at] / times - period)))
        period = shifts[best] / times
        step = max(step / 4, 0.5 / times)
        times += 1
    return period


def lattice_near(inks: ByteArray, said: tuple[float, float]) -> Lattice:
    """Return the lattice of a field near the height and the width of its repeat that are said; its rows may be shifted
    by half a repeat."""
    high, wide = said
    width = period_near(inks, wide, 0.05 * wide)
    upright = np.ascontiguousarray(inks.T)
    height = period_near(upright, 2 * high, 0.05 * high) / 2
    step, half = min(round(height), len(inks) - 1), round(width / 2)
    straight = float((inks[step:] == inks[: len(inks) - step]).mean())
    shifted = inks[step:, half:] == inks[: len(inks) - step, : inks.shape[1] - half]
    moved = float(shifted.mean()) if shifted.size else 0.0
    return Lattice(height, width, width / 2 if moved > straight else 0.0, max(moved, straight))


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
                period = _shortest(inner, period, knot_px)
                return _repeating(own, period, _least_end(own, period, first, knot_px), knot_px)
    return None


def _least_end(own: ByteArray, period: float, first: int, knot_px: float) -> int:
    """Return how long the ends of a band are at least whose repeats are known from `first` on: they may go on there."""
    reach, length = max(1, round(LOOSE_KNOTS * knot_px)), own.shape[1]
    allowed = max(MOST_UNLIKE, MOST_TIMES_UNLIKE * _unlike(own[:, first : length - first], period, reach))
    step = max(1, round(knot_px))
    while first >= step and _unlike(own[:, first - step : length - first + step], period, reach) <= allowed:
        first -= step
    return first


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


def _plain_within(inks: ByteArray, run: Run, knot_px: tuple[float, float]) -> Run | None:
    """Return the run of a band that is the same all along it, and so has any length, or None.

    Where pixels next to its frames are those of what lies beside it, or mixed with them, they are left out of the run.
    """
    box = run.box
    down, across = (
        float(min(int(FRAME_KNOTS * knot), max(int(size) - 1, 0) // 2))
        for knot, size in zip(knot_px, (box.height, box.width), strict=True)
    )
    for within in (box, Box(box.top + down, box.left + across, box.bottom - down, box.right - across)):
        own = inks[within.window]
        if not own.size or bool((own == (own[:, :1] if run.across else own[:1])).all()):
            return replace(run, box=within)
    return None


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


def _repeating(own: ByteArray, period: float, least_end: float, knot_px: float) -> Repeating | None:
    """Return how a band repeats that lies across: its repeats stand in the middle of it, its ends are alike.

    Either the middle of a repeat is the middle of the band, or the line between two is. That is taken which has
    more knots of plain ground between repeats, or else the shorter ends.
    """
    length = own.shape[1]
    found = []
    for odd in (0, 1):
        times = int(((length - 2 * least_end + LOOSE_KNOTS * knot_px) / period - odd) // 2) * 2 + odd
        if times < 1:
            continue
        its = min(period, length / times)  # where all of the band repeats, but for a part of a knot
        end = (length - times * its) / 2
        found.append(Repeating(end, its, times, _plain_round(own, end + its * np.arange(times + 1))))

    def worth(repeating: Repeating) -> tuple[int, float]:
        return -int(min(repeating.plain, 0.25 * period) / knot_px), repeating.end

    return min(found, key=worth, default=None)


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
