"""The figures of a rug as a set must give them to programs, each with how near a rounded value must come.

They come from what `verify.recount` reckons anew. Only two things are taken from `figures`: the sentences that say what
a figure rests on and how it was reached, and which hanks go into which lot of dye. The lots are checked by their rules.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from chartmaker.figures.reckoning import Figures
from chartmaker.ground.basis import Assumption, Reached
from chartmaker.ground.colour import hex_of
from chartmaker.ground.ranges import Range
from chartmaker.ground.sentence import english
from chartmaker.order.rug import Rug
from chartmaker.techniques.crafts import craft_of
from chartmaker.verify.expected import Expected
from chartmaker.verify.recount.ground import Ground
from chartmaker.verify.recount.whole import Recount
from chartmaker.verify.recount.work import Work, begun

#: Where a column adds up, a value may be off by this much of its last figure: it is rounded down, or up.
COLUMN_OFF = 1.0


@dataclass(frozen=True, slots=True)
class Near:
    """A number that is rounded to so many decimals; in a column that adds up, its last figure may be off."""

    value: float
    decimals: int
    in_column: bool = False

    def accepts(self, found: object) -> bool:
        """Return whether `found` is the number, rounded in this way."""
        if isinstance(found, bool) or not isinstance(found, int | float):
            return False
        unit = 10.0**-self.decimals
        on_step = abs(found / unit - round(found / unit)) < 1e-3
        off = unit * (COLUMN_OFF if self.in_column else 0.5)
        return on_step and abs(found - self.value) <= off + 1e-9 * abs(self.value) + 1e-9

    def __str__(self) -> str:
        return f"{self.value:.{self.decimals}f}"


def records_of(expected: Expected, again: Recount, figures: Figures) -> dict[str, Any]:
    """Return what summary.json must say because it follows from the map and its settings."""
    dye = again.workshop.dye
    return {
        "map": {
            "sha256": expected.sha256,
            "code": expected.code,
            "columns": expected.columns,
            "rows": expected.rows,
            "knots": expected.tied,
            "empty": expected.columns * expected.rows - expected.tied,
            "strips": [{"first_column": each.start + 1, "last_column": each.stop} for each in expected.strips],
        },
        "rug": _rug(expected.rug, expected),
        "yarns": yarn_records(expected, again),
        "pile": {
            "knots": expected.tied,
            **{name: _range(again.sum_of(name)) for name in ("length_m", "mass_g", "net_mass_g", "sheared_mass_g")},
            "rug_mass_g": _range(again.mass_g),
            "rug_mass_sheared_g": _range(again.sheared_mass_g),
            "area_m2": Near(again.area_m2, 4),
        },
        "foundation": _foundation(again.ground, expected),
        "labour": _labour(again.work),
        "dye": {
            "allowance": dye.allowance,
            "hank_g": float(dye.hank_g),
            "order_g": sum(each.order_g for each in again.orders),
            "shades": _shades(again, figures),
        },
        "issue": _issue(again),
        "assumptions": [_assumption(each) for each in figures.assumptions],
        "reached": [reached_record(each) for each in figures.reached],
    }


def _shades(again: Recount, figures: Figures) -> list[dict[str, Any]]:
    return [
        {
            "code": line.yarn.code,
            "need_g": Near(order.need_g, 1),
            "wanted_g": Near(order.wanted_g, 1),
            "stock_g": line.yarn.stock_g,
            "stock_known": line.yarn.stock_g is not None,
            "order_g": order.order_g,
            "hanks": order.hanks,
            "undyed": order.undyed,
            "base": f"{line.yarn.fibre or 'wool'}, {line.count.notation}",
            "new_lot_from_section": None if order.change is None else order.change + 1,
            "lots": [
                {
                    "mass_g": lot.mass_g,
                    "hanks": lot.hanks,
                    "vessel": None if lot.vessel is None else lot.vessel.name,
                    "liquor_l": Near(lot.liquor_l, 1),
                }
                for lot in shade.lots
            ],
        }
        for line, order, shade in zip(again.lines, again.orders, figures.dye.shades, strict=True)
    ]


def _issue(again: Recount) -> dict[str, Any]:
    """Return what the set must say of the bundles, which is what the bundles of each yarn come to."""
    loom, bundles = again.workshop.loom, again.bundles
    issued_g = bundles.weighed(float(loom.weigh_g), again.orders).sum(axis=(0, 1)).tolist()
    begins = {"back": "left of the pattern from the back", "front": "left of the pile side"}
    several = craft_of(again.knot_map.rug).by_colour and len(bundles.seats) > 1
    return {
        **({"numbered_from": begins[again.workshop.pattern.side]} if several else {}),
        "weigh_g": float(loom.weigh_g),
        "margin": loom.issue_margin,
        "sections": len(bundles.sections),
        "weavers": [{"first_column": seat.start + 1, "last_column": seat.stop} for seat in bundles.seats],
        "yarns": [
            {"code": line.yarn.code, "issued_g": round(grams, 3)}
            for line, grams in zip(again.lines, issued_g, strict=True)
        ],
    }


def _range(value: Range, decimals: int = 1) -> dict[str, Near]:
    return {name: Near(getattr(value, name), decimals) for name in ("low", "best", "high")}


def _assumption(each: Assumption) -> dict[str, Any]:
    key, value, why = english(each.place), english(each.taken), english(each.reason)
    return {"key": key, "value": value, "why": why, "basis": each.basis}


def reached_record(each: Reached) -> dict[str, Any]:
    """Return how a figure was reached, as the summary says it."""
    return {"what": english(each.figure), "how": english(each.reckoned), "basis": each.basis}


def _rug(rug: Rug, expected: Expected) -> dict[str, Any]:
    density = rug.density
    return {
        "name": rug.name,
        "width_cm": Near(float(rug.width_mm) / 10, 4),
        "length_cm": Near(float(rug.length_mm) / 10, 4),
        "woven_width_cm": Near(float(rug.woven_width_mm) / 10, 4),
        "woven_length_cm": Near(float(rug.woven_length_mm) / 10, 4),
        "density": density.notation,
        "across_per_dm": Near(float(density.across_per_dm), 6),
        "along_per_dm": Near(float(density.along_per_dm), 6),
        "across_per_inch": Near(float(density.across_per_dm) * 0.254, 6),
        "along_per_inch": Near(float(density.along_per_dm) * 0.254, 6),
        "knots_per_square_inch": Near(float(density.across_per_dm * density.along_per_dm) * 0.254**2, 4),
        "knots_per_dm2": Near(float(density.across_per_dm * density.along_per_dm), 4),
        "knots_per_m2": Near(float(density.across_per_dm * density.along_per_dm) * 100, 2),
        "knot_width_mm": Near(100 / float(density.across_per_dm), 6),
        "knot_height_mm": Near(100 / float(density.along_per_dm), 6),
        "columns": expected.columns,
        "rows": expected.rows,
        "knots": expected.columns * expected.rows,
        "knot": rug.knot,
        "shape": rug.shape,
        "technique": rug.technique,
    }


def yarn_records(expected: Expected, again: Recount) -> list[dict[str, Any]]:
    """Return what the set must say of each yarn, with its knots counted anew."""
    counts = expected.counts.tolist()
    return [
        {
            "code": line.yarn.code,
            "name": line.yarn.name,
            "srgb": hex_of(line.yarn.srgb),
            "lab": [Near(value, 2) for value in line.yarn.lab],
            "knots": knots,
            "share": Near(knots / max(expected.tied, 1), 6, in_column=True),
            "length_m": Near(line.length_m.best, 1, in_column=True),
            "mass_g": Near(line.mass_g.best, 1, in_column=True),
            "net_length_m": Near(line.net_length_m.best, 1, in_column=True),
            "net_mass_g": Near(line.net_mass_g.best, 1, in_column=True),
            "mass_low_g": Near(line.mass_g.low, 1, in_column=True),
            "mass_high_g": Near(line.mass_g.high, 1, in_column=True),
            "sheared_mass_g": Near(line.sheared_mass_g.best, 1, in_column=True),
            "fibre": line.yarn.fibre,
            "count": line.count.notation,
            "count_tex": Near(float(line.count.tex), 2),
            "strands": line.strands,
            "cut_mm": Near(line.cut_mm, 2),
            "pile_mm": Near(line.pile_mm, 2),
            "length_per_knot_mm": Near(line.length_per_knot_mm.best, 2),
            "binding_m": Near(line.binding_m, 1),
            "order_g": order.order_g,
            "hanks": order.hanks,
        }
        for line, order, knots in zip(again.lines, again.orders, counts, strict=True)
    ]


#: The columns of the yarns whose rounded values add up to the rounded sum, with their decimals.
COLUMNS = dict.fromkeys(
    ("length_m", "mass_g", "net_length_m", "net_mass_g", "mass_low_g", "mass_high_g", "sheared_mass_g"), 1
)
COLUMNS["share"] = 6


def column_faults(found: Sequence[Any], wanted: Sequence[dict[str, Any]]) -> list[str]:
    """Return the columns of the yarns whose values do not add up to the sum of the exact ones."""
    faults = []
    for name, decimals in COLUMNS.items():
        values = [each.get(name) for each in found if isinstance(each, dict)]
        numbers = [value for value in values if isinstance(value, int | float)]
        exact = sum(each[name].value for each in wanted)
        if abs(sum(numbers) - exact) > 0.51 * 10.0**-decimals + 1e-9 * abs(exact):
            faults.append(name)
    return faults


def _foundation(ground: Ground, expected: Expected) -> dict[str, Any]:
    return {
        "loom_width_cm": Near(ground.loom_width_mm / 10, 2),
        "loom_length_cm": Near(ground.loom_length_mm / 10, 2),
        "warp_pitch_mm": Near(ground.warp_pitch_mm, 4),
        "across_per_dm_on_loom": Near(expected.columns * 100 / ground.loom_width_mm, 4),
        "along_per_dm_on_loom": Near(expected.rows * 100 / ground.loom_length_mm, 4),
        "warp_count": ground.warp.notation,
        "warp_ends": ground.warp_ends,
        "warp_end_m": Near(ground.warp_end_m, 3),
        "warp_length_m": Near(ground.warp_length_m, 1),
        "warp_mass_g": Near(ground.warp_mass_g, 1),
        "weft_count": ground.weft.notation,
        "weft_rows": ground.weft_rows,
        "picks": ground.picks,
        "thin_weft_count": None if ground.thin_weft is None else ground.thin_weft.notation,
        "thin_picks": ground.thin_picks,
        "thin_weft_length_m": Near(ground.thin_m.best, 1),
        "thin_weft_mass_g": Near(ground.thin_mass_g.best, 1),
        "outside_weft_length_m": Near(ground.outside_m.best, 1),
        "kilim_weft_length_m": Near(ground.kilim_m.best, 1),
        "weft_length_m": Near(ground.weft_length_m.best, 1),
        "weft_length_m_range": _range(ground.weft_length_m),
        "weft_mass_g": Near(ground.weft_mass_g.best, 1),
        "weft_mass_g_range": _range(ground.weft_mass_g),
        "backing_cloth_m2": Near(ground.backing_cloth_m2, 3),
        "in_rug_g": _range(ground.in_rug_g),
        "materials": [
            {
                "what": each.what,
                "mass_g": None if each.mass_g is None else _range(each.mass_g),
                "area_m2": None if each.area_m2 is None else Near(each.area_m2, 3),
                "in_rug_g": None if each.in_rug_g is None else _range(each.in_rug_g),
            }
            for each in ground.materials
        ],
    }


def _labour(work: Work) -> dict[str, Any]:
    return {
        "weavers": work.weavers,
        "knots_per_weaver_day": Near(work.knots_per_weaver_day.best, 0),
        "knots_per_weaver_day_range": _range(work.knots_per_weaver_day, 0),
        "days": int(begun(work.days.best)),
        "days_range": {name: int(begun(getattr(work.days, name))) for name in ("low", "best", "high")},
        "months_range": {name: begun(getattr(work.months, name), 1) for name in ("low", "best", "high")},
        "rows_a_day": Near(work.rows_a_day.best, 2),
        "mean_runs_a_row": Near(work.mean_runs, 2),
        "most_runs_a_row": work.most_runs,
        "most_runs_row": work.most_runs_row,
        "mean_colours_a_row": Near(work.mean_colours, 2),
        "most_colours_a_row": work.most_colours,
        "sections": [
            {
                "first_row": section.first_row,
                "last_row": section.last_row,
                "knots": section.knots,
                "runs_a_row": Near(section.runs_a_row, 2),
                "colours": section.colours,
                "pace": Near(section.pace, 3),
            }
            for section in work.sections
        ],
    }
