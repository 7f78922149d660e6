"""Shaded artwork into knots, from the colour of each cell."""

from __future__ import annotations

from collections.abc import Iterator

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
from chartmaker.ground.progress import SILENT, Progress
from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.yarns.yarn import Yarn, lab_of

#: Up to so many knots, yarns are chosen for each knot's own colour; above, for boxes of CIELAB one unit wide.
MOST_COLOURS = 40_000
#: Knots that are stippled at a time, with so many rows beyond on either side.
STIPPLE_KNOTS, HALO = 200_000, 16
#: CIELAB is rounded to so many decimals before yarns are compared.
DECIMALS = 9
_LOW, _SPAN = np.array([-1, -130, -130]), np.array([104, 260, 260])


def cells_lab(artwork: Artwork, placement: Placement, detail: float) -> Iterator[tuple[int, int, FloatArray]]:
    """Yield (first row, end row, CIELAB of the cells' colours, shape (rows, columns, 3)) in bands."""
    for first, end in row_bands(artwork, placement):
        yield first, end, _rounded_lab(cell_colours(artwork, placement, first, end, detail))


def shaded_knots(
    artwork: Artwork,
    placement: Placement,
    yarns: tuple[Yarn, ...],
    inside: NDArray[np.bool_],
    weights: tuple[NDArray[np.int64], NDArray[np.int64]],
    stipple: float | None,
    detail: float,
    knot_mm: tuple[float, float],
    progress: Progress = SILENT,
) -> tuple[NDArray[np.uint16], Tally]:
    """Return the yarn of each cell `inside`, NO_KNOT elsewhere, with the tally of differences.

    Each takes the nearest yarn, or with `stipple` (0 calm .. 1 fine) one that blends well with its neighbours'.
    `detail` (0..1) says how far what stands out is kept (`keeping`). `knot_mm` is a knot's width and length. `weights`
    says how often each row and each column counts.
    """
    # ties go by colour, then by code: the card's lines may stand in any order
    order = np.array(sorted(range(len(yarns)), key=lambda yarn: (yarns[yarn].lab, yarns[yarn].code)), dtype=np.uint16)
    yarns_lab = lab_of(yarns)[order]
    finder, tally = YarnFinder(yarns_lab), Tally(len(yarns_lab))
    knots = np.full((placement.rows, placement.columns), NO_KNOT, dtype=np.uint16)
    bands = row_bands(artwork, placement) if stipple is None else _stipple_bands(placement)
    for first, end in bands:
        here = inside[first:end]
        if stipple is None:
            colours = _rounded_lab(cell_colours(artwork, placement, first, end, detail)[here])
            chosen = finder.nearest(colours)
        else:
            span = (first, end)
            colours, chosen = _stippled(artwork, placement, span, finder, yarns_lab, inside, stipple, detail, knot_mm)
        knots[first:end][here] = order[chosen]
        times = np.broadcast_to(weights[0][first:end, None] * weights[1][None], here.shape)[here]
        tally.add(order[chosen], ciede2000(colours, yarns_lab[chosen]), times)
        progress.done(end, of=placement.rows)
    return knots, tally


def _stipple_bands(placement: Placement) -> Iterator[tuple[int, int]]:
    step = max(4 * HALO, STIPPLE_KNOTS // placement.columns)
    for first in range(0, placement.rows, step):
        yield first, min(first + step, placement.rows)


def _stippled(
    artwork: Artwork,
    placement: Placement,
    span: tuple[int, int],
    finder: YarnFinder,
    yarns_lab: FloatArray,
    inside: NDArray[np.bool_],
    fine: float,
    detail: float,
    knot_mm: tuple[float, float],
) -> tuple[FloatArray, NDArray[np.uint16]]:
    """Return CIELAB of the cells `inside` in a span of rows, shape (n, 3), with the yarns that they take."""
    low, high = max(0, span[0] - HALO), min(placement.rows, span[1] + HALO)
    own = slice(span[0] - low, span[1] - low)
    linear = cell_colours(artwork, placement, low, high, detail)
    lab = _rounded_lab(linear)
    start = finder.nearest(lab.reshape(-1, 3)).reshape(linear.shape[:2])
    yarns_linear = xyz_from_lab(yarns_lab) @ np.linalg.inv(RGB_TO_XYZ).T
    knots = stippled(linear, yarns_linear, start, inside[low:high], fine, knot_mm)
    here = inside[span[0] : span[1]]
    return lab[own][here], knots[own][here]


def _rounded_lab(linear: FloatArray) -> FloatArray:
    """Return CIELAB rounded to what no processor's last bit reaches."""
    return np.asarray(np.round(lab_from_linear(linear), DECIMALS))


def gathered_colours(
    artwork: Artwork, placement: Placement, inside: NDArray[np.bool_], detail: float
) -> tuple[FloatArray, FloatArray]:
    """Return the colours of the cells `inside`, shape (n, 3), with how many cells each stands for."""
    if int(inside.sum()) <= MOST_COLOURS:
        lab = np.concatenate([lab[inside[first:end]] for first, end, lab in cells_lab(artwork, placement, detail)])
        return lab, np.ones(len(lab))
    codes, parts = [], []
    for first, end, lab in cells_lab(artwork, placement, detail):
        colours = lab[inside[first:end]]
        place = np.clip(np.floor(colours).astype(np.int64) - _LOW, 0, _SPAN - 1)
        met, box = np.unique(np.ravel_multi_index(tuple(place.T), tuple(_SPAN)), return_inverse=True)
        codes.append(met)
        parts.append(np.stack([np.bincount(box, each, len(met)) for each in (np.ones(len(box)), *colours.T)]))
    met, box = np.unique(np.concatenate(codes), return_inverse=True)
    sums = np.stack([np.bincount(box, each, len(met)) for each in np.concatenate(parts, axis=1)])
    return (sums[1:] / sums[0]).T, sums[0]
