"""The part of the artwork that each knot's cell covers, and its average colour."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import Artwork
from chartmaker.artwork.placing import Placement
from chartmaker.ground.colour import LINEAR_OF_BYTE, FloatArray

if TYPE_CHECKING:
    from collections.abc import Iterator

#: A band has this many pixels of artwork; at three 32-bit numbers each it takes some 24 MB.
BAND_PIXELS = 2_000_000


def edge_weights(edges: FloatArray, pixels: int) -> Any:
    """Return the share of each cell that each pixel covers, a sparse matrix of shape (cells, pixels).

    What lies beyond the artwork counts as the pixel at its edge, so that every row adds up to 1.
    """
    from scipy.sparse import csr_matrix

    starts, ends = edges[:-1], edges[1:]
    first = np.floor(starts).astype(np.int64)
    count = np.maximum(np.ceil(ends).astype(np.int64) - first, 1)
    cell = np.repeat(np.arange(len(starts)), count)
    step = np.arange(len(cell)) - np.repeat(np.cumsum(count) - count, count)
    pixel = first[cell] + step
    overlap = np.minimum(pixel + 1, ends[cell]) - np.maximum(pixel, starts[cell])
    share = np.maximum(overlap, 0) / (ends - starts)[cell]
    return csr_matrix((share, (cell, np.clip(pixel, 0, pixels - 1))), shape=(len(starts), pixels))


def row_bands(artwork: Artwork, placement: Placement) -> Iterator[tuple[int, int]]:
    """Yield (first, end) grid rows of bands that take about BAND_PIXELS of artwork or knots each."""
    pixels_a_row = max(artwork.width * placement.knot_height, placement.columns)
    step = max(1, int(BAND_PIXELS / pixels_a_row))
    for first in range(0, placement.rows, step):
        yield first, min(first + step, placement.rows)


def linear_averages(artwork: Artwork, placement: Placement, first: int, end: int) -> FloatArray:
    """Return the area average in linear light of the cells of grid rows first..end, shape (rows, columns, 3).

    Transparent pixels count by their coverage, so that what lies outside the rug colours no knot.
    """
    down = edge_weights(placement.raster_row_edges[first : end + 1], artwork.height)
    across = edge_weights(placement.column_edges, artwork.width)
    top, bottom = pixel_span(down)
    pixels = artwork.srgb[top:bottom]
    down = down[:, top:bottom]
    weight = None if artwork.coverage is None else artwork.coverage[top:bottom] / 255.0
    planes = []
    for channel in range(3):
        plane = LINEAR_OF_BYTE[pixels[..., channel]]
        planes.append(across @ (down @ (plane if weight is None else plane * weight)).T)
    average = np.stack([plane.T for plane in planes], axis=-1)
    if weight is not None:
        share = (across @ (down @ weight).T).T[..., None]
        average = np.divide(average, share, out=np.zeros_like(average), where=share > 0)
    return average


def coverage_shares(artwork: Artwork, placement: Placement) -> NDArray[np.float32] | None:
    """Return the share of each cell that lies inside the artwork's own outline, shape (rows, columns)."""
    if artwork.coverage is None:
        return None
    across = edge_weights(placement.column_edges, artwork.width)
    shares = np.empty((placement.rows, placement.columns), dtype=np.float32)
    for first, end in row_bands(artwork, placement):
        down = edge_weights(placement.raster_row_edges[first : end + 1], artwork.height)
        top, bottom = pixel_span(down)
        shares[first:end] = (across @ (down[:, top:bottom] @ (artwork.coverage[top:bottom] / 255.0)).T).T
    return shares


def pixel_span(down: Any) -> tuple[int, int]:
    """Return the first pixel row and the end row that a matrix of weights touches."""
    return int(down.indices.min()), int(down.indices.max()) + 1
