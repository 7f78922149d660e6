"""An even grid is shifted, by up to half a knot, to where its cells hold the fewest inks."""

from __future__ import annotations

import numpy as np

from chartmaker.convert.laying.fitting import Line
from chartmaker.convert.laying.sample import Sample
from chartmaker.ground.colour import FloatArray

#: How many shifts are tried either way, as parts of a knot; for a gain below LEAST_GAIN of purity nothing is moved.
SHIFTS, LEAST_GAIN = (0.125, 0.25, 0.375, 0.5), 0.002
_DIGITS = 6


def phased_edges(line: Line, sample: Sample) -> FloatArray:
    """Return even edges that are shifted, except at both ends, to where the cells between them are purest.

    In a drawing that mirrors they stay where they are, because a shift would spoil the mirror.
    """
    even = line.even_edges
    if sample.mirrors:
        return even
    shifts = np.array([*(-shift for shift in SHIFTS), 0.0, *SHIFTS])
    found = np.array([round(sample.purity(_shifted(even, shift * line.knot_px)), _DIGITS) for shift in shifts])
    best = np.flatnonzero(found == found.max())
    if len(best) > 1 or found.max() < found[shifts == 0][0] + LEAST_GAIN:
        return even
    return _shifted(even, float(shifts[best[0]]) * line.knot_px)


def _shifted(even: FloatArray, by_px: float) -> FloatArray:
    return np.concatenate([even[:1], even[1:-1] + by_px, even[-1:]])
