"""The nearest yarn of every colour, exact by CIEDE2000."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from chartmaker.colour import FloatArray, ciede2000

#: Pairs of colour with yarn that are computed at a time.
BLOCK_PAIRS = 500_000


def brute_force(lab: FloatArray, yarns_lab: FloatArray) -> NDArray[np.uint16]:
    """Return the index of the nearest yarn of each colour (ties to the lower index), shape (n,)."""
    nearest = np.empty(len(lab), dtype=np.uint16)
    step = max(1, BLOCK_PAIRS // len(yarns_lab))
    for first in range(0, len(lab), step):
        part = lab[first : first + step]
        nearest[first : first + step] = ciede2000(part[:, None], yarns_lab[None]).argmin(axis=1)
    return nearest


def nearest_yarns(lab: FloatArray, yarns_lab: FloatArray) -> NDArray[np.uint16]:
    """Return the index of the yarn nearest to each colour by CIEDE2000.

    Parameters
    ----------
    lab : ndarray, shape (n, 3)
        Colours in CIELAB.
    yarns_lab : ndarray, shape (yarns, 3)

    Returns
    -------
    ndarray of uint16, shape (n,)
        Ties go to the lower index.
    """
    return brute_force(lab, yarns_lab)
