"""Thin lines are drawn over the majority, so that they are whole, of one width, and regular where there is room."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.cells import KNOT, Whole
from chartmaker.convert.flat.joints import Tips
from chartmaker.convert.flat.runs import Bits, Index
from chartmaker.convert.flat.strokes import LONGEST_RUN, Crossings

#: Whatever a line claims, the yarn of a knot covers at least this share of its cell, in KNOTths.
LEAST_COVERAGE = round(0.07 * KNOT)
#: A cell of which a yarn covers this share, in KNOTths, is never taken from it for the sake of a line's width.
PLAINLY = round(0.8 * KNOT)
#: Strokes of at least this width, in KNOT units, get two knots.
TWO_KNOTS = round(1.5 * KNOT)
#: A stroke narrower than this, in KNOT units, is thinning out.
NARROWEST = round(0.25 * KNOT)
#: Places and shares that differ by no more than this, in KNOT units, count as equal; it divides KNOT.
HARDLY = KNOT // 256
#: A run may lie in this many cells.
_MOST_CELLS = 4
#: Flat artwork never has this many yarns.
_YARNS = 256
#: The force of a claim that is met before all others.
_OVERRIDING = 1 << 40


@dataclass(frozen=True, eq=False)
class Line:
    """Crossings of one direction and the tips of their stretches, `upright` if they cross columns of knots."""

    crossings: Crossings
    tips: Tips
    upright: bool


@dataclass(frozen=True, eq=False)
class Drawn:
    """The knots with lines drawn, and which of them were given to lines, all of shape (rows, columns)."""

    knots: NDArray[np.uint16]
    lined: Bits


@dataclass(frozen=True, eq=False)
class _Claims:
    """Cells, as flat indices, each claimed by a yarn with a `force`; the greatest force gets the cell."""

    cell: Index
    yarn: Index
    force: Whole

    def __add__(self, more: _Claims) -> _Claims:
        return _Claims(
            np.append(self.cell, more.cell), np.append(self.yarn, more.yarn), np.append(self.force, more.force)
        )


def draw_lines(share: Whole, knots: NDArray[np.uint16], lines: tuple[Line, ...]) -> Drawn:
    """Return `knots` with the lines drawn.

    Parameters
    ----------
    share : ndarray of int, shape (rows, columns, yarns)
        How much of each cell each yarn covers, in KNOTths.
    knots : ndarray, shape (rows, columns)
        The yarn with the majority in each cell.
    lines : tuple of Line
    """
    flat, woven = share.reshape(-1, share.shape[2]), knots.ravel().astype(np.intp)
    cells = [_cells_of_runs(line.crossings, _Grid(knots.shape, line.upright)) for line in lines]
    claims = _no_claims()
    for line, (cell, valid) in zip(lines, cells, strict=True):
        grid, crossings = _Grid(knots.shape, line.upright), line.crossings
        claims += _regular(crossings, flat, grid) + _best(crossings, ~crossings.lone, flat, cell, valid)
        claims += _tip_claims(line.tips, flat, grid)
    claims += _second_choices(lines, cells, flat, _holders(flat, claims))
    claims += _yielding(lines, cells, flat, _holders(flat, claims))
    holder = _holders(flat, claims)
    result, spare = woven.copy(), _spare(lines, cells, woven, holder, flat)
    rest = flat[spare].copy()
    rest[np.arange(len(spare)), woven[spare]] = -1
    enough = rest.max(axis=1, initial=-1) >= LEAST_COVERAGE
    result[spare[enough]] = rest.argmax(axis=1)[enough]
    result[holder >= 0] = holder[holder >= 0]
    return Drawn(result.reshape(knots.shape).astype(np.uint16), (holder >= 0).reshape(knots.shape))


@dataclass(frozen=True, eq=False)
class _Grid:
    """Flat indices of cells by their place across and along the lines of a direction."""

    shape: tuple[int, int]
    upright: bool

    def cell(self, across: Index, along: Index) -> tuple[Index, Bits]:
        """Return the flat index of each cell, and whether it is within the grid."""
        row, column = (along, across) if self.upright else (across, along)
        valid = (row >= 0) & (row < self.shape[0]) & (column >= 0) & (column < self.shape[1])
        flat = np.clip(row, 0, self.shape[0] - 1) * self.shape[1] + np.clip(column, 0, self.shape[1] - 1)
        return np.asarray(flat, dtype=np.intp), np.asarray(valid)


def _cells_of_runs(crossings: Crossings, grid: _Grid) -> tuple[Index, Bits]:
    """Return the cells that the run of each crossing lies in, shape (crossings, 4), and which of these exist."""
    first = crossings.low // KNOT
    along = first[:, None] + np.arange(_MOST_CELLS)
    cell, valid = grid.cell(crossings.across[:, None], along)
    return cell, valid & (along * KNOT < crossings.high[:, None])


def _force(crossings: Crossings) -> Whole:
    """Return the force with which crossings claim cells.

    Wider strokes have more force, so that a line wins or gives way as a whole, and brief ones have less than others.
    Where a stroke thins out, and all along a spike, its width at that very place counts.
    """
    thins_out = crossings.spike | (crossings.own_width < NARROWEST)
    width = np.where(thins_out, np.minimum(crossings.own_width, crossings.width), crossings.width)
    return np.where(crossings.brief, width, width + LONGEST_RUN)


def _regular(crossings: Crossings, share: Whole, grid: _Grid) -> _Claims:
    """Return the cells along the middle of lone lines, as many across as the line is wide.

    If the middle lies just between two cells, the line takes the one that its yarn covers more of, or both if it covers
    them equally. What is just between is told coarsely, so that a line does not waver there.
    """
    lone = crossings.lone
    across, yarn, force = crossings.across[lone], crossings.yarn[lone], _force(crossings)[lone]
    wide = np.where(crossings.width[lone] >= TWO_KNOTS, 2, 1)
    upper = np.rint(crossings.twice[lone] / HARDLY).astype(np.int64) * HARDLY - wide * KNOT + KNOT
    first, tie = upper // (2 * KNOT), upper % (2 * KNOT) == 0
    (above, above_valid), (below, below_valid) = grid.cell(across, first - 1), grid.cell(across, first + wide - 1)
    gain = np.where(below_valid, share[below, yarn], -1) - np.where(above_valid, share[above, yarn], -1)
    first = np.where(tie & (gain <= HARDLY), first - 1, first)
    wide = wide + (tie & (np.abs(gain) <= HARDLY))
    cell, valid = grid.cell(across[:, None], first[:, None] + np.arange(3))
    valid &= (np.arange(3) < wide[:, None]) & (share[cell, yarn[:, None]] >= LEAST_COVERAGE)
    return _taken(cell, valid, yarn, force)


def _best(crossings: Crossings, chosen: Bits, share: Whole, cells: Index, valid: Bits) -> _Claims:
    """Return for each chosen crossing the valid cell that its yarn covers most of.

    Of equally covered cells it is the one nearest to the middle, or both if they are equally near.
    """
    cell, yarn, force = cells[chosen], crossings.yarn[chosen], _force(crossings)[chosen]
    cover = np.where(valid[chosen], share[cell, yarn[:, None]], -1)
    along = 2 * KNOT * (crossings.low[chosen] // KNOT)[:, None] + 2 * KNOT * np.arange(_MOST_CELLS) + KNOT
    off = np.abs(along - crossings.twice[chosen][:, None])
    best = cover == cover.max(axis=1, keepdims=True)
    nearest = np.where(best, off, np.iinfo(np.int64).max).min(axis=1, keepdims=True)
    return _taken(cell, best & (off == nearest) & (cover >= LEAST_COVERAGE), yarn, force)


def _taken(cell: Index, take: Bits, yarn: Index, force: Whole) -> _Claims:
    yarns, forces = (np.broadcast_to(values[:, None], cell.shape)[take] for values in (yarn, force))
    return _Claims(cell[take], yarns, forces)


def _tip_claims(tips: Tips, share: Whole, grid: _Grid) -> _Claims:
    """Return the cells that tips lie in; a tip just between cells takes those that its yarn covers most of."""
    across, along = [], []
    for down in (0, 1):
        for aside in (0, 1):
            across.append(np.where(tips.across % KNOT == 0, tips.across // KNOT - down, tips.across // KNOT))
            along.append(
                np.where(tips.twice % (2 * KNOT) == 0, tips.twice // (2 * KNOT) - aside, tips.twice // (2 * KNOT))
            )
    cell, valid = grid.cell(np.stack(across, axis=1), np.stack(along, axis=1))
    cover = np.where(valid, share[cell, tips.yarn[:, None]], -1)
    take = (cover == cover.max(axis=1, keepdims=True)) & (cover >= LEAST_COVERAGE)
    return _taken(cell, take, tips.yarn, np.where(tips.corner, 2, 1))


def _holders(share: Whole, claims: _Claims) -> Index:
    """Return the yarn that holds each cell, by the most force and then the most cover, or -1 where none does."""
    # Force, cover and yarn are the digits of one number, and the greatest number of a cell decides.
    worth = (claims.force * (2 * KNOT) + share[claims.cell, claims.yarn]) * _YARNS + (_YARNS - 1 - claims.yarn)
    best = np.full(len(share), -1, dtype=np.int64)
    np.maximum.at(best, claims.cell, worth)
    return np.where(best < 0, -1, _YARNS - 1 - best % _YARNS)


def _second_choices(lines: tuple[Line, ...], cells: list[tuple[Index, Bits]], share: Whole, holder: Index) -> _Claims:
    """Return what crossings that were given no cell claim of the cells that are left."""
    claims = _no_claims()
    for line, (cell, valid) in zip(lines, cells, strict=True):
        free = valid & (holder[cell] < 0)
        missed = ~(valid & (holder[cell] == line.crossings.yarn[:, None])).any(axis=1)
        claims += _best(line.crossings, missed & free.any(axis=1), share, cell, free)
    return claims


def _yielding(lines: tuple[Line, ...], cells: list[tuple[Index, Bits]], share: Whole, holder: Index) -> _Claims:
    """Return claims by which strokes that can move aside leave a cell to a stroke that has no other.

    A cell stays with the crossings that hold it unless each of them has another that is free.
    """
    wanted = _no_claims()
    for line, (cell, valid) in zip(lines, cells, strict=True):
        crossings = line.crossings
        missed = ~(valid & (holder[cell] == crossings.yarn[:, None])).any(axis=1)
        missed &= ~crossings.spike & ~crossings.brief
        wanted += _best(crossings, missed, share, cell, valid)
    asked = np.zeros(len(share), dtype=bool)
    asked[wanted.cell] = True
    stays, moves = np.zeros(len(share), dtype=bool), _no_claims()
    for line, (cell, valid) in zip(lines, cells, strict=True):
        crossings = line.crossings
        held = valid & (holder[cell] == crossings.yarn[:, None])
        bound = held.any(axis=1) & ~(held & ~asked[cell]).any(axis=1)
        free = valid & (holder[cell] < 0) & (share[cell, crossings.yarn[:, None]] >= LEAST_COVERAGE)
        stays[cell[held & (bound & ~free.any(axis=1))[:, None]]] = True
        moves += _best(crossings, bound & free.any(axis=1), share, cell, free)
    met = ~stays[wanted.cell] & (holder[wanted.cell] >= 0)
    cell, yarn = wanted.cell[met], wanted.yarn[met]
    return moves + _Claims(cell, yarn, np.full(len(cell), _OVERRIDING))


def _no_claims() -> _Claims:
    return _Claims(*(np.empty(0, dtype=np.int64) for _ in range(3)))


def _spare(
    lines: tuple[Line, ...], cells: list[tuple[Index, Bits]], woven: Index, holder: Index, share: Whole
) -> Index:
    """Return the cells that the majority gives to lone lines beyond their one width, and that they can spare."""
    spare, kept = np.zeros(woven.size, dtype=bool), np.zeros(woven.size, dtype=bool)
    for line, (cell, valid) in zip(lines, cells, strict=True):
        own = valid & (woven[cell] == line.crossings.yarn[:, None])
        lone = line.crossings.lone[:, None]
        spare[cell[own & lone & ~line.crossings.at_joint[:, None]]] = True
        kept[cell[own & ~lone]] = True
    found = np.flatnonzero(spare & ~kept & (holder != woven))
    return found[share[found, woven[found]] < PLAINLY]
