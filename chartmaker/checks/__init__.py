"""What a master weaver would remark on before a rug is woven."""

from __future__ import annotations

from typing import TYPE_CHECKING

from chartmaker.checks.borders import unequal_borders
from chartmaker.checks.coarse import blocks
from chartmaker.checks.colouronly import colours_alone
from chartmaker.checks.finer import lost_drawing
from chartmaker.checks.holes import holes
from chartmaker.checks.likesymbols import moved_symbols
from chartmaker.checks.looms import changes_along
from chartmaker.checks.matches import colour_misses
from chartmaker.checks.proportions import stretched
from chartmaker.checks.scarce import scarce_yarns
from chartmaker.checks.strays import stray_knots
from chartmaker.checks.symmetric import almost_symmetric
from chartmaker.checks.weaving import hard_rows
from chartmaker.ground.findings import Finding
from chartmaker.knots.knotmap import KnotMap
from chartmaker.order.workshop import Workshop

if TYPE_CHECKING:
    from chartmaker.convert.conversion import Conversion

_WORST_FIRST = {"error": 0, "warning": 1, "note": 2}


def check_map(
    knot_map: KnotMap, workshop: Workshop, conversion: Conversion | None = None, *, laid_anew: bool = False
) -> tuple[Finding, ...]:
    """Return all remarks on a knot map, the most severe first.

    Parameters
    ----------
    knot_map : KnotMap
    workshop : Workshop
        The number of weavers decides which rows are hard, and the dye order which yarns are scarce.
    conversion : Conversion, optional
        The conversion that made the map; without it there are no remarks on how the yarns match the artwork, on
        drawing finer than a knot, or on stretching.
    laid_anew : bool
        Whether the design was laid anew for this size, and not stretched.

    Raises
    ------
    RugError
        If a yarn is too thick for the density.
    """
    found: list[Finding] = []
    if conversion is not None:
        placed = conversion.placed
        found += colour_misses(conversion)
        if not laid_anew:  # which draws a pixel a knot, whatever the knot's shape, and keeps the shape of motifs itself
            found += stretched(placed.placement, knot_map.rug)
        found += lost_drawing(knot_map, placed.artwork, placed.placement)
    for remark in (holes, unequal_borders, almost_symmetric, stray_knots, moved_symbols):
        found += remark(knot_map)
    found += scarce_yarns(knot_map, workshop)
    found += hard_rows(knot_map, workshop)
    found += blocks(knot_map)
    found += changes_along(knot_map, workshop)
    found += colours_alone(knot_map, workshop)
    return tuple(sorted(found, key=lambda finding: _WORST_FIRST[finding.severity]))
