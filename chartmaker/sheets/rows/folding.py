"""A row's runs, with repeated groups folded into one, as in ``4 x (3 A 2 B)``."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from chartmaker.knots.knotmap import NO_KNOT, KnotArray
from chartmaker.knots.rowscript import run_bounds

#: Groups longer than this are too much to keep in mind while they are repeated.
LONGEST_GROUP = 12
#: A fold must spare at least this many runs to be worth its brackets.
LEAST_SPARED = 2


@dataclass(frozen=True, slots=True)
class Span:
    """So many `knots` of one yarn, or so many places without a knot if the yarn is NO_KNOT."""

    knots: int
    yarn: int


@dataclass(frozen=True, slots=True)
class Group:
    """A group of spans that is tied `times` over."""

    times: int
    spans: tuple[Span, ...]


def folded(rows: KnotArray) -> Iterator[list[Span | Group]]:
    """Yield for each of `rows`, shape (rows, columns), its runs from the first cell on, with repeated groups folded.

    Places without knots belong to no group, because the script names the column at which the next run begins. Places
    after the last run are left out, unless the row has no run at all.
    """
    height, width = rows.shape
    starts, lengths, yarns = run_bounds(rows, [0])
    first = np.searchsorted(starts, np.arange(height) * width)
    keys = lengths * 65536 + yarns.astype(np.int64)
    bare = yarns == NO_KNOT
    keys[bare] = -1 - np.flatnonzero(bare)
    spared, period = _repeats(keys, first)
    spans = list(map(Span, lengths.tolist(), yarns.tolist()))
    bounds = [*first.tolist(), len(spans)]
    for start, end in pairwise(bounds):
        last = end - 1 if end - start > 1 and spans[end - 1].yarn == NO_KNOT else end
        yield list(_walk(spans[start:last], spared[start:last], period[start:last]))


def _repeats(keys: NDArray[np.int64], first: NDArray[np.intp]) -> tuple[list[int], list[int]]:
    """Return (runs spared, group length) for the best fold that begins at each run; rows begin at `first`."""
    size = len(keys)
    row = np.zeros(size, dtype=np.int64)
    row[first[1:]] = 1
    row = np.cumsum(row)
    spared, period = np.zeros(size, dtype=np.int64), np.zeros(size, dtype=np.int64)
    for length in range(1, min(LONGEST_GROUP, size - 1) + 1):
        same = (keys[length:] == keys[:-length]) & (row[length:] == row[:-length])
        stops = np.flatnonzero(~np.append(same, False))
        here = np.flatnonzero(same)
        saving = (stops[np.searchsorted(stops, here)] - here) // length * length
        better = saving > spared[here]
        spared[here[better]], period[here[better]] = saving[better], length
    return spared.tolist(), period.tolist()


def _walk(spans: list[Span], spared: list[int], period: list[int]) -> Iterator[Span | Group]:
    """Yield the spans of a row in order, with neighbouring repeats of a group folded into one `Group`."""
    place = 0
    while place < len(spans):
        spares = spared[place]
        if spares >= LEAST_SPARED and spares >= max(spared[place + 1 : place + 3], default=0):
            length = period[place]
            times = spares // length + 1
            yield Group(times, tuple(spans[place : place + length]))
            place += length * times
        else:
            yield spans[place]
            place += 1
