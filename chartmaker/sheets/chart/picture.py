"""The rug as a small picture for the cover."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.colour import LINEAR_OF_BYTE, srgb8_from_linear
from chartmaker.knots.knotmap import NO_KNOT, KnotMap
from chartmaker.yarns.yarn import srgb_of


def rug_picture(knot_map: KnotMap, most_pixels: int = 640) -> NDArray[np.uint8]:
    """Return the rug as it is seen from its pile side, top row first, with white outside its outline.

    Returns
    -------
    ndarray of uint8, shape (rows, columns, 3)
        One pixel for each knot, or for each square block of knots (their mean in linear light), so that no side is
        longer than `most_pixels`.
    """
    block = max(1, -(-max(knot_map.rows, knot_map.columns) // most_pixels))
    colours = np.full((NO_KNOT + 1, 3), 255, dtype=np.uint8)
    colours[: len(knot_map.yarns)] = srgb_of(knot_map.yarns)
    upright = knot_map.knots[::-1]
    if block == 1:
        return colours[upright]
    linear = LINEAR_OF_BYTE[colours].astype(np.float32)
    starts = np.arange(0, knot_map.columns, block)
    widths = np.diff(np.append(starts, knot_map.columns))[:, None]
    lines = []
    for row in range(0, knot_map.rows, block):
        band = linear[upright[row : row + block]].sum(axis=0)
        sums = np.add.reduceat(band, starts, axis=0)
        lines.append(srgb8_from_linear(sums / (widths * min(block, knot_map.rows - row))))
    return np.array(lines, dtype=np.uint8)
