"""The pitch of a border is how far its repeats lie apart in the artwork, exactly, where all of them lie equally far."""

from __future__ import annotations

import math
from fractions import Fraction

from chartmaker.artwork.artwork import ByteArray
from chartmaker.artwork.lattices import LEAST_BUT_RIMS
from chartmaker.convert.repeats.rhythm import LEAST_KNOTS, LEAST_REPEATS
from chartmaker.convert.repeats.wholes import exact_period

#: No repeat lies further than this, in knots or in pixels, whichever is more, from where equal steps would put it.
MOST_OFF_KNOTS, MOST_OFF_PX = 0.25, 1.0
#: This share of the repeats is like one of them, so that their places can be told.
LEAST_ALIKE = 0.75
#: Repeats are compared on about so many lines along the border.
_LINES = 200


def pitch_of(band: ByteArray, near_px: float, knot_px: float) -> Fraction | None:
    """Return the pitch of a band that runs across in pixels, or None if its repeats do not lie equally far apart.

    Texture has none, nor have fewer repeats than make a row.

    Parameters
    ----------
    band : ndarray of uint8, shape (height, width)
    near_px : float
        About how long a repeat is.
    knot_px : float
        The width of a knot.
    """
    pitch = exact_period(band.T, near_px)
    if pitch is None or band.shape[1] < LEAST_REPEATS * pitch or pitch < LEAST_KNOTS * knot_px:
        return None
    seen, times = band[:: max(1, len(band) // _LINES)], int(band.shape[1] / pitch)
    most = max(MOST_OFF_KNOTS * knot_px, MOST_OFF_PX)
    return pitch if any(_are_even(seen, pitch, model, most) for model in (times // 2, times // 3)) else None


def _are_even(band: ByteArray, pitch: Fraction, model: int, most_px: float) -> bool:
    """Return whether the repeats that look like one of them, the `model`, lie where equal steps put them."""
    wide, reach = round(pitch), math.floor(most_px) + 2
    first = round(model * pitch)
    times, alike = int(band.shape[1] / pitch), 0
    for number in range(times):
        due = first + (number - model) * pitch
        places = range(max(round(due) - reach, 0), min(round(due) + reach, band.shape[1] - wide) + 1)
        like = {at: int((band[:, at : at + wide] == band[:, first : first + wide]).sum()) for at in places}
        best = min(like, key=lambda at: (-like[at], abs(at - due)))
        if like[best] >= LEAST_BUT_RIMS * band[:, :wide].size:
            alike += 1
            if abs(best - due) > most_px:
                return False
    return bool(alike >= LEAST_ALIKE * times)
