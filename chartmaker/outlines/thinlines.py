"""Strokes that are too thin to be an area, told by their centre lines and their widths."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.outlines.lattice import Labels, Points

Bits = NDArray[np.bool_]
#: A stroke is at least this many times as long as it is wide.
_SLENDER = 4.0


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

    thin = (labels >= 0) & ~_rolled(labels, max(int(widest // 2), 1))
    marked = np.where(thin, labels, np.int16(-1))
    pieces = np.asarray(label(marked, background=-1, connectivity=2))
    found: list[ThinLine] = []
    for number, window in enumerate(find_objects(pieces), start=1):
        if max(part.stop - part.start for part in window) < _SLENDER * 2:
            continue
        piece = pieces[window] == number
        area = int(piece.sum())
        corner = np.array([window[1].start, window[0].start], dtype=np.float64)
        ways = _ways(np.pad(piece, 1))
        length = sum(float(np.hypot(*np.diff(way, axis=0).T).sum()) for way in ways) + len(ways)
        width = area / max(length, 1.0)
        name = int(labels[window][piece][0])
        found += (
            ThinLine(_calm(way) + corner - 0.5, name, width)
            for way in ways
            if np.hypot(*np.diff(way, axis=0).T).sum() >= _SLENDER * width
        )
    return tuple(found)


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


def _ways(piece: Bits) -> list[Points]:
    """Return the branches of a piece's skeleton as the (x, y) of their pixels, in the piece's own padded frame."""
    from skimage.morphology import skeletonize

    bones = np.argwhere(skeletonize(piece))
    spots = {(int(row), int(column)) for row, column in bones}
    near = {spot: _next_to(spot, spots) for spot in spots}
    ways: list[list[tuple[int, int]]] = []
    walked: set[tuple[tuple[int, int], tuple[int, int]]] = set()
    ends = sorted(spot for spot in spots if len(near[spot]) != 2)
    for start in ends or sorted(spots)[:1]:
        for step in near[start]:
            way, here = [start], step
            while (way[-1], here) not in walked:
                walked |= {(way[-1], here), (here, way[-1])}
                way.append(here)
                if here == start or len(near[here]) != 2:
                    break
                here = next(spot for spot in near[here] if spot != way[-2])
            ways.append(way)
    return [np.array(way, dtype=np.float64)[:, ::-1] + 0.5 for way in ways if len(way) > 1]


def _next_to(spot: tuple[int, int], spots: set[tuple[int, int]]) -> list[tuple[int, int]]:
    """Return the neighbours of a skeleton's pixel: those beside it, and those across a corner that no other joins."""
    row, column = spot
    beside = [(row + down, column + right) for down, right in ((-1, 0), (0, -1), (0, 1), (1, 0))]
    found = [each for each in beside if each in spots]
    for down, right in ((-1, -1), (-1, 1), (1, -1), (1, 1)):
        across = (row + down, column + right)
        if across in spots and (row + down, column) not in spots and (row, column + right) not in spots:
            found.append(across)
    return found


def _calm(way: Points) -> Points:
    """Return a branch without the steps of its pixels; its ends stay in place."""
    out = way.copy()
    for _ in range(6):
        out[1:-1] = (out[1:-1] + (out[:-2] + out[2:]) / 2) / 2
    return out
