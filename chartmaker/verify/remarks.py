"""The remarks of summary.json: findings that follow from the map are found anew, and the match must add up.

Only the artwork can tell how far each yarn is from it, and what was noticed while it was converted. Such remarks are
sealed and not found anew, but the figures for the whole rug must follow from those of its yarns.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from chartmaker.checks import check_map
from chartmaker.figures.reckoning import Figures
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import say
from chartmaker.ground.sentence import english

#: Rounding to three decimals may shift a mean of means by this much; percentiles are counted in steps of this size.
MEAN_OFF, P95_OFF = 0.0011, 0.0111
#: The cost is told in hundredths. Rounding its parts may shift a sum, or what is reckoned from it, by this much.
CENT = 0.005
FOOT_M2 = 0.3048**2


def finding_faults(found: Any, figures: Figures) -> Iterator[str]:
    """Yield the remarks that follow from the map and the workshop and are not among those `found` in the summary."""
    listed = [each for each in found if isinstance(each, dict)] if isinstance(found, list) else []
    for finding in (*check_map(figures.knot_map, figures.workshop), *figures.findings):
        wanted = record_of(finding)
        if wanted in listed:
            listed.remove(wanted)
        else:
            yield say("it does not have the finding: {what}", what=wanted["what"])


def record_of(finding: Finding) -> dict[str, Any]:
    """Return a finding as the summary must have it."""
    names = ("first_row", "last_row", "first_column", "last_column")
    return {
        "what": english(finding.said),
        "where": english(finding.about),
        "severity": finding.severity,
        "places": [
            dict(zip(names, (low + 1, high, left + 1, right), strict=True)) for low, high, left, right in finding.places
        ],
    }


def match_faults(match: dict[str, Any], yarns: list[dict[str, Any]]) -> Iterator[str]:
    """Yield how the match of the rug does not follow from the matches of its `yarns`, whose values are all numbers."""
    knots = sum(yarn["knots"] for yarn in yarns)
    if not knots:
        return
    mean = sum(yarn["knots"] * yarn["mean_de00"] for yarn in yarns) / knots
    if abs(match["mean_de00"] - mean) > MEAN_OFF:
        words = "the mean of the match is {found}, and those of the yarns give {mean:.3f}"
        yield say(words, found=match["mean_de00"], mean=mean)
    if match["max_de00"] != max(yarn["max_de00"] for yarn in yarns):
        yield say("the greatest difference of the match is that of no yarn")
    parts = [yarn["p95_de00"] for yarn in yarns]
    if not min(parts) - P95_OFF <= match["p95_de00"] <= max(parts) + P95_OFF:
        yield say("the match's 95th percentile does not lie between those of the yarns")


def cost_faults(cost: Any, area_m2: float) -> Iterator[str]:
    """Yield how a cost does not add up; the prices themselves cannot be checked, because no knot map has them."""
    if cost is None:
        return
    try:
        parts = [part["amount"] for part in cost["parts"] if part["amount"] is not None]
        complete = len(parts) == len(cost["parts"])
        for name in ("low", "best", "high"):
            total, by_m2, by_ft2 = (float(cost[key][name]) for key in ("total", "per_m2", "per_ft2"))
            if abs(sum(part[name] for part in parts) - total) > CENT * (len(parts) + 1) + 1e-9 * total:
                yield say("the parts of the cost do not add up to its {name} total", name=name)
            each = total / area_m2 if area_m2 else 0.0
            if abs(by_m2 - each) > CENT * (1 + 1 / max(area_m2, 1e-9)) + 1e-9 * each:
                yield say("the cost of a square metre is not what the total comes to")
            if abs(by_ft2 - by_m2 * FOOT_M2) > CENT * 1.1 + 1e-9 * each:
                yield say("the cost of a square foot is not what that of a square metre comes to")
    except (KeyError, TypeError, ValueError):
        yield say("the cost is damaged and cannot be read")
        return
    if cost.get("complete") is not complete:
        yield say("the cost does not say whether every part is priced")
