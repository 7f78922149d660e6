"""Shaded artwork becomes knots by the colour of each cell."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import Artwork
from chartmaker.artwork.placing import Placement
from chartmaker.colours.matching import YarnFinder
from chartmaker.convert.report import Tally
from chartmaker.convert.shaded.keeping import cell_colours
from chartmaker.convert.shaded.sampling import row_bands
from chartmaker.convert.shaded.stipple import stippled
from chartmaker.ground.colour import RGB_TO_XYZ, FloatArray, ciede2000, lab_from_linear, xyz_from_lab
from chartmaker.ground.memory import Key, Values, memory
from chartmaker.ground.progress import SILENT, Progress
from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.knots.times import Times
from chartmaker.yarns.yarn import Yarn, lab_of

#: Up to this many knots, yarns are chosen for each knot's own colour; for more, for boxes one CIELAB unit wide.
MOST_COLOURS = 40_000
#: How many knots are stippled at a time, and how many rows beyond them on either side.
STIPPLE_KNOTS, HALO = 200_000, 16
#: The colours of up to this many cells are worked out once and held, at 24 bytes each; others whenever they are needed.
MOST_HELD = 4_000_000
#: CIELAB is rounded to this many decimals before yarns are compared.
DECIMALS = 9
_LOW, _SPAN = np.array([-1, -130, -130]), np.array([104, 260, 260])


class CellColours:
    """The colours of the cells of a placement of shaded artwork, with `detail` as in `keeping`."""

    def __init__(self, artwork: Artwork, placement: Placement, detail: float) -> None:
        self.placement, self._artwork, self._detail = placement, artwork, detail

    @property
    def key(self) -> Key:
        """All that the colours depend on."""
        edges = (self.placement.column_edges, self.placement.row_edges)
        return (self._artwork.srgb, self._artwork.coverage, *edges, self._detail)

    def bands(self) -> Iterator[tuple[int, int]]:
        """Yield (first row, end row) of bands that can be worked on at a time."""
        return row_bands(self._artwork, self.placement)

    def linear(self, first: int, end: int) -> FloatArray:
        """Return the colours of rows `first` .. `end` in linear light, shape (rows, columns, 3)."""
        return cell_colours(self._artwork, self.placement, first, end, self._detail)

    def lab(self, first: int, end: int) -> FloatArray:
        """Return the colours of rows `first` .. `end` in CIELAB, shape (rows, columns, 3)."""
        if self.placement.rows * self.placement.columns > MOST_HELD:
            return rounded_lab(self.linear(first, end))
        return self._whole[first:end]

    @cached_property
    def _whole(self) -> FloatArray:
        (lab,) = memory().recall("cells", self.key, self._averaged)
        return lab

    def _averaged(self) -> Values:
        lab = np.empty((self.placement.rows, self.placement.columns, 3))
        for first, end in self.bands():
            lab[first:end] = rounded_lab(self.linear(first, end))
        return (lab,)


def shaded_knots(
    cells: CellColours,
    yarns: tuple[Yarn, ...],
    inside: NDArray[np.bool_],
    weights: Times,
    stipple: float | None,
    knot_mm: tuple[float, float],
    progress: Progress = SILENT,
) -> tuple[NDArray[np.uint16], Tally]:
    """Return the yarn of each cell `inside`, or NO_KNOT elsewhere, and the tally of differences.

    Each cell takes its nearest yarn or, with `stipple` from 0 (calm) to 1 (fine), one that blends well with its
    neighbours'. `knot_mm` is a knot's width and length. `weights` says how often each row and each column counts.
    """
    # Ties are decided by colour and then by code, so that the order of the card's lines does not matter.
    order = np.array(sorted(range(len(yarns)), key=lambda yarn: (yarns[yarn].lab, yarns[yarn].code)), dtype=np.uint16)
    yarns_lab = lab_of(yarns)[order]

    def make() -> Values:
        return _knots(cells, yarns_lab, order, inside, weights, stipple, knot_mm, progress)

    of = (cells.key, yarns_lab, order, inside, weights.key, stipple, knot_mm)
    knots, *counted = memory().recall("shaded knots", of, make)
    return knots, Tally.again(*counted)


def _knots(
    cells: CellColours,
    yarns_lab: FloatArray,
    order: NDArray[np.uint16],
    inside: NDArray[np.bool_],
    weights: Times,
    stipple: float | None,
    knot_mm: tuple[float, float],
    progress: Progress,
) -> Values:
    """Return the knots, and then what the tally counted; `yarns_lab` stand in the `order` that decides ties."""
    placement = cells.placement
    finder, tally = YarnFinder(yarns_lab), Tally(len(yarns_lab))
    knots = np.full((placement.rows, placement.columns), NO_KNOT, dtype=np.uint16)
    bands = cells.bands() if stipple is None else _stipple_bands(placement)
    for first, end in bands:
        here = inside[first:end]
        if stipple is None:
            colours = cells.lab(first, end)[here]
            chosen = finder.nearest(colours)
        else:
            colours, chosen = _stippled(cells, (first, end), finder, yarns_lab, inside, stipple, knot_mm)
        knots[first:end][here] = order[chosen]
        times = weights.band(first, end)[here].astype(np.float64)
        tally.add(order[chosen], ciede2000(colours, yarns_lab[chosen]), times, mixed=stipple is not None)
        progress.done(end, of=placement.rows)
    return (knots, *tally.kept())


def _stipple_bands(placement: Placement) -> Iterator[tuple[int, int]]:
    step = max(4 * HALO, STIPPLE_KNOTS // placement.columns)
    for first in range(0, placement.rows, step):
        yield first, min(first + step, placement.rows)


def _stippled(
    cells: CellColours,
    span: tuple[int, int],
    finder: YarnFinder,
    yarns_lab: FloatArray,
    inside: NDArray[np.bool_],
    fine: float,
    knot_mm: tuple[float, float],
) -> tuple[FloatArray, NDArray[np.uint16]]:
    """Return CIELAB of the cells `inside` in a span of rows, shape (n, 3), and the yarns that they take."""
    low, high = max(0, span[0] - HALO), min(cells.placement.rows, span[1] + HALO)
    own = slice(span[0] - low, span[1] - low)
    linear = cells.linear(low, high)
    lab = rounded_lab(linear)
    start = finder.nearest(lab.reshape(-1, 3)).reshape(linear.shape[:2])
    yarns_linear = xyz_from_lab(yarns_lab) @ np.linalg.inv(RGB_TO_XYZ).T
    knots = stippled(linear, yarns_linear, start, inside[low:high], fine, knot_mm)
    here = inside[span[0] : span[1]]
    return lab[own][here], knots[own][here]


def rounded_lab(linear: FloatArray) -> FloatArray:
    """Return CIELAB, rounded so that no processor's last bit makes a difference."""
    return np.asarray(np.round(lab_from_linear(linear), DECIMALS))


def gathered_colours(cells: CellColours, inside: NDArray[np.bool_]) -> tuple[FloatArray, FloatArray]:
    """Return the colours of the cells `inside`, shape (n, 3), and how many cells each stands for."""
    if int(inside.sum()) <= MOST_COLOURS:
        lab = np.concatenate([cells.lab(first, end)[inside[first:end]] for first, end in cells.bands()])
        return lab, np.ones(len(lab))
    codes, parts = [], []
    for first, end in cells.bands():
        colours = cells.lab(first, end)[inside[first:end]]
        place = np.clip(np.floor(colours).astype(np.int64) - _LOW, 0, _SPAN - 1)
        met, box = np.unique(np.ravel_multi_index(tuple(place.T), tuple(_SPAN)), return_inverse=True)
        codes.append(met)
        parts.append(np.stack([np.bincount(box, each, len(met)) for each in (np.ones(len(box)), *colours.T)]))
    met, box = np.unique(np.concatenate(codes), return_inverse=True)
    sums = np.stack([np.bincount(box, each, len(met)) for each in np.concatenate(parts, axis=1)])
    return (sums[1:] / sums[0]).T, sums[0]
