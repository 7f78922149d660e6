"""Areas too small to be made are given to the neighbour with which they share most of their edge."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from chartmaker.outlines.lattice import OUTSIDE, Areas, Index, Labels, areas_of

#: Areas that are still small after this many rounds have only small areas round them.
_ROUNDS = 12


@dataclass(frozen=True, eq=False)
class Merged:
    """Labels without small areas, with the areas that stay, how many were merged, and the pixels of these.

    `pixels` are those of all of them, `largest_pixels` those of the largest.
    """

    labels: Labels
    stay: Areas
    areas: int
    pixels: int
    largest_pixels: int


def merged(labels: Labels, least_pixels: float) -> Merged:
    """Return the labels with areas of fewer than `least_pixels` merged into what lies round them.

    The smallest go first, so that crumbs do not swallow each other. An area that touches only the outside stays.

    Parameters
    ----------
    labels : ndarray of int16, shape (height, width)
    least_pixels : float
        Areas of at least this many pixels stay.
    """
    before = labels
    count, largest = 0, 0
    areas = areas_of(labels)
    for round_ in range(_ROUNDS):
        limit = least_pixels * min(1.0, 4.0 ** (round_ - 3))
        small = areas.pixels < limit
        target = _neighbours(areas, small) if small.any() else np.full(0, -1)
        gone = np.flatnonzero(small)[target >= 0] if len(target) else np.empty(0, dtype=np.int64)
        if not len(gone):
            if limit >= least_pixels:
                break
            continue
        names = np.append(areas.labels, np.int16(OUTSIDE))
        names[gone] = areas.labels[target[target >= 0]]
        labels = names[areas.of]
        count, largest = count + len(gone), max(largest, int(areas.pixels[gone].max()))
        areas = areas_of(labels)
    return Merged(labels, areas, count, int((labels != before).sum()), largest)


def _neighbours(areas: Areas, small: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> Index:
    """Return for each small area the neighbour with the longest common edge, or -1 if it has none.

    Neighbours that are not small themselves come first.
    """
    pairs = []
    for one, two in ((areas.of[:, :-1], areas.of[:, 1:]), (areas.of[:-1], areas.of[1:])):
        met = (one != two) & (one >= 0) & (two >= 0)
        first, second = one[met].astype(np.int64), two[met].astype(np.int64)
        pairs += [(first, second), (second, first)]
    mine, other = (np.concatenate(parts) for parts in zip(*pairs, strict=True))
    asked = small[mine]
    mine, other = mine[asked], other[asked]
    number = len(areas.pixels)
    code, edge = np.unique(mine * number + other, return_counts=True)
    mine, other = np.divmod(code, number)
    # The last of each area is taken: a large neighbour, then the longest edge, the larger neighbour, the lower label.
    order = np.lexsort((-areas.labels[other], areas.pixels[other], edge, ~small[other], mine))
    best = np.full(number, -1, dtype=np.int64)
    best[mine[order]] = other[order]
    # Of two small areas that would change places, the smaller gives way.
    to = best[small]
    own = np.flatnonzero(small)
    known = to >= 0
    stuck = known & small[np.maximum(to, 0)] & (areas.pixels[np.maximum(to, 0)] <= areas.pixels[own])
    to[stuck] = -1
    return np.asarray(to)
