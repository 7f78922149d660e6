"""Mirror symmetry of knots is found where it exists and made where it is asked for."""

from __future__ import annotations

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.language import phrase, say, say_n
from chartmaker.order.design import Mirror

Values = TypeVar("Values", bound=np.generic)

#: A design is called nearly symmetric if no more than this share of its knots differ.
NEARLY = 0.02

#: What is said of a design that was mirrored, by the direction and by whether the number of its lines is odd.
_MIRRORED = {
    ("across", 0): phrase(
        "Mirrored across: left and right are the same to the knot; of {count} columns the two centre columns are the "
        "same."
    ),
    ("across", 1): phrase(
        "Mirrored across: left and right are the same to the knot; of {count} columns the centre column is woven once."
    ),
    ("along", 0): phrase(
        "Mirrored along: top and bottom are the same to the knot; of {count} rows the two centre rows are the same."
    ),
    ("along", 1): phrase(
        "Mirrored along: top and bottom are the same to the knot; of {count} rows the centre row is woven once."
    ),
}
_SYMMETRIC = {
    "across": phrase("The design is symmetric across to the knot."),
    "along": phrase("The design is symmetric along to the knot."),
}
_NEARLY = {
    "across": (
        phrase(
            "The design is nearly symmetric across: {n} knot differs from its mirror image; mirror = 'across' would "
            "make it exact."
        ),
        phrase(
            "The design is nearly symmetric across: {n:,} knots differ from their mirror image; mirror = 'across' "
            "would make it exact."
        ),
    ),
    "along": (
        phrase(
            "The design is nearly symmetric along: {n} knot differs from its mirror image; mirror = 'along' would make "
            "it exact."
        ),
        phrase(
            "The design is nearly symmetric along: {n:,} knots differ from their mirror image; mirror = 'along' would "
            "make it exact."
        ),
    ),
}


def _axes(mirror: Mirror) -> list[tuple[str, int]]:
    """Return the names and axes that `mirror` asks for; across mirrors columns, and along mirrors rows."""
    return [pair for pair in (("across", 1), ("along", 0)) if mirror in (pair[0], "both")]


def mirrored(knots: NDArray[Values], mirror: Mirror) -> NDArray[Values]:
    """Return raster-order `knots` made symmetric to the knot, with the left half or the bottom half as the master."""
    result = knots.copy()
    for name, axis in _axes(mirror):
        half = result.shape[axis] // 2
        low = [slice(None), slice(None)]
        high = [slice(None), slice(None)]
        low[axis], high[axis] = slice(0, half), slice(result.shape[axis] - half, None)
        master, copy = (low, high) if name == "across" else (high, low)
        result[tuple(copy)] = np.flip(result[tuple(master)], axis=axis)
    return result


def master_window(rows: int, columns: int, mirror: Mirror, margin: int) -> tuple[slice, slice]:
    """Return the raster rows and columns that `mirrored` copies from, with `margin` more beyond the centre."""
    low, high = slice(0, columns), slice(0, rows)
    if mirror in ("across", "both"):
        low = slice(0, min(columns, (columns + 1) // 2 + margin))
    if mirror in ("along", "both"):
        high = slice(max(0, rows // 2 - margin), rows)
    return high, low


def master_edges(rows: int, columns: int, mirror: Mirror) -> list[tuple[int, int, int]]:
    """Return the axes of `mirror`, each with the last raster row or column that `mirrored` keeps and the one beyond."""
    edges = {1: ((columns + 1) // 2 - 1, (columns + 1) // 2), 0: (rows // 2, rows // 2 - 1)}
    return [(axis, *edges[axis]) for _, axis in _axes(mirror)]


def multiplicity(rows: int, columns: int, mirror: Mirror) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return how often each raster row, and then each column, is woven under `mirror`, which is 0, 1 or 2 times."""
    times = []
    for name, axis in (("along", 0), ("across", 1)):
        count = (rows, columns)[axis]
        each = np.ones(count, dtype=np.int64)
        if mirror in (name, "both"):
            half = count // 2
            low, high = slice(0, half), slice(count - half, None)
            each[low], each[high] = (2, 0) if name == "across" else (0, 2)
        times.append(each)
    return times[0], times[1]


def symmetry_note(knots: NDArray[np.uint16], mirror: Mirror) -> str:
    """Return what there is to say about the symmetry of the finished raster-order `knots`, or an empty text."""
    said = []
    for name, axis in (("across", 1), ("along", 0)):
        count = knots.shape[axis]
        if mirror in (name, "both"):
            said.append(say(_MIRRORED[name, count % 2], count=count))
            continue
        differ = _differing(knots, axis)
        if differ == 0:
            said.append(say(_SYMMETRIC[name]))
        elif differ <= NEARLY * knots.size:
            said.append(say_n(*_NEARLY[name], differ))
    return " ".join(said)


def _differing(knots: NDArray[np.uint16], axis: int) -> int:
    """Return how many knots differ from their mirror image, counting both of each pair."""
    half = knots.shape[axis] // 2
    low, high = knots.take(range(half), axis), np.flip(knots, axis).take(range(half), axis)
    return 2 * int((low != high).sum())
