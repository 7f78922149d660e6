"""The colour of each knot's cell, with small things kept and with edges between two areas told from gradients."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import Artwork
from chartmaker.artwork.placing import Placement
from chartmaker.convert.shaded.sampling import edge_weights, linear_averages, pixel_span
from chartmaker.ground.colour import LINEAR_OF_BYTE, FloatArray, srgb_from_linear

#: A pixel's distance from the local mean counts as at least this many sRGB bytes, so even areas keep their average.
LEAST_AWAY = 2.0
#: A cell whose pixels span this many sRGB bytes in a channel may have an edge in it.
EDGE_SPAN = 40
#: It has one if two colours explain all but this share of how its pixels vary; a gradient leaves a quarter.
LEAST_EXPLAINED = 0.85
#: If a knot is narrower than this many pixels, there is nothing to choose from.
LEAST_PIXELS = 1.5
#: This many pixels are worked on at a time.
_PIXELS = 400_000

Pixels = NDArray[np.float32]


def cell_colours(artwork: Artwork, placement: Placement, first: int, end: int, detail: float) -> FloatArray:
    """Return the colour in linear light of the cells of grid rows first..end, shape (rows, columns, 3).

    With `detail` 0 it is the area average. With more, a pixel counts the more the further it is from the mean round it,
    and a cell with an edge between two areas in it takes the colour of one of them.
    """
    if detail == 0 or min(placement.knot_width, placement.knot_height) < LEAST_PIXELS:
        return linear_averages(artwork, placement, first, end)
    low, high = max(0, first - 2), min(placement.rows, end + 2)  # the rows beyond bear on these this far
    plain = linear_averages(artwork, placement, low, high)
    down = edge_weights(placement.raster_row_edges[low : high + 1], artwork.height)
    across = edge_weights(placement.column_edges, artwork.width)
    top, bottom = pixel_span(down[first - low : end - low])
    pixels = artwork.srgb[top:bottom]
    down = down[:, top:bottom]
    local = smoothed(srgb_from_linear(plain) * 255)
    votes = pixel_votes(pixels, _under_pixels(local, down, across), detail)
    if artwork.coverage is not None:
        votes = (votes * (artwork.coverage[top:bottom] / 255.0)).astype(np.float32)
    down = down[first - low : end - low]
    total = (across @ (down @ votes).T).T
    average = plain[first - low : end - low].copy()
    for channel in range(3):
        plane = (across @ (down @ (LINEAR_OF_BYTE[pixels[..., channel]] * votes)).T).T
        np.divide(plane, total, out=average[..., channel], where=total > 0)
    settled_edges(average, pixels, votes, placement.raster_row_edges[first : end + 1] - top, placement.column_edges)
    return average


def _under_pixels(local: FloatArray, down: Any, across: Any) -> Pixels:
    """Return the mean of the cells that each pixel lies in by its shares of them, shape (height, width, 3)."""
    tall = np.maximum(np.asarray(down.sum(axis=0)).ravel(), 1e-12)
    wide = np.maximum(np.asarray(across.sum(axis=0)).ravel(), 1e-12)
    result = np.empty((len(tall), len(wide), 3), dtype=np.float32)
    for channel in range(3):
        rows = (down.T @ local[..., channel]) / tall[:, None]
        result[..., channel] = (across.T @ rows.T).T / wide
    return result


def smoothed(picture: FloatArray) -> FloatArray:
    """Return each cell's mean with its eight neighbours, of which nearer ones count more, shape (rows, columns, 3)."""
    for axis in (0, 1):
        padded = np.pad(picture, [(1, 1) if k == axis else (0, 0) for k in range(3)], mode="edge")
        size = picture.shape[axis]
        low, middle, high = (np.take(padded, np.arange(k, k + size), axis=axis) for k in range(3))
        picture = ((low + high) + 2 * middle) / 4
    return picture


def pixel_votes(pixels: NDArray[np.uint8], local: Pixels, detail: float) -> Pixels:
    """Return how much each pixel counts, by its distance from the local mean, shape (height, width).

    The method is that of Weber, Waechter, Amend, Guthe and Goesele, "Rapid, detail-preserving image downscaling", ACM
    Transactions on Graphics 35 (2016). With `detail` 0 all pixels count alike.

    Parameters
    ----------
    pixels : ndarray of bytes, shape (height, width, 3)
        sRGB.
    local : ndarray of float32, shape (height, width, 3)
        The mean round each pixel's knot, in sRGB bytes.
    detail : float
        From 0 to 1.
    """
    away = np.zeros(pixels.shape[:2], dtype=np.float32)
    for channel in range(3):
        step = pixels[..., channel] - local[..., channel]
        away += step * step
    return np.asarray((away + LEAST_AWAY**2) ** (detail / 2), dtype=np.float32)


