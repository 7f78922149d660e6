"""The remark on rows that ask too much of a weaver."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
from numpy.typing import NDArray

from chartmaker.checks.places import stretches
from chartmaker.ground.findings import Finding, Place, place_words
from chartmaker.ground.sentence import later, later_n
from chartmaker.knots.knotmap import NO_KNOT, KnotArray, KnotMap
from chartmaker.knots.strips import seats_of
from chartmaker.order.workshop import Workshop
from chartmaker.techniques.crafts import craft_of

#: The number of balls of yarn that hang before one weaver; with more, each has to be searched for (common practice).
MOST_COLOURS = 24
#: A weaver whose runs are shorter than this, in knots, changes yarn at two knots out of three (common practice).
SHORTEST_MEAN_RUN = 1.5
#: The rows of a narrower strip, in knots, say nothing; rows this near to each other make one stretch.
LEAST_KNOTS, ROW_GAP = 20, 5

_BAND_CELLS = 4_000_000
RowCounts = NDArray[np.int64]


def _by_row(knots: KnotArray, count: Callable[[KnotArray], NDArray[np.integer]]) -> RowCounts:
    step = max(1, _BAND_CELLS // knots.shape[1])
    return np.concatenate([count(knots[row : row + step]) for row in range(0, len(knots), step)]).astype(np.int64)


def _knots(band: KnotArray) -> NDArray[np.integer]:
    return np.asarray((band != NO_KNOT).sum(axis=1))


def _colours(band: KnotArray) -> NDArray[np.integer]:
    ordered = np.sort(band, axis=1)
    ordered_first = ordered[:, :1] != NO_KNOT
    fresh = (ordered[:, 1:] != ordered[:, :-1]) & (ordered[:, 1:] != NO_KNOT)
    return np.asarray(fresh.sum(axis=1) + ordered_first[:, 0])


def _runs(band: KnotArray) -> NDArray[np.integer]:
    fresh = (band[:, 1:] != band[:, :-1]) & (band[:, 1:] != NO_KNOT)
    return np.asarray(fresh.sum(axis=1) + (band[:, 0] != NO_KNOT))


def hard_rows(knot_map: KnotMap, workshop: Workshop) -> Iterator[Finding]:
    """Yield a finding on rows with too many colours for one weaver, and one on rows with too many runs.

    A rug that is not made row by row has no such rows.
    """
    if not craft_of(knot_map.rug).by_rows:
        return
    many: list[tuple[Place, int]] = []
    short: list[tuple[Place, float]] = []
    places: tuple[list[Place], list[Place]] = ([], [])
    for seat in seats_of(knot_map.rug, workshop):
        part = knot_map.knots[:, seat.start : seat.stop]
        knots, colours, runs = _by_row(part, _knots), _by_row(part, _colours), _by_row(part, _runs)
        crowded = np.flatnonzero(colours > MOST_COLOURS)
        restless = np.flatnonzero((knots >= LEAST_KNOTS) & (knots < SHORTEST_MEAN_RUN * runs))
        many += [((row, row + 1, seat.start, seat.stop), int(colours[row])) for row in crowded.tolist()]
        short += [((row, row + 1, seat.start, seat.stop), float(knots[row] / runs[row])) for row in restless.tolist()]
        for found, rows in zip(places, (crowded, restless), strict=True):
            found += [(a, b + 1, seat.start, seat.stop) for a, b in stretches(rows, ROW_GAP)]
    if many:
        place, most = max(many, key=lambda found: found[1])
        yield Finding(
            later_n(
                "{n} row of a weaver's strip asks for more than {most} colours, up to {found}, which is more than hang "
                "before a weaver. Merge lookalike yarns, or use fewer ([yarns] colours).",
                "{n:,} rows of a weaver's strip ask for more than {most} colours in a row, up to {found}, which is "
                "more than hang before a weaver. Merge lookalike yarns, or use fewer ([yarns] colours).",
                len(many),
                most=MOST_COLOURS,
                found=most,
            ),
            later("worst in {place}", place=place_words(place)),
            "warning",
            tuple(places[0]),
        )
    if short:
        place, mean = min(short, key=lambda found: found[1])
        yield Finding(
            later_n(
                "{n} row of a weaver's strip changes yarn at more than two knots out of three, every {mean:.2f} knots, "
                "which is slow to tie and easy to get wrong. Calmer shading ([design] stipple = 0, or a higher tidy) "
                "gives longer runs.",
                "{n:,} rows of a weaver's strip change yarn at more than two knots out of three, every {mean:.2f} "
                "knots at worst, which is slow to tie and easy to get wrong. Calmer shading ([design] stipple = 0, or "
                "a higher tidy) gives longer runs.",
                len(short),
                mean=mean,
            ),
            later("worst in {place}", place=place_words(place)),
            "warning",
            tuple(places[1]),
        )
