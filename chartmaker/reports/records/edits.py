"""What was done to a knot map by hand, as records for programs: colours snapped, yarns swapped, knots changed."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import islice
from typing import Any

from chartmaker.ground.colour import hex_of
from chartmaker.knots.changes import Changes, YarnChange
from chartmaker.knots.swaps import Swap
from chartmaker.knots.touchup import Snapped
from chartmaker.order.workshop import Workshop
from chartmaker.reports.records.maps import map_dict

#: The most places that are listed; the rest is counted, and the CSV has them all.
MOST_PLACES = 10_000

#: The grams of each yarn by code, in the map before and in the map after.
Masses = tuple[dict[str, float], dict[str, float]]


def snapped_dicts(snapped: Sequence[Snapped]) -> list[dict[str, Any]]:
    """Return the colours that took the nearest yarn, each with the place of its first knot, counted from 1."""
    return [
        {
            "srgb": hex_of(each.stranger.srgb),
            "knots": each.stranger.knots,
            "row": each.stranger.row + 1,
            "column": each.stranger.column + 1,
            "code": each.code,
            "de00": round(each.de00, 2),
        }
        for each in snapped
    ]


def swap_dicts(swaps: Sequence[Swap]) -> list[dict[str, Any]]:
    """Return which yarn became which, with its knots and how far apart the two are by CIEDE2000."""
    return [
        {"before": swap.before.code, "after": swap.after.code, "knots": swap.knots, "de00": round(swap.de00, 2)}
        for swap in swaps
    ]


def changes_dict(changes: Changes, masses_g: Masses, before: Workshop, after: Workshop) -> dict[str, Any]:
    """Return the changes; rows and starts count from 1, and `places` ends at `MOST_PLACES`.

    `before` and `after` are the settings that stand beside the two maps.
    """
    runs = changes.runs()
    places = [
        {"row": run.row + 1, "start": run.column + 1, "knots": run.knots, "before": run.before, "after": run.after}
        for run in islice(runs, MOST_PLACES)
    ]
    return {
        "before": map_dict(changes.before, before),
        "after": map_dict(changes.after, after),
        "changed": changes.knots,
        "moves": [{"before": m.before, "after": m.after, "knots": m.knots} for m in changes.moves],
        "yarns": [_yarn_change(yarn, masses_g) for yarn in changes.yarns],
        "settings": list(changes.settings),
        "places": places,
        "places_left_out": sum(1 for _ in runs),
    }


def _yarn_change(yarn: YarnChange, masses_g: Masses) -> dict[str, Any]:
    before_g, after_g = masses_g
    return {
        "code": yarn.code,
        "name": yarn.name,
        "knots_before": yarn.knots_before,
        "knots_after": yarn.knots_after,
        "mass_g_before": round(before_g.get(yarn.code, 0.0), 2),
        "mass_g_after": round(after_g.get(yarn.code, 0.0), 2),
        "srgb_before": None if yarn.before is None else hex_of(yarn.before.srgb),
        "srgb_after": None if yarn.after is None else hex_of(yarn.after.srgb),
    }
