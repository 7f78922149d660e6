"""The figures of a rug, of the work that is left and of a calibration, as records for programs."""

from __future__ import annotations

from typing import Any

import numpy as np

from chartmaker.figures.calibration import Calibration
from chartmaker.figures.cost import CostFigures
from chartmaker.figures.dyeing import DyeOrder, Lot, Shade
from chartmaker.figures.labour import Labour
from chartmaker.figures.pile import PileFigures
from chartmaker.figures.reckoning import Figures, Remaining
from chartmaker.ground.basis import Assumption, Reached
from chartmaker.ground.colour import hex_of
from chartmaker.ground.ranges import Range
from chartmaker.ground.rounding import adding_up, shared_out
from chartmaker.ground.sentence import english
from chartmaker.techniques.crafts import craft_of
from chartmaker.techniques.foundation import Foundation, Material

_SHARE_UNIT = 10**6


def _range(value: Range, decimals: int = 1) -> dict[str, float]:
    return {
        "low": round(value.low, decimals),
        "best": round(value.best, decimals),
        "high": round(value.high, decimals),
    }


def yarn_dicts(pile: PileFigures, dye: DyeOrder | None = None) -> list[dict[str, Any]]:
    """Return a record for each yarn; knots, shares, metres and grams add up to the rug's after rounding."""
    lines = pile.yarns
    shares = shared_out(_SHARE_UNIT, np.array([line.knots for line in lines]))
    columns = {
        "length_m": adding_up([line.length_m.best for line in lines], 1),
        "mass_g": adding_up([line.mass_g.best for line in lines], 1),
        "net_length_m": adding_up([line.net_length_m.best for line in lines], 1),
        "net_mass_g": adding_up([line.net_mass_g.best for line in lines], 1),
        "mass_low_g": adding_up([line.mass_g.low for line in lines], 1),
        "mass_high_g": adding_up([line.mass_g.high for line in lines], 1),
        "sheared_mass_g": adding_up([line.sheared_mass_g.best for line in lines], 1),
    }
    dicts: list[dict[str, Any]] = []
    for index, line in enumerate(lines):
        entry: dict[str, Any] = {
            "code": line.yarn.code,
            "name": line.yarn.name,
            "srgb": hex_of(line.yarn.srgb),
            "lab": [round(value, 2) for value in line.yarn.lab],
            "knots": line.knots,
            "share": int(shares[index]) / _SHARE_UNIT,
        }
        entry |= {name: values[index] for name, values in columns.items()}
        entry |= {
            "fibre": line.yarn.fibre,
            "count": line.count.notation,
            "count_tex": round(float(line.count.tex), 2),
            "strands": line.strands,
            "cut_mm": round(line.cut_mm, 2),
            "pile_mm": round(line.pile_mm, 2),
            "length_per_knot_mm": round(line.length_per_knot_mm.best, 2),
            "binding_m": round(line.binding_m, 1),
        }
        if dye is not None:
            entry |= {"order_g": dye.shades[index].order_g, "hanks": dye.shades[index].hanks}
        dicts.append(entry)
    return dicts


def _foundation(foundation: Foundation) -> dict[str, Any]:
    return {
        "loom_width_cm": round(foundation.loom_width_mm / 10, 2),
        "loom_length_cm": round(foundation.loom_length_mm / 10, 2),
        "warp_pitch_mm": round(foundation.warp_pitch_mm, 4),
        "across_per_dm_on_loom": round(foundation.knots_across_per_dm, 4),
        "along_per_dm_on_loom": round(foundation.rows_per_dm, 4),
        "warp_count": foundation.warp.notation,
        "warp_ends": foundation.warp_ends,
        "warp_end_m": round(foundation.warp_end_m, 3),
        "warp_length_m": round(foundation.warp_length_m, 1),
        "warp_mass_g": round(foundation.warp_mass_g, 1),
        "weft_count": foundation.weft.notation,
        "weft_rows": foundation.weft_rows,
        "picks": foundation.picks,
        "thin_weft_count": None if foundation.thin_weft is None else foundation.thin_weft.notation,
        "thin_picks": foundation.thin_picks,
        "thin_weft_length_m": round(foundation.wefts.thin_m.best, 1),
        "thin_weft_mass_g": round(foundation.thin_mass_g.best, 1),
        "outside_weft_length_m": round(foundation.wefts.outside_m.best, 1),
        "kilim_weft_length_m": round(foundation.wefts.kilim_m.best, 1),
        "weft_length_m": round(foundation.weft_length_m.best, 1),
        "weft_length_m_range": _range(foundation.weft_length_m),
        "weft_mass_g": round(foundation.weft_mass_g.best, 1),
        "weft_mass_g_range": _range(foundation.weft_mass_g),
        "backing_cloth_m2": round(foundation.backing_cloth_m2, 3),
        "in_rug_g": _range(foundation.in_rug_g),
        "materials": [_material(material) for material in foundation.materials],
    }


