"""The thin strokes of flat artwork, dots included, as chains of cells along their middle."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

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

    `cells` has shape (steps, 2), (row, column), each next to or the same as the one before; `middle` the mean place
    of the middle in each, in knots from the grid's top left corner. A joined end meets other strokes there.
    """

    yarn: int
    cells: NDArray[np.int64]
    middle: NDArray[np.float64]
    joined_start: bool
    joined_end: bool


def thin_strokes(fine: ByteArray, points: int, yarns: int) -> list[Stroke]:
    """Return the thin strokes of all yarns in labels `fine` that have `points` x `points` places a cell."""
    depth = _depths(fine)
    # Deep inside an area there are no strokes. Cut out, it leaves rims, whose middle is again too deep for a stroke.
    shallow = depth <= WIDEST * points + 3
    strokes: list[Stroke] = []
    for yarn in range(yarns):
        mask = (fine == yarn) & shallow
        if mask.any():
            strokes.extend(_strokes_of(mask, depth, points, yarn))
    return strokes


def _depths(fine: ByteArray) -> NDArray[np.float32]:
    """Return how far each place is from the nearest place with another label, in places, to within a third.

    What lies beyond the array counts as another label.
    """
    from scipy.ndimage import distance_transform_edt

    inner = np.ones(fine.shape, dtype=bool)
    inner[[0, -1]] = False
    inner[:, [0, -1]] = False
    down, right = fine[1:] != fine[:-1], fine[:, 1:] != fine[:, :-1]
    inner[1:][down] = False
    inner[:-1][down] = False
    inner[:, 1:][right] = False
    inner[:, :-1][right] = False
    return np.asarray(distance_transform_edt(inner) + 1, dtype=np.float32)


def dots(fine: ByteArray, points: int, yarns: int) -> list[Stroke]:
    """Return the dots of all yarns in labels `fine`, as strokes of one step, each to be kept as a knot."""
    from scipy.ndimage import find_objects, label

    found: list[Stroke] = []
    for yarn in range(yarns):
        numbered, count = label(fine == yarn)
        size = np.bincount(numbered.ravel(), minlength=count + 1) / points**2
        likely = (size >= DOT_CELLS[0]) & (size <= DOT_CELLS[1])
        likely[0] = False
        places = find_objects(numbered) if likely.any() else []
        for number in np.flatnonzero(likely):
            rows, columns = places[number - 1]
            extent = np.array([rows.stop - rows.start, columns.stop - columns.start]) / points
            if size[number] >= DOT_FILL * extent.prod() and extent.max() <= 3:
                middle = np.array([[rows.stop + rows.start, columns.stop + columns.start]]) / (2 * points)
                found.append(Stroke(yarn, np.floor(middle).astype(np.int64), middle, False, False))
    return found


def _strokes_of(mask: NDArray[np.bool_], depth: NDArray[np.float32], points: int, yarn: int) -> Iterator[Stroke]:
    from skimage.morphology import skeletonize

    bone = skeletonize(np.pad(mask, 1))
    width = np.zeros(bone.shape, dtype=np.float32)
    width[1:-1, 1:-1] = 2 * depth / points  # at most a point too wide
    thin = bone & (width >= NARROWEST) & (width - 1 / points <= WIDEST)
    joint = bone & (_neighbours(bone) > 2)
    flat, across = joint.ravel(), bone.shape[1]
    around = np.array([down * across + right for down, right in _AROUND])
    for chain in _chains(thin & ~joint):
        start, end = _joint_beside(chain[0], flat, around), _joint_beside(chain[-1], flat, around)
        if len(chain) < SHORTEST * points and (start is None or end is None):
            continue
        path = [*([] if start is None else [start]), *chain, *([] if end is None else [end])]
        pixels = np.stack(np.divmod(np.array(path), across), axis=1) - 1
        cells, middle = _cells_along(pixels, points)
        yield Stroke(yarn, cells, middle, start is not None, end is not None)


def _neighbours(mask: NDArray[np.bool_]) -> NDArray[np.uint8]:
    """Return how many of its eight neighbours are set, for pixels off the edge of the (padded) mask."""
    total = np.zeros(mask.shape, dtype=np.uint8)
    inner = total[1:-1, 1:-1]
    for down in range(3):
        for right in range(3):
            if (down, right) != (1, 1):
                inner += mask[down : down + inner.shape[0], right : right + inner.shape[1]]
    return total


_AROUND = ((-1, 0), (0, -1), (0, 1), (1, 0), (-1, -1), (-1, 1), (1, -1), (1, 1))


def _chains(mask: NDArray[np.bool_]) -> Iterator[list[int]]:
    """Yield the flat indices of each chain from one end to the other; closed chains from their first pixel."""
    pixels = np.flatnonzero(mask)
    left = dict.fromkeys(pixels.tolist())
    around = [down * mask.shape[1] + right for down, right in _AROUND]
    ends = pixels[_neighbours(mask).ravel()[pixels] <= 1].tolist()
    for start in [*ends, *left]:
        if start not in left:
            continue
        del left[start]
        chain = [start]
        here = start
        while True:
            for step in around:
                if here + step in left:
                    here += step
                    break
            else:
                break
            del left[here]
            chain.append(here)
        yield chain


def _joint_beside(pixel: int, joint: NDArray[np.bool_], around: NDArray[np.int64]) -> int | None:
    beside = joint[pixel + around]
    return int(pixel + around[beside.argmax()]) if beside.any() else None


def _cells_along(pixels: NDArray[np.int64], points: int) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Return the cells that a chain of pixels passes, with the mean place of the chain in each."""
    cells = pixels // points
    new = np.ones(len(cells), dtype=bool)
    new[1:] = (cells[1:] != cells[:-1]).any(axis=1)
    visit = np.cumsum(new) - 1
    counts = np.bincount(visit)
    places = (pixels + 0.5) / points
    middle = np.stack([np.bincount(visit, places[:, axis]) / counts for axis in (0, 1)], axis=1)
    return cells[new], middle
