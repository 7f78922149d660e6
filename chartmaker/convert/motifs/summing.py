"""Exact sums of a plane of pixels over cells whose edges cut through the pixels."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.ground.colour import FloatArray

Whole = NDArray[np.int64]


def sums(plane: ByteArray, inks: Sequence[int], down: Whole, across: Whole, unit: tuple[int, int]) -> Whole:
    """Return how much of each ink lies in each cell, in parts of a pixel; beyond the plane there is nothing.

    Parameters
    ----------
    plane : ndarray of uint8, shape (height, width)
    inks : sequence of int
    down, across : ndarray of int, shapes (rows + 1,), (columns + 1,)
        The rising edges of the cells, in parts of a pixel.
    unit : tuple of int
        How many parts a pixel has, down and across.

    Returns
    -------
    ndarray of int, shape (rows, columns, inks)
    """
    own = plane == np.array(inks, dtype=np.uint8)[:, None, None]
    high, wide = (_overlaps(*axis) for axis in zip((down, across), plane.shape, unit, strict=True))
    # Sums of whole numbers below 2 ** 53 are exact in floating point, in any order.
    return np.asarray(np.moveaxis(high @ own.astype(np.float64) @ wide.T, 0, 2).astype(np.int64))


def _overlaps(edges: Whole, pixels: int, unit: int) -> FloatArray:
    """Return how much of each pixel lies in each cell, in parts of a pixel, shape (cells, pixels)."""
    past = np.minimum(np.maximum(edges[:, None] - unit * np.arange(pixels), 0), unit)
    return np.asarray(past[1:] - past[:-1], dtype=np.float64)
