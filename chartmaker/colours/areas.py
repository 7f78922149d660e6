"""The connected areas of one ink each that flat artwork falls into, and which of them touch."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.colours.labelling import OUTSIDE

Index = NDArray[np.intp]
Bits = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Areas:
    """The connected areas of one ink each, which `of_pixel`, shape (height, width), numbers from 1, with 0 outside.

    The other arrays have an entry for each area, after an unused first one: its `ink`, how many `pixels` it covers, and
    its `box` (top, left, bottom, right) in pixels. `one` and `other` are areas that touch along `length` pixels.
    """

    of_pixel: NDArray[np.int32]
    ink: ByteArray
    pixels: Index
    box: Index
    one: Index
    other: Index
    length: Index
    upright: Index
    level: Index


def areas_of(inks: ByteArray) -> Areas:
    """Return the areas of a plane of inks, in the order of their first pixels; pixels touch by their sides.

    They are put together from the runs of one ink along rows, of which there are far fewer than pixels.
    """
    flat, width = inks.ravel(), inks.shape[1]
    begins = np.ones(inks.shape, dtype=bool)
    np.not_equal(inks[:, 1:], inks[:, :-1], out=begins[:, 1:])
    start = np.flatnonzero(begins)
    runs = np.diff(start, append=flat.size)
    number = _joined(inks, begins, runs, flat[start] != OUTSIDE)
    numbered = np.repeat(number, runs)
    count = int(number.max()) + 1
    ink = np.full(count, OUTSIDE, dtype=np.uint8)
    ink[number] = flat[start]
    row, left = np.divmod(start, width)
    order = np.argsort(number, kind="stable")
    first = np.searchsorted(number[order], np.arange(1, count))
    box = np.zeros((count, 4), dtype=np.intp)
    for side, of_run, furthest in (
        (0, row, np.minimum),
        (1, left, np.minimum),
        (2, row + 1, np.maximum),
        (3, left + runs, np.maximum),
    ):
        if count > 1:
            box[1:, side] = furthest.reduceat(of_run[order], first)
    beside = np.flatnonzero(left > 0)
    below = np.flatnonzero((inks[1:] != inks[:-1]).ravel())
    edges, keys = list[Index](), []
    for a, b in ((number[beside - 1], number[beside]), (numbered[below], numbered[below + width])):
        edges.append(np.bincount(a, minlength=count) + np.bincount(b, minlength=count))
        keys.append(np.minimum(a, b) * np.int64(count) + np.maximum(a, b))
    key, length = np.unique(np.concatenate(keys), return_counts=True)
    one, other = np.divmod(key, count)
    pixels = np.bincount(number, runs, minlength=count).astype(np.intp)
    return Areas(numbered.reshape(inks.shape), ink, pixels, box, one, other, length, *edges)


def _joined(inks: ByteArray, begins: Bits, runs: Index, inked: Bits) -> NDArray[np.int32]:
    """Return the number of the area that each run is part of, from 1, with 0 for runs that are not `inked`.

    `begins`, shape (height, width), says where runs begin, and `runs` how many pixels each has.
    """
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    at = np.flatnonzero(((inks[1:] == inks[:-1]) & (begins[1:] | begins[:-1])).ravel())  # each meeting once
    of_pixel = np.repeat(np.arange(len(runs), dtype=np.int32), runs)
    meeting = of_pixel[at], of_pixel[at + inks.shape[1]]
    graph = coo_array((np.ones(len(at), dtype=bool), meeting), shape=(len(runs), len(runs)))
    count, part = connected_components(graph, directed=False)
    first = np.full(count, len(runs), dtype=np.intp)
    first[part[::-1]] = np.arange(len(runs))[::-1]
    order = np.argsort(first)
    order = order[inked[first[order]]]
    number = np.zeros(count, dtype=np.int32)
    number[order] = np.arange(1, len(order) + 1)
    return np.asarray(number[part])
