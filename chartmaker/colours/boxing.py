"""Colours of CIELAB gathered into boxes of one size."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.colour import FloatArray


class Gathered(NamedTuple):
    """Groups of near colours: the mean of each, shape (groups, 3), its weight, and the group of each colour."""

    lab: FloatArray
    weights: FloatArray
    member: NDArray[np.intp]


class Boxed(NamedTuple):
    """The boxes that colours lie in, ordered by L, then by a, then by b.

    `first` is the first colour met in each box, shape (boxes,), and `member` the box of each colour, shape (n,).
    """

    first: NDArray[np.intp]
    member: NDArray[np.intp]


def boxed(lab: FloatArray, side: float) -> Boxed:
    """Return the boxes with edges of `side` CIELAB units that the colours `lab`, shape (n, 3), lie in."""
    place = np.floor(np.asarray(lab) / side).astype(np.int64)
    place -= place.min(axis=0)
    spans = place.max(axis=0) + 1
    number = (place[:, 0] * spans[1] + place[:, 1]) * spans[2] + place[:, 2]  # numbers sort faster than rows
    _, first, member = np.unique(number, return_index=True, return_inverse=True)
    return Boxed(first, member.ravel())


def gathered(lab: FloatArray, weights: FloatArray, most: int, side: float, grow: float = 1.25) -> Gathered:
    """Return at most `most` groups of the colours `lab`, shape (n, 3), with `weights`, shape (n,).

    A group is what lies in one box; boxes have edges of `side` CIELAB units, which `grow` until they are few enough.
    """
    member = boxed(lab, side).member
    while member.max() >= most:
        side *= grow
        member = boxed(lab, side).member
    total = np.bincount(member, weights).astype(np.float64)
    mean = np.stack([np.bincount(member, weights * lab[:, axis]) / total for axis in range(3)], axis=1)
    return Gathered(mean, total, member)
