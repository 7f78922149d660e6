"""The thin strokes of flat artwork, dots included, as chains of cells along their middle."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.convert.flat.labelling import OUTSIDE
from chartmaker.convert.flat.thinning import ring_codes, thinned, ways_of_codes

#: Strokes up to this many knots wide are kept whole: wider ones survive by the majority in each cell.
WIDEST = 2.0
#: Strokes narrower than this are too faint to be woven at all.
NARROWEST = 0.25
#: Loose pieces shorter than this many knots are the whiskers of a skeleton, not strokes.
SHORTEST = 2.0


#: A dot covers so much of a cell, from .. to; smaller is dust, larger survives by the majority in each cell.
DOT_CELLS = (0.25, 2.5)
#: A dot fills at least this share of the rectangle round it: what is thinner is a piece of line.
DOT_FILL = 0.4


@dataclass(frozen=True, eq=False)
class Strokes:
    """The middles of n strokes, each as the cells that it passes, one stroke's after another's.

    `cells` has shape (steps, 2), (row, column), each next to or the same as the one before in its stroke; `low`,
    `high` the least and greatest place (down, right) of the middle in each, in knots from the grid's top left corner.
    `bounds`, shape (n + 1,), says where each stroke begins in them and where the last ends. `yarn`, shape (n,), is
    each stroke's; `joined`, shape (n, 2), whether its first and last end meet other strokes; `length` is in knots.
    """

    yarn: NDArray[np.intp]
    bounds: NDArray[np.intp]
    cells: NDArray[np.int64]
    low: NDArray[np.float64]
    high: NDArray[np.float64]
    joined: NDArray[np.bool_]
    length: NDArray[np.float64]

    def __len__(self) -> int:
        return len(self.yarn)

    @property
    def owner(self) -> NDArray[np.intp]:
        """The number of the stroke that each step belongs to."""
        return np.repeat(np.arange(len(self)), np.diff(self.bounds))

    def __add__(self, more: Strokes) -> Strokes:
        """Return these strokes followed by `more`."""
        return Strokes(
            np.concatenate([self.yarn, more.yarn]),
            np.concatenate([self.bounds, self.bounds[-1] + more.bounds[1:]]),
            np.concatenate([self.cells, more.cells]),
            np.concatenate([self.low, more.low]),
            np.concatenate([self.high, more.high]),
            np.concatenate([self.joined, more.joined]),
            np.concatenate([self.length, more.length]),
        )


def thin_strokes(fine: ByteArray, points: int) -> Strokes:
    """Return the thin strokes of all yarns in labels `fine` that have `points` x `points` places a cell."""
    labels = np.pad(fine, 1, constant_values=OUTSIDE)
    wide = _wide(labels, round(WIDEST * points))
    bone = thinned(labels, wide)
    place = np.flatnonzero((bone != OUTSIDE) & ~wide)
    edge = _edge(labels)
    width = 2 * _depth(edge, place, round(WIDEST * points / 2) + 2) / points  # at most a point too wide
    joint = ways_of_codes()[ring_codes(bone, place)] > 2
    thin = (width >= NARROWEST) & (width - 1 / points <= WIDEST) & ~joint
    lines = np.full(bone.shape, OUTSIDE, dtype=np.uint8)
    lines.ravel()[place[thin]] = bone.ravel()[place[thin]]
    # ends are joined where three ways meet, or at wide parts
    joints = np.where(wide, bone, OUTSIDE)
    joints.ravel()[place[joint]] = bone.ravel()[place[joint]]
    solid = np.where(edge, OUTSIDE, labels) if 2 / points < NARROWEST else labels
    return _strokes(lines, joints, solid, points)


def dots(fine: ByteArray, points: int) -> Strokes:
    """Return the dots of all yarns in labels `fine`, as strokes of one step, each to be kept as a knot."""
    from scipy.ndimage import find_objects
    from skimage.measure import label

    numbered = label(fine, connectivity=1, background=OUTSIDE)
    size = np.bincount(numbered.ravel()) / points**2
    likely = (size >= DOT_CELLS[0]) & (size <= DOT_CELLS[1])
    likely[0] = False
    places = find_objects(np.where(likely[numbered], numbered, 0)) if likely.any() else []
    yarns, middles = list[int](), list[tuple[float, float]]()
    for number in np.flatnonzero(likely).tolist():
        rows, columns = places[number - 1]
        high, wide = (rows.stop - rows.start) / points, (columns.stop - columns.start) / points
        if size[number] >= DOT_FILL * high * wide and max(high, wide) <= 3:
            middles.append(((rows.stop + rows.start) / (2 * points), (columns.stop + columns.start) / (2 * points)))
            own = np.argmax(numbered[rows, columns] == number)
            yarns.append(int(fine[rows, columns].ravel()[own]))
    middle = np.array(middles).reshape(-1, 2)
    return Strokes(
        np.array(yarns, dtype=np.intp),
        np.arange(len(yarns) + 1),
        np.floor(middle).astype(np.int64),
        middle,
        middle,
        np.zeros((len(yarns), 2), dtype=bool),
        np.ones(len(yarns)),
    )


def _wide(labels: ByteArray, side: int) -> NDArray[np.bool_]:
    """Return which points lie in some square of `side` points that has one label throughout."""
    if min(labels.shape) < side:
        return np.zeros(labels.shape, dtype=bool)
    across = _runs_of(labels[:, 1:] == labels[:, :-1], side - 1, 1, np.logical_and)
    along = _runs_of(labels[1:] == labels[:-1], side - 1, 0, np.logical_and)
    even = _runs_of(across, side, 0, np.logical_and) & along[:, : across.shape[1]]  # by the square's first corner
    for axis in (0, 1):
        even = _runs_of(
            np.pad(even, [(side - 1, side - 1) if axis == n else (0, 0) for n in (0, 1)]), side, axis, np.logical_or
        )
    return np.asarray(even & (labels != OUTSIDE))


def _runs_of(bits: NDArray[np.bool_], count: int, axis: int, joined: np.ufunc) -> NDArray[np.bool_]:
    """Return for each place `count` bits from there on, joined by `joined`; doubled up, so that it is quick."""
    done = 1
    while done < count:
        step = min(done, count - done)
        size = bits.shape[axis] - step
        bits = joined(*(bits.take(range(first, first + size), axis) for first in (0, step)))
        done += step
    return bits


def _edge(labels: ByteArray) -> NDArray[np.bool_]:
    """Return which points have one of another label beside them, along a row or a column."""
    edge = np.zeros(labels.shape, dtype=bool)
    down, right = labels[1:] != labels[:-1], labels[:, 1:] != labels[:, :-1]
    edge[1:] |= down
    edge[:-1] |= down
    edge[:, 1:] |= right
    edge[:, :-1] |= right
    return edge


def _depth(edge: NDArray[np.bool_], place: NDArray[np.intp], most: int) -> NDArray[np.float64]:
    """Return how far each `place` is from the nearest of another label, in points, to within half a point.

    It is exact up to `most` points off an edge, further off at least that: first the way to the edge down or up each
    column, then the shortest over the columns near by.
    """
    row = np.arange(len(edge), dtype=np.int32)[:, None]
    above = np.maximum.accumulate(np.where(edge, row, -most), axis=0)
    below = np.minimum.accumulate(np.where(edge, row, len(edge) + most)[::-1], axis=0)[::-1]
    along = np.minimum(np.minimum(row - above, below - row), most).ravel() ** 2
    square = along[place]
    for across in range(1, most + 1):
        for step in (-across, across):  # the margin, all edge, keeps a step beyond a row's end from ever being best
            np.minimum(square, along.take(place + step, mode="clip") + across**2, out=square)
    return np.asarray(np.sqrt(square) + 1)


def _strokes(lines: ByteArray, joints: ByteArray, solid: ByteArray, points: int) -> Strokes:
    """Return the strokes along `lines`; `joints` has the labels of points that ends may be joined to."""
    width = lines.shape[1]
    place, bounds = _chains(lines)
    yarn = lines.ravel()[place[bounds[:-1]]]
    ends = np.stack([place[bounds[:-1]], place[bounds[1:] - 1]], axis=1)
    beside = ends[..., None] + np.array(_around(width))
    meets = joints.ravel()[beside] == yarn[:, None, None]
    joined = meets.any(axis=2)
    stays = joined.all(axis=1) | (np.diff(bounds) >= SHORTEST * points)
    joint = np.take_along_axis(beside, meets.argmax(axis=2)[..., None], axis=2)[..., 0]
    before = np.stack([np.minimum(bounds[:-1] + points, bounds[1:]) - 1, np.maximum(bounds[1:] - points, bounds[:-1])])
    tips, real = _tips(ends[stays], place[before.T[stays]], yarn[stays], solid, points)
    bound = joined[stays]
    tips[bound, 0], real[bound, 0], real[bound, 1:] = joint[stays][bound], True, False
    kept = np.repeat(stays, np.diff(bounds))
    pieces = (tips[:, 0, ::-1][real[:, 0, ::-1]], place[kept], tips[:, 1][real[:, 1]])
    sizes = np.stack([real[:, 0].sum(axis=1), np.diff(bounds)[stays], real[:, 1].sum(axis=1)], axis=1)
    chain = np.stack(np.divmod(_interleaved(pieces, sizes), width), axis=1) - 1
    return _through_cells(chain, sizes.sum(axis=1), points, yarn[stays], bound)


def _around(width: int) -> tuple[int, ...]:
    """Return the steps to the eight neighbours in flat indices, straight ones first."""
    return (-width, -1, 1, width, -width - 1, -width + 1, width - 1, width + 1)


def _chains(lines: ByteArray) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return the flat indices of each chain from one end to the other, one chain after another, with their bounds.

    Closed chains begin at their first point.
    """
    place = np.flatnonzero(lines != OUTSIDE)
    loose = ways_of_codes()[ring_codes(lines, place)] <= 1
    left = bytearray(lines.tobytes())  # scalars of bytes are read far faster than an array's
    around = _around(lines.shape[1])
    chained, bounds = list[int](), [0]
    for start in [*place[loose].tolist(), *place.tolist()]:
        yarn = left[start]
        if yarn == OUTSIDE:
            continue
        left[start] = OUTSIDE
        chained.append(start)
        onward = start
        while onward >= 0:
            here, onward = onward, -1
            for step in around:
                if left[here + step] == yarn:
                    onward = here + step
                    left[onward] = OUTSIDE
                    chained.append(onward)
                    break
        bounds.append(len(chained))
    return np.array(chained, dtype=np.intp), np.array(bounds, dtype=np.intp)


