"""Keeping thin lines whole: each one connected chain of knots, in its place to within a knot."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.convert.flat.routing import NEVER, Terrain, cheapest_chains, distinct, surroundings_of
from chartmaker.convert.flat.strokes import Strokes

#: The yarn of a knot covers at least this share of its cell as sampled, whatever a line asks for; truly over 5 %.
LEAST_COVERAGE = 0.08
#: Rounds of negotiation between strokes that want the same knots.
ROUNDS = 5
#: By how much a contested cell becomes dearer each round, in shares of a cell.
DEARER = 0.8
#: Strokes of one yarn whose lengths differ by less than this are routed together, so many steps at a time.
LIKE_LENGTH, _BATCH_STEPS = 1.5, 32_768


@dataclass(frozen=True, eq=False)
class Routed:
    """Knots with lines kept: `kept` strokes are whole that the majority in each cell would have broken."""

    knots: NDArray[np.uint16]
    kept: int


def keep_lines(counts: NDArray[np.uint16], knots: NDArray[np.uint16], strokes: Strokes, points: int) -> Routed:
    """Return `knots` with each stroke made one 8-connected chain of knots where it can be.

    Strokes choose the cheapest chain of cells within a knot of their middle: what it costs is the coverage that the
    cells lose against their majority. Strokes of different yarns that want the same cell bid for it over several
    rounds, in which contested cells become dearer, until each has a chain of its own (the negotiated congestion
    of circuit routing: McMurchie, Ebeling, "PathFinder", FPGA 1995).

    Parameters
    ----------
    counts : ndarray, shape (rows, columns, yarns)
        Points of each cell that each yarn covers.
    knots : ndarray, shape (rows, columns)
        The yarn with the majority in each cell.
    strokes : Strokes
    points : int
        Points along each side of a cell.
    """
    if not len(strokes):
        return Routed(knots.copy(), 0)
    share = np.asarray(counts / points**2, dtype=np.float32)
    loss = share.max(axis=2, keepdims=True) - share
    loss[share < LEAST_COVERAGE] = NEVER
    toll = np.zeros(knots.shape, dtype=np.float32)
    held = np.zeros(counts.shape, dtype=np.int16)  # by how many strokes of each yarn
    paths, waiting = _whole(strokes, loss)
    claims, around = np.zeros(knots.shape, dtype=np.int32), surroundings_of(strokes, knots.shape)
    _hold(held, claims, paths, strokes.yarn, 1)
    for turn in range(ROUNDS):
        terrain = Terrain(loss, held, claims, toll + np.float32(DEARER * turn))
        for batch in _batches(strokes, waiting):
            _hold(held, claims, [paths[number] for number in batch], strokes.yarn[batch], -1)
            for number, path in zip(batch, cheapest_chains(strokes, batch, around, terrain), strict=True):
                paths[number] = path
            _hold(held, claims, [paths[number] for number in batch], strokes.yarn[batch], +1)
        contested = (held > 0).sum(axis=2) > 1
        if not contested.any():
            break
        toll[contested] += DEARER
        waiting = np.flatnonzero(_each(np.logical_or, contested.ravel()[np.concatenate(paths)], paths))
    return _settled(share, knots, held, strokes, paths)


def _whole(strokes: Strokes, loss: NDArray[np.float32]) -> tuple[list[NDArray[np.intp]], NDArray[np.intp]]:
    """Return the cells of strokes that are whole as they are, none for the others, with the others' numbers."""
    rows, columns = strokes.cells.T
    broken = np.logical_or.reduceat(loss[rows, columns, strokes.yarn[strokes.owner]] != 0, strokes.bounds[:-1])
    kept = ~broken[strokes.owner]
    cells = rows[kept] * loss.shape[1] + columns[kept]
    whole = distinct(strokes.owner[kept], cells, len(strokes), loss.shape[0] * loss.shape[1])
    return whole, np.flatnonzero(broken)


def _batches(strokes: Strokes, waiting: NDArray[np.intp]) -> Iterator[NDArray[np.intp]]:
    """Yield strokes to route together: of one yarn, so that they never bid against each other, of like length.

    Shorter ones come first: who bids first meets all others' claims, so shorter strokes give way to longer ones.
    """
    size = np.floor(np.log(np.maximum(strokes.length[waiting], 1.0)) / np.log(LIKE_LENGTH))
    yarn, steps = strokes.yarn[waiting], np.diff(strokes.bounds)[waiting]
    order = np.lexsort((steps, yarn, size))
    alike = np.flatnonzero(np.diff(size[order], append=np.inf) + np.diff(yarn[order], append=-1))
    first = 0
    for end in (alike + 1).tolist():
        while first < end:
            fitting = np.arange(1, end - first + 1) * steps[order[first:end]] <= _BATCH_STEPS
            number = max(1, int(np.argmin(np.append(fitting, False))))
            yield waiting[order[first : first + number]]
            first += number


def _hold(
    held: NDArray[np.int16],
    claims: NDArray[np.int32],
    paths: list[NDArray[np.intp]],
    yarns: NDArray[np.intp],
    by: int,
) -> None:
    """Add `by` to what is held of the cells of each path in its yarn, to the claims on each cell."""
    cells = np.concatenate(paths)
    np.add.at(held.reshape(claims.size, -1), (cells, np.repeat(yarns, [len(path) for path in paths])), by)
    np.add.at(claims.reshape(-1), cells, by)


def _each(combined: np.ufunc, values: NDArray[np.bool_], paths: list[NDArray[np.intp]]) -> NDArray[np.bool_]:
    """Return the values along each path, which follow each other in `values`, combined; none of the paths is empty."""
    bounds = np.cumsum([0, *(len(path) for path in paths[:-1])])
    return np.asarray(combined.reduceat(values, bounds))


def _settled(
    share: NDArray[np.float32],
    knots: NDArray[np.uint16],
    holders: NDArray[np.int16],
    strokes: Strokes,
    paths: list[NDArray[np.intp]],
) -> Routed:
    held = holders > 0
    settled = knots.copy()
    claimed = held.any(axis=2)
    want = np.where(held & (share >= LEAST_COVERAGE), share, -1.0)
    best = want.argmax(axis=2).astype(np.uint16)
    take = claimed & (want.max(axis=2) > 0)
    settled[take] = best[take]
    cells, yarn = np.concatenate(paths), np.repeat(strokes.yarn, [len(path) for path in paths])
    whole, before = (_each(np.logical_and, woven.ravel()[cells] == yarn, paths) for woven in (settled, knots))
    return Routed(settled, int((whole & ~before).sum()))