def _material(material: Material) -> dict[str, Any]:
    return {
        "what": material.what,
        "mass_g": None if material.mass_g is None else _range(material.mass_g),
        "area_m2": None if material.area_m2 is None else round(material.area_m2, 3),
        "in_rug_g": None if material.in_rug_g is None else _range(material.in_rug_g),
    }


def _labour(labour: Labour) -> dict[str, Any]:
    return {
        "weavers": labour.weavers,
        "knots_per_weaver_day": round(labour.knots_per_weaver_day.best),
        "knots_per_weaver_day_range": _range(labour.knots_per_weaver_day, 0),
        "days": round(labour.whole_days.best),
        "days_range": _range(labour.whole_days, 0),
        "months_range": _range(labour.told_months),
        "rows_a_day": round(labour.rows_a_day.best, 2),
        "mean_runs_a_row": round(labour.mean_runs, 2),
        "most_runs_a_row": labour.most_runs,
        "most_runs_row": labour.most_runs_row,
        "mean_colours_a_row": round(labour.mean_colours, 2),
        "most_colours_a_row": labour.most_colours,
        "sections": [
            {
                "first_row": section.first_row,
                "last_row": section.last_row,
                "knots": section.knots,
                "runs_a_row": round(section.runs_a_row, 2),
                "colours": section.colours,
                "pace": round(section.pace, 3),
            }
            for section in labour.sections
        ],
    }


def _lot(lot: Lot) -> dict[str, Any]:
    vessel = None if lot.vessel is None else lot.vessel.name
    return {"mass_g": lot.mass_g, "hanks": lot.hanks, "vessel": vessel, "liquor_l": round(lot.liquor_l, 1)}


def _shade(shade: Shade) -> dict[str, Any]:
    return {
        "code": shade.yarn.code,
        "need_g": round(shade.need_g, 1),
        "wanted_g": round(shade.wanted_g, 1),
        "stock_g": shade.yarn.stock_g,
        "stock_known": shade.yarn.stock_g is not None,
        "order_g": shade.order_g,
        "hanks": shade.hanks,
        "undyed": shade.undyed,
        "base": shade.base,
        "new_lot_from_section": None if shade.change is None else shade.change.section + 1,
        "lots": [_lot(lot) for lot in shade.lots],
    }


def _cost(cost: CostFigures) -> dict[str, Any]:
    return {
        "currency": cost.currency,
        "complete": cost.complete,
        "parts": [
            {"what": part.what, "amount": None if part.amount is None else _range(part.amount, 2)}
            for part in cost.parts
        ],
        "total": _range(cost.total, 2),
        "per_m2": _range(cost.per_m2, 2),
        "per_ft2": _range(cost.per_ft2, 2),
    }


def _assumption(assumption: Assumption) -> dict[str, str]:
    return {
        "key": english(assumption.place),
        "value": english(assumption.taken),
        "why": english(assumption.reason),
        "basis": assumption.basis,
    }


def reached_dict(reached: Reached) -> dict[str, str]:
    """Return how a figure was reached."""
    return {"what": english(reached.figure), "how": english(reached.reckoned), "basis": reached.basis}


