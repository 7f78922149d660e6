"""Strokes that are too thin to be an area, told by their centre lines and their widths."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.outlines.lattice import Index, Labels, Points

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
        mine = [_Branch(way, _length(spots[way])) for way in ways.get(number, [])]
        width = area / max(sum(branch.length + 1 for branch in mine), 1.0)
        found += (
            ThinLine(_calm(spots[branch.spots][:, ::-1].astype(np.float64) + 0.5), name, width)
            for branch in _unforked(mine, _FORK * width)
            if branch.length >= _SLENDER * width
        )
    return tuple(found)


@dataclass(frozen=True, eq=False)
class _Branch:
    """A branch of a skeleton: the indexes of its pixels in their order, and its length in pixels."""

    spots: Index
    length: float

    @property
    def first(self) -> int:
        return int(self.spots[0])

    @property
    def last(self) -> int:
        return int(self.spots[-1])


def _length(way: Index) -> float:
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


def _ways(spots: Index, owner: Index) -> dict[int, list[Index]]:
    """Return the branches of skeletons by the piece that owns them, each as the indexes of its pixels."""
    if not len(spots):
        return {}
    near = _near(spots, owner)
    degree = (near >= 0).sum(axis=1)
    one, two = np.sort(near, axis=1)[:, -2:].T.tolist()
    inner, owners = (degree == 2).tolist(), owner.tolist()
    done = bytearray(len(spots))  # pixels within a branch, which belong to no other
    joined: set[tuple[int, int]] = set()  # ends side by side, with nothing between them
    ways: dict[int, list[Index]] = {}
    rings = np.unique(owner, return_index=True)[1].tolist()  # where a piece has no end, it is walked from its first
    for start in (*np.flatnonzero(degree != 2).tolist(), *rings):
        if done[start]:
            continue
        for here in near[start][near[start] >= 0].tolist():
            if done[here] or (start, here) in joined:
                continue
            way, before = [start, here], start
            while inner[here] and here != start:
                done[here] = 1
                before, here = here, two[here] if one[here] == before else one[here]
                way.append(here)
            if len(way) == 2:
                joined |= {(start, here), (here, start)}
            ways.setdefault(owners[start], []).append(np.array(way))
            if inner[start]:
                done[start] = 1
    return ways


def _near(spots: Index, owner: Index) -> Index:
    """Return the neighbours of each pixel, shape (pixels, 8), -1 where there is none.

    Those beside it come first, then those across a corner that no other joins.
    """
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
    return np.stack(list(found.values()), axis=1)


def _unforked(branches: list[_Branch], shortest: float) -> list[_Branch]:
    """Return branches without the forks that a skeleton has at a stroke's blunt ends, what they parted joined again."""
    ends = Counter(spot for branch in branches for spot in (branch.first, branch.last))
    kept: list[_Branch | None] = [
        branch
        for branch in branches
        if min(ends[branch.first], ends[branch.last]) > 1
        or max(ends[branch.first], ends[branch.last]) < 3
        or branch.length >= shortest
    ]
    at: dict[int, list[int]] = {}
    for number, branch in enumerate(kept):
        assert branch is not None
        at.setdefault(branch.first, []).append(number)
        at.setdefault(branch.last, []).append(number)
    for spot, numbers in at.items():
        one, two = numbers if len(numbers) == 2 else (0, 0)
        first, last = kept[one], kept[two]
        if one == two or first is None or last is None:
            continue
        into = first.spots if first.last == spot else first.spots[::-1]
        out = last.spots if last.first == spot else last.spots[::-1]
        kept[one], kept[two] = _Branch(np.concatenate([into, out[1:]]), first.length + last.length), None
        far = at[int(out[-1])]
        far[far.index(two)] = one
    return [branch for branch in kept if branch is not None]


def _calm(way: Points) -> Points:
    """Return a branch without the steps of its pixels; its ends stay in place."""
    out = way.copy()
    for _ in range(6):
        out[1:-1] = (out[1:-1] + (out[:-2] + out[2:]) / 2) / 2
    return out
