"""The measures of a conversion of flat artwork, written apart from the code that they measure.

All arrays are in raster order (top row first). `labels` has the artwork's shape with the index of each pixel's colour;
`knots` has the grid's shape with indexes of the same colours.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage
from skimage.morphology import skeletonize

EIGHT = np.ones((3, 3), dtype=bool)


def labels_of(srgb: NDArray[np.uint8], colours: NDArray[np.uint8]) -> NDArray[np.intp]:
    """Return the nearest of `colours` in RGB for each pixel; right for edges between two colours of a drawing whose
    mixtures resemble no third colour."""
    distance = [((srgb.astype(np.int32) - colour.astype(np.int32)) ** 2).sum(axis=2) for colour in colours]
    return np.argmin(distance, axis=0)


def as_placed(
    labels: NDArray[np.intp], row_edges: NDArray[np.float64], column_edges: NDArray[np.float64]
) -> NDArray[np.intp]:
    """Return the labels stretched so that cells with these edges, in pixels, all become one size."""

    def pixels(edges: NDArray[np.float64], size: int) -> NDArray[np.intp]:
        even = (np.arange(size) + 0.5) * (len(edges) - 1) / size
        return np.clip(np.interp(even, np.arange(len(edges)), edges), 0, size - 1).astype(int)

    return labels[pixels(row_edges, labels.shape[0])[:, None], pixels(column_edges, labels.shape[1])[None]]


def coverage(labels: NDArray[np.intp], colours: int, rows: int, columns: int) -> NDArray[np.float64]:
    """Return the exact share of each cell that each colour covers, shape (rows, columns, colours)."""

    def cells(mask: NDArray[np.bool_], count: int, axis: int) -> NDArray[np.float64]:
        pixels = mask.shape[axis]
        total = np.concatenate([np.zeros_like(mask.take([0], axis)), np.cumsum(mask, axis=axis)], axis=axis)
        edges = np.arange(count + 1) * pixels / count
        low = np.minimum(edges.astype(int), pixels - 1)
        part = edges - low
        shape = [-1 if a == axis else 1 for a in range(mask.ndim)]
        at = total.take(low, axis) + part.reshape(shape) * (total.take(low + 1, axis) - total.take(low, axis))
        return np.diff(at, axis=axis) * count / pixels

    return np.stack([cells(cells((labels == k).astype(float), rows, 0), columns, 1) for k in range(colours)], axis=-1)


def fidelity(knots: NDArray[np.integer], cover: NDArray[np.float64]) -> float:
    """Return the coverage of the chosen colour over all cells, divided by the largest coverage over all cells."""
    chosen = np.take_along_axis(cover, knots[..., None].astype(np.intp), axis=2)
    return float(chosen.sum() / cover.max(axis=2).sum())


def invented(knots: NDArray[np.integer], cover: NDArray[np.float64], least: float = 0.05) -> int:
    """Return the number of knots whose colour covers less than `least` of their cell."""
    return int((np.take_along_axis(cover, knots[..., None].astype(np.intp), axis=2) < least).sum())


@dataclass(frozen=True)
class Piece:
    """A piece of a stroke's skeleton: its pixel rows and columns, its colour, and its length in knots."""

    rows: NDArray[np.intp]
    columns: NDArray[np.intp]
    colour: int
    length: float


