"""A rug as it is carved: what the carver's guide must show, and where on its map edges and knots lie."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any, ClassVar

import numpy as np
from numpy.typing import NDArray

from chartmaker.figures.carving import Carving
from chartmaker.knots.knotmap import NO_KNOT, KnotArray
from chartmaker.verify.fullsizes import FullSize

#: So many rounds are enough to clear a map of specks, and areas up to so many times as large may be cleared with them.
_ROUNDS, _CLEAR_OF_SPECKS = 5, 2.0

Bits = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class ExpectedCarving(FullSize):
    """What a carver's guide must show: the map, what is carved, and the size that the rug has when it is carved."""

    px_per_mm: ClassVar[float] = 1.5
    most_pixels: ClassVar[int] = 12_000_000

    carving: Carving
    smallest_knots: float = 3.0

    @cached_property
    def calm(self) -> KnotArray:
        """The knots without specks, areas of so few knots that nobody carves round them: each is as what is nearest."""
        from scipy.ndimage import distance_transform_edt
        from skimage.measure import label

        plain: Any = label
        knots = self.knot_map.knots
        for _ in range(_ROUNDS):  # what was parted by a speck may be one with others now, or a speck itself
            areas = np.asarray(plain(knots.astype(np.int32), connectivity=1, background=int(NO_KNOT)), dtype=np.int64)
            specks = (np.bincount(areas.ravel()) < _CLEAR_OF_SPECKS * self.smallest_knots)[areas] & (areas > 0)
            if not specks.any() or specks[areas > 0].all():
                break
            nearest: Any = distance_transform_edt(specks | (areas == 0), return_distances=False, return_indices=True)
            knots = np.where(specks, knots[nearest[0], nearest[1]], knots)
        return np.asarray(knots, dtype=self.knot_map.knots.dtype)

    @property
    def knot_mm(self) -> tuple[float, float]:
        return self.width_mm / self.knot_map.columns, self.height_mm / self.knot_map.rows


def knot_at(x: float, y: float, expected: ExpectedCarving) -> tuple[int, int]:
    """Return the row and the column of the knot at a point of the drawing."""
    rows, columns = expected.knot_map.knots.shape
    row, column = int(y / expected.knot_mm[1]), int(x / expected.knot_mm[0])
    return min(max(row, 0), rows - 1), min(max(column, 0), columns - 1)


def edges_of(pairs: Bits, expected: ExpectedCarving, whole: KnotArray) -> Bits:
    """Return the pixels of the rendering where two yarns of a map that are among `pairs` meet."""
    knots = whole[::-1].astype(np.int32)
    knots[knots == NO_KNOT] = -1
    height, width = expected.shape
    row = np.minimum(np.arange(height) * len(knots) // height, len(knots) - 1)
    column = np.minimum(np.arange(width) * knots.shape[1] // width, knots.shape[1] - 1)
    shown = knots[np.ix_(row, column)]
    found = np.zeros(shown.shape, dtype=bool)
    found[1:] |= pairs[shown[1:], shown[:-1]]
    found[:, 1:] |= pairs[shown[:, 1:], shown[:, :-1]]
    return found
