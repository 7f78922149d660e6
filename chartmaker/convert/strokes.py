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
    strokes: list[Stroke] = []
    for yarn in range(yarns):
        mask = fine == yarn
        if mask.any():
            strokes.extend(_strokes_of(mask, points, yarn))
    return strokes


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


def _strokes_of(mask: NDArray[np.bool_], points: int, yarn: int) -> Iterator[Stroke]:
    from scipy.ndimage import distance_transform_edt
    from skimage.morphology import skeletonize

    padded = np.pad(mask, 1)
    depth = distance_transform_edt(padded)
    narrow = _narrow(padded, depth, points)
    if not narrow.any():
        return
    bone = skeletonize(narrow, method="lee") > 0  # the default method wipes out some slanting strokes
    width = 2 * depth / points  # at most a point too wide
    thin = bone & (width >= NARROWEST) & (width - 1 / points <= WIDEST)
    joint = bone & (_branches(bone) > 2)
    for chain in _chains(thin & ~joint):
        start, end = _joint_beside(chain[0], joint), _joint_beside(chain[-1], joint)
        if len(chain) < SHORTEST * points and (start is None or end is None):
            continue
        path = [*([start] if start else []), *chain, *([end] if end else [])]
        cells, middle = _cells_along(np.array(path) - 1, points)
        yield Stroke(yarn, cells, middle, start is not None, end is not None)


def _narrow(mask: NDArray[np.bool_], depth: NDArray[np.float64], points: int) -> NDArray[np.bool_]:
    """Return the parts of the mask that no disc of WIDEST knots fits in, with a knot of what they run into.

    Skeletons take long where the mask is wide, and say nothing of strokes there.
    """
    from scipy.ndimage import distance_transform_edt

    radius = (WIDEST / 2 + 0.1) * points
    deep = depth > radius
    if not deep.any():
        return mask
    narrow = mask & (distance_transform_edt(~deep) > radius)
    if not narrow.any():
        return narrow
    return np.asarray(mask & (distance_transform_edt(~narrow) <= points))


def _branches(mask: NDArray[np.bool_]) -> NDArray[np.uint8]:
    """Return how many ways lead from each pixel: runs of set pixels in the ring round it.

    Corners of a staircase have three neighbours but two ways; joints have three ways or more, ends one. The edge of
    the (padded) mask is left out.
    """
    ring = ((0, 1), (0, 2), (1, 2), (2, 2), (2, 1), (2, 0), (1, 0), (0, 0))
    height, width = mask.shape
    around = [mask[down : down + height - 2, right : right + width - 2] for down, right in ring]
    ways = np.zeros(mask.shape, dtype=np.uint8)
    for before, after in zip(around, [*around[1:], around[0]], strict=True):
        ways[1:-1, 1:-1] += ~before & after
    return ways


_AROUND = ((-1, 0), (0, -1), (0, 1), (1, 0), (-1, -1), (-1, 1), (1, -1), (1, 1))


def _chains(mask: NDArray[np.bool_]) -> Iterator[list[tuple[int, int]]]:
    """Yield the pixels of each chain from one end to the other; closed chains from their first pixel."""
    left = dict.fromkeys(zip(*(axis.tolist() for axis in np.nonzero(mask)), strict=True))
    ways = _branches(mask)
    ends = [pixel for pixel in left if ways[pixel] <= 1]
    for start in [*ends, *list(left)]:
        if start not in left:
            continue
        del left[start]
        chain = [start]
        while True:
            row, column = chain[-1]
            onward = next((p for d, r in _AROUND if (p := (row + d, column + r)) in left), None)
            if onward is None:
                break
            del left[onward]
            chain.append(onward)
        yield chain


def _joint_beside(pixel: tuple[int, int], joint: NDArray[np.bool_]) -> tuple[int, int] | None:
    for down, right in _AROUND:
        place = (pixel[0] + down, pixel[1] + right)
        if joint[place]:
            return place
    return None


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
