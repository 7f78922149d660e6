"""Measures what no improvement may spoil: knots stay true to the placed artwork, none is invented, no line breaks."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from scipy import ndimage

from support.drawing_measures.placed import Drawing, Placed, Score
from support.metrics import EIGHT, Piece, thin_pieces

#: A knot whose yarn covers less than this share of its cell counts as invented.
LEAST_COVERAGE = 0.05


def fidelity(placed: Placed) -> Score:
    """Return the coverage of each knot's ink as a share of the largest coverage in its cell."""
    chosen = np.take_along_axis(placed.cover, placed.knots[..., None].astype(np.intp), axis=2)
    return Score(float(chosen.sum()), float(placed.cover.max(axis=2).sum()))


def invented(placed: Placed) -> Score:
    """Return the knots whose ink covers less than a twentieth of their cell, of all knots."""
    chosen = np.take_along_axis(placed.cover, placed.knots[..., None].astype(np.intp), axis=2)
    return Score(float((chosen < LEAST_COVERAGE).sum()), placed.knots.size)


@lru_cache(maxsize=64)
def pieces_of(drawing: Drawing) -> list[Piece]:
    """Return the pieces, between junctions, of the drawing's strokes of 0.3 to 1.5 knots."""
    return thin_pieces(drawing.labels, drawing.inks, drawing.knot_height, drawing.knot_width)


def unbroken(placed: Placed) -> Score:
    """Return the length, in knots, of thin strokes that one chain of knots follows, out of the length of all."""
    placed = shown(placed)
    pieces = pieces_of(placed.drawing)
    whole = sum(piece.length for piece in pieces if is_followed(piece, placed))
    return Score(whole, sum(piece.length for piece in pieces))


def shown(placed: Placed) -> Placed:
    """Return the part of the drawing that lies under the grid, which may leave out some of its rims."""
    (height, width), drawing = placed.labels.shape, placed.drawing
    top, left = (max(int(np.ceil(edges[0])), 0) for edges in (placed.row_edges, placed.column_edges))
    bottom, right = int(min(placed.row_edges[-1], height)), int(min(placed.column_edges[-1], width))
    if (top, left, bottom, right) == (0, 0, height, width):
        return placed
    seen = Drawing(drawing.labels[top:bottom, left:right], drawing.knot_height, drawing.knot_width, drawing.inks)
    return Placed(seen, placed.row_edges - top, placed.column_edges - left, placed.knots)


def is_followed(piece: Piece, placed: Placed, reach: float = 1.0) -> bool:
    """Return whether one 8-connected piece of the ink, all within `reach` knots of the skeleton, follows 97 % of it."""
    y, x = placed.down(piece.rows + 0.5), placed.across(piece.columns + 0.5)
    top, left = max(int(y.min() - 2), 0), max(int(x.min() - 2), 0)
    window = placed.knots[top : int(y.max()) + 3, left : int(x.max()) + 3] == piece.colour
    r, c = np.nonzero(window)
    if not len(r):
        return False
    # Skeleton pixels fall into few cells, so the nearest knots of each are looked for among all knots of the window.
    apart = np.maximum(abs(r[:, None] + top + 0.5 - y[None]), abs(c[:, None] + left + 0.5 - x[None])) <= reach
    near = apart.any(axis=1)
    zone = np.zeros_like(window)
    zone[r[near], c[near]] = True
    numbered, count = ndimage.label(zone, EIGHT)
    member = numbered[r, c]
    return any(apart[member == number].any(axis=0).mean() >= 0.97 for number in range(1, count + 1))
