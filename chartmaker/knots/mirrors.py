"""Mirror symmetry of a knot map, exact to the knot, so that printing a half or a quarter is enough."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from chartmaker.knots.knotmap import KnotArray


@dataclass(frozen=True, slots=True)
class Mirrors:
    """How a map is symmetric: `across`, left half to right half; `along`, lower half to upper half."""

    across: bool = False
    along: bool = False

    @property
    def share(self) -> str:
        """How much of the rug has to be printed to show all of it."""
        return {0: "whole", 1: "half", 2: "quarter"}[self.across + self.along]


def mirrors_of(knots: KnotArray) -> Mirrors:
    """Return how `knots`, shape (rows, columns), mirrors exactly: every knot, and every cell outside the outline."""
    rows, columns = knots.shape
    band = 512
    across = all(
        np.array_equal(part[:, : columns // 2], part[:, : -(columns // 2) - 1 : -1])
        for part in (knots[row : row + band] for row in range(0, rows, band))
    )
    along = np.array_equal(knots[: rows // 2], knots[: -(rows // 2) - 1 : -1])
    return Mirrors(across and columns > 1, bool(along) and rows > 1)


def told_half(size: int, mirrored: bool, *, upper: bool = False) -> range:
    """Return the part of `size` rows or columns that is printed; an odd centre belongs to it.

    `upper` takes the half with the higher numbers.
    """
    if not mirrored:
        return range(size)
    return range(size // 2, size) if upper else range(size - size // 2)


def again(part: range, size: int) -> range:
    """Return the rows or columns that `part` is mirrored onto, in ascending order."""
    return range(size - part.stop, size - part.start)
