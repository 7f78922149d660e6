"""Lines that are too faint to be woven are left out, and those that somebody drew are reported."""

from __future__ import annotations

import numpy as np

from chartmaker.artwork.cells import KNOT
from chartmaker.convert.flat.runs import Bits, Index, Pieces
from chartmaker.convert.flat.strokes import Crossings

#: Lines narrower than this on average are too faint to be woven.
NARROWEST = round(0.25 * KNOT)
#: A hairline crosses at least this many rows or columns; anything shorter is a sliver between two areas.
SHORTEST = 4
#: A piece is nothing but line if it covers no more than this many times the area of its crossings, each one knot long.
LINE_WORK = 1.5


def reported(
    crossings: tuple[Crossings, ...],
    out: tuple[Bits, ...],
    pieces: tuple[Index, ...],
    areas: Pieces,
    pixels: tuple[int, int],
) -> tuple[Bits, ...]:
    """Return for each direction which of the crossings that are left `out` are reported.

    Only lines that stand alone are, because slivers between areas are not lines that anybody drew.

    Parameters
    ----------
    crossings : tuple of Crossings
    out : tuple of ndarray of bool
    pieces : tuple of ndarray
        The connected piece of artwork that each crossing belongs to.
    areas : Pieces
    pixels : tuple of int
        How wide a pixel is across the strokes of each direction, in KNOT units. Anything narrower is not a line but an
        edge whose mixed pixels look like another colour.
    """
    count = len(areas.area)
    total, times = np.zeros(count), np.zeros(count)
    for crossing, piece in zip(crossings, pieces, strict=True):
        total += np.bincount(piece, crossing.own_width.astype(np.float64), count)
        times += np.bincount(piece, minlength=count)
    told = (areas.area <= LINE_WORK * KNOT * np.maximum(total, 1)) & (times >= SHORTEST)
    return tuple(
        np.asarray(left_out & told[piece] & (crossing.line_width >= pixel))
        for left_out, piece, crossing, pixel in zip(out, pieces, crossings, pixels, strict=True)
    )
