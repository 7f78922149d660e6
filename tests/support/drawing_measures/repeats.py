"""Measures whether all windows of a repeat are woven the same to the knot."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy import fft, ndimage

from support.drawing_measures.placed import Drawing, Floats, Placed, Score

#: A shift is a repeat if at least this share of the overlapping pixels agree.
LEAST_AGREEMENT = 0.97

Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Lattice:
    """A repeat within a `box` (top, left, bottom, right), in pixels: windows of `height` x `width`, `shift`ed.

    Windows stand `width` apart in rows that are `height` apart, each row moved by `shift` against the one above.
    """

    box: Box
    height: float
    width: float
    shift: float = 0.0


@lru_cache(maxsize=64)
def lattice_of(drawing: Drawing) -> Lattice | None:
    """Return the repeat of a whole drawing, found where it agrees with itself, or None if it has none."""
    height, width = drawing.labels.shape
    agreement = _agreement(drawing.labels, drawing.inks)
    reach_y, reach_x = height // 2, width // 2
    peak = (agreement >= LEAST_AGREEMENT) & (agreement == ndimage.maximum_filter(agreement, 9))
    peaks = [
        (y - reach_y, x - reach_x)
        for y, x in np.argwhere(peak).tolist()
        if max(abs(y - reach_y) / drawing.knot_height, abs(x - reach_x) / drawing.knot_width) > 3
    ]
    level = min((x for y, x in peaks if abs(y) <= 1 and x > 0), default=None)
    rows = sorted((y, abs(x), x) for y, x in peaks if y > 1)
    if level is None or not rows:
        return None
    down, _, shift = rows[0]
    whole_box = (0.0, 0.0, float(height), float(width))
    level = _refined(level, [x for y, x in peaks if abs(y) <= 2 and x > 0])
    multiple = max((y / round(y / down), y) for y, _, _ in rows if abs(y / down - round(y / down)) < 0.05)
    return Lattice(whole_box, multiple[0] if multiple[1] > down else float(down), level, float(shift))


def _refined(period: float, multiples: list[int]) -> float:
    """Return a period to a fraction of a pixel, calculated from the farthest of its multiples."""
    for place in sorted(multiples):
        if abs(place / period - round(place / period)) < 0.1:
            period = place / round(place / period)
    return period


def _agreement(labels: NDArray[np.integer], inks: int) -> Floats:
    """Return the share of overlapping pixels that agree, for shifts of up to half the drawing either way."""
    height, width = labels.shape
    shape = [fft.next_fast_len(3 * size // 2 + 1, real=True) for size in labels.shape]
    total = np.zeros(shape)
    for ink in range(inks):
        spectrum = fft.rfft2((labels == ink).astype(np.float32), shape)
        total += fft.irfft2(abs(spectrum) ** 2, shape)
    y, x = np.arange(-(height // 2), height // 2 + 1), np.arange(-(width // 2), width // 2 + 1)
    return total[y[:, None], x[None]] / ((height - abs(y))[:, None] * (width - abs(x))[None])


def repeat_identity(placed: Placed, lattices: list[Lattice]) -> Score:
    """Return the windows of the lattices that equal the commonest, allowing one knot of offset, of all."""
    equal = whole = 0
    for lattice in lattices:
        size = (
            int(lattice.height / placed.drawing.knot_height + 1e-6),
            int(lattice.width / placed.drawing.knot_width + 1e-6),
        )
        places = _places(placed, lattice, size)
        if min(size) < 3 or len(places) < 2:
            continue
        drawn = [_cut(placed.knots, y, x, size) for y, x in places]
        moved = [
            {_cut(placed.knots, y + dy, x + dx, size) for dy in (-1, 0, 1) for dx in (-1, 0, 1)} for y, x in places
        ]
        met = Counter(window for windows in moved for window in windows)
        equal += max(met[window] for window in drawn)
        whole += len(places)
    return Score(equal, whole)


def _cut(knots: NDArray[np.integer], y: int, x: int, size: tuple[int, int]) -> bytes:
    """Return a window of knots, or an empty one where it reaches beyond the grid."""
    inside = y >= 0 and x >= 0 and y + size[0] <= knots.shape[0] and x + size[1] <= knots.shape[1]
    return knots[y : y + size[0], x : x + size[1]].tobytes() if inside else b""


def _places(placed: Placed, lattice: Lattice, size: tuple[int, int]) -> list[tuple[int, int]]:
    """Return the knots at which the lattice's windows begin."""
    top, left, bottom, right = lattice.box
    first_y, first_x = _calm_origin(placed.drawing, lattice)
    places = []
    for row in range(int((bottom - top) / lattice.height) + 1):
        y = first_y + row * lattice.height
        x = left + (first_x - left + row * lattice.shift) % lattice.width
        while y + lattice.height <= bottom + 0.5 and x + lattice.width <= right + 0.5:
            at = round(float(placed.down(y))), round(float(placed.across(x)))
            if at[0] + size[0] <= placed.knots.shape[0] and at[1] + size[1] <= placed.knots.shape[1]:
                places.append(at)
            x += lattice.width
    return places


@lru_cache(maxsize=256)
def _calm_origin(drawing: Drawing, lattice: Lattice) -> tuple[float, float]:
    """Return where the first window begins so that its sides cut through as little of the design as possible.

    Ground that a repeat spares or gains then lies at the rim of the windows.
    """
    top, left, bottom, right = (round(side) for side in lattice.box)
    part = drawing.labels[top:bottom, left:right]
    across = (part[1:] != part[:-1]).sum(axis=0)  # the number of changes met along each column
    along = (part[:, 1:] != part[:, :-1]).sum(axis=1)
    x = _calmest(across, lattice.width) if not round(lattice.shift) else 0
    return top + float(_calmest(along, lattice.height)), left + float(x)


def _calmest(changes: NDArray[np.integer], period: float) -> int:
    """Return the middle of the longest stretch within a period that has the fewest changes."""
    place = (np.arange(len(changes)) % period).astype(int)
    folded = np.bincount(place, changes) / np.bincount(place)
    if len(folded) < 3:
        return 0
    calm = np.concatenate([folded, folded]) <= folded.min() + 1e-9
    numbered, count = ndimage.label(calm)
    longest = max(ndimage.find_objects(numbered), key=lambda piece: piece[0].stop - piece[0].start)[0]
    return ((longest.start + longest.stop) // 2) % int(period) if count else 0
