"""Flat artwork becomes knots tile by tile, and what is like an earlier place is copied from there."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.artwork.cells import Cells, Window, cells_of
from chartmaker.artwork.placing import Placement
from chartmaker.colours.labelling import Labels, reached
from chartmaker.convert.flat.knotting import Seat, Tiled, Yarns, knots_of, yarns_in_order
from chartmaker.convert.flat.likeness import BLOCK, HALO, Block, blocks_of
from chartmaker.convert.flat.rejudging import judged_again, judged_in
from chartmaker.convert.flat.threads import Threads
from chartmaker.ground.engines import engine
from chartmaker.ground.memory import Values, memory
from chartmaker.ground.progress import SILENT, Progress

#: The most that a tile holds, in pixels and in cells times yarns; it covers the whole width of a grid up to so many.
_TILE_PIXELS, _TILE_COUNTS, _TILE_COLUMNS = 4_000_000, 4_000_000, 512


def prepared() -> None:
    """Import the libraries that placing knots needs, in a process that has nothing else to do yet."""
    import scipy.ndimage
    import scipy.sparse  # noqa: F401
    import skimage.measure  # noqa: F401


@dataclass(frozen=True, eq=False)
class FlatKnots:
    """The knots of flat artwork (NO_KNOT outside), the colour of each, and whether it was tidied or a line holds it.

    All four arrays have shape (rows, columns), in raster order. `lines_kept` knots are there for the sake of lines,
    although another yarn covers more of their cells. Hairlines that run over `faint` knots are left out.
    """

    knots: NDArray[np.uint16]
    colours: ByteArray
    tidied: NDArray[np.bool_]
    held: NDArray[np.bool_]
    lines_kept: int
    faint: int

    def inked(self, changed: NDArray[np.bool_], inks: NDArray[np.int16], yarns: Yarns) -> FlatKnots:
        """Return the flat knots with other inks where they `changed`, each in its yarn's first colour.

        Both arrays have shape (rows, columns); inks are numbered as `Yarns.inks` gives them.
        """
        knots, colours, tidied = self.knots.copy(), self.colours.copy(), self.tidied.copy()
        first = np.array([np.flatnonzero(yarns.of_colour == ink)[0] for ink in range(len(yarns.used))])
        knots[changed], colours[changed], tidied[changed] = yarns.used[inks[changed]], first[inks[changed]], False
        return replace(self, knots=knots, colours=colours, tidied=tidied)


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
        Islands of up to this many knots are tidied away if they are crumbs.
    tied : bool
        Whether all cells of `outline` are tied, however much of each lies outside the artwork.
    progress : Progress
        It counts the tiles.
    """
    cells, yarns = cells_of(placement), yarns_in_order(palette, yarn_of)
    of = (
        (cells.down.at, cells.across.at, outline, lines, tidy, tied),
        (labels.first, labels.second, labels.second_share, labels.top, labels.left),
        (yarns.used, yarns.of_colour, yarns.order),
    )

    def make() -> Values:
        whole = _tiled(cells, labels, yarns, outline, (lines, tidy, tied), progress)
        counts = np.array([whole.lined.sum(), whole.faded.sum()])
        return whole.knots, whole.colours, whole.tidied, whole.held, counts

    knots, colours, was_tidied, held, counts = memory().recall("flat knots", of, make)
    return FlatKnots(knots, colours, was_tidied, held, int(counts[0]), int(counts[1]))


