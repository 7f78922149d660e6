"""Exact sums of a plane of pixels over cells whose edges cut through the pixels."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray

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
    own = plane[..., None] == np.array(inks, dtype=np.uint8)
    return _along(_along(own, down, unit[0]).swapaxes(0, 1), across, unit[1]).swapaxes(0, 1)


def _along(plane: NDArray[Any], edges: Whole, unit: int) -> Whole:
    size = len(plane)
    at, part = np.divmod(np.minimum(np.maximum(edges, 0), size * unit), unit)
    total = np.zeros((size + 1, *plane.shape[1:]), dtype=np.int64)
    np.cumsum(plane, axis=0, out=total[1:])
    before = total[at]
    upto = before * unit + part[:, None, None] * (total[np.minimum(at + 1, size)] - before)
    return np.asarray(upto[1:] - upto[:-1])
