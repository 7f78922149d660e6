"""What stands on the ground of a field: medallion, corner pieces, pendants, each with what it is bound to."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray

#: A field is plain if at least this share of it is one colour that goes all round its pieces.
LEAST_GROUND = 0.25
#: Pieces nearer than this, in knots, are one.
JOINED_KNOTS = 1.5
#: A field with more pieces than this is strewn: no master would move each of them.
MOST_PIECES = 24
#: A piece takes no more than this share of a field both down and across; what does is a pattern all over it.
MOST_SPANNED = 0.9
#: What a piece is bound to in one direction.
MIDDLE, LOW, HIGH = "middle", "low", "high"


@dataclass(frozen=True)
class FieldPiece:
    """A piece of a field: its number in the mask, its box in pixels of the field, what it is bound to down and across.

    Bound to the ``middle`` it keeps its distance from the middle of the field; ``low`` and ``high`` are the top and
    the foot down, the left and the right across.
    """

    number: int
    top: int
    left: int
    bottom: int
    right: int
    down: str
    across: str

    @property
    def is_medallion(self) -> bool:
        return self.down == self.across == MIDDLE

    def spans(self, shape: tuple[int, ...]) -> bool:
        """Whether it reaches over a whole field both ways."""
        high, wide = self.bottom - self.top, self.right - self.left
        return high > MOST_SPANNED * shape[0] and wide > MOST_SPANNED * shape[1]

    @property
    def is_corner(self) -> bool:
        return MIDDLE not in (self.down, self.across)


@dataclass(frozen=True, eq=False)
class Pieces:
    """The pieces of a field on their ground: `mask` has the number of its piece for each pixel, 0 for the ground."""

    mask: NDArray[np.int32]
    pieces: tuple[FieldPiece, ...]


def pieces_of(inks: ByteArray, knot_px: tuple[float, float]) -> Pieces | None:
    """Return the pieces of a field; None if its ground is not plain, or they are too many, or one is all over it.

    Parameters
    ----------
    inks : ndarray of uint8, shape (height, width)
    knot_px : (float, float)
        The height and the width of a knot in pixels.
    """
    from scipy import ndimage

    ground = int(np.bincount(inks.ravel()).argmax())
    open_ground, _ = ndimage.label(inks == ground)
    sizes = np.bincount(open_ground.ravel())
    sizes[0] = 0
    if sizes.max(initial=0) < LEAST_GROUND * inks.size:
        return None
    standing = open_ground != sizes.argmax()
    reach = tuple(max(1, round(JOINED_KNOTS * each / 2)) for each in knot_px)
    grown = ndimage.maximum_filter(standing, (2 * reach[0] + 1, 2 * reach[1] + 1))
    groups, number = ndimage.label(grown, np.ones((3, 3), int))
    if number > MOST_PIECES:
        return None
    mask = np.where(standing, groups, 0).astype(np.int32)
    found = []
    for index, box in enumerate(ndimage.find_objects(mask), start=1):
        if box is None:
            continue
        found.append(piece_at(index, box, inks.shape))
    if any(piece.spans(inks.shape) for piece in found):
        return None
    return Pieces(mask, tuple(found))


def piece_at(number: int, box: tuple[slice, slice], shape: tuple[int, ...]) -> FieldPiece:
    """Return the piece of a number in a box of a field, with what it is bound to."""
    rows, columns = box
    down, across = _bound(rows.start, rows.stop, shape[0]), _bound(columns.start, columns.stop, shape[1])
    return FieldPiece(number, rows.start, columns.start, rows.stop, columns.stop, down, across)


def _bound(first: int, end: int, size: int) -> str:
    """Return what a piece from `first` to `end` is bound to: the middle if it lies across it or nearer to it."""
    if 2 * first <= size <= 2 * end:
        return MIDDLE
    low = 2 * end < size
    to_edge, to_middle = (first, size / 2 - end) if low else (size - end, first - size / 2)
    if to_edge > to_middle:
        return MIDDLE
    return LOW if low else HIGH
