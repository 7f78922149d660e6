"""The lattice of a field and the period of a border are found by autocorrelation.

Candidates come from the autocorrelation of a coarse picture (by FFT, zero-padded and divided by the overlap). Each is
then checked against all pixels: a shift is a repeat if nearly all pixels that overlap agree. If the others are only the
rims of areas, more of them may differ, because a repeat that is not a whole number of pixels must differ there. For
lattices see Liu, Collins and Tsin (2004), "A computational model for periodic pattern perception based on frieze and
wallpaper groups".
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.ground.colour import FloatArray

#: A shift is a repeat if this share of the pixels that overlap agree, and this share of what is beyond chance.
LEAST_AGREEMENT, LEAST_BEYOND_CHANCE = 0.97, 0.8
#: The same if only rims disagree, and how much may then disagree off the rims.
LEAST_BUT_RIMS, LEAST_BEYOND_BUT_RIMS, MOST_OFF_RIMS = 0.92, 0.75, 0.0005
#: This share of the pixels may disagree off the rims of areas, as where a motif is missing or has another colour.
MOST_UNLIKE = 0.002
#: A coarse picture has at most this many pixels a side, and at least so many in the shortest repeat.
COARSE_PX, COARSE_PERIOD_PX = 640, 3
#: Candidates for the period of a band come from about this many lines along it.
SAMPLED_LINES = 40
#: Repeats shorter than this, in pixels, cannot be measured.
LEAST_PX = 8
#: The height of a peak of the coarse autocorrelation, and how many of the nearest peaks are tried for a lattice and for
#: a period.
LEAST_PEAK, MOST_PEAKS, MOST_PERIODS = 0.55, 60, 16
#: Rows of a lattice count as not shifted, or as shifted by a half, if they are so to within this share of a repeat.
SNAP = 0.02
#: A repeat that somebody measured in the artwork may be off by so many pixels; this share agrees along a border.
SAID_PX, LEAST_SAID = 2, 0.75

Inks = ByteArray


@dataclass(frozen=True)
class Lattice:
    """Repeats side by side in rows, each `width` pixels from the next, with the rows `height` pixels apart.

    Each row is shifted to the right of the one above by `shift` pixels, 0 <= shift < width, which is half the width if
    the lattice is centred. `agreement` is the least share of pixels that agree with a neighbour.
    """

    height: float
    width: float
    shift: float
    agreement: float

    @property
    def centred(self) -> bool:
        return abs(self.shift - self.width / 2) <= SNAP * self.width


@dataclass(frozen=True)
class Period:
    """Repeats in a line, each `length` pixels from the next; `agreement` is the share of pixels that agree with it."""

    length: float
    agreement: float


@dataclass(frozen=True)
class _Shift:
    """A shift down and across in whole pixels, with how well the drawing agrees with itself and how much differs."""

    down: int
    across: int
    agreement: float
    unlike: float


def lattice_in(inks: Inks, least_px: tuple[float, float]) -> Lattice | None:
    """Return the lattice of a part of a drawing, or None if it does not repeat both ways at least twice.

    Parameters
    ----------
    inks : ndarray of uint8, shape (height, width)
    least_px : (float, float)
        Anything shorter than this, down and across, is texture and not a repeat.
    """
    found = _Agreement(inks)
    shifts = _repeats(found, _peaks(inks, least_px), least_px)
    level = _first_level(found, shifts)
    if level is None:
        return None
    width = _refined(found, level, (0, 1))
    rows = sorted((s for s in shifts if s.down >= LEAST_PX), key=lambda s: (s.down, s.across))
    if not rows:
        return None
    first = [s for s in rows if s.down <= rows[0].down + 1]
    step = max(first, key=lambda s: (s.agreement, -abs(s.across)))
    shift = step.across % width
    times = next((n for n in range(1, 7) if min(n * shift % width, -n * shift % width) <= n * SNAP * width), 0)
    upright = _Shift(step.down * times, 0, step.agreement, step.unlike)
    height, agreement = float(step.down), step.agreement
    if times:
        shift = round(shift * times / width) * width / times % width
        if upright.down <= inks.shape[0] * 0.6:
            height = _refined(found, upright, (1, 0)) / times
    if min(height, width) < LEAST_PX:
        return None
    return Lattice(height, width, shift, min(level.agreement, agreement))


def lattice_at(inks: Inks, size_px: tuple[int, int]) -> Lattice | None:
    """Return the lattice whose repeats have about a size given in pixels; None if the drawing does not repeat so."""
    found = _Agreement(inks)
    if not all(LEAST_PX <= size <= whole // 2 for size, whole in zip(size_px, inks.shape, strict=True)):
        return None
    down = found.best(_Shift(size_px[0], 0, 0, 1), SAID_PX, (1, 0))
    across = found.best(_Shift(0, size_px[1], 0, 1), SAID_PX, (0, 1))
    if not (found.is_repeat(down) and found.is_repeat(across)):
        return None
    high, wide = _refined(found, down, (1, 0)), _refined(found, across, (0, 1))
    return Lattice(high, wide, 0.0, min(down.agreement, across.agreement))


def period_in(inks: Inks, least_px: float) -> Period | None:
    """Return the period of a band that runs across, or None if it does not repeat at least twice.

    Parameters
    ----------
    inks : ndarray of uint8, shape (height, width)
    least_px : float
        Anything shorter than this is texture and not a repeat.
    """
    found, width = _Agreement(inks), inks.shape[1]
    lines = inks[:: max(1, inks.shape[0] // SAMPLED_LINES)]
    reach = width // 2
    correlated = _correlated(_as_plane(lines)[0], axes=(1,)).sum(axis=0)[: reach + 1]
    correlated /= (width - np.arange(reach + 1)) * len(lines)
    beyond = (correlated - found.chance_of_plane) / max(1 - found.chance_of_plane, 1e-9)
    places = np.flatnonzero((beyond[1:-1] >= beyond[:-2]) & (beyond[1:-1] >= beyond[2:])) + 1
    places = places[(places >= least_px) & (beyond[places] >= LEAST_PEAK)]
    tried = [found.best(_Shift(0, int(place), 0, 1), 1, (0, 1)) for place in places[:MOST_PERIODS]]
    repeats = _alike([shift for shift in tried if found.is_repeat(shift)])
    if not repeats:
        return None
    first = min(repeats, key=lambda shift: shift.across)
    return Period(_refined(found, first, (0, 1)), first.agreement)


def period_at(inks: Inks, length_px: int) -> Period | None:
    """Return the period of a band that runs across and is said to be about so long; None if it does not repeat so."""
    if not LEAST_PX <= length_px <= inks.shape[1] // 2:
        return None
    found = _Agreement(inks)
    shift = found.best(_Shift(0, length_px, 0, 1), SAID_PX, (0, 1))
    return Period(_refined(found, shift, (0, 1)), shift.agreement) if shift.agreement >= LEAST_SAID else None


class _Agreement:
    """How well a drawing agrees with itself when it is shifted."""

    def __init__(self, inks: Inks) -> None:
        self.inks = inks
        share = np.bincount(inks.ravel(), minlength=256) / inks.size
        self.chance = float((share**2).sum())
        self.chance_of_plane = float(abs((_circle(inks) * share).sum()) ** 2)

    def at(self, down: int, across: int, step: int = 1) -> float:
        """Return the share of overlapping pixels that agree, looking only at every `step`-th row."""
        one, other = self._overlapping(down, across)
        return float((one[::step] == other[::step]).mean())

    def measured(self, down: int, across: int) -> _Shift:
        """Return a shift with its agreement and with the share of pixels that differ off the rims of areas."""
        one, other = self._overlapping(down, across)
        differs = one != other
        wide = differs[:, :-2] & differs[:, 1:-1] & differs[:, 2:]
        block = wide[:-2] & wide[1:-1] & wide[2:]
        return _Shift(down, across, 1 - float(differs.mean()), float(block.mean()) if block.size else 0.0)

    def is_repeat(self, shift: _Shift) -> bool:
        beyond = (shift.agreement - self.chance) / max(1 - self.chance, 1e-9)
        alike = shift.agreement >= LEAST_AGREEMENT and beyond >= LEAST_BEYOND_CHANCE
        but_rims = shift.agreement >= LEAST_BUT_RIMS and beyond >= LEAST_BEYOND_BUT_RIMS
        return alike or (but_rims and shift.unlike <= MOST_OFF_RIMS)

    def best(self, near: _Shift, reach: int, ways: tuple[int, int] = (1, 1)) -> _Shift:
        """Return the shift with the best agreement within `reach` pixels, moved downward, across or both."""
        height, width = self.inks.shape
        step = max(1, height // 200)
        places = [
            (near.down + down, near.across + across)
            for down in range(-reach * ways[0], reach * ways[0] + 1)
            for across in range(-reach * ways[1], reach * ways[1] + 1)
            if 0 <= near.down + down < 0.9 * height and abs(near.across + across) < 0.9 * width
        ]
        if not places:
            return near
        scores = {place: self.at(*place, step) for place in places}
        most = max(scores.values())
        return self.measured(*min((p for p in places if scores[p] == most), key=lambda p: (abs(p[0]) + abs(p[1]), p)))

    def _overlapping(self, down: int, across: int) -> tuple[Inks, Inks]:
        height, width = self.inks.shape
        low, high = self.inks[: height - down], self.inks[down:]
        if across >= 0:
            return low[:, : width - across], high[:, across:]
        return low[:, -across:], high[:, : width + across]


def _as_plane(inks: Inks) -> tuple[NDArray[np.complex64], complex]:
    """Return a complex number of size one for each pixel, equal where the inks are equal, and the mean of all."""
    table = _circle(inks)
    share = np.bincount(inks.ravel(), minlength=256) / inks.size
    return table[inks], complex((table * share).sum())


def _circle(inks: Inks) -> NDArray[np.complex64]:
    """Return a complex number of size one for each ink that occurs, evenly spread on a circle."""
    met = np.unique(inks)
    circle = np.exp(2j * np.pi * np.arange(len(met)) / len(met)) if len(met) > 2 else np.array([1.0, -1.0])[: len(met)]
    table = np.zeros(256, dtype=np.complex64)
    table[met] = circle
    return table


def _correlated(plane: NDArray[np.complex64], axes: tuple[int, ...]) -> FloatArray:
    """Return the autocorrelation of a plane along some axes, zero-padded by half."""
    from scipy import fft

    sizes = [fft.next_fast_len(plane.shape[axis] * 3 // 2 + 1) for axis in axes]
    spectrum = fft.fftn(plane, sizes, axes=axes)
    return np.asarray(fft.ifftn((spectrum * spectrum.conj()).real, axes=axes).real, dtype=np.float64)


def _peaks(inks: Inks, least_px: tuple[float, float]) -> list[_Shift]:
    """Return the shifts at which a coarse picture agrees with itself, the shortest first, and how exact they are."""
    from scipy import ndimage

    shortest = min(least_px)
    step = int(max(1, min(-(-max(inks.shape) // COARSE_PX), shortest // COARSE_PERIOD_PX)))
    plane, mean = _as_plane(inks)
    height, width = (size // step for size in inks.shape)
    coarse = plane[: height * step, : width * step].reshape(height, step, width, step).mean(axis=(1, 3))
    total = _correlated(coarse, (0, 1))
    down, across = np.arange(height // 2 + 1), np.arange(-(width // 2), width // 2 + 1)
    overlap = (height - down)[:, None] * (width - abs(across))
    total = total[down[:, None], across[None]] / overlap
    origin = total[0, width // 2] - abs(mean) ** 2
    beyond = (total - abs(mean) ** 2) / max(origin, 1e-9)
    highest = ndimage.maximum_filter(beyond, 3, mode="constant", cval=-1)
    rows, columns = np.nonzero((beyond == highest) & (beyond >= LEAST_PEAK))
    found = [
        (float(-beyond[row, column]), int(row) * step, int(column - width // 2) * step)
        for row, column in zip(rows.tolist(), columns.tolist(), strict=True)
        if row * step >= least_px[0] or abs(column - width // 2) * step >= least_px[1]
    ]
    nearest = sorted(found, key=lambda peak: (peak[1] ** 2 + peak[2] ** 2, peak[1], abs(peak[2]), peak[2]))
    return [_Shift(down, across, step, 1) for _, down, across in nearest[:MOST_PEAKS]]


def _repeats(found: _Agreement, peaks: list[_Shift], least_px: tuple[float, float]) -> list[_Shift]:
    """Return the shifts near the peaks that are repeats."""
    tried = [found.best(peak, max(1, int(peak.agreement))) for peak in peaks]
    tried = [
        shift
        for shift in tried
        if found.is_repeat(shift) and (shift.down >= least_px[0] or abs(shift.across) >= least_px[1])
    ]
    return _alike(tried)


def _alike(shifts: list[_Shift]) -> list[_Shift]:
    """Return the shifts that leave no more differences than the best ones do."""
    most = max(MOST_UNLIKE, 2 * min((shift.unlike for shift in shifts), default=0.0))
    return [shift for shift in shifts if shift.unlike <= most]


def _first_level(found: _Agreement, shifts: list[_Shift]) -> _Shift | None:
    """Return the shortest repeat that goes straight across, which may be one that others add up to."""
    level = [shift for shift in shifts if shift.down <= 1 and shift.across > 0]
    if level:
        first = min(level, key=lambda shift: shift.across)
        return first if first.down == 0 else found.measured(0, first.across)
    sums = {
        (abs(m * one.down - n * two.down), abs(m * one.across - n * two.across))
        for one in shifts[:12]
        for two in shifts[:12]
        for m in range(1, 4)
        for n in range(1, 4)
    }
    for down, across in sorted(sums, key=lambda place: place[1]):
        if down <= 3 and LEAST_PX <= across <= found.inks.shape[1] * 0.6:
            shift = found.best(_Shift(0, across, 0, 1), 3, (0, 1))
            if found.is_repeat(shift):
                return shift
    return None


def _refined(found: _Agreement, shift: _Shift, way: tuple[int, int]) -> float:
    """Return the length of a straight repeat to a fraction of a pixel, from the furthest of its multiples."""
    length = float(shift.down * way[0] + shift.across * way[1])
    size = found.inks.shape[0] if way[0] else found.inks.shape[1]
    times = 1
    while 2 * times * length <= 0.75 * size:
        times *= 2
        length = _to_a_fraction(found, round(times * length), way) / times
    most = int(0.75 * size / length)
    if most > times:
        length = _to_a_fraction(found, round(most * length), way) / most
    return length if times > 1 or most > times else _to_a_fraction(found, round(length), way)


def _to_a_fraction(found: _Agreement, near: int, way: tuple[int, int]) -> float:
    """Return where the agreement is best, by a parabola through the best pixel and its neighbours."""
    best = found.best(_Shift(near * way[0], near * way[1], 0, 1), 2, way)
    at = best.down * way[0] + best.across * way[1]
    step = max(1, found.inks.shape[0] // 400)
    low, middle, high = (found.at((at + d) * way[0], (at + d) * way[1], step) for d in (-1, 0, 1))
    curve = low - 2 * middle + high
    return at + (float(np.clip((low - high) / (2 * curve), -0.5, 0.5)) if curve < 0 else 0.0)
