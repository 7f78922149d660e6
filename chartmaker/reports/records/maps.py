"""A rug, its plan, its knot map, the conversion that made it and the findings, as records for programs."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import numpy as np

from chartmaker.artwork.placing import Placement
from chartmaker.convert.report import RepeatReport
from chartmaker.figures.labour import daily_rate, days_for
from chartmaker.ground.findings import Finding
from chartmaker.ground.sentence import english
from chartmaker.knots.knotmap import KnotMap
from chartmaker.knots.strips import strips_of, weavers_of
from chartmaker.order.rug import Rug
from chartmaker.order.wholesizes import BorderSizes, WholeGrid
from chartmaker.order.workshop import Workshop

if TYPE_CHECKING:
    from chartmaker.convert.conversion import Conversion


def rug_figures(rug: Rug) -> dict[str, Any]:
    """Return the keys of `rug`: lengths in centimetres, densities as their names say."""
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


def strip_dicts(rug: Rug, workshop: Workshop) -> list[dict[str, int]]:
    """Return the strips of the chart, their columns counted from 1, the last one included."""
    return [{"first_column": strip.start + 1, "last_column": strip.stop} for strip in strips_of(rug, workshop)]


def plan_figures(rug: Rug, workshop: Workshop) -> dict[str, Any]:
    """Return the rug's figures with its weavers, its strips, and the days at the rate in force."""
    weavers, rate = weavers_of(rug, workshop), daily_rate(rug, workshop)
    days = days_for(rug.knots, weavers, rate).up()
    return {
        "rug": rug_figures(rug),
        "strips": strip_dicts(rug, workshop),
        "labour": {
            "weavers": weavers,
            "knots_per_weaver_day": round(rate.best),
            "days": round(days.best),
            "days_range": {"low": round(days.low), "high": round(days.high)},
        },
    }


def map_dict(knot_map: KnotMap, workshop: Workshop) -> dict[str, Any]:
    """Return the keys of `map`."""
    return {
        "sha256": knot_map.sha256,
        "code": knot_map.map_code,
        "columns": knot_map.columns,
        "rows": knot_map.rows,
        "knots": knot_map.tied,
        "empty": knot_map.empty,
        "strips": strip_dicts(knot_map.rug, workshop),
    }


def match_dict(conversion: Conversion) -> dict[str, Any]:
    """Return the keys of `match`: CIEDE2000 between each knot's yarn and the part of the artwork that it covers."""
    report = conversion.report
    return {
        "mean_de00": round(report.mean_de00, 3),
        "p95_de00": round(report.p95_de00, 3),
        "max_de00": round(report.max_de00, 3),
        "yarns": [
            {
                "code": match.code,
                "knots": match.knots,
                "mean_de00": round(match.mean_de00, 3),
                "p95_de00": round(match.p95_de00, 3),
                "max_de00": round(match.max_de00, 3),
                "stands_in": match.stands_in,
            }
            for match in report.yarns
        ],
    }


def conversion_dict(conversion: Conversion) -> dict[str, Any]:
    """Return the keys of `conversion`: how the map came about."""
    choosing = conversion.choosing
    return {
        "style": conversion.style.style,
        "style_reason": conversion.style.reason,
        "tidied": conversion.tidied,
        "lines_kept": conversion.lines_kept,
        "symmetry": conversion.symmetry or None,
        "fit": conversion.placed.fit,
        "regions": [
            {"number": region.number, "style": region.style, "knots": region.knots} for region in conversion.regions
        ],
        **repeats_dict(conversion),
        "border_repeats": [
            {
                "border": side.band + 1,
                "side": side.side,
                "drawn_knots": side.drawn,
                "knots": side.knots,
                "repeats": side.repeats,
                "steps": list(side.steps),
            }
            for side in conversion.sides
        ],
        "choosing": None
        if choosing is None
        else {
            "codes": list(choosing.codes),
            "mean_de00": round(choosing.mean_de00, 4),
            "bound_de00": round(choosing.bound_de00, 4),
            "gap": round(choosing.gap, 4),
        },
    }


def repeats_dict(conversion: Conversion) -> dict[str, Any]:
    """Return the keys of what repeats in the drawing that was converted: `repeat` and `borders`."""
    return {"repeat": repeat_dict(conversion.repeat), "borders": borders_dict(conversion.borders)}


def borders_dict(borders: BorderSizes | None) -> dict[str, Any] | None:
    """Return the keys of `borders`: how long their motifs are in knots, and the nearest sizes at which all are whole.

    Borders are counted from the rim from 1; lengths in centimetres.
    """
    if borders is None:
        return None
    return {
        "pitches": [
            {
                "border": pitch.band + 1,
                "sides": ["top", "bottom"] if pitch.across else ["left", "right"],
                "drawn_knots": round(float(pitch.knots(borders.grid)), 2),
                "whole": pitch not in borders.astray,
            }
            for pitch in borders.pitches
        ],
        "smaller": _grid_dict(borders, borders.smaller),
        "larger": _grid_dict(borders, borders.larger),
    }


def _grid_dict(borders: BorderSizes, whole: WholeGrid | None) -> dict[str, Any] | None:
    """Return a grid on which borders are whole, with the size that it gives and the knots of each of their motifs."""
    if whole is None:
        return None
    return {
        "columns": whole.grid[0],
        "rows": whole.grid[1],
        "width_cm": round(float(whole.width_mm) / 10, 4),
        "length_cm": round(float(whole.length_mm) / 10, 4),
        "knots": [round(pitch.knots(whole.grid)) for pitch in borders.pitches],
    }


def repeat_dict(repeat: RepeatReport | None) -> dict[str, Any] | None:
    """Return the keys of `repeat`: what repeats all over the drawing or in its field, in knots across and along."""
    if repeat is None:
        return None
    return {
        "drawn": {"across": repeat.drawn[1], "along": repeat.drawn[0]},
        "centred": repeat.centred,
        "in": "field" if repeat.field else "drawing",
        "knots": None if repeat.knots is None else {"across": repeat.knots[1], "along": repeat.knots[0]},
        "cut_knots": _both_ways(repeat.cut),
        "narrowed_knots": _both_ways(repeat.missing),
        "widened_knots": _both_ways(repeat.widened),
        "whole_columns": list(repeat.columns),
        "whole_rows": list(repeat.rows),
    }


def _both_ways(knots: tuple[float, float] | None) -> dict[str, float] | None:
    return None if knots is None else {"across": round(knots[1], 2), "along": round(knots[0], 2)}


def placement_dict(placement: Placement) -> dict[str, Any]:
    """Return where the edges of all columns and rows lie on the turned and padded artwork, in pixels.

    Columns are counted from the left edge, and rows from the first woven at the foot of the picture, so that the edges
    of the rows come in falling order.
    """
    return {
        "column_edges": np.round(placement.column_edges, 4).tolist(),
        "row_edges": np.round(placement.row_edges, 4).tolist(),
        "greatest_shift_knots": round(placement.greatest_shift_knots, 4),
        "greatest_scale_change": round(placement.greatest_scale_change, 4),
    }


def finding_dicts(findings: Iterable[Finding]) -> list[dict[str, Any]]:
    """Return the findings with their places, rows and columns counted from 1, the last one included."""
    return [
        {
            "what": english(finding.said),
            "where": english(finding.about),
            "severity": finding.severity,
            "places": [
                {"first_row": a + 1, "last_row": b, "first_column": c + 1, "last_column": d}
                for a, b, c, d in finding.places
            ],
        }
        for finding in findings
    ]