def summary_of(figures: Figures) -> dict[str, Any]:
    """Return the keys of summary.json on what the rug takes, from amounts_code and yarns to assumptions and reached."""
    pile = figures.pile
    return {
        "amounts_code": figures.amounts_code,
        "yarns": yarn_dicts(pile, figures.dye),
        "pile": {
            "knots": pile.knots,
            "length_m": _range(pile.length_m),
            "mass_g": _range(pile.mass_g),
            "net_mass_g": _range(pile.net_mass_g),
            "sheared_mass_g": _range(pile.sheared_mass_g),
            "rug_mass_g": _range(figures.mass_g),
            "rug_mass_sheared_g": _range(figures.sheared_mass_g),
            "area_m2": round(figures.area_m2, 4),
        },
        "foundation": _foundation(figures.foundation),
        "labour": _labour(figures.labour),
        "dye": {
            "allowance": figures.dye.allowance,
            "hank_g": figures.dye.hank_g,
            "order_g": figures.dye.order_g,
            "shades": [_shade(shade) for shade in figures.dye.shades],
        },
        "issue": {
            "weigh_g": figures.issue.weigh_g,
            "margin": figures.issue.margin,
            "sections": len(figures.issue.sections),
            "weavers": [{"first_column": seat.start + 1, "last_column": seat.stop} for seat in figures.issue.seats],
            **_numbered_from(figures),
            "yarns": [
                {"code": yarn.code, "issued_g": _plain(grams)}
                for yarn, grams in zip(figures.knot_map.yarns, figures.issue.issued_g.tolist(), strict=True)
            ],
        },
        "cost": None if figures.cost is None else _cost(figures.cost),
        "assumptions": [_assumption(assumption) for assumption in figures.assumptions],
        "reached": [reached_dict(reached) for reached in figures.reached],
    }


def _numbered_from(figures: Figures) -> dict[str, str]:
    """Return where the numbers of several who work by colour begin."""
    if not craft_of(figures.knot_map.rug).by_colour or len(figures.issue.seats) < 2:
        return {}
    pattern = figures.workshop.pattern.side == "back"
    return {"numbered_from": "left of the pattern from the back" if pattern else "left of the pile side"}


def bundle_dicts(figures: Figures) -> list[dict[str, Any]]:
    """Return the bundles of each section, a record for each yarn that a weaver needs; weavers count from 1."""
    issue, codes = figures.issue, [yarn.code for yarn in figures.knot_map.yarns]
    bundles_g = issue.bundles_g
    return [
        {
            "first_row": rows.start + 1,
            "last_row": rows.stop,
            "bundles": [
                {
                    "weaver": int(weaver) + 1,
                    "code": codes[yarn],
                    "knots": int(issue.knots[section, weaver, yarn]),
                    "mass_g": _plain(float(bundles_g[section, weaver, yarn])),
                }
                for weaver, yarn in np.argwhere(issue.need_g[section] > 0).tolist()
            ],
        }
        for section, rows in enumerate(issue.sections)
    ]


def _plain(grams: float) -> float:
    """Return grams without the noise in a float's last bits."""
    return round(grams, 3)


def remaining_dict(remaining: Remaining) -> dict[str, Any]:
    """Return what is left to weave."""
    return {
        "finished_row": remaining.finished_row,
        "rows": remaining.rows,
        "knots": remaining.knots,
        "days": round(remaining.whole_days.best),
        "days_range": _range(remaining.whole_days, 0),
        "yarns": yarn_dicts(remaining.pile),
        "weft_length_m": round(remaining.weft_length_m.best, 1),
        "weft_mass_g": round(remaining.weft_mass_g.best, 1),
    }


def calibration_dict(calibration: Calibration) -> dict[str, Any]:
    """Return what the yarn used in a finished rug says about the length per knot."""
    return {
        "length_per_knot_mm": round(calibration.length_per_knot_mm, 3),
        "spread": round(calibration.spread, 4),
        "waste": calibration.waste,
        "used_g": round(calibration.used_g, 1),
        "estimated_g": round(calibration.estimated_g, 1),
        "ratio": round(calibration.ratio, 4),
        "findings": [english(finding.said) for finding in calibration.findings],
        "yarns": [
            {
                "code": use.code,
                "knots": use.knots,
                "used_g": use.used_g,
                "estimated_g": round(use.estimated_g, 1),
                "length_per_knot_mm": round(use.length_per_knot_mm, 3),
            }
            for use in calibration.yarns
        ],
        "rug_file_lines": list(calibration.rug_file_lines),
    }