def _tiled(
    cells: Cells,
    labels: Labels,
    yarns: Yarns,
    outline: NDArray[np.bool_] | None,
    how: tuple[bool, int, bool],
    progress: Progress,
) -> Tiled:
    """Return the knots of all cells, tile by tile; `how` is what `knots_of` takes besides."""
    rows, columns = cells.shape
    whole = Tiled(
        np.empty((rows, columns), dtype=np.uint16),
        np.empty((rows, columns), dtype=np.uint8),
        *(np.empty((rows, columns), dtype=bool) for _ in range(4)),
    )
    blocks = list(blocks_of(cells, labels, outline))
    most = int(min(_TILE_PIXELS * rows * columns // labels.first.size, _TILE_COUNTS // len(yarns.of_colour)))

    def made(tiles: list[Tile], judged: Threads | None) -> list[Threads]:
        """Put the knots of tiles in place, with hairlines as they were judged, and return the hairlines of each."""
        threads = list[Threads]()
        parts = engine().spread(knots_of, (task(tile, judged) for tile in tiles))
        for done, (tile, part) in enumerate(zip(tiles, parts, strict=True), start=1):
            whole.put(tile.own, part, tile.inner)
            progress.done(done, of=len(tiles))
            threads += [] if part.threads is None else [part.threads]
        return threads

    def task(tile: Tile, judged: Threads | None) -> tuple[Any, ...]:
        seen = cells.part(tile.seen)
        shape = None if outline is None else outline[tile.seen]
        corner = (tile.seen[0].start, tile.seen[1].start)
        near = None if judged is None else judged.moved(tile.seen, (0, 0)).name
        return seen, labels_under(labels, seen), yarns, shape, *how, Seat(tile.inner, corner, near)

    def tiles(some: Iterable[Block]) -> list[Tile]:
        return [tile for window in _rectangles(some) for tile in tiles_of(window, (rows, columns), most)]

    def copied(some: Iterable[Block]) -> None:
        for block in some:
            if block.like is not None:
                whole.put(block.own, whole, block.like)

    threads = made(tiles(block for block in blocks if block.like is None), None)
    copied(blocks)
    judged = judged_in(threads, blocks)
    if judged is not None:
        again = judged_again(judged, blocks, (rows, columns))
        made(tiles(block for block, anew in zip(blocks, again, strict=True) if anew), judged)
        copied(block for block, anew in zip(blocks, again, strict=True) if not anew)
    return whole


@dataclass(frozen=True)
class Tile:
    """The cells of a tile: its `own`, those `seen` round them, and where its own lie among those seen."""

    own: Window
    seen: Window
    inner: Window


def _rectangles(blocks: Iterable[Block]) -> list[Window]:
    """Return the windows that blocks fill together, joined first side by side and then one below the other."""
    runs: list[list[Any]] = []
    for block in blocks:
        down, across = block.own
        if runs and runs[-1][0] == down and runs[-1][1].stop == across.start:
            runs[-1][1] = slice(runs[-1][1].start, across.stop)
        else:
            runs.append([down, across])
    windows: list[Window] = []
    open_at: dict[tuple[int, int, int], int] = {}  # by its columns and the row where it ends
    for down, across in runs:
        above = open_at.pop((across.start, across.stop, down.start), None)
        if above is None:
            above = len(windows)
            windows.append((down, across))
        else:
            windows[above] = (slice(windows[above][0].start, down.stop), across)
        open_at[across.start, across.stop, down.stop] = above
    return windows


def tiles_of(window: Window, shape: tuple[int, int], most: int) -> list[Tile]:
    """Return tiles of up to `most` cells that fill a window of a grid, all of about the same size.

    If all of a large grid is to be filled, there are at least two, which saves time.
    """
    (rows, columns), (height, width) = (own.stop - own.start for own in window), shape
    wide = _parts(window[1], width, _TILE_COLUMNS)
    high = _parts(window[0], height, max(min(most * len(wide) // columns, -(-rows // 2)), BLOCK))
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


def _parts(own: slice, size: int, most: int) -> list[_Part]:
    """Return the parts of up to `most` cells into which `own` of a line of `size` cells is cut, with what they see."""
    cells = own.stop - own.start
    number = -(-cells // most)
    bounds = [own.start + cells * part // number for part in range(number + 1)]
    parts = []
    for first, end in pairwise(bounds):
        low = max(0, first - HALO)
        parts.append(_Part(slice(first, end), slice(low, min(size, end + HALO)), slice(first - low, end - low)))
    return parts