@dataclass(frozen=True, eq=False)
class _Cells:
    """The pixels under each cell along one axis: the first of them, their number, and the cells' edges."""

    first: NDArray[np.int64]
    count: NDArray[np.int64]
    edges: FloatArray

    @classmethod
    def between(cls, edges: FloatArray, pixels: int) -> _Cells:
        """Return the cells between `edges`, none of which reaches past the `pixels`."""
        edges = np.clip(np.round(edges, 6), 0, pixels)
        first = np.floor(edges[:-1]).astype(np.int64)
        return cls(first, np.ceil(edges[1:]).astype(np.int64) - first, edges)

    def of(self, cells: NDArray[np.intp]) -> tuple[NDArray[np.int64], FloatArray]:
        """Return the pixels of some cells that all have the same number, and how much of each lies in its cell."""
        pixel = self.first[cells, None] + np.arange(self.count[cells[0]])
        low, high = self.edges[cells, None], self.edges[cells + 1, None]
        return pixel, np.minimum(pixel + 1, high) - np.maximum(pixel, low)


def settled_edges(
    average: FloatArray, pixels: NDArray[np.uint8], votes: Pixels, row_edges: FloatArray, column_edges: FloatArray
) -> None:
    """Give each cell with an edge between two areas in it the colour of one of them, in place.

    The average of two areas is a third colour that nobody painted. The area with more votes in the cell gets the knot,
    so that a straight edge stays straight and a stroke that stands out is not lost.

    Parameters
    ----------
    average : ndarray, shape (rows, columns, 3)
        In linear light.
    pixels, votes : ndarray, shape (height, width, 3) and (height, width)
    row_edges, column_edges : ndarray, shape (rows + 1,) and (columns + 1,)
        In pixels, rising.
    """
    rows, columns = _Cells.between(row_edges, pixels.shape[0]), _Cells.between(column_edges, pixels.shape[1])
    for tall in np.unique(rows.count[rows.count > 0]):
        for wide in np.unique(columns.count[columns.count > 0]):
            of_row, of_column = np.flatnonzero(rows.count == tall), np.flatnonzero(columns.count == wide)
            step = max(1, int(_PIXELS // (tall * wide * len(of_column))))
            for first in range(0, len(of_row) if tall * wide > 1 else 0, step):
                _settle(average, pixels, votes, (rows, of_row[first : first + step]), (columns, of_column))


def _settle(
    average: FloatArray,
    pixels: NDArray[np.uint8],
    votes: Pixels,
    rows: tuple[_Cells, NDArray[np.intp]],
    columns: tuple[_Cells, NDArray[np.intp]],
) -> None:
    (y, tall), (x, wide) = rows[0].of(rows[1]), columns[0].of(columns[1])
    at_y, at_x = y[:, None, :, None], x[None, :, None, :]
    cells = pixels[at_y, at_x].reshape(len(y), len(x), -1, 3)
    edge = np.nonzero((cells.max(axis=2) - cells.min(axis=2)).max(axis=2) > EDGE_SPAN)
    if not len(edge[0]):
        return
    share = (tall[edge[0], :, None] * wide[edge[1], None, :]).reshape(len(edge[0]), -1)
    vote = votes[y[edge[0], :, None], x[edge[1], None, :]].reshape(share.shape)
    settled, colour = _two_colours(cells[edge], share, vote * share)
    average[rows[1][edge[0][settled]], columns[1][edge[1][settled]]] = colour[settled]


def _two_colours(
    cells: NDArray[np.uint8], share: FloatArray, votes: FloatArray
) -> tuple[NDArray[np.bool_], FloatArray]:
    """Return which cells, shape (n, pixels, 3), are of two colours, and the linear light of the one that has more.

    `share` and `votes` have shape (n, pixels).
    """
    values, share = cells.astype(np.float64), share / share.sum(axis=1, keepdims=True)

    def mean(weight: FloatArray) -> FloatArray:
        total = np.maximum(weight.sum(axis=1), 1e-9)[:, None, None]
        return np.asarray((values * weight[..., None]).sum(axis=1, keepdims=True) / total)

    def away(centre: FloatArray) -> FloatArray:
        return np.asarray(((values - centre) ** 2).sum(axis=2))

    middle, every = mean(share), np.arange(len(values))
    one = values[every, (away(middle) * share).argmax(axis=1)][:, None]  # furthest off, then furthest from that
    other = values[every, (away(one) * share).argmax(axis=1)][:, None]
    for _ in range(2):
        first = away(one) <= away(other)
        one, other = mean(share * first), mean(share * ~first)
    within = (np.minimum(away(one), away(other)) * share).sum(axis=1)
    settled = within <= (1 - LEAST_EXPLAINED) * (away(middle) * share).sum(axis=1)
    wins = np.round((votes * first).sum(axis=1) / np.maximum(votes.sum(axis=1), 1e-9), 6)
    darker = one.sum(axis=(1, 2)) <= other.sum(axis=(1, 2))  # gets the knot if both have the same
    winner = np.where(((wins > 0.5) | ((wins == 0.5) & darker))[:, None], first, ~first) * share
    linear = (LINEAR_OF_BYTE[cells] * winner[..., None]).sum(axis=1)
    return settled, linear / np.maximum(winner.sum(axis=1), 1e-9)[:, None]
