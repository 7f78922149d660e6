"""A field whose pieces lie on a pattern: the pieces cut out, and one clean repeat of the pattern to lay under them.

Where the pattern repeats, what disagrees with its repeat is a piece. Where it does not, pieces are the large things
that one outline encloses, and the largest stretch beside them goes on as its own mirror image both ways, as masters let
a ground go on that was drawn once (common practice).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.artwork.lattices import Lattice, lattice_in
from chartmaker.convert.repeats.frames import Box
from chartmaker.relay.outlined import Mask, body_in, dilated, eroded, half_width, large_of, opened, pieces_in, with_buds
from chartmaker.relay.pieces import FieldPiece, Pieces, piece_at

#: Lines thinner than so many knots hold nothing together.
THIN_KNOTS = 1.5
#: So far, in knots, what disagrees with the repeat is joined: a piece may have the pattern's colours here and there.
JOINED_KNOTS = 2.0
#: The pattern is seen over at least this share of the field.
LEAST_SEEN = 0.3
#: Repeats shorter than so many knots are texture.
LEAST_REPEAT_KNOTS = 3.0
#: So much of a repeat may be seen nowhere.
MOST_UNSEEN = 0.05
#: Where repeats are looked for beside pieces, as shares of the field: from, to, down; from, to, across.
WINDOWS = (
    (0.0, 1.0, 0.0, 0.3),
    (0.0, 0.3, 0.0, 1.0),
    (0.25, 0.75, 0.0, 0.3),
    (0.0, 0.3, 0.25, 0.75),
    (0.0, 0.45, 0.0, 0.45),
)
#: A stretch that goes on as its mirror image takes at least this share of the field, and so many knots both ways.
LEAST_STRETCH, LEAST_STRETCH_KNOTS = 0.04, 8
#: Its edges are looked for in so much of it, at each end.
MOST_TRIMMED = 0.25
#: Crumbs of motifs that a cut has left take at most so many knots.
CRUMB_KNOTS = 12
#: So much of a field agrees with its mirror image, if its halves are mirror images.
LEAST_MIRRORED = 0.97


@dataclass(frozen=True, eq=False)
class Tile:
    """One repeat of the pattern under the pieces of a field, which begins in the field's middle.

    Attributes
    ----------
    places : ndarray of int, shape (height, width)
        Which pixel of the field each pixel of the repeat is drawn with, counted along its rows.
    height, width, shift : float
        Its length down and across in pixels; how far each row of repeats is moved against the one above.
    mirrored : bool
        Whether it is a stretch of the field put together with its mirror images.
    """

    places: NDArray[np.intp]
    height: float
    width: float
    shift: float
    mirrored: bool


def lattice_beside(inks: ByteArray, least_px: tuple[float, float]) -> Lattice | None:
    """Return what repeats in a field beside its pieces."""
    for top, bottom, left, right in WINDOWS:
        rows = slice(int(top * inks.shape[0]), int(bottom * inks.shape[0]))
        columns = slice(int(left * inks.shape[1]), int(right * inks.shape[1]))
        found = lattice_in(np.ascontiguousarray(inks[rows, columns]), least_px)
        if found is not None:
            return found
    return None


def on_lattice(inks: ByteArray, lattice: Lattice, knot_px: tuple[float, float]) -> tuple[Pieces, Tile] | None:
    """Return the pieces on a pattern that repeats, with the repeat as it lies where no piece covers it.

    None if there are none, or if they are so large or so many that the pattern is not known.
    """
    from scipy import ndimage

    tile_of, rows, columns = _commonest(inks, lattice)
    reach = half_width(JOINED_KNOTS, knot_px)
    unlike = opened(tile_of[rows, columns] != inks, half_width(THIN_KNOTS, knot_px))
    unlike = ndimage.binary_closing(np.pad(unlike, 2 * max(reach)), np.ones((2 * reach[0] + 1, 2 * reach[1] + 1)))
    inner = slice(2 * max(reach), -2 * max(reach))
    found = pieces_in(unlike[inner, inner], inks.shape)
    tile = None if found is None else _tile_on(inks, lattice, found)
    return None if found is None or tile is None else (found, tile)


def _commonest(inks: ByteArray, lattice: Lattice) -> tuple[ByteArray, NDArray[np.intp], NDArray[np.intp]]:
    """Return the commonest ink at each place of a repeat, and for each pixel of the field where it lies in its own."""
    tile_of = np.zeros((round(lattice.height), round(lattice.width)), dtype=np.uint8)
    rows, columns = _phases(inks.shape, lattice, tile_of.shape)
    flat = rows * tile_of.shape[1] + columns
    most = np.zeros(tile_of.size, dtype=np.int64)
    for ink in np.unique(inks):
        number = np.bincount(flat[inks == ink], minlength=tile_of.size)
        tile_of.ravel()[number > most] = ink
        most = np.maximum(most, number)
    return tile_of, rows, columns


def _tile_on(inks: ByteArray, lattice: Lattice, pieces: Pieces) -> Tile | None:
    """Return the repeat that lies under pieces; None if too little of it is seen."""
    tile_of, rows, columns = _commonest(inks, lattice)
    covered = (pieces.mask > 0) | (tile_of[rows, columns] != inks)
    places = _places(covered, rows * tile_of.shape[1] + columns, tile_of.shape)
    if places is None:
        return None
    return Tile(_evened(places, inks, lattice), lattice.height, lattice.width, lattice.shift, False)


def _evened(places: NDArray[np.intp], inks: ByteArray, lattice: Lattice) -> NDArray[np.intp]:
    """Return a repeat whose halves are mirror images to the pixel where those of the field are."""
    if lattice.shift and not lattice.centred:
        return places
    height, width = inks.shape
    places = places.copy()
    if (inks == inks[:, ::-1]).mean() >= LEAST_MIRRORED:
        half = places[:, : places.shape[1] // 2][:, ::-1]
        places[:, places.shape[1] - half.shape[1] :] = half // width * width + width - 1 - half % width
    if (inks == inks[::-1]).mean() >= LEAST_MIRRORED:
        half = places[: places.shape[0] // 2][::-1]
        half = (height - 1 - half // width) * width + half % width
        moved = places.shape[1] // 2 if lattice.centred else 0
        places[places.shape[0] - half.shape[0] :] = np.roll(half, moved, axis=1)
    return places


def _phases(
    shape: tuple[int, int], lattice: Lattice, size: tuple[int, int]
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return for each pixel of a field which pixel it is of the repeat, of a `size`, that begins in its middle."""
    cell, down = np.divmod(np.arange(shape[0]) + 0.5 - shape[0] / 2, lattice.height)
    across = np.arange(shape[1]) + 0.5 - shape[1] / 2
    columns = np.mod(across[None, :] - cell[:, None] * lattice.shift, lattice.width)
    rows = np.broadcast_to(down[:, None], columns.shape)
    return (
        np.minimum((rows * (size[0] / lattice.height)).astype(np.intp), size[0] - 1),
        np.minimum((columns * (size[1] / lattice.width)).astype(np.intp), size[1] - 1),
    )


