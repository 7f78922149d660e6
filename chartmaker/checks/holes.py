"""The remark on cells without a knot inside the rug."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from chartmaker.checks.places import places_where, where_words
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import phrase
from chartmaker.ground.sentence import later_n
from chartmaker.knots.knotmap import NO_KNOT, KnotMap

#: A slip of the hand does not rub out a gap of this many cells (common practice).
DRAWN_GAP = 9
_IN_A_RECTANGLE = (
    phrase(
        "{n} cell has no knot, though the rug is a rectangle: it was rubbed out by a slip, or the artwork is "
        "transparent there."
    ),
    phrase(
        "{n:,} cells have no knot, though the rug is a rectangle: they were rubbed out by a slip, or the artwork is "
        "transparent there."
    ),
)
_IN_THE_OUTLINE = (
    phrase(
        "{n} cell has no knot, though it lies inside the outline: it was rubbed out by a slip, or the artwork is "
        "transparent there."
    ),
    phrase(
        "{n:,} cells have no knot, though they lie inside the outline: they were rubbed out by a slip, or the artwork "
        "is transparent there."
    ),
)


def _enclosed(empty: NDArray[np.bool_], *, drawn: bool) -> NDArray[np.bool_]:
    """Return the empty cells from which no path of empty cells leads out of the map.

    Where the outline is `drawn`, as the artwork's own is, a large gap is part of the drawing, such as that between a
    figure's legs.
    """
    from scipy.ndimage import label

    regions, number = label(empty)
    outside = np.zeros(number + 1, dtype=bool)
    if drawn:
        outside |= np.bincount(regions.ravel(), minlength=number + 1) >= DRAWN_GAP
    for edge in (regions[0], regions[-1], regions[:, 0], regions[:, -1]):
        outside[edge] = True
    outside[0] = True
    return np.asarray(~outside[regions])


def holes(knot_map: KnotMap) -> Iterator[Finding]:
    """Yield a finding if cells have no knot where the rug should have one."""
    if not knot_map.empty:
        return
    empty = knot_map.knots == NO_KNOT
    bare = empty if knot_map.rug.shape == "rectangle" else _enclosed(empty, drawn=knot_map.rug.shape == "artwork")
    number = int(bare.sum())
    if not number:
        return
    places = places_where(bare)
    yield Finding(
        later_n(*(_IN_A_RECTANGLE if knot_map.rug.shape == "rectangle" else _IN_THE_OUTLINE), number),
        where_words(places),
        "warning",
        places,
    )
