"""Flat artwork into knots, tile by tile."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.artwork.placing import Placement
from chartmaker.convert.flat.cells import Cells, Window, cells_of
from chartmaker.convert.flat.knotting import knots_of, yarns_in_order
from chartmaker.convert.flat.labelling import Labels, reached
from chartmaker.ground.engines import engine
from chartmaker.ground.progress import SILENT, Progress

#: Knots that a tile looks beyond its edges, so that lines and islands are judged whole.
HALO = 16
#: The most that a tile holds, in pixels and in cells times yarns; it covers the whole width of a grid up to this wide.
_TILE_PIXELS, _TILE_COUNTS, _TILE_COLUMNS = 4_000_000, 4_000_000, 512


def prepared() -> None:
    """Import what placing knots takes, for a process that has nothing else to do as yet."""
    import scipy.ndimage
    import scipy.sparse  # noqa: F401
    import skimage.measure  # noqa: F401


@dataclass(frozen=True, eq=False)
class FlatKnots:
    """`knots` (NO_KNOT outside), the palette colour of each, whether it was tidied, whether a line holds it.

    All four have shape (rows, columns), in raster order. `lines_kept` knots are there for the sake of lines, though
    another yarn covers more of their cells; hairlines that run over `faint` knots are left out.
    """

    knots: NDArray[np.uint16]
    colours: ByteArray
    tidied: NDArray[np.bool_]
    held: NDArray[np.bool_]
    lines_kept: int
    faint: int


def labels_under(labels: Labels, cells: Cells) -> Labels:
    """Return the labels of the pixels that `cells` reach over."""
    down = reached(cells.down, labels.top, labels.first.shape[0])
    across = reached(cells.across, labels.left, labels.first.shape[1])
    return labels.part(slice(int(down[0]), int(down[-1]) + 1), slice(int(across[0]), int(across[-1]) + 1))


def flat_knots(
    placement: Placement,
    labels: Labels,
    palette: ByteArray,
    yarn_of: NDArray[np.intp],
    outline: NDArray[np.bool_] | None,
    *,
    lines: bool,
    tidy: int,
    tied: bool = False,
    progress: Progress = SILENT,
) -> FlatKnots:
    """Return the knots of flat artwork.

    Parameters
    ----------
    placement : Placement
    labels : Labels
        The palette colour of each pixel.
    palette : ndarray of uint8, shape (colours, 3)
    yarn_of : ndarray, shape (colours,)
        The yarn of each palette colour.
    outline : ndarray of bool, shape (rows, columns), or None
        Cells inside the rug's own shape.
    lines : bool
        Whether to keep thin lines whole.
    tidy : int
        Islands of up to this many knots are tidied if they are crumbs.
    tied : bool
        Whether all cells of `outline` are tied, however much of them lies outside.
    progress : Progress
        Counts the tiles.
    """
    rows, columns = placement.rows, placement.columns
    cells, yarns = cells_of(placement), yarns_in_order(palette, yarn_of)
    knots = np.empty((rows, columns), dtype=np.uint16)
    colours = np.empty((rows, columns), dtype=np.uint8)
    changed, held, kept, faint_knots = np.zeros((rows, columns), bool), np.zeros((rows, columns), bool), 0, 0
    tiles = tiles_of(
        rows, columns, int(min(_TILE_PIXELS * rows * columns // labels.first.size, _TILE_COUNTS // len(yarn_of)))
    )

    def task(tile: Tile) -> tuple[Any, ...]:
        seen = cells.part(tile.seen)
        shape = None if outline is None else outline[tile.seen]
        return seen, labels_under(labels, seen), yarns, shape, lines, tidy, tied

    parts = engine().spread(knots_of, map(task, tiles))
    for done, (tile, part) in enumerate(zip(tiles, parts, strict=True), start=1):
        knots[tile.own], colours[tile.own] = part.knots[tile.inner], part.colours[tile.inner]
        changed[tile.own], held[tile.own] = part.tidied[tile.inner], part.held[tile.inner]
        kept += int(part.lined[tile.inner].sum())
        faint_knots += int(part.faded[tile.inner].sum())
        progress.done(done, of=len(tiles))
    return FlatKnots(knots, colours, changed, held, kept, faint_knots)


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
