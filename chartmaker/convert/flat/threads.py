"""Hairlines are followed through turns, joints and tiles, so that each is woven whole or left out whole."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.cells import KNOT, Whole, Window
from chartmaker.convert.flat.runs import Bits, Index
from chartmaker.convert.flat.strokes import JOINS, Crossings, Stretches

#: A hairline is nowhere wider than this over some knots; what tapers from more may lose its tip.
WIDEST = round(0.4 * KNOT)
#: Ends of one yarn that are no further apart than this belong to the same line.
GAP = 3 * KNOT // 2
#: Parts of a name, so that the name of a crossing moves by the same number wherever it is.
_PLACES, _KINDS = 1 << 29, 1 << 9
#: So many fields of threads have a value for each crossing, and the others have one for each join.
_CROSSING_FIELDS = 7


@dataclass(frozen=True, eq=False)
class Threads:
    """Crossings of hairlines that lie in the cells `row`, `column`, and what each of them goes on to.

    The `name` of a crossing is the same in every tile. `width` is its own width, `faint` says whether it is too faint
    if it is judged by itself, `swells` whether the stroke goes on wider, and `lone` whether it has room on both sides.
    Crossings `one`, which lie in the cells `one_row`, `one_column`, go on to those named `other`.
    """

    name: Whole
    row: Whole
    column: Whole
    width: Whole
    faint: Bits
    swells: Bits
    lone: Bits
    one: Whole
    one_row: Whole
    one_column: Whole
    other: Whole

    def __len__(self) -> int:
        return len(self.name)

    def chosen(self, crossings: Bits, joins: Bits | slice) -> Threads:
        """Return only some of the crossings and of the joins."""
        return Threads(
            *(
                getattr(self, field.name)[joins if number >= _CROSSING_FIELDS else crossings]
                for number, field in enumerate(fields(self))
            )
        )

    def moved(self, window: Window, step: tuple[int, int]) -> Threads:
        """Return those in the cells of a window, `step` rows and columns further on."""
        own = self.chosen(_within(self.row, self.column, window), _within(self.one_row, self.one_column, window))
        return replace(
            own,
            name=_moved(own.name, step),
            row=own.row + step[0],
            column=own.column + step[1],
            one=_moved(own.one, step),
            one_row=own.one_row + step[0],
            one_column=own.one_column + step[1],
            other=_moved(own.other, step),
        )


def all_of(parts: Iterable[Threads]) -> Threads:
    """Return several threads as one."""
    every = list(parts)
    return Threads(*(np.concatenate([getattr(part, field.name) for part in every]) for field in fields(Threads)))


def _moved(name: Whole, step: tuple[int, int]) -> Whole:
    """Return the names of crossings so many rows and columns further on."""
    level, upright = (_name(np.array([by[0]]), np.array([2 * KNOT * by[1]]), 0, 0)[0] for by in (step, step[::-1]))
    return np.asarray(name + np.where(name % 2, upright, level))


def _within(row: Whole, column: Whole, window: Window) -> Bits:
    down, across = window
    return np.asarray((row >= down.start) & (row < down.stop) & (column >= across.start) & (column < across.stop))


def _name(across: Whole, twice: Whole, yarn: Index | int, upright: int) -> Whole:
    return np.asarray((across * _PLACES + twice) * _KINDS + 2 * yarn + upright, dtype=np.int64)


def names_of(crossings: Crossings, corner: tuple[int, int], upright: int) -> Whole:
    """Return the names of the crossings of a tile whose first cell is at `corner`; `upright` ones cross columns."""
    along, aside = (corner[upright], corner[1 - upright])
    return _name(crossings.across + along, crossings.twice + 2 * KNOT * aside, crossings.yarn, upright)


def threads_of(
    stretches: tuple[Stretches, Stretches],
    crossings: tuple[Crossings, Crossings],
    faint: tuple[Bits, ...],
    own: Window,
    corner: tuple[int, int],
) -> Threads:
    """Return the hairlines of a tile.

    Parameters
    ----------
    stretches, crossings : tuple
        Those across rows and those across columns.
    faint : tuple of ndarray of bool
        Which crossings are too faint if each is judged by itself.
    own : (slice, slice)
        The cells of the tile that no other tile has.
    corner : (int, int)
        The row and the column of the tile's first cell in the whole grid.
    """
    name = np.concatenate([names_of(crossing, corner, upright) for upright, crossing in enumerate(crossings)])
    wide = np.concatenate([crossing.width > WIDEST for crossing in crossings])
    cells = [np.stack([crossing.across, crossing.twice // (2 * KNOT)]) for crossing in crossings]
    row, column = np.concatenate([cells[0], cells[1][::-1]], axis=1)
    one, other, own_line = _joins(stretches, crossings, wide)
    swells = np.zeros(len(name), dtype=bool)
    for here, there in ((one, other), (other, one)):
        swells[here[own_line & ~wide[here] & wide[there]]] = True
    one, other = np.append(one, other), np.append(other, one)
    mine = ~wide & _within(row, column, own)
    joined = mine[one] & ~wide[other]
    one, other = one[joined], other[joined]
    row, column = row + corner[0], column + corner[1]
    width, out = np.concatenate([crossing.own_width for crossing in crossings]), np.concatenate(faint)
    lone = np.concatenate([crossing.lone for crossing in crossings])
    nodes = (name[mine], row[mine], column[mine], width[mine], out[mine], swells[mine], lone[mine])
    return Threads(*nodes, name[one], row[one], column[one], name[other])


def _joins(
    stretches: tuple[Stretches, Stretches], crossings: tuple[Crossings, Crossings], wide: Bits
) -> tuple[Index, Index, Bits]:
    """Return pairs of crossings that follow each other, and whether it is the stroke itself that goes on there."""
    from scipy.spatial import cKDTree

    pairs, places, at, how = list[Index](), list[Whole](), list[Index](), list[NDArray[np.int8]]()
    first_of = 0
    for upright, (stretch, crossing) in enumerate(zip(stretches, crossings, strict=True)):
        number = np.arange(len(crossing))
        new = np.diff(crossing.stretch, prepend=-1) != 0
        pairs.append(first_of + np.stack([number[~new] - 1, number[~new]]))
        for side, chosen in ((0, new), (1, np.append(new[1:], True)[: len(new)])):
            here = crossing.stretch[chosen]
            run = stretch.run[stretch.bounds[here] if side == 0 else stretch.bounds[here + 1] - 1]
            place = (stretch.runs.near, stretch.runs.far)[side][run]
            coordinates = (2 * place, stretch.runs.low[run] + stretch.runs.high[run])
            places.append(np.stack(coordinates[:: -1 if upright else 1], axis=1))
            at.append(first_of + number[chosen])
            how.append(stretch.ends[here, side])
        first_of += len(crossing)
    yarn = np.concatenate([crossing.yarn for crossing in crossings])
    ends, place, goes_on = np.concatenate(at), np.concatenate(places), np.concatenate(how) != JOINS
    some = ~wide[ends] | goes_on
    ends, place, goes_on = ends[some], place[some], goes_on[some]
    met = cKDTree(place).query_pairs(2 * GAP, output_type="ndarray").T
    one, other = ends[met]
    alike = yarn[one] == yarn[other]
    follow = np.concatenate(pairs, axis=1)
    own_line = np.append(np.ones(follow.shape[1], dtype=bool), (goes_on[met[0]] & goes_on[met[1]])[alike])
    return np.append(follow[0], one[alike]), np.append(follow[1], other[alike]), own_line
