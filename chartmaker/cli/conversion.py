"""What a conversion did, shown to people or programs."""

from __future__ import annotations

from typing import Any

from chartmaker.cli import report
from chartmaker.job import Converted


def conversion_json(converted: Converted) -> dict[str, Any]:
    """Return the map, the match, the findings, under the names that scripts rely on."""
    conversion = converted.conversion
    knot_map = conversion.knot_map
    return {
        "map": {
            "sha256": knot_map.sha256,
            "columns": knot_map.columns,
            "rows": knot_map.rows,
            "knots": knot_map.tied,
            "empty": knot_map.empty,
        },
        "findings": [
            {"what": finding.what, "where": finding.where, "severity": finding.severity}
            for finding in converted.findings
        ],
    }


def show_conversion(converted: Converted) -> None:
    """Print the map in a few lines."""
    knot_map = converted.conversion.knot_map
    report.lines(
        [("Map", f"{knot_map.columns} columns x {knot_map.rows} rows, {knot_map.tied:,} knots, {knot_map.map_code}")]
    )
