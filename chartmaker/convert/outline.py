"""The rug's outline, which says which cells of the grid are tied at all."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from chartmaker.order.rug import Rug


def outline_of(rug: Rug) -> NDArray[np.bool_] | None:
    """Return which cells have their centre inside the rug's own shape, shape (rows, columns), or None."""
    return inside_of(rug, rug.rows, rug.columns)


def inside_of(rug: Rug, rows: int, columns: int) -> NDArray[np.bool_] | None:
    """Return which of `rows` x `columns` equal parts of a rug have their centre inside its own shape.

    The result is None for a rectangle, or where only the artwork's transparency decides. An ellipse touches all four
    sides. The slanting sides of an octagon cut the corners at 45 degrees, as those of a regular octagon do in a square.
    """
    if rug.shape not in ("ellipse", "octagon"):
        return None
    width, length = float(rug.woven_width_mm), float(rug.woven_length_mm)
    x = np.abs((np.arange(columns) + 0.5) / columns - 0.5) * width
    y = np.abs((np.arange(rows) + 0.5) / rows - 0.5) * length
    if rug.shape == "ellipse":
        return np.asarray((2 * x[None] / width) ** 2 + (2 * y[:, None] / length) ** 2 <= 1)
    cut = min(width, length) / (2 + 2**0.5)
    return np.asarray(x[None] + y[:, None] <= (width + length) / 2 - cut)
