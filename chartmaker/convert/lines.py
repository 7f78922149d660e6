"""Keeping thin lines whole: each one connected chain of knots, in its place to within a knot."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from chartmaker.convert.routing import NEVER, Terrain, cheapest_chains
from chartmaker.convert.strokes import Stroke

#: The yarn of a knot covers at least this share of its cell as sampled, whatever a line asks for; truly over 5 %.
LEAST_COVERAGE = 0.08
#: Rounds of negotiation between strokes that want the same knots.
ROUNDS = 5
#: By how much a contested cell becomes dearer each round, in shares of a cell.
DEARER = 0.8
#: Strokes of one yarn whose lengths differ by less than this are routed together, so many steps at a time.
LIKE_LENGTH, _BATCH_STEPS = 1.2, 4096


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
    of circuit routing: McMurchie, Ebeling, "PathFinder", FPGA 1995).

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
    loss[share < LEAST_COVERAGE] = NEVER
    toll = np.zeros(knots.shape, dtype=np.float32)
    held = np.zeros(counts.shape, dtype=np.int16)  # by how many strokes of each yarn
    paths: list[NDArray[np.int64]] = [np.empty((0, 2), np.int64)] * len(strokes)
    waiting = list(range(len(strokes)))
    for turn in range(ROUNDS):
        terrain = Terrain(loss, held, toll + np.float32(DEARER * turn))
        for batch in _batches(strokes, waiting):
            _hold(held, [paths[number] for number in batch], strokes[batch[0]].yarn, -1)
            for number, path in zip(batch, _routes(strokes, batch, terrain, turn == 0), strict=True):
                paths[number] = path
            _hold(held, [paths[number] for number in batch], strokes[batch[0]].yarn, +1)
        contested = (held > 0).sum(axis=2) > 1
        if not contested.any():
            break
        toll[contested] += DEARER
        waiting = [n for n, path in enumerate(paths) if contested[path[:, 0], path[:, 1]].any()]
    return _settled(share, knots, held, strokes, paths)


def _batches(strokes: list[Stroke], waiting: list[int]) -> Iterator[list[int]]:
    """Yield strokes to route together: of one yarn, so that they never bid against each other, of like length.

    Shorter ones come first: who bids first meets all others' claims, so shorter strokes give way to longer ones.
    """

    def rank(number: int) -> tuple[int, int]:
        return math.floor(math.log(max(strokes[number].length, 1.0), LIKE_LENGTH)), strokes[number].yarn

    for _, alike in groupby(sorted(waiting, key=rank), key=rank):
        batch: list[int] = []
        steps = 0
        for number in alike:
            steps = max(steps, len(strokes[number].cells))
            if batch and steps * (len(batch) + 1) > _BATCH_STEPS:
                yield batch
                batch, steps = [], len(strokes[number].cells)
            batch.append(number)
        yield batch


def _routes(strokes: list[Stroke], batch: list[int], terrain: Terrain, first: bool) -> list[NDArray[np.int64]]:
    """Return the chains of a batch; in the first round a stroke that is whole already keeps its own cells."""
    cells = [strokes[number].cells for number in batch]
    yarn = strokes[batch[0]].yarn
    whole = [first and not terrain.loss[own[:, 0], own[:, 1], yarn].any() for own in cells]
    routed = iter(cheapest_chains([strokes[n] for n, done in zip(batch, whole, strict=True) if not done], terrain))
    return [np.unique(own, axis=0) if done else next(routed) for own, done in zip(cells, whole, strict=True)]


def _hold(held: NDArray[np.int16], paths: list[NDArray[np.int64]], yarn: int, by: int) -> None:
    cells = np.concatenate(paths)
    plane = held[..., yarn]
    np.add.at(plane, (cells[:, 0], cells[:, 1]), by)


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