def joints(bone: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return where three or more ways meet: where the eight neighbours fall into that many connected pieces."""
    powers = 2 ** np.array([[0, 1, 2], [7, 0, 3], [6, 5, 4]])
    powers[1, 1] = 0
    pattern = ndimage.correlate(bone.astype(int), powers, mode="constant")
    ways = np.array([sum(not code >> i & 1 and code >> (i + 1) % 8 & 1 for i in range(8)) for code in range(256)])
    return ways[pattern] >= 3


def thin_pieces(
    labels: NDArray[np.intp],
    colours: int,
    knot_height: float,
    knot_width: float,
    narrowest: float = 0.3,
    widest: float = 1.5,
    shortest: float = 4.0,
    method: str = "lee",
) -> list[Piece]:
    """Return the skeleton pieces between junctions of strokes of these widths, in knots, at least `shortest` long."""
    pieces = []
    knot = (knot_height * knot_width) ** 0.5
    for colour in range(colours):
        mask = np.pad(labels == colour, 1)
        bone = skeletonize(mask, method=method) > 0
        width = (2 * ndimage.distance_transform_edt(mask) - 1) / knot
        joint = bone & joints(bone)
        thin = (bone & ~joint & (width >= narrowest) & (width <= widest))[1:-1, 1:-1]
        numbered, count = ndimage.label(thin, EIGHT)
        rows, columns = np.nonzero(numbered)
        order = np.argsort(numbered[rows, columns], kind="stable")
        rows, columns = rows[order], columns[order]
        sizes = np.bincount(numbered[rows, columns], minlength=count + 1)[1:]
        for r, c in zip(np.split(rows, np.cumsum(sizes)[:-1]), np.split(columns, np.cumsum(sizes)[:-1]), strict=True):
            # The length of a chain of pixels counts straight and slanting steps differently.
            links = np.zeros(2)
            chain = {(a, b) for a, b in zip(r.tolist(), c.tolist(), strict=True)}
            for a, b in chain:
                links[0] += ((a, b + 1) in chain) + ((a + 1, b) in chain)
                links[1] += ((a + 1, b + 1) in chain) + ((a + 1, b - 1) in chain)
            length = (links[0] + links[1] * 2**0.5) / knot
            if length >= shortest:
                pieces.append(Piece(r, c, colour, float(length)))
    return pieces


def is_unbroken(
    piece: Piece, knots: NDArray[np.integer], knot_height: float, knot_width: float, reach: float = 1.0
) -> bool:
    """Return whether one 8-connected piece of the colour, all within `reach` of the skeleton, follows 97 % of it.

    Distances run between skeleton pixels and the centres of knots, in knots, the larger of across and along.
    """
    y, x = (piece.rows + 0.5) / knot_height, (piece.columns + 0.5) / knot_width
    top, left = int(y.min() - 2), int(x.min() - 2)
    top, left = max(top, 0), max(left, 0)
    window = knots[top : int(y.max()) + 3, left : int(x.max()) + 3] == piece.colour
    r, c = np.nonzero(window)
    if not len(r):
        return False
    apart = np.maximum(abs(r[:, None] + top + 0.5 - y[None]), abs(c[:, None] + left + 0.5 - x[None]))
    near = apart.min(axis=1) <= reach
    zone = np.zeros_like(window)
    zone[r[near], c[near]] = True
    numbered, count = ndimage.label(zone, EIGHT)
    member = numbered[r, c]
    for number in range(1, count + 1):
        followed = (apart[member == number] <= reach).any(axis=0).mean()
        if followed >= 0.97:
            return True
    return False


def unbroken_score(
    labels: NDArray[np.intp], knots: NDArray[np.integer], colours: int, reach: float = 1.0
) -> tuple[float, int]:
    """Return the share, by length, of thin pieces that are unbroken in `knots`, and the number of pieces."""
    height, width = labels.shape[0] / knots.shape[0], labels.shape[1] / knots.shape[1]
    pieces = thin_pieces(labels, colours, height, width)
    whole = sum(p.length for p in pieces if is_unbroken(p, knots, height, width, reach))
    total = sum(p.length for p in pieces)
    return (whole / total if total else 1.0), len(pieces)


def specks(knots: NDArray[np.integer]) -> int:
    """Return the number of knots that share their yarn with none of their eight neighbours."""
    padded = np.pad(knots.astype(int), 1, constant_values=-1)
    shared = np.zeros(knots.shape, dtype=bool)
    for dr in (-1, 0, 1):
        for dc in (-1, 0, 1):
            if dr or dc:
                shared |= padded[1 + dr : 1 + dr + knots.shape[0], 1 + dc : 1 + dc + knots.shape[1]] == knots
    return int((~shared).sum())
