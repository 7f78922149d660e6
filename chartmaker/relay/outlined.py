"""Large things cut out of a drawing: what one outline encloses, and what all but touches it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from chartmaker.relay.pieces import FieldPiece, Pieces, piece_at

Mask = NDArray[np.bool_]

#: A piece takes at least this share of the field; what is smaller belongs to the pattern.
LEAST_PIECE = 0.01
#: More pieces than these are a pattern: a medallion, its pendants, corners, the middles of the sides.
MOST_PIECES = 13
#: A piece fills at least this share of the box that it is said to stand in; else all of the box is the piece.
LEAST_FILLED = 0.3


def pieces_in(mask: Mask, shape: tuple[int, int]) -> Pieces | None:
    """Return the large pieces of a mask, each filled up to its outline and to the edge of the field; None if none."""
    from scipy import ndimage

    groups, _ = ndimage.label(_filled(mask), np.ones((3, 3), int))
    kept = np.zeros(shape, dtype=np.int32)
    found: list[FieldPiece] = []
    for index, box in enumerate(ndimage.find_objects(groups), start=1):
        own = groups[box] == index
        if own.sum() < LEAST_PIECE * mask.size:
            continue
        kept[box][own] = len(found) + 1
        found.append(piece_at(len(found) + 1, box, shape))
    if not found or len(found) > MOST_PIECES:
        return None
    return Pieces(kept, tuple(found))


def large_of(bodies: NDArray[np.int32]) -> Mask:
    """Return the bodies whose boxes take enough of the field to be pieces."""
    from scipy import ndimage

    large = [
        index
        for index, (rows, columns) in enumerate(ndimage.find_objects(bodies), start=1)
        if (rows.stop - rows.start) * (columns.stop - columns.start) >= LEAST_PIECE * bodies.size
    ]
    return np.isin(bodies, large)


def with_buds(large: Mask, bodies: NDArray[np.int32], standing: Mask, thin: tuple[int, int]) -> Mask:
    """Return large things with the bodies on the middle lines that all but touch them, as buds on a pendant do."""
    from scipy import ndimage

    whole = np.where(standing, ndimage.maximum_filter(bodies, (2 * thin[0] + 1, 2 * thin[1] + 1)), 0)
    near = np.unique(whole[dilated(large, thin)])
    middles = [(size - 1) / 2 for size in whole.shape]
    budding = [
        number
        for number, box in enumerate(ndimage.find_objects(whole), start=1)
        if box is not None
        and number in near
        and any(own.start <= middle < own.stop for own, middle in zip(box, middles, strict=True))
    ]
    buds = np.isin(whole, budding)
    joined = ndimage.binary_closing(large | buds, np.ones((2 * thin[0] + 1, 2 * thin[1] + 1)))
    return np.asarray(large | buds | (joined & dilated(buds, thin)))


def body_in(standing: Mask, bodies: NDArray[np.int32], thin: tuple[int, int]) -> Mask:
    """Return the largest thing that stands in a box, with all that it encloses; the whole box if none fills it well."""
    from scipy import ndimage

    sizes = np.bincount(bodies.ravel())
    sizes[0] = 0
    if sizes.max(initial=0) == 0:
        return np.ones(standing.shape, dtype=bool)
    groups = dilated(bodies == sizes.argmax(), thin) & standing
    full = np.asarray(ndimage.binary_fill_holes(groups), dtype=bool)
    return full if full.mean() >= LEAST_FILLED else np.ones(standing.shape, dtype=bool)


def _filled(mask: Mask) -> Mask:
    """Return a mask with what its outlines enclose, alone or with the edge of the field at a corner or a side."""
    from scipy import ndimage

    filled = mask.copy()
    groups, _ = ndimage.label(mask, np.ones((3, 3), int))
    for index, box in enumerate(ndimage.find_objects(groups), start=1):
        own = np.pad(groups[box] == index, 1)
        for edge, there in zip(_edges(own), _at_edge(box, mask.shape), strict=True):
            if there:
                edge[:] = True
        full = ndimage.binary_fill_holes(own)[1:-1, 1:-1]
        filled[box] |= full
    return filled


def _edges(own: Mask) -> tuple[Mask, Mask, Mask, Mask]:
    return own[0], own[-1], own[:, 0], own[:, -1]


def _at_edge(box: tuple[slice, slice], shape: tuple[int, int]) -> tuple[bool, bool, bool, bool]:
    """Return whether a box lies at the top, the foot, the left and the right of a field."""
    rows, columns = box
    return rows.start == 0, rows.stop == shape[0], columns.start == 0, columns.stop == shape[1]


def half_width(knots: float, knot_px: tuple[float, float]) -> tuple[int, int]:
    """Return half a width in whole pixels, down and across; at least one."""
    return max(1, round(knots * knot_px[0] / 2)), max(1, round(knots * knot_px[1] / 2))


def eroded(mask: Mask, reach: tuple[int, int]) -> Mask:
    from scipy import ndimage

    return np.asarray(ndimage.minimum_filter(mask, (2 * reach[0] + 1, 2 * reach[1] + 1)), dtype=bool)


def dilated(mask: Mask, reach: tuple[int, int]) -> Mask:
    from scipy import ndimage

    return np.asarray(ndimage.maximum_filter(mask, (2 * reach[0] + 1, 2 * reach[1] + 1)), dtype=bool)


def opened(mask: Mask, reach: tuple[int, int]) -> Mask:
    return dilated(eroded(mask, reach), reach)
