"""Keeping thin lines whole: each one connected chain of knots, in its place to within a knot."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.convert.strokes import Stroke

#: The yarn of a knot covers at least this share of its cell as sampled, whatever a line asks for; truly over 5 %.
LEAST_COVERAGE = 0.08
#: Rounds of negotiation between strokes that want the same knots.
ROUNDS = 12
_OFFSETS = np.array([(down, right) for down in (-1, 0, 1) for right in (-1, 0, 1)])
#: What a knot off the middle costs a knot's distance, in shares of a cell.
OFF_MIDDLE = 0.25
#: What each knot of a line costs, so that lines run straight.
PER_KNOT = 0.05
#: What a contested knot costs more with every round of bidding, in shares of a cell.
BID = 0.3
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
    holders = np.zeros(counts.shape, dtype=np.int32)  # strokes of each yarn that hold each cell
    paths: list[NDArray[np.int64]] = [np.empty((0, 2), np.int64)] * len(strokes)
    of_yarn = {yarn: [n for n, stroke in enumerate(strokes) if stroke.yarn == yarn] for yarn in range(share.shape[2])}
    contested = np.ones(knots.shape, dtype=bool)
    for turn in range(ROUNDS):
        for yarn, numbers in of_yarn.items():
            again = [n for n in numbers if not turn or contested[paths[n][:, 0], paths[n][:, 1]].any()]
            if not again:
                continue
            _hold(holders[..., yarn], [paths[n] for n in again], -1)
            others = (holders > 0).sum(axis=2) > (holders[..., yarn] > 0)
            price = loss[..., yarn] + others * (history + np.float32(BID * turn))
            for number, path in zip(again, cheapest_chains([strokes[n] for n in again], price), strict=True):
                paths[number] = path
            _hold(holders[..., yarn], [paths[n] for n in again], +1)
        contested = (holders > 0).sum(axis=2) > 1
        if not contested.any():
            break
        history[contested] += BID
    return _settled(share, knots, holders, strokes, paths)


def _hold(holders: NDArray[np.int32], paths: list[NDArray[np.int64]], by: int) -> None:
    cells = np.concatenate(paths)
    np.add.at(holders, (cells[:, 0], cells[:, 1]), by)


def _move_costs() -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return (whether entering a cell costs it, what going there costs besides), by move, from state, to state.

    Both have shape (9, 9, 9); the move is that of the stroke from cell to cell, the states are cells about each.
    """
    gap = np.abs(_OFFSETS[:, None, None] + _OFFSETS[None, None] - _OFFSETS[None, :, None]).max(axis=3)
    return (gap > 0).astype(np.float64), np.where(gap > 1, _NEVER, 0.0)


def cheapest_chains(strokes: list[Stroke], price: NDArray[np.float32]) -> list[NDArray[np.int64]]:
    """Return the cheapest chain of cells along each stroke, each of shape (cells, 2).

    All strokes step onward together, the longest first in the arrays, so that those still under way stand in front.

    Parameters
    ----------
    strokes : list of Stroke
        All of one yarn.
    price : ndarray, shape (rows, columns)
        What each cell costs.
    """
    rows, columns = price.shape
    lengths = np.array([len(stroke.cells) for stroke in strokes])
    order = np.argsort(-lengths, kind="stable")
    lengths = lengths[order]
    starts = np.concatenate(([0], np.cumsum(lengths)[:-1]))
    under_way = np.searchsorted(-lengths, -np.arange(lengths[0]), side="left")  # strokes longer than each step
    cells = np.concatenate([strokes[number].cells for number in order])
    middle = np.concatenate([strokes[number].middle for number in order])
    places = cells[:, None] + _OFFSETS[None]  # (steps, 9, 2)
    valid = ((places >= 0) & (places < (rows, columns))).all(axis=2)
    r, c = np.clip(places[..., 0], 0, rows - 1), np.clip(places[..., 1], 0, columns - 1)
    apart = np.abs(places + 0.5 - middle[:, None]).max(axis=2)
    cost = price[r, c] + OFF_MIDDLE * apart + PER_KNOT
    cost = np.where(valid, cost, _NEVER) + np.where(apart > 1, 3.0, 0.0)
    moves = np.zeros(len(cells), dtype=np.int64)
    moves[1:] = np.clip(cells[1:] - cells[:-1], -1, 1) @ (3, 1) + 4  # meaningless where a stroke starts; not read there
    entering, going = _move_costs()
    off_middle = np.arange(9) != 4
    total = cost[starts]
    total[np.ix_([strokes[number].joined_start for number in order], off_middle)] += _NEVER
    back = np.zeros((len(cells), 9), dtype=np.int8)
    for step in range(1, lengths[0]):
        count = under_way[step]
        now = starts[:count] + step
        sums = total[:count, :, None] + entering[moves[now]] * cost[now][:, None] + going[moves[now]]
        back[now] = sums.argmin(axis=1)
        total[:count] = sums.min(axis=1)
    total[np.ix_([strokes[number].joined_end for number in order], off_middle)] += _NEVER
    state = np.zeros(len(cells), dtype=np.int64)
    state[starts + lengths - 1] = total.argmin(axis=1)
    for step in range(lengths[0] - 1, 0, -1):
        now = starts[: under_way[step]] + step
        state[now - 1] = back[now, state[now]]
    return _parted(places[np.arange(len(cells)), state], np.repeat(order, lengths), (rows, columns))


def _parted(cells: NDArray[np.int64], owner: NDArray[np.int64], shape: tuple[int, int]) -> list[NDArray[np.int64]]:
    """Return the distinct `cells`, shape (cells, 2), of each owner 0, 1, ..."""
    high, wide = shape[0] + 2, shape[1] + 2  # a cell may lie one beyond the edge
    keys = np.unique((owner * high + cells[:, 0] + 1) * wide + cells[:, 1] + 1)
    whose, place = np.divmod(keys, high * wide)
    each = np.stack(np.divmod(place, wide), axis=1) - 1
    return np.split(each, np.searchsorted(whose, np.arange(1, owner.max() + 1)))


def _settled(
    share: NDArray[np.float32],
    knots: NDArray[np.uint16],
    holders: NDArray[np.int32],
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
