"""Flat artwork that repeats itself under the grid, pixel by pixel and at the same phase, need not be converted again.

The grid is cut into blocks. A block is like an earlier place if all that its knots depend on is the same there: the
pixels under it and under `HALO` knots round it, how the cells' edges cut them, the outline, and how near the ends of
the grid are. Likely places are found by landmarks, which are small squares of cells whose hash has some zeros, so that
a pattern has its landmarks at the same places wherever it recurs. Whether a place is really like the block is then
compared value by value; no hash decides it.
"""

from __future__ import annotations

import hashlib
from bisect import bisect_left
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from operator import attrgetter
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.cells import PIXEL, Cells, Edges, Window
from chartmaker.colours.labelling import Labels

#: A block looks this many knots beyond its edges, so that lines and islands are judged whole.
HALO = 16
#: The side of a block in knots.
BLOCK = 64
#: The side of a landmark in knots, and how many places there are for each landmark.
_SIDE, _ONE_IN = 16, 64
#: How many landmarks are looked up for a block, how many places are kept of each, and how many are compared.
_LOOKED_UP, _PLACES, _COMPARED = 24, 4, 3

Hashes = NDArray[np.uint64]
Place = tuple[int, int]


class Landmark(NamedTuple):
    """A square of cells, by where it begins in the rows at hand and the hash of what is under it."""

    column: int
    row: int
    mark: int


@dataclass(frozen=True)
class Block:
    """Some cells of the grid, and the earlier cells that they are like, if there are any."""

    own: Window
    like: Window | None


def blocks_of(cells: Cells, labels: Labels, outline: NDArray[np.bool_] | None) -> Iterator[Block]:
    """Yield the blocks of a grid, row by row; the cells that one is like lie in blocks that came before it.

    Parameters
    ----------
    cells : Cells
    labels : Labels
        The labels of the whole artwork.
    outline : ndarray of bool, shape (rows, columns), or None
        Cells inside the rug's own shape.
    """
    art, known = _Art(cells, labels, outline), _Known()
    for first in range(0, len(cells.down), BLOCK):
        rows = slice(first, min(first + BLOCK, len(cells.down)))
        seen = widened(rows, len(cells.down))
        signs = art.signs(seen)
        marks = _landmarks(signs)
        for left in range(0, len(cells.across), BLOCK):
            own = (rows, slice(left, min(left + BLOCK, len(cells.across))))
            found = known.like(art, own, signs, marks)
            yield Block(own, found)
            known.learn(own, seen.start, marks)


def widened(own: slice, size: int) -> slice:
    """Return the cells of a row or column of so many that a block sees, which are its own and those near them."""
    return slice(max(0, own.start - HALO), min(size, own.stop + HALO))


def _moved(window: Window, step: Place) -> Window:
    down, across = (slice(own.start + by, own.stop + by) for own, by in zip(window, step, strict=True))
    return down, across


