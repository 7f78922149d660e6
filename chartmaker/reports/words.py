"""The few words that say which rug is shown."""

from __future__ import annotations

from fractions import Fraction

from chartmaker.ground.language import counted
from chartmaker.ground.units import INCH_MM
from chartmaker.knots.knotmap import KnotMap
from chartmaker.order.rug import Rug


def _cm(length_mm: Fraction) -> str:
    return f"{float(length_mm) / 10:.1f}".removesuffix(".0")


def _feet(length_mm: Fraction) -> str:
    inches = round(length_mm / INCH_MM)
    return f"{inches // 12}'{inches % 12}\""


def size_words(rug: Rug) -> str:
    """Return ``170 x 240 cm  (5'7" x 7'10")``: what whole knots really give, width first."""
    width, length = rug.woven_width_mm, rug.woven_length_mm
    return f"{_cm(width)} x {_cm(length)} cm  ({_feet(width)} x {_feet(length)})"


def density_words(rug: Rug) -> str:
    """Return the knots per dm and per inch, across first."""
    across, along = rug.density.across_per_dm, rug.density.along_per_dm
    inch_across, inch_along = rug.density.across_per_inch, rug.density.along_per_inch
    return (
        f"{float(across):.4g} x {float(along):.4g} knots per dm  "
        f"({float(inch_across):.4g} x {float(inch_along):.4g} per inch)"
    )


def knots_words(knot_map: KnotMap) -> str:
    """Return the number of knots, how many across with how many along, the number of yarns."""
    yarns = counted(len(knot_map.yarns), "yarn")
    return f"{counted(knot_map.tied, 'knot')} ({knot_map.columns:,} x {knot_map.rows:,}), {yarns}"


def code_words(knot_map: KnotMap) -> str:
    """Return the map code, as on every sheet."""
    return f"map {knot_map.map_code}"
