"""Flat artwork into knots: each knot the yarn that covers most of its cell, its lines whole."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.convert.flat.labelling import OUTSIDE, Labels
from chartmaker.convert.flat.lines import keep_lines
from chartmaker.convert.flat.strokes import dots, thin_strokes
from chartmaker.convert.flat.subgrid import Subgrid, Window, block_sums, coverages, labels_at, labels_round
from chartmaker.convert.flat.tidying import tidied
from chartmaker.ground.engines import engine
from chartmaker.ground.progress import SILENT, Progress
from chartmaker.knots.knotmap import NO_KNOT

#: Knots that a tile looks beyond its edges, so that lines and islands are judged whole.
HALO = 16
#: What a tile holds at most: points, then cells times yarns; it covers the whole width of a grid not wider than this.
_TILE_POINTS, _TILE_COUNTS, _TILE_COLUMNS = 4_000_000, 4_000_000, 512


def prepared() -> None:
    """Import what placing knots takes, for a process that has nothing else to do as yet."""
    import scipy.ndimage
    import scipy.sparse  # noqa: F401
    import skimage.measure  # noqa: F401


@dataclass(frozen=True, eq=False)
class FlatKnots:
    """`knots` (NO_KNOT outside), the palette colour that each stands for, whether it was tidied.

    All three have shape (rows, columns), in raster order.
    """

    knots: NDArray[np.uint16]
    colours: ByteArray
    tidied: NDArray[np.bool_]
    lines_kept: int


def flat_knots(
    subgrid: Subgrid,
    labels: Labels,
    yarn_of: NDArray[np.intp],
    outline: NDArray[np.bool_] | None,
    *,
    lines: bool,
    tidy: int,
    progress: Progress = SILENT,
) -> FlatKnots:
    """Return the knots of flat artwork.

    Parameters
    ----------
    subgrid : Subgrid
    labels : Labels
        The palette colour of each pixel.
    yarn_of : ndarray, shape (colours,)
        The yarn of each palette colour.
    outline : ndarray of bool, shape (rows, columns), or None
        Cells inside the rug's own shape.
    lines : bool
        Whether to keep thin lines whole.
    tidy : int
        Islands of up to so many knots are tidied if they are crumbs.
    progress : Progress
        Counts the tiles.
    """
    rows, columns = subgrid.placement.rows, subgrid.placement.columns
    knots = np.empty((rows, columns), dtype=np.uint16)
    colours = np.empty((rows, columns), dtype=np.uint8)
    changed, kept = np.zeros((rows, columns), dtype=bool), 0
    tiles = tiles_of(rows, columns, min(_TILE_POINTS // subgrid.points**2, _TILE_COUNTS // len(yarn_of)))

    def task(tile: Tile) -> tuple[Any, ...]:
        near = labels_round(subgrid, labels, tile.seen)
        seen = None if outline is None else outline[tile.seen]
        return subgrid, near, yarn_of, tile.seen, seen, lines, tidy

    parts = engine().spread(knots_of, map(task, tiles))
    for done, (tile, part) in enumerate(zip(tiles, parts, strict=True), start=1):
        knots[tile.own], colours[tile.own] = part.knots[tile.inner], part.colours[tile.inner]
        changed[tile.own] = part.tidied[tile.inner]
        kept += part.lines_kept
        progress.done(done, of=len(tiles))
    return FlatKnots(knots, colours, changed, kept)


@dataclass(frozen=True)
class Tile:
    """The cells that are a tile's `own`, those that it has `seen` round them, where its own lie in those."""

    own: Window
    seen: Window
    inner: Window


def tiles_of(rows: int, columns: int, most: int) -> list[Tile]:
    """Return tiles of up to `most` cells, all of about a size, two at least where that spares time."""
    wide = _parts(columns, _TILE_COLUMNS)
    high = _parts(rows, max(min(most * len(wide) // columns, -(-rows // 2)), 4 * HALO))
    return [
        Tile((down.own, across.own), (down.seen, across.seen), (down.inner, across.inner))
        for down in high
        for across in wide
    ]


@dataclass(frozen=True)
class _Part:
    own: slice
    seen: slice
    inner: slice


def _parts(cells: int, most: int) -> list[_Part]:
    """Return the parts, of up to `most` cells each, that `cells` in a line fall into, with their surroundings."""
    number = -(-cells // most)
    bounds = [cells * part // number for part in range(number + 1)]
    parts = []
    for first, end in pairwise(bounds):
        low = max(0, first - HALO)
        parts.append(_Part(slice(first, end), slice(low, min(cells, end + HALO)), slice(first - low, end - low)))
    return parts


def knots_of(
    subgrid: Subgrid,
    labels: Labels,
    yarn_of: NDArray[np.intp],
    window: Window,
    outline: NDArray[np.bool_] | None,
    lines: bool,
    tidy: int,
) -> FlatKnots:
    """Return the knots of one window of the grid, as if there were no more of it."""
    points = subgrid.points
    fine = labels_at(subgrid, labels, window)
    inside = block_sums(fine == OUTSIDE, points) * 2 <= points**2
    if outline is not None:
        inside &= outline
    by_colour = coverages(fine, points, len(yarn_of))
    used, compact = np.unique(yarn_of, return_inverse=True)
    to_yarn = np.full(OUTSIDE + 1, OUTSIDE, dtype=np.uint8)
    to_yarn[: len(yarn_of)] = compact
    fine = to_yarn[fine]
    counts = np.zeros((*inside.shape, len(used)), dtype=np.uint16)
    for colour, yarn in enumerate(compact):
        counts[..., yarn] += by_colour[..., colour]
    knots = counts.argmax(axis=2).astype(np.uint16)
    kept, changed = 0, np.zeros(knots.shape, dtype=bool)
    if lines:
        strokes = thin_strokes(fine, points) + dots(fine, points)
        routed = keep_lines(counts, knots, strokes, points)
        knots, kept = routed.knots, routed.kept
    if tidy:
        knots, changed = tidied(np.where(inside, knots, NO_KNOT).astype(np.uint16), counts, fine, points, tidy)
    own = compact[None, None] == knots[..., None]
    colours = np.where(own, by_colour.astype(np.int32) + 1, 0).argmax(axis=2).astype(np.uint8)
    full = np.where(inside, used[np.minimum(knots, len(used) - 1)], NO_KNOT).astype(np.uint16)
    return FlatKnots(full, colours, changed & inside, kept)
