"""Measures whether edges in shaded drawings take no third yarn, and whether paintings keep their details."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from chartmaker.ground.colour import ciede2000, lab_from_srgb8
from support.drawing_measures.placed import Floats, Grid, Score

Bytes = NDArray[np.uint8]

#: A cell has an edge if its colours span more than this in CIELAB, and a yarn is a third one beyond this.
EDGE_SPAN, THIRD_DE00 = 20.0, 8.0
#: The scales of the difference of Gaussians in knots, the number of extrema, and the share of strength to be kept.
FINE, COARSE, EXTREMA, KEPT = 0.6, 1.2, 400, 0.6


def _cells(edges: Floats, pixels: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return the pixels whose middle lies between the outer edges, with the bounds of each cell among them."""
    bounds = np.searchsorted(np.arange(pixels) + 0.5, edges)
    return np.arange(bounds[0], bounds[-1]), bounds[:-1] - bounds[0]


def third_yarn(srgb: Bytes, row_edges: Floats, column_edges: Floats, yarn_srgb: Bytes) -> Score:
    """Return the knots on edges whose yarn is over 8 CIEDE2000 from every pixel of their cell, of all on edges.

    `yarn_srgb`, shape (rows, columns, 3), is the colour of each knot's yarn. Cells must be a pixel or more wide.
    """
    (y, rows), (x, columns) = _cells(row_edges, srgb.shape[0]), _cells(column_edges, srgb.shape[1])
    lab = lab_from_srgb8(srgb[y[0] : y[-1] + 1, x[0] : x[-1] + 1])

    def reduced(function: np.ufunc, values: Floats) -> Floats:
        return np.asarray(function.reduceat(function.reduceat(values, rows, axis=0), columns, axis=1))

    span = np.sqrt(sum((reduced(np.maximum, lab[..., k]) - reduced(np.minimum, lab[..., k])) ** 2 for k in range(3)))
    tall, wide = np.diff(np.append(rows, len(y))), np.diff(np.append(columns, len(x)))
    yarn = np.repeat(np.repeat(lab_from_srgb8(yarn_srgb), tall, axis=0), wide, axis=1)
    away = reduced(np.minimum, ciede2000(lab, yarn))
    edge = span > EDGE_SPAN
    return Score(float((edge & (away > THIRD_DE00)).sum()), float(edge.sum()))


def _difference(lightness: Floats, tall: float, wide: float) -> Floats:
    fine, coarse = (ndimage.gaussian_filter(lightness, (s * tall, s * wide), mode="nearest") for s in (FINE, COARSE))
    return np.asarray(fine - coarse)


def details(srgb: Bytes, row_edges: Floats, column_edges: Floats, yarn_srgb: Bytes) -> Score:
    """Return how many of the 400 strongest extrema of a difference of Gaussians keep 60 % of their strength.

    The map is looked at as woven, every pixel of the artwork as its knot; an extremum may move by half a knot.
    """
    height, width = srgb.shape[:2]
    rows = np.clip(np.searchsorted(row_edges, np.arange(height) + 0.5) - 1, 0, len(row_edges) - 2)
    columns = np.clip(np.searchsorted(column_edges, np.arange(width) + 0.5) - 1, 0, len(column_edges) - 2)
    tall, wide = np.diff(row_edges).mean(), np.diff(column_edges).mean()
    before = _difference(lab_from_srgb8(srgb)[..., 0], tall, wide)
    after = _difference(lab_from_srgb8(yarn_srgb)[..., 0][rows[:, None], columns[None]], tall, wide)
    size = (2 * round(tall) + 1, 2 * round(wide) + 1)
    strength = abs(before)
    peaks = np.argwhere((strength == ndimage.maximum_filter(strength, size)) & (strength > 0))
    peaks = peaks[np.argsort(-strength[peaks[:, 0], peaks[:, 1]], kind="stable")[:EXTREMA]]
    near = (2 * int(tall / 2) + 1, 2 * int(wide / 2) + 1)
    most, least = ndimage.maximum_filter(after, near), ndimage.minimum_filter(after, near)
    y, x = peaks.T
    kept = np.where(before[y, x] > 0, most[y, x], -least[y, x]) >= KEPT * strength[y, x]
    return Score(float(kept.sum()), float(len(peaks)))


def grid_colours(yarns: Bytes, knots: Grid) -> Bytes:
    """Return the colour of each knot's yarn."""
    return np.asarray(yarns[knots], dtype=np.uint8)
