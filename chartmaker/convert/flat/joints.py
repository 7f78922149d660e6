"""The ends of strokes: where they turn, where they join others, and which knot lies at their corner."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from chartmaker.artwork.cells import KNOT, Edges, Whole
from chartmaker.convert.flat.runs import Bits, Index
from chartmaker.convert.flat.strokes import FREE, JOINS, TURNS, Stretches

#: A stroke is followed on from its end in so many steps per knot, and in so many steps in all.
STEPS_A_KNOT, STEPS = 8, 16
#: A stroke goes on at most this far into what it joins.
FURTHEST = KNOT


@dataclass(frozen=True, eq=False)
class Tips:
    """The places that the ends of strokes reach, across the lines and (doubled, as `twice`) along them, in KNOT units.

    `corner` says that the stroke keeps the knot there; otherwise the knot only bridges a gap.
    """

    yarn: Index
    across: Whole
    twice: Whole
    corner: Bits


def tips_of(stretches: Stretches, drawn: Bits, along: Edges, across: Edges) -> Tips:
    """Return the places to which stretches go on beyond ends that are not free, if they are `drawn`."""
    parts = [_tips(stretches, drawn, side, along, across) for side in (0, 1)]
    return Tips(
        np.concatenate([part.yarn for part in parts]),
        np.concatenate([part.across for part in parts]),
        np.concatenate([part.twice for part in parts]),
        np.concatenate([part.corner for part in parts]),
    )


def _tips(stretches: Stretches, drawn: Bits, side: int, along: Edges, across: Edges) -> Tips:
    runs, way = stretches.runs, (-1, 1)[side]
    at = stretches.bounds[:-1] if side == 0 else stretches.bounds[1:] - 1
    how = np.where(drawn, stretches.ends[:, side], FREE)
    run = stretches.run[at]
    place = runs.near[run] if side == 0 else runs.far[run]
    twice = runs.low[run] + runs.high[run]
    yarn = runs.yarn[run].astype(np.intp)
    turns, joins = np.flatnonzero(how == TURNS), np.flatnonzero(how == JOINS)
    rise, over = way * stretches.rise[at][joins], np.maximum(stretches.over[at][joins], 1)
    step = np.arange(1, STEPS + 1)
    out = place[joins][:, None] + way * step * (KNOT // STEPS_A_KNOT)
    aside = np.rint(2 * rise[:, None] * step * (KNOT // STEPS_A_KNOT) / over[:, None]).astype(np.int64)
    within = _has(stretches, yarn[joins], out, twice[joins][:, None] + aside, along, across)
    length = np.logical_and.accumulate(within, axis=1).sum(axis=1)
    reach = np.minimum(length * (KNOT // STEPS_A_KNOT) // 2, FURTHEST)
    moved = np.rint(2 * rise * reach / over).astype(np.int64)
    return Tips(
        np.concatenate([yarn[turns], yarn[joins]]),
        np.concatenate([place[turns], place[joins] + way * reach]),
        np.concatenate([twice[turns], twice[joins] + moved]),
        np.concatenate([np.zeros(len(turns), dtype=bool), length < STEPS]),
    )


def _has(stretches: Stretches, yarn: Index, out: Whole, twice: Whole, along: Edges, across: Edges) -> Bits:
    """Return whether a pixel at each place has the yarn; at an edge between pixels either may."""
    plane, found = stretches.runs.of_pixel, np.zeros(out.shape, dtype=bool)
    line, place = across.in_pixels(out), along.in_pixels(twice / 2)
    for lower in (np.floor, lambda x: np.ceil(x) - 1):
        rows = np.clip(lower(line), 0, plane.shape[0] - 1).astype(np.intp)
        for lower_too in (np.floor, lambda x: np.ceil(x) - 1):
            columns = np.clip(lower_too(place), 0, plane.shape[1] - 1).astype(np.intp)
            found |= stretches.runs.yarn[plane[rows, columns]] == yarn[:, None]
    inside = (out >= 0) & (out <= len(across) * KNOT) & (twice >= 0) & (twice <= 2 * len(along) * KNOT)
    return np.asarray(found & inside)
