"""The axes in which a drawing that repeats is its own mirror image, found by laying it over its image."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from chartmaker.artwork.artwork import ByteArray

#: A drawing has an axis if this share of its pixels mirrors in it, and a plain one from that share on; mixed pixels on
#: slanting edges never do.
MIRRORED_SHARE, PLAIN_SHARE = 0.95, 0.98
#: At most about this many lines are looked at.
LINES = 256
#: Axes are told to this share of a pixel, so that mirror images of them are exact.
_STEP_PX = 1 / 32
_DIGITS = 9


@dataclass(frozen=True)
class Axis:
    """An axis of a drawing at a `place` in pixels; it is `plain` if next to nothing speaks against it."""

    place: float
    plain: bool


def axis_of(inks: ByteArray, period_px: float) -> Axis | None:
    """Return an upright axis near the middle of a drawing, placed from its left edge, or None if there is none.

    The best axis within half a repeat of the middle is taken. As the drawing repeats, it has another half a repeat on.

    Parameters
    ----------
    inks : ndarray of uint8, shape (height, width)
    period_px : float
        How long a repeat is across.
    """
    seen, wide = _some(inks), inks.shape[1]
    agree = np.rint(_folded(seen))
    sums = np.arange(2 * wide - 1)  # pixels x and sum - x lie over each other
    over = wide - np.abs(sums - (wide - 1))
    share = np.round(agree / (over * len(seen)), _DIGITS)
    reach = int(min(period_px, wide / 2 - 2))
    near = np.arange(wide - 1 - reach, wide + reach)
    if reach < 1:
        return None
    best = near[share[near] == share[near].max()]
    away = np.abs(best - (wide - 1))
    nearest = best[away == away.min()]
    if share[nearest[0]] < MIRRORED_SHARE or len(nearest) > 1:
        return None
    at = int(nearest[0])
    low, middle, high = (float(share[at + step]) for step in (-1, 0, 1))
    slope = 2 * (middle - min(low, high))
    beyond = (high - low) / slope if slope > 0 else 0.0
    place = (at - (wide - 1)) / 2 + np.round(beyond / 2 / _STEP_PX) * _STEP_PX + wide / 2
    return Axis(float(place), middle >= PLAIN_SHARE)


def _some(inks: ByteArray) -> ByteArray:
    """Return some lines of a drawing, which are the same lines if it is turned upside down."""
    high = len(inks)
    lines = np.arange(0, (high + 1) // 2, max(1, high // LINES))
    return inks[np.union1d(lines, high - 1 - lines)]


def _folded(seen: ByteArray) -> np.ndarray:
    """Return how many pixels equal the one over them when a drawing is folded, for each sum of their places."""
    from scipy import fft

    wide = seen.shape[1]
    size = fft.next_fast_len(2 * wide - 1, real=True)
    total = np.zeros(size // 2 + 1, dtype=np.complex128)
    for ink in np.unique(seen):
        total += (fft.rfft((seen == ink).astype(np.float64), size, axis=1) ** 2).sum(axis=0)
    return np.asarray(fft.irfft(total, size)[: 2 * wide - 1])
