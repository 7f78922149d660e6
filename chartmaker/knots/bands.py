"""A map as bands of one yarn: row by row, or column by column, with what lies on them as a free pattern."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.knots.knotmap import NO_KNOT, KnotArray

#: A repeat of more bands than this is not looked for.
_LONGEST_REPEAT = 48


@dataclass(frozen=True)
class Band:
    """Lines of one yarn, `first` to `end` counted from 0, the last left out."""

    yarn: int
    first: int
    end: int

    @property
    def lines(self) -> int:
        return self.end - self.first


@dataclass(frozen=True)
class Fold:
    """Bands that come `times` in a row; `bands` are those of the first time."""

    bands: tuple[Band, ...]
    times: int

    @property
    def first(self) -> int:
        """The line with which the first time begins."""
        return self.bands[0].first

    @property
    def lines(self) -> int:
        """The lines of each time."""
        return self.bands[-1].end - self.first

    @property
    def end(self) -> int:
        """The line after the last time."""
        return self.first + self.lines * self.times


@dataclass(frozen=True, eq=False)
class Banded:
    """A map in bands.

    `free` says which cells have another yarn than their band, shape (lines, cells of a line); row 0 is the first woven,
    and where the bands are columns, line 0 is the leftmost.
    """

    bands: tuple[Band, ...]
    free: NDArray[np.bool_]

    @property
    def free_lines(self) -> NDArray[np.bool_]:
        """Which lines have cells of another yarn."""
        return np.asarray(self.free.any(axis=1))


def banded(knots: KnotArray, *, columns: bool = False) -> Banded:
    """Return a map in bands of rows, or of columns: each line's yarn is the one that most of it has.

    Of two as common the one goes on that the line before has, then the first.
    """
    lines = knots.T if columns else knots
    yarns: list[int] = []
    for line in lines:
        there = line[line != NO_KNOT]
        counts = np.bincount(there) if len(there) else np.zeros(1, dtype=np.int64)
        most = np.flatnonzero(counts == counts.max()).tolist()
        yarns.append(yarns[-1] if yarns and yarns[-1] in most else int(most[0]))
    of_line = np.array(yarns)
    starts = np.flatnonzero(np.diff(of_line, prepend=-1))
    ends = np.append(starts[1:], len(of_line))
    bands = tuple(Band(int(of_line[first]), int(first), int(end)) for first, end in zip(starts, ends, strict=True))
    return Banded(bands, np.asarray((lines != of_line[:, None]) & (lines != NO_KNOT)))


def folded(bands: tuple[Band, ...]) -> tuple[Fold, ...]:
    """Return the bands with what repeats told once: at each place the repeat that saves most lines."""
    told = [(band.yarn, band.lines) for band in bands]
    found: list[Fold] = []
    place = 0
    while place < len(told):
        best = (0, 1, 1)
        for length in range(2, min(_LONGEST_REPEAT, (len(told) - place) // 2) + 1):
            part, times = told[place : place + length], 1
            while told[place + times * length : place + (times + 1) * length] == part:
                times += 1
            best = max(best, (length * (times - 1), -length, times))
        saved, length, times = best
        if saved:
            found.append(Fold(bands[place : place - length], times))
            place += -length * times
        else:
            found.append(Fold(bands[place : place + 1], 1))
            place += 1
    return tuple(found)