def _places(covered: Mask, flat: NDArray[np.intp], shape: tuple[int, int]) -> NDArray[np.intp] | None:
    """Return for each pixel of a repeat the pixel of the field nearest to the middle that shows it.

    None if too little of the pattern is seen. Single pixels that are seen nowhere are drawn like those beside them.
    """
    from scipy import ndimage

    height, width = covered.shape
    free = np.flatnonzero(~covered)
    if len(free) < LEAST_SEEN * covered.size:
        return None
    away = (free // width - height / 2) ** 2 + (free % width - width / 2) ** 2
    order = free[np.argsort(-away, kind="stable")]
    places = np.full(shape[0] * shape[1], -1, dtype=np.intp)
    places[flat.ravel()[order]] = order  # the nearest is written last
    places = places.reshape(shape)
    unseen = places < 0
    if unseen.mean() > MOST_UNSEEN:
        return None
    nearest = ndimage.distance_transform_edt(unseen, return_distances=False, return_indices=True)
    return np.asarray(places[tuple(nearest)])


def on_pattern(
    inks: ByteArray, knot_px: tuple[float, float], least_px: tuple[float, float]
) -> tuple[Lattice | None, Pieces, Tile] | None:
    """Return the pieces that stand on a pattern, with what repeats beside them or a stretch that goes on mirrored.

    None if nothing large stands in it, or no stretch beside that is large enough.
    """
    from scipy import ndimage

    ground = int(np.bincount(inks.ravel()).argmax())
    standing = inks != ground
    thin = half_width(THIN_KNOTS, knot_px)
    bodies, _ = ndimage.label(eroded(standing, thin))
    large = dilated(large_of(bodies), thin) & standing
    found = pieces_in(large, inks.shape)
    if found is None or not any(piece.is_medallion or piece.is_corner for piece in found.pieces):
        return None
    box = _largest_free(dilated(found.mask > 0, half_width(THIN_KNOTS, knot_px)), knot_px)
    if box is None:
        return None
    lattice = lattice_in(np.ascontiguousarray(inks[box.window]), least_px)
    under = None if lattice is None else on_lattice(inks, lattice, knot_px)
    if under is not None:
        return lattice, *under
    budding = pieces_in(with_buds(large, bodies, standing, thin), inks.shape) or found
    return None, budding, _mirrored_tile(inks, ground, bodies, box, thin)


def on_said(
    inks: ByteArray,
    boxes: Sequence[tuple[float, float, float, float]],
    knot_px: tuple[float, float],
    lattice: Lattice | None,
    *,
    search: bool,
) -> tuple[Lattice | None, Pieces, Tile | None]:
    """Return the pieces of a field whose boxes are said, and the pattern that is left beside them.

    Parameters
    ----------
    inks : ndarray of uint8, shape (height, width)
    boxes : sequence of (float, float, float, float)
        The top, left, bottom and right of each piece, in pixels of the field.
    knot_px : (float, float)
    lattice : Lattice, optional
        What the field repeats by, if that is known.
    search : bool
        Whether a repeat is looked for otherwise.
    """
    from scipy import ndimage

    ground = int(np.bincount(inks.ravel()).argmax())
    standing = inks != ground
    thin = half_width(THIN_KNOTS, knot_px)
    bodies, _ = ndimage.label(eroded(standing, thin))
    mask = np.zeros(inks.shape, dtype=np.int32)
    found: list[FieldPiece] = []
    for top, left, bottom, right in boxes:
        rows = slice(max(0, round(top)), min(inks.shape[0], round(bottom)))
        columns = slice(max(0, round(left)), min(inks.shape[1], round(right)))
        own = mask[rows, columns]
        if own.size:
            found.append(piece_at(len(found) + 1, (rows, columns), inks.shape))
            own[body_in(standing[rows, columns], bodies[rows, columns], thin)] = len(found)
    pieces = Pieces(mask, tuple(found))
    beside = standing & ~dilated(mask > 0, thin)
    if beside.mean() <= MOST_UNSEEN and not opened(beside, thin).any():
        return None, pieces, None
    box = _largest_free(dilated(mask > 0, thin), knot_px)
    if lattice is None and search and box is not None:
        least = LEAST_REPEAT_KNOTS * knot_px[0], LEAST_REPEAT_KNOTS * knot_px[1]
        lattice = lattice_in(np.ascontiguousarray(inks[box.window]), least)
    tile = None if lattice is None else _tile_on(inks, lattice, pieces)
    if tile is not None:
        return lattice, pieces, tile
    if box is None:
        return None, pieces, None
    return None, pieces, _mirrored_tile(inks, ground, bodies, box, thin)


def _mirrored_tile(inks: ByteArray, ground: int, bodies: NDArray[np.int32], box: Box, thin: tuple[int, int]) -> Tile:
    """Return a stretch of a field with its mirror images; motifs that its edges cut are left out."""
    top, bottom, level = _stretch(inks, bodies[:, box.window[1]], box.window[0])
    left, right, upright = _stretch(inks.T, bodies[top:bottom].T, box.window[1])
    own = np.s_[top:bottom, left:right]
    cut = np.union1d(_cut(bodies[:, left:right], level), _cut(bodies[top:bottom].T, upright))
    left_out = (dilated(np.isin(bodies, cut), (thin[0] + 1, thin[1] + 1)) & (inks != ground))[own]
    left_out |= _crumbs(inks[own], ground, left_out, thin)
    places = np.arange(inks.size).reshape(inks.shape)[own]
    of_ground = np.flatnonzero((inks[own] == ground).ravel())
    places = np.where(left_out, places.ravel()[of_ground[0]], places)
    places = np.vstack([places, places[::-1]])
    places = np.hstack([places, places[:, ::-1]])
    return Tile(places, float(places.shape[0]), float(places.shape[1]), 0.0, True)


def _stretch(inks: ByteArray, bodies: NDArray[np.int32], free: slice) -> tuple[int, int, tuple[int, ...]]:
    """Return from which to which row of those that are `free` a pattern goes on mirrored, and which of both cut motifs.

    The field's own mirror line is the best edge, and its rim cuts nothing; else the edge lies where it leaves the
    pattern densest once the motifs that it cuts are left out.
    """
    first, end, height = free.start, free.stop, len(inks)
    cutting: tuple[int, ...] = ()
    if own_axis := first < height // 2 < end and bool((inks == inks[::-1]).mean() >= LEAST_MIRRORED):
        first = height // 2
    reach = int(MOST_TRIMMED * (end - first))
    if first and not own_axis:
        first = max(range(first, first + reach), key=lambda row: (_worth(bodies[row:end], bodies, (row,)), -row))
        cutting = (first,)
    if end < height:
        end = max(range(end - reach, end + 1), key=lambda row: (_worth(bodies[first:row], bodies, (row,)), row))
        cutting = (*cutting, end)
    return first, end, cutting


def _worth(inside: NDArray[np.int32], bodies: NDArray[np.int32], edges: tuple[int, ...]) -> float:
    """Return the share of some rows that bodies take which no edge cuts; more rows are worth a little."""
    share = float(((inside > 0) & ~np.isin(inside, _cut(bodies, edges))).mean())
    return share * math.sqrt(len(inside))


def _cut(bodies: NDArray[np.int32], edges: tuple[int, ...]) -> NDArray[np.int32]:
    """Return which bodies lie on both sides of an edge: the row that it lies above."""
    found = [np.intersect1d(bodies[edge - 1], bodies[edge]) for edge in edges]
    met = np.concatenate([np.zeros(0, np.int32), *found])
    return np.unique(met[met > 0])


def _crumbs(inks: ByteArray, ground: int, left_out: Mask, thin: tuple[int, int]) -> Mask:
    """Return what else is left of motifs that were cut: small areas of an ink beside them, or of any at the edge."""
    most = CRUMB_KNOTS * (thin[0] + 1) * (thin[1] + 1)
    standing = (inks != ground) & ~left_out
    edge = np.ones(inks.shape, dtype=bool)
    edge[1:-1, 1:-1] = False
    crumbs = _small(standing, edge, most)
    beside = dilated(left_out, (1, 1))
    for ink in np.unique(inks[beside & standing]):
        crumbs |= _small(standing & (inks == ink), beside, most)
    return crumbs


def _small(standing: Mask, touching: Mask, most: float) -> Mask:
    """Return the areas of at most so many pixels that touch a mask."""
    from scipy import ndimage

    groups, number = ndimage.label(standing, np.ones((3, 3), int))
    small = np.flatnonzero(np.bincount(groups.ravel(), minlength=number + 1) <= most)
    found = np.intersect1d(small, groups[touching])
    return np.isin(groups, found[found > 0])


def _largest_free(taken: Mask, knot_px: tuple[float, float]) -> Box | None:
    """Return the largest rectangle of a field that nothing is `taken` of; None if it is too small."""
    down, across = (max(1, int(each)) for each in knot_px)
    rows, columns = taken.shape[0] // down, taken.shape[1] // across
    coarse = np.asarray(taken[: rows * down, : columns * across].reshape(rows, down, columns, across).any(axis=(1, 3)))
    depth = np.zeros(columns, dtype=np.int64)
    best = 0, 0, 0, 0, 0
    for row in range(rows):
        depth = np.where(coarse[row], 0, depth + 1)
        for first, end, high in _rectangles(depth):
            if high * (end - first) > best[0]:
                best = high * (end - first), row + 1 - high, first, row + 1, end
    area, top, left, bottom, right = best
    if area < LEAST_STRETCH * rows * columns or min(bottom - top, right - left) < LEAST_STRETCH_KNOTS:
        return None
    ends = bottom * down if bottom < rows else taken.shape[0], right * across if right < columns else taken.shape[1]
    return Box(float(top * down), float(left * across), float(ends[0]), float(ends[1]))


def _rectangles(depth: NDArray[np.int64]) -> Iterator[tuple[int, int, int]]:
    """Yield the largest rectangles under a line of heights: first and end column, height."""
    open_: list[tuple[int, int]] = []
    for column, high in enumerate([*depth.tolist(), 0]):
        first = column
        while open_ and open_[-1][1] >= high:
            first, its = open_.pop()
            yield first, column, its
        open_.append((first, high))
