"""Everything there is to say of a set, as plain values for programs."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from chartmaker import __version__
from chartmaker.convert import Conversion
from chartmaker.ground.findings import Finding
from chartmaker.knots.knotmap import KnotMap
from chartmaker.knots.strips import strips_of
from chartmaker.reports.planned import rug_figures
from chartmaker.reports.records import summary_of
from chartmaker.techniques.reckoning import Figures


def map_dict(knot_map: KnotMap) -> dict[str, Any]:
    """Return the keys of `map`."""
    return {
        "sha256": knot_map.sha256,
        "code": knot_map.map_code,
        "columns": knot_map.columns,
        "rows": knot_map.rows,
        "knots": knot_map.tied,
        "empty": knot_map.empty,
        "strips": [
            {"first_column": strip.start + 1, "last_column": strip.stop}
            for strip in strips_of(knot_map.rug, knot_map.workshop)
        ],
    }


def match_dict(conversion: Conversion) -> dict[str, Any]:
    """Return the keys of `match`: CIEDE2000 between what a knot covers of the artwork and its yarn."""
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
    """Return how the map came about."""
    choosing = conversion.choosing
    return {
        "style": conversion.style.style,
        "style_reason": conversion.style.reason,
        "tidied": conversion.tidied,
        "lines_kept": conversion.lines_kept,
        "symmetry": conversion.symmetry or None,
        "fit": conversion.placed.fit,
        "choosing": None
        if choosing is None
        else {
            "codes": list(choosing.codes),
            "mean_de00": round(choosing.mean_de00, 4),
            "bound_de00": round(choosing.bound_de00, 4),
            "gap": round(choosing.gap, 4),
        },
    }


def finding_dicts(findings: Iterable[Finding]) -> list[dict[str, Any]]:
    """Return findings with their places as rows, columns counted from 1, last one included."""
    return [
        {
            "what": finding.what,
            "where": finding.where,
            "severity": finding.severity,
            "places": [
                {"first_row": a + 1, "last_row": b, "first_column": c + 1, "last_column": d}
                for a, b, c, d in finding.places
            ],
        }
        for finding in findings
    ]


def set_summary(
    figures: Figures, conversion: Conversion, findings: tuple[Finding, ...], files: dict[str, dict[str, str]]
) -> dict[str, Any]:
    """Return the whole of summary.json; `files` holds the SHA-256 of inputs, outputs by name."""
    return {
        "chartmaker": __version__,
        "map": map_dict(figures.knot_map),
        "rug": rug_figures(figures.knot_map.rug),
        "match": match_dict(conversion),
        "conversion": conversion_dict(conversion),
        **summary_of(figures),
        "findings": finding_dicts(findings),
        "files": files,
    }
