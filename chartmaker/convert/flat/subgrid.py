"""Flat artwork sampled at a fixed number of points in each knot's cell."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.artwork.placing import Placement
from chartmaker.convert.flat.labelling import OUTSIDE, Labels
from chartmaker.ground.colour import FloatArray

#: Points along each side of a cell: enough to tell a coverage of 3 %, not more than the artwork can fill.
LEAST_POINTS, MOST_POINTS = 6, 12
#: Below this many pixels a knot, points are placed between pixels by interpolation.
SMOOTH_BELOW = 8.0

#: Rows with columns of a grid.
Window = tuple[slice, slice]


@dataclass(frozen=True)
class Subgrid:
    """The pixels at `points` x `points` places of every cell, with the labels that they have there."""

    placement: Placement
    points: int

    @property
    def smooth(self) -> bool:
        """Whether edges run between pixels."""
        return min(self.placement.knot_height, self.placement.knot_width) < SMOOTH_BELOW


def subgrid_of(placement: Placement) -> Subgrid:
    """Return the sub-grid that suits the artwork's resolution."""
    pixels = max(placement.knot_height, placement.knot_width)
    return Subgrid(placement, int(np.clip(np.ceil(pixels), LEAST_POINTS, MOST_POINTS)))


def labels_round(subgrid: Subgrid, labels: Labels, window: Window) -> Labels:
    """Return the part of the `labels` that `labels_at` needs for a window of the grid."""
    reached = (
        _reached(places, size) for places, size in zip(_points(subgrid, window), labels.first.shape, strict=True)
    )
    return labels.part(*reached)


def labels_at(subgrid: Subgrid, labels: Labels, window: Window) -> ByteArray:
    """Return the labels at the points of a window of the grid, shape (its rows * points, its columns * points)."""
    down, across = _points(subgrid, window)
    if subgrid.smooth:
        return _smooth(labels, down, across)
    height, width = labels.first.shape
    rows = _pixels(down, _middle(subgrid.placement.row_edges), labels.top, height)
    columns = _pixels(across, _middle(subgrid.placement.column_edges), labels.left, width)
    return np.asarray(labels.first[rows[:, None], columns[None]])


def _points(subgrid: Subgrid, window: Window) -> tuple[FloatArray, FloatArray]:
    """Return where the points of a window lie, down, across, in pixels of the whole artwork."""
    placement, points = subgrid.placement, subgrid.points
    return (
        _places(placement.raster_row_edges, points, window[0]),
        _places(placement.column_edges, points, window[1]),
    )


def _places(edges: FloatArray, points: int, own: slice) -> FloatArray:
    """Return the places of the points of some cells, evenly spread between the rising `edges` of each."""
    upper = 2 * np.arange(points) + 1
    low, high = edges[own.start : own.stop, None], edges[own.start + 1 : own.stop + 1, None]
    return np.asarray((low * (2 * points - upper) + high * upper) / (2 * points)).ravel()


def _middle(edges: FloatArray) -> float:
    return float(edges[0] + edges[-1]) / 2


def _pixels(places: FloatArray, middle: float, first: int, pixels: int) -> NDArray[np.intp]:
    """Return the pixels at `places`, counted from the `first`.

    On an edge between two it is the outer one on either side, for symmetry's sake.
    """
    index = np.where(places < middle, np.ceil(places) - 1, np.floor(places)) - first
    return np.asarray(np.clip(index, 0, pixels - 1), dtype=np.intp)


def _smooth(labels: Labels, down: FloatArray, across: FloatArray) -> ByteArray:
    """Return the label with the largest share at each point, shares interpolated between pixels."""
    first, second = labels.first, labels.second
    part = labels.second_share.astype(np.float32) / 254
    vertical, horizontal = (
        _interpolation(places - start, size)
        for places, start, size in zip((down, across), (labels.top, labels.left), first.shape, strict=True)
    )
    bar = np.full((len(across), len(down)), 1e-6, dtype=np.float32)  # what a share must exceed
    label = np.full(bar.shape, OUTSIDE, dtype=np.uint8)
    met = np.bincount(first.ravel(), minlength=256) + np.bincount(second.ravel(), minlength=256)
    for colour in np.flatnonzero(met):
        plane = np.where(first == colour, 1 - part, 0) + np.where(second == colour, part, 0)
        here = horizontal @ (vertical @ plane).T
        better = here > bar
        here += np.float32(1e-6)
        np.copyto(bar, here, where=better)
        np.copyto(label, np.uint8(colour), where=better)
    return np.ascontiguousarray(label.T)


def _reached(places: FloatArray, pixels: int) -> slice:
    """Return the pixels that interpolation at `places` reaches, with some to spare."""
    first = min(max(int(places[0]) - 2, 0), pixels - 1)
    return slice(first, max(min(int(places[-1]) + 3, pixels), first + 1))


def _interpolation(places: FloatArray, pixels: int) -> object:
    """Return the weights of linear interpolation between pixel centres, a sparse matrix (places, pixels)."""
    from scipy.sparse import csr_matrix

    at = np.clip(places - 0.5, 0, pixels - 1)
    low = np.minimum(np.floor(at).astype(np.intp), max(pixels - 2, 0))
    part = (at - low).astype(np.float32)
    line = np.arange(len(places))
    high = np.minimum(low + 1, pixels - 1)
    return csr_matrix(
        (np.concatenate([1 - part, part]), (np.concatenate([line, line]), np.concatenate([low, high]))),
        shape=(len(places), pixels),
        dtype=np.float32,
    )


def coverages(fine: ByteArray, points: int, colours: int) -> NDArray[np.uint16]:
    """Return how many of its points each cell has of each colour, shape (rows, columns, colours)."""
    rows, columns = fine.shape[0] // points, fine.shape[1] // points
    counts = np.empty((rows, columns, colours), dtype=np.uint16)
    for colour in range(colours):
        counts[..., colour] = block_sums(fine == colour, points)
    return counts


def block_sums(mask: NDArray[np.bool_], points: int) -> NDArray[np.uint16]:
    """Return how many points of each cell are set, shape (rows, columns)."""
    rows, columns = mask.shape[0] // points, mask.shape[1] // points
    lines = mask.reshape(rows, points, columns * points).sum(axis=1, dtype=np.uint16)
    return np.asarray(lines.reshape(rows, columns, points).sum(axis=2, dtype=np.uint16))
