"""Keeping thin lines whole: each one connected chain of knots, in its place to within a knot."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.convert.strokes import Stroke

#: A knot's yarn covers at least this share of its cell, whatever a line asks for.
LEAST_COVERAGE = 0.05
#: Rounds of negotiation between strokes that want the same knots.
ROUNDS = 12
_OFFSETS = np.array([(down, right) for down in (-1, 0, 1) for right in (-1, 0, 1)])
_STAY_OR_STEP = np.abs(_OFFSETS[:, None] - _OFFSETS[None])  # differences of offsets between two states
#: What a knot off the middle costs a knot's distance, in shares of a cell.
OFF_MIDDLE = 0.25
#: What each knot of a line costs, so that lines run straight.
PER_KNOT = 0.05
_NEVER = 1e6


@dataclass(frozen=True, eq=False)
class Routed:
    """Knots with lines kept: `kept` strokes are whole that the majority in each cell would have broken."""

    knots: NDArray[np.uint16]
    kept: int


def keep_lines(counts: NDArray[np.uint16], knots: NDArray[np.uint16], strokes: list[Stroke], points: int) -> Routed:
    """Return `knots` with each stroke made one 8-connected chain of knots where it can be.

    Strokes choose the cheapest chain of cells within a knot of their middle: what it costs is the coverage that the
    cells lose against their majority. Strokes of different yarns that want the same cell bid for it over several
    rounds, in which contested cells become dearer, until each has a chain of its own (the negotiated congestion
    of circuit routing: McMurchie, Ebeling, "PathFinder", FPGA 1995). The cheapest chain is exact, by dynamic
    programming along the stroke.

    Parameters
    ----------
    counts : ndarray, shape (rows, columns, yarns)
        Points of each cell that each yarn covers.
    knots : ndarray, shape (rows, columns)
        The yarn with the majority in each cell.
    strokes : list of Stroke
    points : int
        Points along each side of a cell.
    """
    share = np.asarray(counts / points**2, dtype=np.float32)
    loss = share.max(axis=2, keepdims=True) - share
    loss[share < LEAST_COVERAGE] = _NEVER
    history = np.zeros(knots.shape, dtype=np.float32)
    holders = np.zeros(counts.shape, dtype=np.int16)  # strokes of each yarn that hold each cell
    paths: list[NDArray[np.int64]] = [np.empty((0, 2), np.int64)] * len(strokes)
    waiting = list(range(len(strokes)))
    for turn in range(ROUNDS):
        for number in waiting:
            stroke = strokes[number]
            _hold(holders, paths[number], stroke.yarn, -1)
            price = loss[..., stroke.yarn]
            paths[number] = _cheapest(stroke, price, holders, history, pressure=0.3 * turn)
            _hold(holders, paths[number], stroke.yarn, +1)
        contested = (holders > 0).sum(axis=2) > 1
        if not contested.any():
            break
        history[contested] += 0.3
        waiting = [n for n, path in enumerate(paths) if contested[path[:, 0], path[:, 1]].any()]
    return _settled(share, knots, holders, strokes, paths)


def _hold(holders: NDArray[np.int16], path: NDArray[np.int64], yarn: int, by: int) -> None:
    holders[path[:, 0], path[:, 1], yarn] += by


def _cheapest(
    stroke: Stroke,
    price: NDArray[np.float32],
    holders: NDArray[np.int16],
    history: NDArray[np.float32],
    pressure: float,
) -> NDArray[np.int64]:
    """Return the cheapest chain of cells along a stroke, shape (cells, 2)."""
    rows, columns = price.shape
    places = stroke.cells[:, None] + _OFFSETS[None]  # (steps, 9, 2)
    valid = ((places >= 0) & (places < (rows, columns))).all(axis=2)
    r, c = np.clip(places[..., 0], 0, rows - 1), np.clip(places[..., 1], 0, columns - 1)
    apart = np.abs(places + 0.5 - stroke.middle[:, None]).max(axis=2)
    others = holders[r, c].sum(axis=2, dtype=np.int32) - holders[r, c, stroke.yarn]
    cost = price[r, c] + OFF_MIDDLE * apart + PER_KNOT + history[r, c] * (others > 0) + pressure * (others > 0)
    cost = np.where(valid, cost, _NEVER) + np.where(apart > 1, 3.0, 0.0)
    return _dynamic(stroke, places, cost)


def _dynamic(stroke: Stroke, places: NDArray[np.int64], cost: NDArray[np.float64]) -> NDArray[np.int64]:
    steps = len(places)
    total = cost[0].copy()
    middle = len(_OFFSETS) // 2
    if stroke.joined_start:
        total[np.arange(9) != middle] += _NEVER
    back = np.zeros((steps, 9), dtype=np.int8)
    for step in range(1, steps):
        gap = np.abs(places[step][None] - places[step - 1][:, None]).max(axis=2)  # (from, to)
        entering = np.where(gap == 0, 0.0, np.where(gap == 1, cost[step][None], _NEVER + cost[step][None]))
        sums = total[:, None] + entering
        back[step] = sums.argmin(axis=0)
        total = sums.min(axis=0)
    if stroke.joined_end:
        total[np.arange(9) != middle] += _NEVER
    state = int(total.argmin())
    chain = [places[-1, state]]
    for step in range(steps - 1, 0, -1):
        state = int(back[step, state])
        chain.append(places[step - 1, state])
    return np.unique(np.array(chain), axis=0)


def _settled(
    share: NDArray[np.float32],
    knots: NDArray[np.uint16],
    holders: NDArray[np.int16],
    strokes: list[Stroke],
    paths: list[NDArray[np.int64]],
) -> Routed:
    held = holders > 0
    settled = knots.copy()
    claimed = held.any(axis=2)
    want = np.where(held & (share >= LEAST_COVERAGE), share, -1.0)
    best = want.argmax(axis=2).astype(np.uint16)
    take = claimed & (want.max(axis=2) > 0)
    settled[take] = best[take]
    kept = 0
    for stroke, path in zip(strokes, paths, strict=True):
        here = settled[path[:, 0], path[:, 1]] == stroke.yarn
        before = knots[path[:, 0], path[:, 1]] == stroke.yarn
        kept += bool(here.all() and not before.all())
    return Routed(settled, kept)
