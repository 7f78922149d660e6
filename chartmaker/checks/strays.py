"""The remark on single knots that stand alone."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from chartmaker.checks.places import places_of, where_words
from chartmaker.ground.findings import Finding
from chartmaker.ground.sentence import later, later_n
from chartmaker.knots.knotmap import NO_KNOT, KnotArray, KnotMap

#: Above this share of the knots, single knots are a way of drawing (stippled shades), not slips (common practice).
STIPPLED_SHARE = 0.005
#: From this number on, single knots in the same surroundings are a motif, say a dot in a border (common practice).
MOTIF_TIMES = 4
_BAND_CELLS = 4_000_000


def lone_knots(knots: KnotArray) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return (rows, columns) of the knots whose eight neighbours are all of other yarns, first woven first."""
    rows, columns = knots.shape
    step = max(1, _BAND_CELLS // columns)
    found_rows, found_columns = [], []
    for first in range(0, rows, step):
        last = min(first + step, rows)
        top, bottom = max(first - 1, 0), min(last + 1, rows)
        band = knots[top:bottom]
        alone = band != NO_KNOT
        for down, over in ((0, 1), (1, -1), (1, 0), (1, 1)):
            here = band[: len(band) - down, max(-over, 0) : columns - max(over, 0)]
            there = band[down:, max(over, 0) : columns - max(-over, 0)]
            same = here == there
            alone[: len(band) - down, max(-over, 0) : columns - max(over, 0)] &= ~same
            alone[down:, max(over, 0) : columns - max(-over, 0)] &= ~same
        row, column = np.nonzero(alone[first - top : last - top])
        found_rows.append(row + first)
        found_columns.append(column)
    return np.concatenate(found_rows), np.concatenate(found_columns)


def _drawn(knots: KnotArray, rows: NDArray[np.intp], columns: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Return which lone knots have a counterpart at a mirrored place, and so are drawn and not slips."""
    height, width = knots.shape
    lone = np.zeros(knots.shape, dtype=bool)
    lone[rows, columns] = True
    meant = np.zeros(len(rows), dtype=bool)
    for other_rows, other_columns in (
        (rows, width - 1 - columns),
        (height - 1 - rows, columns),
        (height - 1 - rows, width - 1 - columns),
    ):
        itself = (other_rows == rows) & (other_columns == columns)
        same = knots[other_rows, other_columns] == knots[rows, columns]
        meant |= lone[other_rows, other_columns] & same & ~itself
    return meant


def _repeated(knots: KnotArray, rows: NDArray[np.intp], columns: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Return which lone knots have surroundings, of 5 x 5 knots, that recur often enough to be a motif."""
    padded = np.pad(knots, 2, constant_values=NO_KNOT)
    near = [padded[rows + down, columns + over] for down in range(5) for over in range(5)]
    _, kind, times = np.unique(np.stack(near, axis=1), axis=0, return_inverse=True, return_counts=True)
    return np.asarray(times[kind.ravel()] >= MOTIF_TIMES)


def stray_knots(knot_map: KnotMap) -> Iterator[Finding]:
    """Yield a finding if knots stand alone that have no counterpart at a mirrored place or in a repeat."""
    rows, columns = lone_knots(knot_map.knots)
    if len(rows) > STIPPLED_SHARE * knot_map.tied:
        yield Finding(
            later_n(
                "{n} knot, {percent:.1f} % of the rug, stands alone among other yarns: it is a speck at the edge of a "
                "colour, or part of a shade mixed knot by knot. A higher [design] tidy, or a lower stipple, makes "
                "calmer rows.",
                "{n:,} knots, {percent:.1f} % of the rug, stand alone among other yarns: they are specks at the edges "
                "of colours, or shades mixed knot by knot. Either is slow to read and to tie; a higher [design] tidy, "
                "or a lower stipple, makes calmer rows.",
                len(rows),
                percent=100 * len(rows) / knot_map.tied,
            ),
            later("the whole rug"),
            "note",
            places_of(rows, columns),
        )
        return
    if not len(rows):
        return
    stray = ~(_drawn(knot_map.knots, rows, columns) | _repeated(knot_map.knots, rows, columns))
    if not stray.any():
        return
    places = places_of(rows[stray], columns[stray])
    number = int(stray.sum())
    yield Finding(
        later_n(
            "{n} single knot stands alone among other yarns, and has no counterpart at a mirrored place: it is a "
            "speck, unless it is meant.",
            "{n:,} single knots stand alone among other yarns, and have no counterparts at mirrored places: they are "
            "specks, unless they are meant.",
            number,
        ),
        where_words(places),
        "note",
        places,
    )
