"""What a master would remark on before a rug is woven."""

from __future__ import annotations

from dataclasses import dataclass

from chartmaker.artwork.artwork import Artwork
from chartmaker.artwork.placing import Frame, fitted, turned
from chartmaker.checks.borders import unequal_borders
from chartmaker.checks.coarse import blocks
from chartmaker.checks.finer import lost_drawing
from chartmaker.checks.holes import holes
from chartmaker.checks.matches import colour_misses
from chartmaker.checks.proportions import stretched
from chartmaker.checks.scarce import scarce_yarns
from chartmaker.checks.strays import stray_knots
from chartmaker.checks.symmetric import almost_symmetric
from chartmaker.checks.weaving import hard_rows
from chartmaker.convert import Conversion
from chartmaker.ground.findings import Finding
from chartmaker.knots.knotmap import KnotMap
from chartmaker.order.design import Design
from chartmaker.order.rug import Rug

_WORST_FIRST = {"error": 0, "warning": 1, "note": 2}


@dataclass(frozen=True, eq=False)
class Drawing:
    """The artwork, upright, with the frame through which the rug looks at it."""

    artwork: Artwork
    frame: Frame


def drawing_of(artwork: Artwork, rug: Rug, design: Design) -> Drawing:
    """Return the artwork as the conversion sees it.

    Raises
    ------
    ArtworkError
        As `fitted`.
    """
    upright, frame, _ = fitted(turned(artwork, design.turn), rug, design.fit)
    return Drawing(upright, frame)


def check_map(
    knot_map: KnotMap, conversion: Conversion | None = None, drawing: Drawing | None = None
) -> tuple[Finding, ...]:
    """Return all remarks on a knot map, the worst first.

    Parameters
    ----------
    knot_map : KnotMap
    conversion : Conversion, optional
        Where it came from; without it nothing is said of how the yarns match the artwork.
    drawing : Drawing, optional
        Without it nothing is said of drawing finer than a knot, or of stretching.

    Raises
    ------
    RugError
        If a yarn is too thick for the density.
    """
    found: list[Finding] = []
    if conversion is not None:
        found += colour_misses(conversion)
    if drawing is not None:
        found += stretched(drawing.frame, knot_map.rug)
        found += lost_drawing(knot_map, drawing.artwork, drawing.frame)
    for remark in (holes, unequal_borders, almost_symmetric, stray_knots, scarce_yarns, hard_rows, blocks):
        found += remark(knot_map)
    return tuple(sorted(found, key=lambda finding: _WORST_FIRST[finding.severity]))
