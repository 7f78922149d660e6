"""What a collection keeps about each set: a short record, read from the set's own summary and nothing else."""

from __future__ import annotations

from collections import Counter
from typing import Any

from chartmaker.reports.laidwords import laid_words


def record_of(summary: dict[str, Any]) -> dict[str, Any]:
    """Return the record of a set from its summary.json.

    Masses are in grams with one decimal, as the summary has them, so that sums over sets are sums of what the sets say.

    Raises
    ------
    KeyError, TypeError, ValueError
        If it is not the summary of a set in a collection.
    """
    rug, pile, ground, labour = summary["rug"], summary["pile"], summary["foundation"], summary["labour"]
    cost, shades = summary["cost"], {shade["code"]: shade for shade in summary["dye"]["shades"]}
    severities = Counter(finding["severity"] for finding in summary["findings"])
    return {
        "rests_on": summary["collection"]["rests_on"],
        "set": summary["collection"]["set"],
        "swaps": summary["collection"]["colourway"],
        "title": rug["name"],
        "map": summary["map"]["code"],
        "columns": rug["columns"],
        "rows": rug["rows"],
        "knots": summary["map"]["knots"],
        "width_cm": rug["woven_width_cm"],
        "length_cm": rug["woven_length_cm"],
        "density": rug["density"],
        "mass_g": pile["rug_mass_g"]["best"],
        "pile_g": pile["mass_g"]["best"],
        "loom_width_cm": ground["loom_width_cm"],
        "weavers": labour["weavers"],
        "days": labour["days"],
        "knots_per_weaver_day": labour["knots_per_weaver_day"],
        "weaver_days": round(summary["map"]["knots"] / labour["knots_per_weaver_day"], 3),
        "weaver_days_high": round(summary["map"]["knots"] / labour["knots_per_weaver_day_range"]["low"], 3),
        "cost": None if cost is None else cost["total"]["best"],
        "cost_complete": cost is not None and cost["complete"],
        "currency": "" if cost is None else cost["currency"],
        "findings": {severity: severities[severity] for severity in ("error", "warning", "note")},
        "remarks": [[each["severity"], each["what"], each["where"]] for each in summary["findings"]],
        "parts": laid_words(summary.get("layout")),
        "yarns": [
            {
                "code": yarn["code"],
                "name": yarn["name"],
                "srgb": yarn["srgb"],
                "fibre": yarn["fibre"],
                "count": yarn["count"],
                "knots": yarn["knots"],
                "mass_g": yarn["mass_g"],
                "need_g": shades[yarn["code"]]["need_g"],
                "stock_g": shades[yarn["code"]]["stock_g"] if shades[yarn["code"]]["stock_known"] else None,
                "undyed": shades[yarn["code"]]["undyed"],
            }
            for yarn in summary["yarns"]
        ],
        "warp": {"count": ground["warp_count"], "mass_g": ground["warp_mass_g"]},
        "weft": {"count": ground["weft_count"], "mass_g": ground["weft_mass_g"]},
        "backing_cloth_m2": ground["backing_cloth_m2"],
    }
