"""A row's runs with repeated groups folded: ``4 x (3 A 2 B)``."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.knotmap import KnotArray
from chartmaker.rowscript import run_bounds

#: Longer groups are too much to keep in mind while they are repeated.
LONGEST_GROUP = 12
#: A fold must spare at least this many runs to be worth its brackets.
LEAST_SPARED = 2


@dataclass(frozen=True, slots=True)
class Piece:
    """`knots` knots of one yarn, or of no yarn (NO_KNOT: leave that many places out)."""

    knots: int
    yarn: int


@dataclass(frozen=True, slots=True)
class Group:
    """Pieces to be tied `times` over."""

    times: int
    pieces: tuple[Piece, ...]


def pieces_of(row: NDArray[np.uint16]) -> list[Piece]:
    """Return the runs of one row, shape (columns,), from its first cell on."""
    starts, lengths = run_bounds(row)
    return [Piece(n, yarn) for n, yarn in zip(lengths.tolist(), row[starts].tolist(), strict=True)]


def _repeats(keys: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return (runs spared, group length) of the best fold that begins at each place, shape (runs,)."""
    size = len(keys)
    spared = np.zeros(size, dtype=np.int64)
    period = np.zeros(size, dtype=np.int64)
    for length in range(1, min(LONGEST_GROUP, size // 2) + 1):
        same = keys[length:] == keys[:-length]
        stops = np.flatnonzero(~np.append(same, False))
        ahead = stops[np.searchsorted(stops, np.arange(len(same)))] - np.arange(len(same))
        saving = ahead // length * length
        better = saving > spared[: len(same)]
        spared[: len(same)][better] = saving[better]
        period[: len(same)][better] = length
    return spared, period


def fold(pieces: Sequence[Piece]) -> Iterator[Piece | Group]:
    """Yield `pieces` in order, neighbouring repeats of a group folded into one `Group`."""
    keys = np.array([piece.knots * 65536 + piece.yarn for piece in pieces], dtype=np.int64)
    spared, period = _repeats(keys)
    place = 0
    while place < len(pieces):
        if spared[place] >= LEAST_SPARED and spared[place] >= spared[place + 1 : place + 3].max(initial=0):
            length = int(period[place])
            times = int(spared[place]) // length + 1
            yield Group(times, tuple(pieces[place : place + length]))
            place += length * times
        else:
            yield pieces[place]
            place += 1


def unfold(entries: Sequence[Piece | Group]) -> KnotArray:
    """Return the row that `entries` say, shape (columns,)."""
    cells: list[int] = []
    for entry in entries:
        group = entry if isinstance(entry, Group) else Group(1, (entry,))
        for _ in range(group.times):
            for piece in group.pieces:
                cells += [piece.yarn] * piece.knots
    return np.array(cells, dtype=np.uint16)