def _tips(
    ends: NDArray[np.intp], before: NDArray[np.intp], yarn: ByteArray, solid: ByteArray, points: int
) -> tuple[NDArray[np.intp], NDArray[np.bool_]]:
    """Return the points straight on from the ends of chains: thinning wears tips off by up to a knot.

    Parameters
    ----------
    ends, before : ndarray, shape (chains, 2)
        Flat indices of both ends, then of the points about a knot before them.
    yarn : ndarray, shape (chains,)

    Returns
    -------
    (ndarray, ndarray of bool), shape (chains, 2, points) each
        Flat indices outwards from the end; which of them `solid` has in the chain's yarn, up to the first it has not.
    """
    end, back = (np.stack(np.divmod(place, solid.shape[1]), axis=-1) for place in (ends, before))
    length = np.abs(end - back).max(axis=-1, keepdims=True)
    steps = np.arange(1, points + 1)[:, None] / np.maximum(length, 1)[..., None]
    tip = np.round(end[..., None, :] + (end - back)[..., None, :] * steps).astype(np.intp)
    within = ((tip >= 0) & (tip < solid.shape)).all(axis=-1) & (length > 0)
    flat = np.where(within, tip[..., 0] * solid.shape[1] + tip[..., 1], 0)
    within &= solid.ravel()[flat] == yarn[:, None, None]
    return flat, np.logical_and.accumulate(within, axis=-1)


