"""Shaded artwork into knots: each knot the yarn nearest to the average colour of its cell."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
from numpy.typing import NDArray

from chartmaker.colour import FloatArray, ciede2000, lab_from_linear
from chartmaker.convert.fitting import Frame
from chartmaker.convert.matching import YarnFinder
from chartmaker.convert.report import Tally
from chartmaker.convert.sampling import linear_averages, row_bands
from chartmaker.knotmap import NO_KNOT
from chartmaker.picture import Artwork

#: Up to so many knots, yarns are chosen for each knot's own colour; above, for boxes of CIELAB one unit wide.
MOST_COLOURS = 40_000
_LOW, _SPAN = np.array([-1, -130, -130]), np.array([104, 260, 260])


def averages_lab(artwork: Artwork, frame: Frame) -> Iterator[tuple[int, int, FloatArray]]:
    """Yield (first row, end row, CIELAB of the cells' averages, shape (rows, columns, 3)) in bands."""
    for first, end in row_bands(artwork, frame):
        yield first, end, lab_from_linear(linear_averages(artwork, frame, first, end))


def shaded_knots(
    artwork: Artwork,
    frame: Frame,
    yarns_lab: FloatArray,
    inside: NDArray[np.bool_],
    weights: tuple[NDArray[np.int64], NDArray[np.int64]],
    tell: Callable[[float], None],
) -> tuple[NDArray[np.uint16], Tally]:
    """Return the nearest yarn of each cell `inside`, NO_KNOT elsewhere, with the tally of differences.

    `weights` says how often each row and each column counts.
    """
    finder, tally = YarnFinder(yarns_lab), Tally(len(yarns_lab))
    knots = np.full((frame.rows, frame.columns), NO_KNOT, dtype=np.uint16)
    for first, end, lab in averages_lab(artwork, frame):
        here = inside[first:end]
        colours = lab[here]
        nearest = finder.nearest(colours)
        knots[first:end][here] = nearest
        times = np.broadcast_to(weights[0][first:end, None] * weights[1][None], here.shape)[here]
        tally.add(nearest, ciede2000(colours, yarns_lab[nearest]), times)
        tell(end / frame.rows)
    return knots, tally


def gathered_colours(artwork: Artwork, frame: Frame, inside: NDArray[np.bool_]) -> tuple[FloatArray, FloatArray]:
    """Return the colours of the cells `inside`, shape (n, 3), with how many cells each stands for."""
    if int(inside.sum()) <= MOST_COLOURS:
        lab = np.concatenate([lab[inside[first:end]] for first, end, lab in averages_lab(artwork, frame)])
        return lab, np.ones(len(lab))
    sums = np.zeros((4, int(np.prod(_SPAN))))
    for first, end, lab in averages_lab(artwork, frame):
        colours = lab[inside[first:end]]
        place = np.clip(np.floor(colours).astype(np.int64) - _LOW, 0, _SPAN - 1)
        number = np.ravel_multi_index(tuple(place.T), tuple(_SPAN))
        sums[0] += np.bincount(number, minlength=sums.shape[1])
        for axis in range(3):
            sums[axis + 1] += np.bincount(number, colours[:, axis], minlength=sums.shape[1])
    met = np.flatnonzero(sums[0])
    return (sums[1:, met] / sums[0, met]).T, sums[0, met]
