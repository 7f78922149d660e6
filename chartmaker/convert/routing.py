"""The cheapest chain of cells along each of many strokes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.convert.strokes import Strokes

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


def cheapest_chains(strokes: Strokes, numbers: NDArray[np.intp], terrain: Terrain) -> list[NDArray[np.intp]]:
    """Return for each stroke of `numbers` the cheapest chain of cells along it, exact by dynamic programming.

    At each step a chain is in the stroke's own cell or in one of its eight neighbours; from step to step it stays or
    goes to a neighbour, so that it is 8-connected. Joined ends stay in their own cell. The cells of a chain are flat
    indices into the grid, rising.
    """
    starts, steps = strokes.bounds[numbers], np.diff(strokes.bounds)[numbers]
    step = np.arange(steps.max())
    index = starts[:, None] + np.minimum(step, steps[:, None] - 1)  # short strokes wait at their end
    waiting = step >= steps[:, None]
    cells = strokes.cells[index]
    places = cells[:, :, None] + _OFFSETS
    follow, enter = _costs(places, strokes.low[index], strokes.high[index], strokes.yarn[numbers], terrain)
    follow[waiting] = 0
    for end, joined in zip((np.zeros_like(steps), steps - 1), strokes.joined[numbers].T, strict=True):
        at = end[joined]
        home = follow[joined, at, _HOME].copy()
        follow[joined, at] += NEVER
        follow[joined, at, _HOME] = home
    states = _best_states(np.diff(cells, axis=1), follow, enter, waiting)
    chosen = np.take_along_axis(places, states[:, :, None, None], axis=2)[:, :, 0]
    return _distinct(chosen, terrain.toll.shape)


def _costs(
    places: NDArray[np.int64],
    low: NDArray[np.float64],
    high: NDArray[np.float64],
    yarns: NDArray[np.intp],
    terrain: Terrain,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return what being at each place costs a step, then what coming into it costs, both (strokes, steps, 9)."""
    shape = np.array(terrain.toll.shape)
    valid = ((places >= 0) & (places < shape)).all(axis=3)
    inside = np.clip(places, 0, shape - 1)
    r, c, yarn = inside[..., 0], inside[..., 1], yarns[:, None, None]
    centre = places + 0.5
    apart = np.abs(centre - (low + high)[:, :, None] / 2).max(axis=3)
    furthest = np.maximum(centre - low[:, :, None], high[:, :, None] - centre).max(axis=3)
    follow = np.asarray(OFF_MIDDLE * apart + np.where(furthest > 1, TOO_FAR, 0.0) + np.where(valid, 0.0, NEVER))
    others = terrain.claims[r, c] > terrain.held[r, c, yarn]
    enter = terrain.loss[r, c, yarn] + PER_KNOT + np.where(others, terrain.toll[r, c], 0.0)
    return follow, np.asarray(enter, dtype=np.float64)


def _best_states(
    moves: NDArray[np.int64],
    follow: NDArray[np.float64],
    enter: NDArray[np.float64],
    waiting: NDArray[np.bool_],
) -> NDArray[np.int8]:
    """Return which of the nine places is best at each step, shape (strokes, steps).

    `moves`, shape (strokes, steps - 1, 2), says how the stroke's own cell moves from step to step.
    """
    strokes, steps = waiting.shape
    move = (moves[..., 0] + 1) * 3 + moves[..., 1] + 1
    enter[waiting] = NEVER
    total = follow[:, 0] + enter[:, 0]
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


def _distinct(chosen: NDArray[np.int64], shape: tuple[int, ...]) -> list[NDArray[np.intp]]:
    """Return the distinct cells of each stroke's chain, clipped to the grid."""
    r, c = np.clip(chosen[..., 0], 0, shape[0] - 1), np.clip(chosen[..., 1], 0, shape[1] - 1)
    owner, cell = np.divmod(
        np.unique(np.arange(len(chosen))[:, None] * (shape[0] * shape[1]) + r * shape[1] + c), shape[0] * shape[1]
    )
    return np.split(cell, np.searchsorted(owner, np.arange(1, len(chosen))))
