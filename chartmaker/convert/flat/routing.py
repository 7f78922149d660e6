"""The cheapest chain of cells along each of many strokes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.convert.flat.strokes import Strokes

#: What a knot off the middle costs a knot's distance, in shares of a cell.
OFF_MIDDLE = 0.25
#: What each knot of a line costs, so that lines run straight.
PER_KNOT = 0.05
#: What a knot costs that is over a knot from a part of the middle that it stands for.
TOO_FAR = 3.0
#: What is as good as forbidden costs.
NEVER = 1e6
_OFFSETS = np.array([(down, right) for down in (-1, 0, 1) for right in (-1, 0, 1)])
_HOME = len(_OFFSETS) // 2
# By how the stroke's own cell moves, then from which place to which: how far that is.
_GAPS = np.abs(_OFFSETS[:, None, None] + _OFFSETS[None, None, :] - _OFFSETS[None, :, None]).max(axis=3)
_BARRED, _STAYING = np.where(_GAPS > 1, NEVER, 0.0), _GAPS == 0

Prices = NDArray[np.float32]


@dataclass(frozen=True, eq=False)
class Terrain:
    """What cells cost: `loss` by yarn, shape (rows, columns, yarns), `held` by how many strokes of each yarn.

    A cell that strokes of another yarn hold costs `toll`, shape (rows, columns), as well; `claims`, of the same
    shape, is the sum of `held` over the yarns.
    """

    loss: Prices
    held: NDArray[np.int16]
    claims: NDArray[np.int32]
    toll: Prices


@dataclass(frozen=True, eq=False)
class Surroundings:
    """The nine cells that each step of strokes may take, its own with its neighbours, shape (steps, 9) each.

    `cell` is a flat index into the grid, -1 outside of it; `follow` what being there costs, whoever holds it.
    """

    cell: NDArray[np.intp]
    follow: Prices


def surroundings_of(strokes: Strokes, shape: tuple[int, int]) -> Surroundings:
    """Return the surroundings of all strokes in a grid of `shape` (rows, columns)."""
    places = strokes.cells[:, None] + _OFFSETS
    inside = ((places >= 0) & (places < shape)).all(axis=2)
    centre = places + 0.5
    low, high = strokes.low[:, None], strokes.high[:, None]
    apart = np.abs(centre - (low + high) / 2).max(axis=2)
    furthest = np.maximum(centre - low, high - centre).max(axis=2)
    follow = OFF_MIDDLE * apart + np.where(furthest > 1, TOO_FAR, 0.0) + np.where(inside, 0.0, 10 * NEVER)
    for ends, joined in zip((strokes.bounds[:-1], strokes.bounds[1:] - 1), strokes.joined.T, strict=True):
        home = follow[ends[joined], _HOME].copy()
        follow[ends[joined]] += NEVER
        follow[ends[joined], _HOME] = home
    cell = np.where(inside, places[..., 0] * shape[1] + places[..., 1], -1)
    return Surroundings(cell, follow.astype(np.float32))


def cheapest_chains(
    strokes: Strokes, numbers: NDArray[np.intp], around: Surroundings, terrain: Terrain
) -> list[NDArray[np.intp]]:
    """Return for each stroke of `numbers` the cheapest chain of cells along it, exact by dynamic programming.

    At each step a chain is in the stroke's own cell or in one of its eight neighbours; from step to step it stays or
    goes to a neighbour, so that it is 8-connected. Joined ends stay in their own cell. The cells of a chain are flat
    indices into the grid, rising.
    """
    starts, steps = strokes.bounds[numbers], np.diff(strokes.bounds)[numbers]
    step = np.arange(steps.max())
    index = starts[:, None] + np.minimum(step, steps[:, None] - 1)  # short strokes wait at their end
    waiting = step >= steps[:, None]
    cell, follow = around.cell[index], around.follow[index]
    follow[waiting] = 0
    enter = _entering(cell, strokes.yarn[numbers], terrain)
    enter[waiting] = NEVER
    states = _best_states(np.diff(strokes.cells[index], axis=1), follow, enter)
    chosen = np.take_along_axis(cell, states[:, :, None], axis=2)[:, :, 0]
    return distinct(np.arange(len(numbers))[:, None], chosen, len(numbers), terrain.toll.size)


def _entering(cell: NDArray[np.intp], yarns: NDArray[np.intp], terrain: Terrain) -> Prices:
    """Return what coming into each cell costs, shape (strokes, steps, 9); outside the grid `follow` forbids it."""
    yarn, kinds = yarns[:, None, None], terrain.held.shape[2]
    own = cell * kinds + yarn
    others = terrain.claims.ravel()[cell] > terrain.held.ravel()[own]
    return np.asarray(
        terrain.loss.ravel()[own] + np.where(others, terrain.toll.ravel()[cell], 0) + np.float32(PER_KNOT)
    )


def _best_states(moves: NDArray[np.int64], follow: Prices, enter: Prices) -> NDArray[np.int8]:
    """Return which of the nine places is best at each step, shape (strokes, steps).

    `moves`, shape (strokes, steps - 1, 2), says how the stroke's own cell moves from step to step.
    """
    strokes, steps, _ = follow.shape
    move = (moves[..., 0] + 1) * 3 + moves[..., 1] + 1
    total = (follow[:, 0] + enter[:, 0]).astype(np.float64)
    back = np.zeros((strokes, steps, 9), dtype=np.int8)
    for step in range(1, steps):
        way = move[:, step - 1]
        sums = enter[:, step, None] + _BARRED[way]
        sums[_STAYING[way]] = 0
        sums += total[:, :, None]
        back[:, step] = sums.argmin(axis=1)
        total = sums.min(axis=1) + follow[:, step]
    states = np.zeros((strokes, steps), dtype=np.int8)
    states[:, -1] = total.argmin(axis=1)
    for step in range(steps - 1, 0, -1):
        states[:, step - 1] = np.take_along_axis(back[:, step], states[:, step, None], axis=1)[:, 0]
    return states


def distinct(owner: NDArray[np.intp], cell: NDArray[np.intp], strokes: int, cells: int) -> list[NDArray[np.intp]]:
    """Return the distinct cells of each of so many `strokes`, rising.

    Each `cell`, a flat index into a grid of so many `cells`, belongs to the stroke that `owner` numbers.
    """
    owners, own = np.divmod(np.unique(owner * cells + cell), cells)
    return np.split(own, np.searchsorted(owners, np.arange(1, strokes)))