def _interleaved(pieces: tuple[NDArray[np.intp], ...], sizes: NDArray[np.intp]) -> NDArray[np.intp]:
    """Return one array that takes in turn `sizes[i, k]` values from each of the `pieces`, for each i."""
    starts = (np.cumsum(sizes) - sizes.ravel()).reshape(sizes.shape)
    whole = np.empty(int(sizes.sum()), dtype=np.intp)
    for number, piece in enumerate(pieces):
        own = sizes[:, number]
        whole[np.repeat(starts[:, number] - (np.cumsum(own) - own), own) + np.arange(len(piece))] = piece
    return whole


def _through_cells(
    chain: NDArray[np.intp], sizes: NDArray[np.intp], points: int, yarn: ByteArray, joined: NDArray[np.bool_]
) -> Strokes:
    """Return strokes along chains of points, shape (all, 2), of `sizes` points each."""
    if not len(sizes):
        none = np.empty((0, 2))
        return Strokes(
            yarn.astype(np.intp), np.zeros(1, np.intp), none.astype(np.int64), none, none, joined, none[:, 0]
        )
    first = np.cumsum(sizes) - sizes
    step = np.hypot(*np.diff(chain, axis=0, prepend=chain[:1]).T)
    step[first] = 0
    cells = chain // points
    enters = np.append(True, (cells[1:] != cells[:-1]).any(axis=1))
    enters[first] = True
    starts, places = np.flatnonzero(enters), (chain + 0.5) / points
    return Strokes(
        yarn.astype(np.intp),
        np.append(np.searchsorted(starts, first), len(starts)),
        cells[starts].astype(np.int64),
        np.minimum.reduceat(places, starts),
        np.maximum.reduceat(places, starts),
        joined,
        np.add.reduceat(step, first) / points,
    )
