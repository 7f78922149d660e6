"""Scattered knots gathered into a few places that a reader can look up."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.findings import Place, place_words
from chartmaker.ground.sentence import Sentence, later, later_n

#: Nobody looks up more places than this one by one.
MOST_PLACES = 200
_TILE = 8


def places_of(rows: NDArray[np.intp], columns: NDArray[np.intp], most: int = MOST_PLACES) -> tuple[Place, ...]:
    """Return rectangles that hold all the knots (rows[i], columns[i]), at most `most`, first woven first.

    Knots within a tile of the grid share a rectangle; the tiles are as small as `most` allows.
    """
    if not len(rows):
        return ()
    tile = _TILE
    while True:
        key = rows // tile * (int(columns.max()) // tile + 1) + columns // tile
        groups, member = np.unique(key, return_inverse=True)
        if len(groups) <= most:
            break
        tile *= 2
    low, high = np.full((2, len(groups)), np.iinfo(np.intp).max), np.zeros((2, len(groups)), dtype=np.intp)
    for axis, values in enumerate((rows, columns)):
        np.minimum.at(low[axis], member, values)
        np.maximum.at(high[axis], member, values)
    return tuple((int(low[0, g]), int(high[0, g]) + 1, int(low[1, g]), int(high[1, g]) + 1) for g in range(len(groups)))


def places_where(mask: NDArray[np.bool_], most: int = MOST_PLACES) -> tuple[Place, ...]:
    """Return rectangles that hold all the knots of `mask`, shape (rows, columns)."""
    rows, columns = np.nonzero(mask)
    return places_of(rows, columns, most)


def stretches(lines: NDArray[np.intp], gap: int = 0) -> list[tuple[int, int]]:
    """Return the stretches, as (first, last), of rising line numbers; up to `gap` missing lines do not end one."""
    if not len(lines):
        return []
    breaks = np.flatnonzero(np.diff(lines) > gap + 1)
    firsts, lasts = np.append(0, breaks + 1), np.append(breaks, len(lines) - 1)
    return [(int(lines[a]), int(lines[b])) for a, b in zip(firsts, lasts, strict=True)]


def where_words(places: tuple[Place, ...], most: int = 3) -> Sentence:
    """Return the first few places in words, and how many more there are."""
    said = place_words(places[0])
    for place in places[1:most]:
        said = later("{places}; {place}", places=said, place=place_words(place))
    if len(places) > most:
        said = later_n(
            "{places}, and {n} more place", "{places}, and {n:,} more places", len(places) - most, places=said
        )
    return said
