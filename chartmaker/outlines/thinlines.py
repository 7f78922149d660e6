"""Strokes that are too thin to be an area, told by their centre lines and their widths."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.outlines.lattice import Areas, Index, Labels, Points

Bits = NDArray[np.bool_]
Window = tuple[slice, slice]
#: A stroke is at least this many times as long as it is wide.
_SLENDER = 4.0
#: Joints of strokes are no larger than this many times the widest stroke.
_JOINT = 2.5
#: The middle of a stroke is this many times as far from the rest of its area as from its edge.
_BETWEEN = 1.5
#: A piece of a broad area tapers, if this many times as wide at one end as at the other.
_TAPER = 2.0
#: Strokes that belong to a broad area make up at least this share of it.
_LEAST_SHARE = 0.1
#: A branch with a free end that is shorter than this many widths is a fork of the stroke's end.
_FORK = 1.6


@dataclass(frozen=True, eq=False)
class ThinLine:
    """The centre line of a stroke, shape (points, 2), in pixels from the top left, with its label and mean width."""

    points: Points
    label: int
    width: float


def thin_lines(labels: Labels, widest: float, areas: Areas) -> tuple[ThinLine, ...]:
    """Return the strokes up to `widest` pixels wide, including those of areas that are broad elsewhere.

    A stroke is the part of an area that a disc of that width, rolled about within it, never covers, together with the
    joints of strokes where the disc just fits. Its centre line is its skeleton (Zhang and Suen, 1984). The disc reaches
    into corners, wedges and narrow gaps no better, but these are no strokes: their middle does not lie between two
    edges of the area, or they taper, or they are next to nothing of their area.
    """
    from scipy.ndimage import find_objects
    from skimage.measure import label
    from skimage.morphology import skeletonize

    broad = _without_joints(labels, _rolled(labels, max(int(widest // 2), 1)), _JOINT * widest)
    thin = (labels >= 0) & ~broad
    pieces = np.asarray(label(np.where(thin, labels, np.int16(-1)), background=-1, connectivity=2))
    share = np.bincount(areas.of[thin], minlength=len(areas.pixels)) / areas.pixels
    strokes: list[_Stroke] = []
    for number, window in enumerate(find_objects(pieces), start=1):
        if max(part.stop - part.start for part in window) < _SLENDER * 2:
            continue
        corner = np.array([window[0].start, window[1].start])
        spots = np.argwhere(skeletonize(np.pad(pieces[window] == number, 1))) + corner - 1
        if len(spots):
            least = bool(share[areas.of[tuple(spots[0])]] < _LEAST_SHARE)
            strokes += filter(None, [_stroke(labels, pieces, number, window, spots, least)])
    if not strokes:
        return ()
    spots = np.concatenate([stroke.spots for stroke in strokes])
    inner = np.concatenate([stroke.inner for stroke in strokes])
    middles = np.concatenate([stroke.middles for stroke in strokes])
    owner = np.repeat(np.arange(len(strokes)), [len(stroke.spots) for stroke in strokes])
    found: list[ThinLine] = []
    ways = _ways(spots, owner)
    for number, stroke in enumerate(strokes):
        mine = [_Branch(way, _length(spots[way])) for way in ways.get(number, [])]
        name = int(labels[tuple(stroke.spots[0])])
        found += (
            ThinLine(_calm(middles[branch.spots][:, ::-1] + 0.5), name, stroke.width)
            for branch in _unforked(mine, _FORK * stroke.width)
            if branch.length >= 2 and inner[branch.spots].mean() >= 0.5
        )
    return tuple(found)


@dataclass(frozen=True, eq=False)
class _Stroke:
    """The `spots` of a stroke's skeleton, which of them lie between edges of its area, and its width in pixels.

    The skeleton of a stroke of an even width lies half a pixel to one side, and so the `middles` lie beside its spots.
    """

    spots: Index
    inner: Bits
    middles: Points
    width: float


def _without_joints(labels: Labels, rolled: Bits, largest: float) -> Bits:
    """Return where areas are broad, which is all that the disc covers except spots of up to a `largest` size."""
    from scipy.ndimage import find_objects
    from skimage.measure import label

    broad = rolled & (labels >= 0)
    spots = np.asarray(label(np.where(broad, labels, np.int16(-1)), background=-1, connectivity=2))
    small = [
        max(part.stop - part.start for part in window) <= largest
        for window in find_objects(spots)
        if window is not None
    ]
    return np.asarray(broad & ~np.array([False, *small])[spots])


def _stroke(labels: Labels, pieces: Index, number: int, window: Window, spots: Index, least: bool) -> _Stroke | None:
    """Return the stroke that a piece of an area is, with its skeleton's spots, or None if it is no stroke.

    Between edges of the area, its rest, from which the disc has cut the piece, is farther than the nearest edge is.
    If the piece is the `least` part of its area, it is a stroke only where it has no such rest.
    """
    from scipy.ndimage import binary_dilation
    from scipy.spatial import KDTree

    around = tuple(
        slice(max(part.start - 1, 0), min(part.stop + 1, size)) for part, size in zip(window, labels.shape, strict=True)
    )
    piece = pieces[around] == number
    rim = binary_dilation(piece) & ~piece
    own = labels[around] == labels[tuple(spots[0])]
    corner = np.array([part.start for part in around])
    edge, rest = (np.argwhere(rim & part) + corner for part in (~own, own))
    if not len(edge) or (least and len(rest)):
        return None
    by_place = KDTree(edge)
    near, place = by_place.query(spots)
    far = edge[by_place.query(2 * spots - edge[place])[1]] - spots  # the rim on the other side
    across = np.hypot(*far.T)
    to_edge = near - 0.5
    inner = np.ones(len(spots), dtype=bool)
    if len(rest):
        inner = KDTree(rest).query(spots)[0] > _BETWEEN * to_edge + 0.5
    if not inner.any():
        return None
    widths = near + across - 1
    thin, middling, thick = np.quantile(widths[inner], (0.2, 0.5, 0.8))
    if inner.sum() < _SLENDER * thick or (len(rest) and thick > _TAPER * thin):
        return None
    aside = np.where(inner & (across - near < 1.5), (across - near) / 2 / np.maximum(across, 1), 0.0)
    return _Stroke(spots, inner, spots + far * aside[:, None], float(middling))


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
