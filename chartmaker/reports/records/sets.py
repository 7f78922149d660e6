"""All that is known of a set, as one record for programs: summary.json."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from chartmaker import __version__
from chartmaker.figures.reckoning import Figures
from chartmaker.ground.findings import Finding
from chartmaker.reports.records.figures import summary_of
from chartmaker.reports.records.maps import (
    conversion_dict,
    finding_dicts,
    map_dict,
    match_dict,
    placement_dict,
    rug_figures,
)

if TYPE_CHECKING:
    from chartmaker.convert.conversion import Conversion


def set_summary(
    figures: Figures, conversion: Conversion, findings: tuple[Finding, ...], files: dict[str, dict[str, str]]
) -> dict[str, Any]:
    """Return the whole of summary.json; `files` holds the SHA-256 of the inputs and of the outputs by name."""
    return {
        "chartmaker": __version__,
        "map": map_dict(figures.knot_map, figures.workshop),
        "rug": rug_figures(figures.knot_map.rug),
        "match": match_dict(conversion),
        "conversion": conversion_dict(conversion),
        "placement": placement_dict(conversion.placed.placement),
        **summary_of(figures),
        "findings": finding_dicts(findings),
        "files": files,
    }
