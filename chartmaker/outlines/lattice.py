"""The cracks between pixels of different labels, as a graph of which areas meet and of the walk around each area.

A crack is the unit edge between two pixels whose labels differ. All later steps move the corners of this one graph.
Both neighbours of a crack are drawn from the same corners, so whatever is done to an edge, they share it exactly.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

#: The label of places that belong to no area.
OUTSIDE = -1

Labels = NDArray[np.int16]
Index = NDArray[np.int64]
Points = NDArray[np.float64]

#: Directions in the order of left turns: right, up, left, down, as seen on the picture.
RIGHT, UP, LEFT, DOWN = range(4)
#: For each direction, where four pixels lie round the corner that is reached: the one behind on the left, behind on the
#: right, ahead on the left and ahead on the right. Top left is 0, top right 1, bottom left 2 and bottom right 3.
_ROUND = ((0, 2, 1, 3), (2, 3, 0, 1), (3, 1, 2, 0), (1, 0, 3, 2))
#: Two areas that touch only in a corner are drawn this far apart, in pixels.
_APART = 0.25


@dataclass(frozen=True, eq=False)
class Lattice:
    """The corners of all cracks, and both sides of each crack.

    Attributes
    ----------
    extent : (width, height)
        Of the picture, in pixels.
    corners : ndarray, shape (corners, 2)
        x, y in pixels from the top left corner of the picture.
    beside : ndarray, shape (corners, 4)
        The corners one crack away, -1 where there are fewer.
    starts : ndarray, shape (sides,)
        The corner at which the side of a crack begins; its area lies on the left.
    following : ndarray, shape (sides,)
        The side that comes next on the walk round the same area.
    areas : ndarray, shape (sides,)
        The area of each side, as an index.
    labels : ndarray, shape (areas,)
        The label of each area.
    """

    extent: tuple[int, int]
    corners: Points
    beside: Index
    starts: Index
    following: Index
    areas: Index
    labels: NDArray[np.int16]


@dataclass(frozen=True, eq=False)
class Areas:
    """The area of each pixel, or -1 outside, with the label of each area and its number of pixels."""

    of: NDArray[np.int32]
    labels: NDArray[np.int16]
    pixels: Index


@dataclass(frozen=True, eq=False)
class _Corners:
    """The points where cracks meet.

    `round` holds the labels of the four pixels at each point; `main` and `anti` say which diagonal pair is joined.
    """

    at: Index
    round: NDArray[np.int16]
    main: NDArray[np.bool_]
    anti: NDArray[np.bool_]


def _corners_of(labels: Labels) -> _Corners:
    """Return the points at which cracks meet, and which pixels join where two of one label touch only in a corner.

    Where both pairs could be joined, the rarer label is, so that a slanting line of single pixels stays one line.
    """
    around = np.pad(labels, 1, constant_values=OUTSIDE)
    four = around[:-1, :-1], around[:-1, 1:], around[1:, :-1], around[1:, 1:]
    cracked = (four[0] != four[1]) | (four[2] != four[3]) | (four[0] != four[2])
    at = np.flatnonzero(cracked)
    rows, columns = np.divmod(at, labels.shape[1] + 1)
    a, b, c, d = (part[rows, columns] for part in four)
    crossed = (a != b) & (b != d) & (d != c) & (c != a)
    main, anti = crossed & (a == d), crossed & (b == c)
    both = np.flatnonzero(main & anti)
    if len(both):
        counts = np.append(np.bincount(labels[labels >= 0], minlength=int(labels.max()) + 1), labels.size + 1)
        rank = np.empty(len(counts), dtype=np.int64)
        rank[np.lexsort((np.arange(len(counts)), counts))] = np.arange(len(counts))
        first = rank[a[both]] < rank[b[both]]
        anti[both[first]], main[both[~first]] = False, False
    return _Corners(at, np.stack([a, b, c, d]), main, anti)


def areas_of(labels: Labels) -> Areas:
    """Return the connected areas of each label; parts that touch in a corner are one unless others join there."""
    return _areas(labels, _corners_of(labels))


def _areas(labels: Labels, corners: _Corners) -> Areas:
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components
    from skimage.measure import label

    pieces = np.asarray(label(labels, background=OUTSIDE, connectivity=1), dtype=np.int32) - 1
    number = int(pieces.max(initial=-1)) + 1
    rows, columns = np.divmod(corners.at, labels.shape[1] + 1)
    main = np.flatnonzero(corners.main & (corners.round[0] != OUTSIDE))
    anti = np.flatnonzero(corners.anti & (corners.round[1] != OUTSIDE))
    one = np.concatenate([pieces[rows[main] - 1, columns[main] - 1], pieces[rows[anti] - 1, columns[anti]]])
    two = np.concatenate([pieces[rows[main], columns[main]], pieces[rows[anti], columns[anti] - 1]])
    if len(one) and number:
        joined = coo_matrix((np.ones(len(one), dtype=np.int8), (one, two)), shape=(number, number))
        number, whole = connected_components(joined, directed=False)
        pieces = np.append(whole.astype(np.int32), np.int32(OUTSIDE))[pieces]
    pixels = np.bincount((pieces + 1).ravel(), minlength=number + 1)[1:].astype(np.int64)
    names = np.full(number + 1, OUTSIDE, dtype=np.int16)
    names[pieces.ravel()] = labels.ravel()  # what is outside is the last
    return Areas(pieces, names[:-1], pixels)


def lattice_of(labels: Labels, areas: Areas | None = None) -> Lattice:
    """Return the graph of the cracks of `labels`, shape (height, width), which are OUTSIDE where there is nothing.

    Their `areas` are found here unless they are known.
    """
    found = _corners_of(labels)
    areas = _areas(labels, found) if areas is None else areas
    width, number = labels.shape[1] + 1, len(found.at)
    a, b, c, d = found.round
    has = np.stack([b != d, a != b, a != c, c != d])
    # Where areas touch in a corner, it is split in two: one for the pixel above or left of it, one for the other.
    split = np.flatnonzero(found.main | found.anti)
    second = np.full(number, -1, dtype=np.int64)
    second[split] = number + np.arange(len(split))
    copies = np.tile(np.arange(number), (4, 1))
    copies[DOWN, split] = second[split]
    on_main = found.main[split]
    copies[LEFT, split[on_main]], copies[RIGHT, split[~on_main]] = second[split[on_main]], second[split[~on_main]]
    index = np.full(width * (labels.shape[0] + 1), -1, dtype=np.int32)
    index[found.at] = np.arange(number)
    sides = np.full((4, number), -1, dtype=np.int64)
    sides[has] = np.arange(int(has.sum()))
    steps = {RIGHT: 1, UP: -width, LEFT: -1, DOWN: width}
    starts, following, owner = (np.empty(int(has.sum()), dtype=np.int64) for _ in range(3))
    beside = np.full((number + len(split), 4), -1, dtype=np.int64)
    filled = np.zeros(len(beside), dtype=np.int64)
    padded = np.pad(areas.of, 1, constant_values=OUTSIDE)
    for way, step in steps.items():
        here = np.flatnonzero(has[way])
        there = index[found.at[here] + step].astype(np.int64)
        side, start, end = sides[way, here], copies[way, here], copies[(way + 2) % 4, there]
        starts[side] = start
        following[side] = sides[_turned(found, way, there), there]
        rows, columns = np.divmod(found.at[there], width)
        behind = _ROUND[way][0]
        owner[side] = padded[rows + behind // 2, columns + behind % 2]
        beside[start, filled[start]] = end
        filled[start] += 1
    return Lattice(
        labels.shape[::-1], _placed(found, split, on_main, width), beside, starts, following, owner, areas.labels
    )


def _turned(found: _Corners, way: int, there: Index) -> Index:
    """Return the direction in which the walk round the area on the left goes on from `there`, reached going `way`."""
    behind, _, ahead, across = (found.round[place][there] for place in _ROUND[way])
    joined = (found.main if _ROUND[way][0] in (0, 3) else found.anti)[there]
    turn = np.where(joined, 3, np.where(ahead != behind, 1, np.where(across != behind, 0, 3)))
    return np.asarray((way + turn) % 4, dtype=np.int64)


def _placed(found: _Corners, split: Index, on_main: NDArray[Any], width: int) -> Points:
    """Return where all corners lie; the halves of a split corner lie a little apart."""
    rows, columns = np.divmod(np.append(found.at, found.at[split]), width)
    corners: Points = np.stack([columns, rows], axis=1).astype(np.float64)
    aside = np.where(on_main, _APART, -_APART)
    corners[split, 0] += aside  # towards the pixel top right, or top left
    corners[split, 1] -= _APART
    seconds = np.arange(len(found.at), len(corners))
    corners[seconds, 0] -= aside
    corners[seconds, 1] += _APART
    return corners
