"""How many cells lie inside the rug's outline and how long its bound edge is, measured anew on the knots."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np

from chartmaker.knots.knotmap import NO_KNOT, KnotMap


def _ends(knot_map: KnotMap) -> list[tuple[int, int, int]]:
    """Return (row, first column, column after the last) of each row that has knots, beginning with the first woven."""
    found = []
    for row, cells in enumerate(knot_map.knots):
        tied = np.flatnonzero(cells != NO_KNOT)
        if tied.size:
            found.append((row, int(tied[0]), int(tied[-1]) + 1))
    return found


def inside_of(knot_map: KnotMap) -> int:
    """Return how many cells lie inside the outline: all, those between a row's outermost knots, or just the knots."""
    shape = knot_map.rug.shape
    if shape == "rectangle":
        return int(knot_map.knots.size)
    if shape == "artwork":
        return int((knot_map.knots != NO_KNOT).sum())
    return sum(last - first for _, first, last in _ends(knot_map))


def bound_edge_mm(knot_map: KnotMap) -> float:
    """Return the length of a rectangle's two sides, or of the way all round any other outline, in millimetres."""
    density = knot_map.rug.density
    width, height = float(density.knot_width_mm), float(density.knot_height_mm)
    if knot_map.rug.shape == "rectangle":
        return 2 * knot_map.rows * height
    ends = _ends(knot_map)
    length = (ends[0][2] - ends[0][1] + ends[-1][2] - ends[-1][1]) * width
    for (row, left, right), (next_row, next_left, next_right) in pairwise(ends):
        up = (next_row - row) * height
        length += math.hypot((next_left - left) * width, up) + math.hypot((next_right - right) * width, up)
    return length
