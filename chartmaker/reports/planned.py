"""What a rug will be, worked out before there is any artwork."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Any

from chartmaker.figures.labour import LABOUR_LAW, daily_rate, days_for
from chartmaker.ground.language import counted
from chartmaker.ground.units import INCH_MM
from chartmaker.knots.strips import strips_of, weavers_of
from chartmaker.order.density import indian_trade_figure
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Workshop


def feet_inches(length_mm: Fraction) -> str:
    """Return a length as feet with inches to the nearest eighth: ``7'10 1/2"``."""
    eighths = round(length_mm / INCH_MM * 8)
    feet, rest = divmod(eighths, 96)
    inches, parts = divmod(rest, 8)
    fraction = f" {Fraction(parts, 8)}" if parts else ""
    return f"{feet}'{inches}{fraction}\""


def rug_figures(rug: Rug) -> dict[str, Any]:
    """Return the rug's figures under the names that scripts rely on. Lengths in cm, densities as named."""
    density = rug.density
    return {
        "name": rug.name,
        "width_cm": round(float(rug.width_mm) / 10, 4),
        "length_cm": round(float(rug.length_mm) / 10, 4),
        "woven_width_cm": round(float(rug.woven_width_mm) / 10, 4),
        "woven_length_cm": round(float(rug.woven_length_mm) / 10, 4),
        "density": density.notation,
        "density_assumption": density.assumption or None,
        "across_per_dm": round(float(density.across_per_dm), 6),
        "along_per_dm": round(float(density.along_per_dm), 6),
        "across_per_inch": round(float(density.across_per_inch), 6),
        "along_per_inch": round(float(density.along_per_inch), 6),
        "knots_per_square_inch": round(float(density.per_square_inch), 4),
        "knots_per_dm2": round(float(density.per_dm2), 4),
        "knots_per_m2": round(float(density.per_m2), 2),
        "knot_width_mm": round(float(density.knot_width_mm), 6),
        "knot_height_mm": round(float(density.knot_height_mm), 6),
        "columns": rug.columns,
        "rows": rug.rows,
        "knots": rug.knots,
        "knot": rug.knot,
        "shape": rug.shape,
        "technique": rug.technique,
    }


def plan_figures(rug: Rug, workshop: Workshop) -> dict[str, Any]:
    """Return the rug's figures with its weavers, strips, and days at the usual rate."""
    weavers, rate = weavers_of(rug, workshop), daily_rate(rug, workshop)
    days = days_for(rug.knots, weavers, rate)
    return {
        "rug": rug_figures(rug),
        "strips": [{"first_column": s.start + 1, "last_column": s.stop} for s in strips_of(rug, workshop)],
        "labour": {
            "weavers": weavers,
            "knots_per_weaver_day": round(rate.best),
            "days": round(days.best, 1),
            "days_range": {"low": round(days.low, 1), "high": round(days.high, 1)},
        },
    }


def plan_lines(rug: Rug, workshop: Workshop) -> list[tuple[str, str]]:
    """Return the plan as label with value, for reading."""
    d = rug.density
    said = [
        ("Rug", rug.name),
        ("Size ordered", f"{_cm(rug.width_mm)} x {_cm(rug.length_mm)} cm  ({_feet(rug.width_mm, rug.length_mm)})"),
        ("Density", d.notation + (f"  ({d.assumption})" if d.assumption else "")),
        ("", f"{_n(d.across_per_inch)} across x {_n(d.along_per_inch)} along per inch"),
        ("", f"{_n(d.across_per_dm)} across x {_n(d.along_per_dm)} along per dm"),
        ("", f"{_n(d.per_square_inch)} per square inch, {_n(d.per_dm2)} per dm2, {float(d.per_m2):,.0f} per m2"),
    ]
    if indian := re.match(r"([\d.]+)\s*/\s*([\d.]+)\s*indian", d.notation, re.IGNORECASE):
        trade = indian_trade_figure(Fraction(indian[1]), Fraction(indian[2]))
        said.append(("", f"trade figure only: {_n(trade)} per square inch (a x b / 4, 1.25 % high)"))
    shape = "square" if d.knot_width_mm == d.knot_height_mm else "not square: draw on paper ruled to this proportion"
    weavers, rate = weavers_of(rug, workshop), daily_rate(rug, workshop)
    days = days_for(rug.knots, weavers, rate)
    pace = f"{rug.stitch}s a {rug.worker} a day"
    given = "" if "knots_per_weaver_day" in workshop.loom.model_fields_set else ", a default"
    return [
        *said,
        ("One knot", f"{_n(d.knot_width_mm)} mm across x {_n(d.knot_height_mm)} mm along ({shape})"),
        ("Grid", f"{rug.columns:,} columns x {rug.rows:,} rows = {rug.knots:,} knots"),
        ("Size it gives", f"{_cm(rug.woven_width_mm)} x {_cm(rug.woven_length_mm)} cm in whole knots"),
        (f"{rug.worker}s".capitalize(), f"{weavers} side by side" if weavers > 1 else "1"),
        ("Strips", f"{' + '.join(str(len(strip)) for strip in strips_of(rug, workshop))} columns"),
        ("Time", f"about {counted(round(days.best), 'working day')} at {rate.best:,.0f} {pace}{given}"),
        ("", f"from {days.low:,.0f} to {days.high:,.0f}"),
        ("", LABOUR_LAW),
    ]


def _n(value: Fraction) -> str:
    return f"{float(value):,.6g}" if value < 1000 else f"{float(value):,.1f}"


def _cm(length_mm: Fraction) -> str:
    return f"{float(length_mm) / 10:.2f}".rstrip("0").rstrip(".")


def _feet(width_mm: Fraction, length_mm: Fraction) -> str:
    return f"{feet_inches(width_mm)} x {feet_inches(length_mm)}"
