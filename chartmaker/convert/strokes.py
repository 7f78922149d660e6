"""The thin strokes of flat artwork, dots included, as chains of cells along their middle."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.convert.labelling import OUTSIDE
from chartmaker.convert.thinning import ring_codes, thinned, ways_of_codes
from chartmaker.picture import ByteArray

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
class Stroke:
    """The middle of a stroke of yarn `yarn`, as the cells that it passes.

    `cells` has shape (steps, 2), (row, column), each next to or the same as the one before; `low`, `high` the
    least and greatest place (down, right) of the middle in each, in knots from the grid's top left corner. A joined
    end meets other strokes there. `length` is in knots.
    """

    yarn: int
    cells: NDArray[np.int64]
    low: NDArray[np.float64]
    high: NDArray[np.float64]
    joined_start: bool
    joined_end: bool
    length: float


def thin_strokes(fine: ByteArray, points: int) -> list[Stroke]:
    """Return the thin strokes of all yarns in labels `fine` that have `points` x `points` places a cell."""
    labels = np.pad(fine, 1, constant_values=OUTSIDE)
    wide = _wide(labels, round(WIDEST * points))
    bone = thinned(labels, wide)
    place = np.flatnonzero((bone != OUTSIDE) & ~wide)
    widths = 2 * _depth(labels) / points  # at most a point too wide
    width = widths.ravel()[place]
    joint = ways_of_codes()[ring_codes(bone, place)] > 2
    thin = (width >= NARROWEST) & (width - 1 / points <= WIDEST) & ~joint
    lines = np.full(bone.shape, OUTSIDE, dtype=np.uint8)
    lines.ravel()[place[thin]] = bone.ravel()[place[thin]]
    # ends are joined where three ways meet, or at wide parts
    joints = np.where(wide, bone, OUTSIDE)
    joints.ravel()[place[joint]] = bone.ravel()[place[joint]]
    solid = np.where(widths >= NARROWEST, labels, OUTSIDE)
    return list(_strokes(lines, joints, solid, points))


def dots(fine: ByteArray, points: int) -> list[Stroke]:
    """Return the dots of all yarns in labels `fine`, as strokes of one step, each to be kept as a knot."""
    from scipy.ndimage import find_objects
    from skimage.measure import label

    numbered = label(fine, connectivity=1, background=OUTSIDE)
    size = np.bincount(numbered.ravel()) / points**2
    likely = (size >= DOT_CELLS[0]) & (size <= DOT_CELLS[1])
    likely[0] = False
    places = find_objects(np.where(likely[numbered], numbered, 0)) if likely.any() else []
    found = []
    for number in np.flatnonzero(likely):
        rows, columns = places[number - 1]
        extent = np.array([rows.stop - rows.start, columns.stop - columns.start]) / points
        if size[number] >= DOT_FILL * extent.prod() and extent.max() <= 3:
            middle = np.array([[rows.stop + rows.start, columns.stop + columns.start]]) / (2 * points)
            yarn = int(fine[rows, columns][numbered[rows, columns] == number][0])
            found.append(Stroke(yarn, np.floor(middle).astype(np.int64), middle, middle, False, False, 1.0))
    return found


def _wide(labels: ByteArray, side: int) -> NDArray[np.bool_]:
    """Return which points lie in some square of `side` points that has one label throughout."""
    from scipy.ndimage import maximum_filter1d, minimum_filter1d

    low, high = labels, labels
    for axis in (0, 1):
        low, high = minimum_filter1d(low, side, axis=axis), maximum_filter1d(high, side, axis=axis)
    centre = (low == high).astype(np.uint8)
    back = -1 if side % 2 == 0 else 0  # an even square's centre lies half a point off: look back the other way
    for axis in (0, 1):
        centre = maximum_filter1d(centre, side, axis=axis, origin=back)
    return np.asarray((centre > 0) & (labels != OUTSIDE))


def _depth(labels: ByteArray) -> NDArray[np.float64]:
    """Return how far each point is from the nearest of another label, in points, to within half a point."""
    from scipy.ndimage import distance_transform_edt

    edge = np.zeros(labels.shape, dtype=bool)
    down, right = labels[1:] != labels[:-1], labels[:, 1:] != labels[:, :-1]
    edge[1:] |= down
    edge[:-1] |= down
    edge[:, 1:] |= right
    edge[:, :-1] |= right
    return np.asarray(distance_transform_edt(~edge) + 1)


def _strokes(lines: ByteArray, joints: ByteArray, solid: ByteArray, points: int) -> Iterator[Stroke]:
    """Yield the strokes along `lines`; `joints` has the labels of points that ends may be joined to."""
    width = lines.shape[1]
    around = _around(width)
    joint = joints.tobytes()
    yarns = lines.tobytes()
    for chain in _chains(lines):
        yarn = yarns[chain[0]]
        start, end = (
            next((place + step for step in around if joint[place + step] == yarn), None)
            for place in (chain[0], chain[-1])
        )
        if len(chain) < SHORTEST * points and (start is None or end is None):
            continue
        own = np.stack(np.divmod(np.array(chain), width), axis=1)
        head = _tip(own[::-1], yarn, solid, points)[::-1] if start is None else _point(start, width)
        tail = _tip(own, yarn, solid, points) if end is None else _point(end, width)
        pixels = np.concatenate([head, own, tail]) - 1
        cells, low, high = _cells_along(pixels, points)
        length = float(np.hypot(*np.diff(pixels, axis=0).T).sum()) / points
        yield Stroke(yarn, cells, low, high, start is not None, end is not None, length)


def _around(width: int) -> tuple[int, ...]:
    """Return the steps to the eight neighbours in flat indices, straight ones first."""
    return (-width, -1, 1, width, -width - 1, -width + 1, width - 1, width + 1)


def _point(place: int, width: int) -> NDArray[np.int64]:
    return np.array([divmod(place, width)])


def _chains(lines: ByteArray) -> Iterator[list[int]]:
    """Yield the flat indices of each chain from one end to the other; closed chains from their first point."""
    place = np.flatnonzero(lines != OUTSIDE)
    loose = ways_of_codes()[ring_codes(lines, place)] <= 1
    left = bytearray(lines.tobytes())  # scalars of bytes are read far faster than an array's
    around = _around(lines.shape[1])
    for start in [*place[loose].tolist(), *place.tolist()]:
        yarn = left[start]
        if yarn == OUTSIDE:
            continue
        left[start] = OUTSIDE
        chain, onward = [start], start
        while onward >= 0:
            here, onward = onward, -1
            for step in around:
                if left[here + step] == yarn:
                    onward = here + step
                    left[onward] = OUTSIDE
                    chain.append(onward)
                    break
        yield chain


def _tip(own: NDArray[np.int64], yarn: int, solid: ByteArray, points: int) -> NDArray[np.int64]:
    """Return the points straight on from the loose end of a chain: thinning wears tips off by up to a knot."""
    end, before = own[-1], own[max(-points, -len(own))]
    length = float(np.abs(end - before).max())
    if not length:
        return np.empty((0, 2), dtype=np.int64)
    steps = np.arange(1, points + 1)[:, None]
    tip = np.round(end + (end - before) * (steps / length)).astype(np.int64)
    within = ((tip >= 0) & (tip < solid.shape)).all(axis=1)
    within[within] = solid[tip[within, 0], tip[within, 1]] == yarn
    return np.asarray(tip[: int(np.argmin(np.append(within, False)))])


def _cells_along(
    pixels: NDArray[np.int64], points: int
) -> tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.float64]]:
    """Return the cells that a chain of points passes, with the least and greatest place of the chain in each."""
    cells = pixels // points
    starts = np.flatnonzero(np.append(True, (cells[1:] != cells[:-1]).any(axis=1)))
    places = (pixels + 0.5) / points
    return cells[starts], np.minimum.reduceat(places, starts), np.maximum.reduceat(places, starts)
