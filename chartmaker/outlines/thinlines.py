"""Strokes that are too thin to be an area, told by their centre lines and their widths."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.outlines.lattice import Labels, Points

Bits = NDArray[np.bool_]
#: A stroke is at least this many times as long as it is wide.
_SLENDER = 4.0
#: A branch with a free end that is shorter than this many widths is a fork of the stroke's end.
_FORK = 1.6


@dataclass(frozen=True, eq=False)
class ThinLine:
    """The centre line of a stroke, shape (points, 2), in pixels from the top left, with its label and mean width."""

    points: Points
    label: int
    width: float


def thin_lines(labels: Labels, widest: float) -> tuple[ThinLine, ...]:
    """Return the strokes up to `widest` pixels wide, including those of areas that are broad elsewhere.

    A stroke is the part of an area that a disc of that width, rolled about within it, never covers. Its centre line is
    its skeleton (Zhang and Suen, 1984).
    """
    from scipy.ndimage import find_objects
    from skimage.measure import label
    from skimage.morphology import skeletonize

    thin = (labels >= 0) & ~_rolled(labels, max(int(widest // 2), 1))
    marked = np.where(thin, labels, np.int16(-1))
    pieces = np.asarray(label(marked, background=-1, connectivity=2))
    bones, areas, names = [np.empty((0, 2), dtype=np.int64)], [], []
    for number, window in enumerate(find_objects(pieces), start=1):
        if max(part.stop - part.start for part in window) < _SLENDER * 2:
            continue
        piece = pieces[window] == number
        corner = np.array([window[0].start, window[1].start])
        bones.append(np.argwhere(skeletonize(np.pad(piece, 1))) + corner - 1)
        areas.append(int(piece.sum()))
        names.append(int(marked[tuple(bones[-1][0])]) if len(bones[-1]) else -1)
    spots = np.concatenate(bones)
    owner = np.repeat(np.arange(len(areas)), [len(each) for each in bones[1:]])
    found: list[ThinLine] = []
    ways = _ways(spots, owner)
    for number, (area, name) in enumerate(zip(areas, names, strict=True)):
        mine = ways.get(number, [])
        width = area / max(sum(_length(spots[way]) + 1 for way in mine), 1.0)
        found += (
            ThinLine(_calm(spots[way][:, ::-1].astype(np.float64) + 0.5), name, width)
            for way in _unforked(mine, spots, _FORK * width)
            if _length(spots[way]) >= _SLENDER * width
        )
    return tuple(found)


def _length(way: NDArray[np.int64]) -> float:
    return float(np.hypot(*np.diff(way, axis=0).T).sum())


def _rolled(labels: Labels, radius: int) -> Bits:
    """Return which pixels are covered by an octagon of that radius that lies within one area (an opening)."""
    inside = np.ones(labels.shape, dtype=bool)
    for turn in range(radius):
        inside = _all_round(inside, turn % 2 == 1) & (_same_round(labels) if turn == 0 else True)
    for turn in range(radius):
        inside = ~_all_round(~inside, turn % 2 == 1)
    return inside


def _all_round(bits: Bits, corners: bool) -> Bits:
    """Return where a pixel and its four neighbours, or eight, are all set; beyond the picture all count as set."""
    out = bits.copy()
    out[1:] &= bits[:-1]
    out[:-1] &= bits[1:]
    base = out.copy() if corners else bits
    out[:, 1:] &= base[:, :-1]
    out[:, :-1] &= base[:, 1:]
    return out


def _same_round(labels: Labels) -> Bits:
    """Return where all four neighbours of a pixel have its label."""
    same = np.ones(labels.shape, dtype=bool)
    down, across = labels[1:] == labels[:-1], labels[:, 1:] == labels[:, :-1]
    same[1:] &= down
    same[:-1] &= down
    same[:, 1:] &= across
    same[:, :-1] &= across
    return same


def _ways(spots: NDArray[np.int64], owner: NDArray[np.int64]) -> dict[int, list[list[int]]]:
    """Return the branches of skeletons by the piece that owns them, each as a list of the indexes of its pixels."""
    near = _near(spots, owner)
    ends = [spot for spot, others in enumerate(near) if len(others) != 2]
    ways: dict[int, list[list[int]]] = {}
    owners = owner.tolist()
    walked: set[tuple[int, int]] = set()
    rings = np.unique(owner, return_index=True)[1].tolist()  # where a piece has no end, it is walked from its first
    for start in (*ends, *rings):
        for step in near[start]:
            way, here = [start], step
            while (way[-1], here) not in walked:
                walked |= {(way[-1], here), (here, way[-1])}
                way.append(here)
                if here == start or len(near[here]) != 2:
                    break
                one, two = near[here]
                here = two if one == way[-2] else one
            if len(way) > 1:
                ways.setdefault(owners[start], []).append(way)
    return ways


def _near(spots: NDArray[np.int64], owner: NDArray[np.int64]) -> list[list[int]]:
    """Return the neighbours of each pixel: those beside it, then those across a corner that no other joins."""
    if not len(spots):
        return []
    wide = int(spots[:, 1].max()) + 3
    keys = (spots[:, 0] + 1) * wide + spots[:, 1] + 1
    order = np.argsort(keys)
    found = {}
    for step in (-wide, -1, 1, wide, -wide - 1, -wide + 1, wide - 1, wide + 1):
        at = np.minimum(np.searchsorted(keys, keys + step, sorter=order), len(keys) - 1)
        other = order[at]
        found[step] = np.where((keys[other] == keys + step) & (owner[other] == owner), other, -1)
    for down in (-wide, wide):
        for right in (-1, 1):
            found[down + right][(found[down] >= 0) | (found[right] >= 0)] = -1
    table = np.stack(list(found.values()), axis=1).tolist()
    return [[each for each in others if each >= 0] for others in table]


def _unforked(ways: list[list[int]], spots: NDArray[np.int64], shortest: float) -> list[list[int]]:
    """Return branches without the forks that a skeleton has at a stroke's blunt ends, what they parted joined again."""
    ends = Counter(spot for way in ways for spot in (way[0], way[-1]))
    kept = [
        way
        for way in ways
        if min(ends[way[0]], ends[way[-1]]) > 1
        or max(ends[way[0]], ends[way[-1]]) < 3
        or _length(spots[way]) >= shortest
    ]
    at: dict[int, list[int]] = {}
    for number, way in enumerate(kept):
        at.setdefault(way[0], []).append(number)
        at.setdefault(way[-1], []).append(number)
    for spot, numbers in at.items():
        one, two = numbers if len(numbers) == 2 else (0, 0)
        if one == two:
            continue
        first = kept[one] if kept[one][-1] == spot else kept[one][::-1]
        last = kept[two] if kept[two][0] == spot else kept[two][::-1]
        kept[one], kept[two] = first + last[1:], []
        far = at[last[-1]]
        far[far.index(two)] = one
    return [way for way in kept if way]


def _calm(way: Points) -> Points:
    """Return a branch without the steps of its pixels; its ends stay in place."""
    out = way.copy()
    for _ in range(6):
        out[1:-1] = (out[1:-1] + (out[:-2] + out[2:]) / 2) / 2
    return out
