"""Flat artwork into knots: each knot the yarn that covers most of its cell, its lines whole."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.convert.labelling import OUTSIDE, Labels
from chartmaker.convert.lines import keep_lines
from chartmaker.convert.strokes import dots, thin_strokes
from chartmaker.convert.subgrid import Subgrid, block_sums, coverages, labels_at
from chartmaker.convert.tidying import tidied
from chartmaker.knotmap import NO_KNOT
from chartmaker.picture import ByteArray

#: Rows of knots that a band looks beyond its edges, so that lines and islands are judged whole.
HALO = 16
#: Bounds of what a band holds at a time: points, then cells times yarns.
_BAND_POINTS, _BAND_COUNTS = 6_000_000, 6_000_000


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
    tell: Callable[[float], None],
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
    tell : callable
        Called with the share that is done.
    """
    rows, columns = subgrid.frame.rows, subgrid.frame.columns
    knots = np.empty((rows, columns), dtype=np.uint16)
    colours = np.empty((rows, columns), dtype=np.uint8)
    changed, kept = np.zeros((rows, columns), dtype=bool), 0
    for first, end in _bands(rows, columns, subgrid.points, len(yarn_of)):
        low, high = max(0, first - HALO), min(rows, end + HALO)
        own = slice(first - low, end - low)
        part = _band(subgrid, labels, yarn_of, (low, high), None if outline is None else outline[low:high], lines, tidy)
        knots[first:end], colours[first:end] = part.knots[own], part.colours[own]
        changed[first:end] = part.tidied[own]
        kept += part.lines_kept
        tell(end / rows)
    return FlatKnots(knots, colours, changed, kept)


def _bands(rows: int, columns: int, points: int, colours: int) -> Iterator[tuple[int, int]]:
    most = min(_BAND_POINTS // (columns * points**2), _BAND_COUNTS // (columns * colours))
    step = rows if rows <= most else max(most - 2 * HALO, 2 * HALO)
    for first in range(0, rows, step):
        yield first, min(first + step, rows)


@dataclass(frozen=True, eq=False)
class _Band:
    knots: NDArray[np.uint16]
    colours: ByteArray
    tidied: NDArray[np.bool_]
    lines_kept: int


def _band(
    subgrid: Subgrid,
    labels: Labels,
    yarn_of: NDArray[np.intp],
    span: tuple[int, int],
    outline: NDArray[np.bool_] | None,
    lines: bool,
    tidy: int,
) -> _Band:
    points, (low, high) = subgrid.points, span
    fine = labels_at(subgrid, labels, low, high, len(yarn_of))
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
    return _Band(full, colours, changed & inside, kept)
