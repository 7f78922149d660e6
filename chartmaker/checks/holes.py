"""The remark on cells without a knot inside the rug."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from chartmaker.checks.places import places_where, where_words
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import counted
from chartmaker.knots.knotmap import NO_KNOT, KnotMap


def _enclosed(empty: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return the empty cells from which no way of empty cells leads out of the map."""
    from scipy.ndimage import label

    regions, number = label(empty)
    outside = np.zeros(number + 1, dtype=bool)
    for edge in (regions[0], regions[-1], regions[:, 0], regions[:, -1]):
        outside[edge] = True
    outside[0] = True
    return np.asarray(~outside[regions])


def holes(knot_map: KnotMap) -> Iterator[Finding]:
    """Yield a finding if cells have no knot where the rug should have one."""
    if not knot_map.empty:
        return
    empty = knot_map.knots == NO_KNOT
    bare = empty if knot_map.rug.shape == "rectangle" else _enclosed(empty)
    number = int(bare.sum())
    if not number:
        return
    places = places_where(bare)
    why = "the rug is a rectangle" if knot_map.rug.shape == "rectangle" else "they lie inside the outline"
    yield Finding(
        f"{counted(number, 'cell has', 'cells have')} no knot, though {why}: rubbed out by a slip, or "
        "transparent in the artwork.",
        where_words(places),
        "warning",
        places,
    )
