"""Which yarns lie within reach of which colours, without trying all pairs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.colours.bounds import de00_bounds
from chartmaker.colours.quick import quick_de00
from chartmaker.ground.colour import FloatArray, ciede2000
from chartmaker.ground.engines import engine

#: Pairs are narrowed down in boxes with these sides, in CIELAB units, each of which divides the one before.
SIDES = (32, 16, 8, 4, 2)
#: Boxes are not halved further once they would hold fewer colours than this, because looking at each is then quicker.
LEAST_COLOURS = 6
#: This many pairs are worked on at a time.
BLOCK = 1 << 15
#: Differences are rounded to this many decimals, so that no processor's last bit tells two apart.
DECIMALS = 7

Indices = NDArray[np.int32]


@dataclass(frozen=True, eq=False)
class Pairs:
    """Pairs of a colour and a yarn with their CIEDE2000, all of shape (pairs,); colours stand in the order of boxes."""

    colour: Indices
    yarn: Indices
    de00: FloatArray


def exact_de00(lab_1: FloatArray, lab_2: FloatArray) -> FloatArray:
    """Return CIEDE2000 of broadcastable Lab arrays, rounded to DECIMALS; the quick formula serves where it is sure."""
    de00, unsure = quick_de00(lab_1, lab_2)
    if unsure.any():
        first, second = np.broadcast_arrays(lab_1, lab_2)
        de00[unsure] = ciede2000(first[unsure], second[unsure])
    return np.asarray(np.round(de00, DECIMALS))


def de00_table(lab: FloatArray, yarns_lab: FloatArray) -> FloatArray:
    """Return CIEDE2000 of each colour with each yarn, shape (n, yarns), rounded to DECIMALS."""
    result = np.empty((len(lab), len(yarns_lab)))
    step = max(1, BLOCK // max(1, len(yarns_lab)))

    def work(first: int) -> None:
        part = slice(first, first + step)
        result[part] = exact_de00(lab[part, None], yarns_lab[None])

    engine().each(work, range(0, len(lab), step))
    return result


def pairs_within(lab: FloatArray, reach: FloatArray, yarns_lab: FloatArray) -> Pairs:
    """Return every pair of a colour and a yarn whose CIEDE2000 is below the colour's own reach.

    CIELAB is cut into boxes, which are halved at each level. If a yarn's least possible difference from a box
    (`de00_bounds`) is not below the greatest reach in it, the yarn serves no colour there. So most pairs are never
    looked at.

    Parameters
    ----------
    lab : ndarray, shape (n, 3)
    reach : ndarray, shape (n,)
    yarns_lab : ndarray, shape (yarns, 3)
    """
    order = _boxed(lab)
    lab, reach = lab[order], reach[order]
    box, yarn = np.zeros(len(yarns_lab), dtype=np.int64), np.arange(len(yarns_lab))
    parent = np.zeros(len(lab), dtype=np.int64)
    for side in SIDES:
        place = np.floor(lab / side)
        fresh = np.flatnonzero(np.append(True, (place[1:] != place[:-1]).any(axis=1)))
        if side < SIDES[0] and len(fresh) * LEAST_COLOURS > len(lab):
            break
        starts = fresh
        first = np.searchsorted(box, parent[starts])
        count = np.searchsorted(box, parent[starts], side="right") - first
        box, within = _runs(count)
        yarn = yarn[first[box] + within]
        low, most = place[starts] * side, np.maximum.reduceat(reach, starts)
        keep = _kept(low, most, side, box, yarns_lab, yarn)
        box, yarn = box[keep], yarn[keep]
        size = np.diff(np.append(starts, len(lab)))
        parent = np.repeat(np.arange(len(starts)), size)
    return _measured(order, lab, reach, yarns_lab, (starts, size, box, yarn))


def _boxed(lab: FloatArray) -> NDArray[np.intp]:
    """Return an order in which the colours of every box, whatever its side, stand together."""
    keys = []
    for side in reversed(SIDES):
        keys += list(np.floor(lab / side).T)
    return np.lexsort(keys)


def _runs(count: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return the run of each place and its number within that run, for runs of the lengths `count`."""
    run = np.repeat(np.arange(len(count)), count)
    return run, np.arange(len(run)) - np.repeat(np.cumsum(count) - count, count)


def _kept(
    low: FloatArray,
    most: FloatArray,
    side: float,
    box: NDArray[np.int64],
    yarns_lab: FloatArray,
    yarn: NDArray[np.int64],
) -> NDArray[np.bool_]:
    def work(first: int) -> NDArray[np.bool_]:
        part = slice(first, first + BLOCK)
        here = box[part]
        bounds = de00_bounds(low[here], low[here] + side, yarns_lab[yarn[part]])
        return np.asarray(bounds.low < most[here])

    kept = engine().each(work, range(0, len(box), BLOCK))
    return np.concatenate(kept) if kept else np.empty(0, dtype=bool)


def _measured(
    order: NDArray[np.intp],
    lab: FloatArray,
    reach: FloatArray,
    yarns_lab: FloatArray,
    boxes: tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]],
) -> Pairs:
    """Return the pairs of a colour and a yarn that are within reach.

    `boxes` holds the boxes' starts and sizes, and the pairs (box, yarn) among whose colours they are looked for.
    """
    starts, size, box, yarn = boxes
    ends = np.cumsum(size[box])

    def work(span: tuple[int, int]) -> tuple[Indices, Indices, FloatArray]:
        part = slice(*span)
        run, within = _runs(size[box[part]])
        colour, mate = starts[box[part]][run] + within, yarn[part][run]
        de00 = exact_de00(lab[colour], yarns_lab[mate])
        near = de00 < reach[colour]
        return order[colour[near]].astype(np.int32), mate[near].astype(np.int32), de00[near]

    cuts = np.searchsorted(ends, np.arange(0, ends[-1] if len(ends) else 0, BLOCK))
    cuts = np.unique(np.append(cuts, len(box)))
    found = engine().each(work, zip(cuts[:-1].tolist(), cuts[1:].tolist(), strict=True))
    if not found:
        none = np.empty(0, dtype=np.int32)
        return Pairs(none, none, np.empty(0))
    colours, mates, de00s = zip(*found, strict=True)
    return Pairs(np.concatenate(colours), np.concatenate(mates), np.concatenate(de00s))
