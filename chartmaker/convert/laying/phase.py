"""The shift of an even grid, by up to half a knot, at which its cells hold the fewest inks."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.convert.laying.fitting import Line
from chartmaker.ground.colour import FloatArray

#: Shifts that are tried either way, in shares of a knot; by less than LEAST_GAIN of purity nothing is moved.
SHIFTS, LEAST_GAIN = (0.125, 0.25, 0.375, 0.5), 0.002
#: A drawing mirrors if this share of its pixels does; then a shift would spoil it.
MIRRORED_SHARE = 0.97
_LINES, _DIGITS = 256, 6


def phased_edges(line: Line, inks: ByteArray) -> FloatArray:
    """Return even edges, all but the ends shifted to where the cells between them are purest.

    Purity is the share of a cell that its commonest ink has, averaged over cells of some lines through the artwork.

    Parameters
    ----------
    line : Line
    inks : ndarray of uint8, shape (any, pixels along the line)
    """
    even = line.even_edges
    step = max(1, len(inks) // _LINES)
    seen = inks[step // 2 :: step]
    if (seen == seen[:, ::-1]).mean() >= MIRRORED_SHARE:
        return even
    counts = _counts(seen)
    shifts = np.array([*(-shift for shift in SHIFTS), 0.0, *SHIFTS])
    found = np.array([round(_purity(counts, _shifted(even, shift * line.knot_px)), _DIGITS) for shift in shifts])
    best = np.flatnonzero(found == found.max())
    if len(best) > 1 or found.max() < found[shifts == 0][0] + LEAST_GAIN:
        return even
    return _shifted(even, float(shifts[best[0]]) * line.knot_px)


def _shifted(even: FloatArray, by_px: float) -> FloatArray:
    return np.concatenate([even[:1], even[1:-1] + by_px, even[-1:]])


def _counts(inks: ByteArray) -> NDArray[np.float32]:
    """Return how many pixels of each ink come before each place, shape (inks, lines, pixels + 1)."""
    met = np.unique(inks)
    counts = np.zeros((len(met), inks.shape[0], inks.shape[1] + 1), dtype=np.float32)
    for ink, count in zip(met, counts, strict=True):
        np.cumsum(inks == ink, axis=1, out=count[:, 1:])
    return counts


def _purity(counts: NDArray[np.float32], edges: FloatArray) -> float:
    """Return the mean share of the commonest ink in the cells between `edges`."""
    at = np.clip(edges, 0, counts.shape[2] - 1)
    low = np.minimum(np.floor(at).astype(np.intp), counts.shape[2] - 2)
    part = (at - low).astype(np.float32)
    before = counts[..., low] * (1 - part) + counts[..., low + 1] * part
    largest = np.diff(before, axis=2).max(axis=0)
    return float((largest / np.diff(edges)).mean())
