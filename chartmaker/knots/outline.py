"""What of the grid lies inside the rug's outline, row by row."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from chartmaker.knots.knotmap import NO_KNOT, KnotMap

_BAND_CELLS = 4_000_000


def inside_by_row(knot_map: KnotMap) -> NDArray[np.int64]:
    """Return how many cells of each row lie inside the rug's outline, shape (rows,).

    A rectangle holds them all. An ellipse and an octagon hold what lies between the outermost knots of a row, as a
    place without a knot there is a hole and no edge. Of an outline that the artwork gives only the knots count.
    """
    rows, columns, shape = knot_map.rows, knot_map.columns, knot_map.rug.shape
    if shape == "rectangle":
        return np.full(rows, columns, dtype=np.int64)
    inside = np.empty(rows, dtype=np.int64)
    step = max(_BAND_CELLS // columns, 1)
    for row in range(0, rows, step):
        tied = knot_map.knots[row : row + step] != NO_KNOT
        if shape == "artwork":
            inside[row : row + step] = tied.sum(axis=1)
        else:
            span = columns - tied[:, ::-1].argmax(axis=1) - tied.argmax(axis=1)
            inside[row : row + step] = np.where(tied.any(axis=1), span, 0)
    return inside


def edge_length_mm(knot_map: KnotMap) -> float:
    """Return the length of the edge that is bound: both sides of a rectangle, all round any other outline.

    An outline is followed from row to row along its outermost knots.
    """
    rug = knot_map.rug
    if rug.shape == "rectangle":
        return 2 * float(rug.woven_length_mm)
    width_mm, height_mm = float(rug.density.knot_width_mm), float(rug.density.knot_height_mm)
    tied = knot_map.knots != NO_KNOT
    rows = np.flatnonzero(tied.any(axis=1))
    first = tied[rows].argmax(axis=1) * width_mm
    last = (knot_map.columns - tied[rows][:, ::-1].argmax(axis=1)) * width_mm
    down = np.diff(rows) * height_mm
    sides = sum(float(np.hypot(np.diff(each), down).sum()) for each in (first, last))
    return sides + float(last[0] - first[0] + last[-1] - first[-1])