@dataclass(frozen=True, eq=False)
class _Art:
    """What lies under the cells."""

    cells: Cells
    labels: Labels
    outline: NDArray[np.bool_] | None

    def signs(self, rows: slice) -> Hashes:
        """Return a number for each cell of some rows by its middle colour and by how its edges cut pixels."""
        down, across = self.cells.down.at, self.cells.across.at
        height, width = self.labels.first.shape
        row = np.clip((down[:-1] + down[1:])[rows] // (2 * PIXEL) - self.labels.top, 0, height - 1)
        column = np.clip((across[:-1] + across[1:]) // (2 * PIXEL) - self.labels.left, 0, width - 1)
        colour = _RANDOM[self.labels.first[np.ix_(row, column)]]
        upright, level = (_RANDOM[at[:-1] % PIXEL % len(_RANDOM)] for at in (down, across))
        return np.asarray(colour + upright[rows][:, None] * _ODD[0] + level * _ODD[1])

    def alike(self, window: Window, step: Place) -> bool:
        """Return whether everything under the cells of a window is the same under the cells one `step` further on."""
        there = _moved(window, step)
        down = _same_cut(self.cells.down, window[0], there[0], self.labels.top, self.labels.first.shape[0])
        across = _same_cut(self.cells.across, window[1], there[1], self.labels.left, self.labels.first.shape[1])
        if down is None or across is None:
            return False
        if self.outline is not None and not np.array_equal(self.outline[window], self.outline[there]):
            return False
        return all(
            np.array_equal(plane[down[0], across[0]], plane[down[1], across[1]])
            for plane in (self.labels.first, self.labels.second, self.labels.second_share)
        )


#: Numbers without a pattern, one for each value of a byte.
_RANDOM: Hashes = np.random.default_rng(64).integers(0, 2**64, 256, dtype=np.uint64)
#: Odd numbers, because multiplying by them loses nothing.
_ODD: Hashes = np.random.default_rng(65).integers(0, 2**63, 12, dtype=np.uint64) * np.uint64(2) + np.uint64(1)


def _same_cut(edges: Edges, here: slice, there: slice, first: int, pixels: int) -> tuple[slice, slice] | None:
    """Return the pixels, counted from `first`, under cells here and there, if the edges cut both alike."""
    one, other = edges.at[here.start : here.stop + 1], edges.at[there.start : there.stop + 1]
    step = int(other[0] - one[0])
    if step % PIXEL or not np.array_equal(one + step, other):
        return None
    begin, end = int(one[0] // PIXEL) - first, int(-(-one[-1] // PIXEL)) - first
    begin_there, end_there = begin + step // PIXEL, end + step // PIXEL
    if min(begin, begin_there) < 0 or max(end, end_there) > pixels:
        return None
    return slice(begin, end), slice(begin_there, end_there)


def _landmarks(signs: Hashes) -> list[Landmark]:
    """Return the landmarks among cells with these signs, from left to right."""
    if min(signs.shape) < _SIDE:
        return []
    squares, reach = signs, 1
    for odd in _ODD[2:6]:  # the side doubles each time
        squares = squares[:-reach] + squares[reach:] * odd
        reach *= 2
    reach = 1
    for odd in _ODD[6:10]:
        squares = squares[:, :-reach] + squares[:, reach:] * odd
        reach *= 2
    mixed = (squares ^ (squares >> np.uint64(29))) * _ODD[10]
    chosen = (mixed >> np.uint64(40)) % np.uint64(_ONE_IN) == 0
    chosen[:, 1:] &= mixed[:, 1:] != mixed[:, :-1]  # even ground is not a landmark
    chosen[1:] &= mixed[1:] != mixed[:-1]
    column, row = np.nonzero(chosen.T)
    return list(map(Landmark, column.tolist(), row.tolist(), mixed[row, column].tolist()))


class _Known:
    """The landmarks of the blocks so far, and the blocks themselves by all their signs."""

    def __init__(self) -> None:
        self._places: dict[int, list[Place]] = {}
        self._blocks: dict[bytes, Place] = {}

    def like(self, art: _Art, own: Window, signs: Hashes, marks: list[Landmark]) -> Window | None:
        """Return the earlier cells that the block `own` is like, or None if there are none."""
        rows, columns = art.cells.shape
        seen = widened(own[0], rows), widened(own[1], columns)
        whole = hashlib.blake2b(signs[:, seen[1]].tobytes(), digest_size=16).digest()
        steps = self._steps(seen, marks)
        corner = (own[0].start, own[1].start)
        if whole in self._blocks:
            before = self._blocks[whole]
            steps.insert(0, (before[0] - corner[0], before[1] - corner[1]))
        else:
            self._blocks[whole] = corner
        for step in steps:
            if _is_earlier(own, step) and _ends_alike(seen, step, (rows, columns)) and art.alike(seen, step):
                return _moved(own, step)
        return None

    def _steps(self, seen: Window, marks: list[Landmark]) -> list[Place]:
        """Return how many rows and columns lie between the landmarks that a block sees and the same ones before."""
        within = _between(marks, seen[1].start, seen[1].stop - _SIDE + 1)
        votes = Counter[Place]()
        for column, row, mark in within[:: max(1, len(within) // _LOOKED_UP)]:
            for before in self._places.get(mark, ()):
                votes[before[0] - row - seen[0].start, before[1] - column] += 1
        return [step for step, _ in votes.most_common(_COMPARED)]

    def learn(self, own: Window, top: int, marks: list[Landmark]) -> None:
        """Keep the landmarks that begin in a block, each with the first places where it was seen and the last.

        `top` is the row from which the rows of the landmarks are counted.
        """
        for column, row, mark in _between(marks, own[1].start, own[1].stop):
            if own[0].start <= row + top < own[0].stop:
                places = self._places.setdefault(mark, [])
                if len(places) == _PLACES:
                    del places[_PLACES // 2]
                places.append((row + top, column))


def _between(marks: list[Landmark], first: int, end: int) -> list[Landmark]:
    """Return the landmarks that begin in the columns `first` .. `end`."""
    column = attrgetter("column")
    return marks[bisect_left(marks, first, key=column) : bisect_left(marks, end, key=column)]


def _is_earlier(own: Window, step: Place) -> bool:
    """Return whether the cells one `step` from a block lie in blocks that come before it, row by row."""
    there = _moved(own, step)
    above = there[0].stop <= own[0].start
    beside = there[0].stop <= own[0].stop and there[1].stop <= own[1].start
    return bool(there[0].start >= 0 and there[1].start >= 0 and (above or beside))


def _ends_alike(seen: Window, step: Place, shape: tuple[int, int]) -> bool:
    """Return whether cells one `step` further on lie within the grid, and at an end of it only where these do."""
    for own, there, size in zip(seen, _moved(seen, step), shape, strict=True):
        if there.start < 0 or there.stop > size:
            return False
        if (own.start == 0) != (there.start == 0) or (own.stop == size) != (there.stop == size):
            return False
    return True
