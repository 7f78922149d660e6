"""Programs get the documented keys, and columns that add up."""

from __future__ import annotations

import csv
import json
from dataclasses import replace
from decimal import Decimal
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from support.making import SettledMap, knot_maps, make_map, make_rug, settled
from support.worked import worked_example

from chartmaker.figures.calibration import calibrate_by_yarn
from chartmaker.figures.reckoning import Figures, figures_of, remaining_after
from chartmaker.order.workshop import Cost, Dye, Loom, Pile, Workshop
from chartmaker.reports.records.figures import calibration_dict, remaining_dict, summary_of
from chartmaker.reports.records.maps import finding_dicts
from chartmaker.reports.yarnlist import YARNS_CSV_HEADER, yarns_csv_lines


def test_the_keys_that_scripts_rely_on() -> None:
    summary = summary_of(figures_of(*settled(make_map(np.zeros((50, 40))))))
    contract = {
        "yarns": "code name srgb lab knots share length_m mass_g",
        "foundation": "warp_ends warp_length_m warp_mass_g weft_rows weft_length_m weft_mass_g",
        "labour": "weavers knots_per_weaver_day days",
    }
    for table, keys in contract.items():
        value = summary[table][0] if table == "yarns" else summary[table]
        assert set(keys.split()) <= set(value)
    assert summary["cost"] is None
    json.dumps(summary, allow_nan=False)


def test_prices_vessels_and_findings_reach_the_summary() -> None:
    dye = Dye(vessels=[{"name": "pot", "holds": "1 kg"}])
    workshop = Workshop(cost=Cost(pile_per_kg=10, currency="EUR"), dye=dye, pile=Pile(heights={"NOPE": "9 mm"}))
    figures = figures_of(*settled(make_map(np.zeros((50, 40)), workshop=workshop)))
    summary = summary_of(figures)
    assert summary["dye"]["shades"][0]["lots"][0]["vessel"] == "pot"
    assert [part["what"] for part in summary["cost"]["parts"] if part["amount"]] == ["pile yarn"]
    assert summary["cost"]["complete"] is False
    [finding] = finding_dicts(figures.findings)
    assert set(finding) == {"what", "where", "severity", "places"}
    json.dumps(summary, allow_nan=False)


@settings(max_examples=40)
@given(knot_maps())
def test_yarns_csv_adds_up_to_the_summary(knot_map: SettledMap) -> None:
    figures = figures_of(knot_map, knot_map.workshop)
    rows = list(csv.DictReader(yarns_csv_lines(figures)))
    assert [row["code"] for row in rows] == [yarn.code for yarn in knot_map.yarns]
    assert sum(int(row["knots"]) for row in rows) == knot_map.tied
    assert sum(Decimal(row["share"]) for row in rows) == 1
    pile = summary_of(figures)["pile"]
    for column, whole in (("length_m", pile["length_m"]["best"]), ("mass_g", pile["mass_g"]["best"])):
        total = sum(Decimal(row[column]) for row in rows)
        assert abs(total - Decimal(str(whole))) <= Decimal("0.05")  # both are rounded alike, except for ties
    assert float(sum(Decimal(row["mass_high_g"]) for row in rows)) == pytest.approx(pile["mass_g"]["high"], abs=0.06)


def test_no_name_becomes_a_formula_in_a_spreadsheet() -> None:
    knot_map = make_map(np.zeros((50, 40)))
    evil = replace(knot_map.yarns[0], name='=HYPERLINK("x"), y')
    figures = figures_of(*settled(SettledMap(knot_map.knots, (evil,), knot_map.rug, knot_map.workshop)))
    [row] = csv.DictReader(yarns_csv_lines(figures))
    assert row["name"] == '\'=HYPERLINK("x"), y'
    assert row["fibre"] == ""


def test_programs_get_what_is_left_after_a_row() -> None:
    figures = figures_of(*settled(make_map(np.zeros((50, 40)))))
    left = remaining_dict(remaining_after(figures, 20))
    assert (left["rows"], left["knots"], left["yarns"][0]["knots"]) == (30, 1200, 1200)
    assert left["days"] == 1  # a day that is begun counts as a whole day


def spread(low: float, best: float, high: float) -> dict[str, float]:
    return {"low": low, "best": best, "high": high}


WORKED_YARN = {
    "code": "Y000",
    "name": "Yarn 0",
    "srgb": "#ffffff",
    "knots": 10_000,
    "share": 0.5,
    "length_m": 1250.0,
    "mass_g": 500.0,
    "net_length_m": 1000.0,
    "net_mass_g": 400.0,
    "mass_low_g": 450.0,
    "mass_high_g": 550.0,
    "fibre": "silk",
    "count": "tex 400",
    "count_tex": 400.0,
    "strands": 2,
    "sheared_mass_g": 376.0,
    "cut_mm": 8.0,
    "pile_mm": 6.5,
    "length_per_knot_mm": 50.0,
    "binding_m": 0.0,
}


def test_every_key_of_the_worked_example() -> None:
    # The values are worked out by hand as described beside the example; scripts read these keys.
    summary = summary_of(worked_example())
    first = summary["yarns"][0]
    assert first.pop("lab") == pytest.approx([100, 0, 0], abs=0.02)  # the white of CIE 15
    assert first == WORKED_YARN | {"order_g": 600.0, "hanks": 6}
    assert summary["pile"] == {
        "knots": 20_000,
        "length_m": spread(2250, 2500, 2750),
        "mass_g": spread(900, 1000, 1100),
        "net_mass_g": spread(720, 800, 880),
        "sheared_mass_g": spread(676.8, 752, 827.2),
        "rug_mass_g": spread(1396, 1476, 1556),
        "rug_mass_sheared_g": spread(1352.8, 1428, 1503.2),
        "area_m2": 1,
    }
    assert summary["foundation"] == {
        "loom_width_cm": 125,
        "loom_length_cm": 100,
        "warp_pitch_mm": 6.25,
        "across_per_dm_on_loom": 8,
        "along_per_dm_on_loom": 20,
        "warp_count": "tex 500",
        "warp_ends": 210,
        "warp_end_m": 1.5,
        "warp_length_m": 315,
        "warp_mass_g": 157.5,
        "weft_count": "tex 1000",
        "weft_rows": 200,
        "picks": 2,
        "thin_weft_count": None,
        "thin_picks": 0,
        "thin_weft_length_m": 0,
        "thin_weft_mass_g": 0,
        "outside_weft_length_m": 0,
        "kilim_weft_length_m": 0,
        "weft_length_m": 550,
        "weft_length_m_range": spread(550, 550, 550),
        "weft_mass_g": 550,
        "weft_mass_g_range": spread(550, 550, 550),
        "backing_cloth_m2": 0,
        "in_rug_g": spread(676, 676, 676),  # the rug weighs 1,476 g, of which 800 g are pile
        "materials": [
            {"what": "warp", "mass_g": spread(157.5, 157.5, 157.5), "area_m2": None, "in_rug_g": None},
            {"what": "weft", "mass_g": spread(550, 550, 550), "area_m2": None, "in_rug_g": None},
        ],
    }
    labour = summary["labour"]
    assert labour.pop("sections") == [
        {"first_row": 1, "last_row": 100, "knots": 10_000, "runs_a_row": 2, "colours": 2, "pace": 0.889},
        {"first_row": 101, "last_row": 200, "knots": 10_000, "runs_a_row": 2.5, "colours": 3, "pace": 1.111},
    ]
    assert labour == {
        "weavers": 2,
        "knots_per_weaver_day": 5000,
        "knots_per_weaver_day_range": spread(4250, 5000, 5750),
        "days": 2,
        "days_range": spread(2, 2, 3),
        "months_range": spread(0.1, 0.1, 0.2),
        "rows_a_day": 100,
        "mean_runs_a_row": 2.25,
        "most_runs_a_row": 3,
        "most_runs_row": 151,
        "mean_colours_a_row": 2.25,
        "most_colours_a_row": 3,
    }
    assert [(each["key"], each["value"], each["basis"]) for each in summary["assumptions"]] == [
        ("fibre on the card", "wool", "common practice"),
        ("[rug] pile", "6.5 mm", "estimate"),
    ]
    assert {"what": "knots", "how": "counted on the knot map", "basis": "measured here"} in summary["reached"]


def test_every_key_of_the_worked_dye_order_and_cost() -> None:
    # 550 g at most x 1.1 - 100 g in stock is 505 g, or six hanks; 440 x 1.1 is 484 g, five; 110 x 1.1 is 121 g, two.
    summary = summary_of(worked_example())
    pot = {"mass_g": 300, "hanks": 3, "vessel": "pot", "liquor_l": 9}
    common = {"undyed": False, "base": "silk, tex 400", "hanks": 6, "stock_g": 100, "stock_known": True, "order_g": 600}
    unparted = {"new_lot_from_section": None}
    assert summary["dye"] == {
        "allowance": 0.1,
        "hank_g": 100,
        "order_g": 1300,
        "shades": [
            {"code": "Y000", "need_g": 550, "wanted_g": 605, "lots": [pot, pot]} | common | unparted,
            {
                "code": "Y001",
                "need_g": 440,
                "wanted_g": 484,
                "lots": [pot, pot | {"mass_g": 200, "hanks": 2, "liquor_l": 6}],
            }
            | unparted
            | {
                "undyed": False,
                "base": "wool, tex 400",
                "hanks": 5,
                "stock_g": None,
                "stock_known": False,
                "order_g": 500,
            },
            {"code": "C-2", "need_g": 110, "wanted_g": 121, "lots": []}
            | unparted
            | {
                "undyed": True,
                "base": "wool, tex 400",
                "hanks": 2,
                "stock_g": None,
                "stock_known": False,
                "order_g": 200,
            },
        ],
    }
    # The pile is 0.9 kg x 20 + 0.1 kg x 40; a square foot is 0.09290304 m2.
    assert summary["cost"] == {
        "currency": "EUR",
        "complete": True,
        "parts": [
            {"what": "pile yarn", "amount": spread(19.8, 22, 24.2)},
            {"what": "warp", "amount": spread(1.26, 1.26, 1.26)},
            {"what": "weft", "amount": spread(3.3, 3.3, 3.3)},
            {"what": "dyeing", "amount": spread(3.24, 3.6, 3.96)},
            {"what": "weaving", "amount": spread(120, 120, 180)},
            {"what": "washing and finishing", "amount": spread(5, 5, 5)},
        ],
        "total": spread(152.6, 155.16, 217.72),
        "per_m2": spread(152.6, 155.16, 217.72),
        "per_ft2": spread(14.18, 14.41, 20.23),
    }


def test_every_key_of_what_is_left_of_the_worked_example() -> None:
    left = remaining_dict(remaining_after(worked_example(), 150))
    yarns = left.pop("yarns")
    assert left == {
        "finished_row": 150,
        "rows": 50,
        "knots": 5000,
        "days": 1,
        "days_range": spread(1, 1, 1),
        "weft_length_m": 137.5,
        "weft_mass_g": 137.5,
    }
    assert [(yarn["code"], yarn["knots"], yarn["share"]) for yarn in yarns] == [
        ("Y000", 2500, 0.5),
        ("Y001", 500, 0.1),
        ("C-2", 2000, 0.4),
    ]
    assert "order_g" not in yarns[0]


def test_every_key_of_a_calibration() -> None:
    # 10,000 knots used 600 g where 500 g were calculated, a fifth more than 50 mm a knot. It is one yarn, so the figure
    # is right within 5 %.
    worked = worked_example()
    assert calibration_dict(calibrate_by_yarn(worked.knot_map, worked.workshop, {"Y000": 600.0})) == {
        "length_per_knot_mm": 60,
        "spread": 0.05,
        "waste": 0.2,
        "used_g": 600,
        "estimated_g": 500,
        "ratio": 1.2,
        "findings": [],
        "yarns": [
            {"code": "Y000", "knots": 10_000, "used_g": 600, "estimated_g": 500, "length_per_knot_mm": 60},
        ],
        "rug_file_lines": ['length_per_knot = "60.00 mm"', 'spread = "5%"', "waste = 0.2"],
    }


def test_yarns_csv_of_the_worked_example() -> None:
    first, *rows = yarns_csv_lines(worked_example())
    assert first == YARNS_CSV_HEADER + "\n"
    told = dict(zip(YARNS_CSV_HEADER.split(","), rows[0].rstrip("\n").split(","), strict=True))
    assert told == {key: str(value) for key, value in WORKED_YARN.items() if key != "count_tex"} | {
        "order_g": "600.0",
        "hanks": "6",
    }


@pytest.mark.parametrize("name", ["=1", "+1", "-1", "@x", 'a "b"', "a,b", "plain"])
def test_names_come_back_from_the_csv(name: str) -> None:
    # RFC 4180 quoting is read by the standard library; a leading = + - @ has an apostrophe before it.
    knot_map = make_map(np.zeros((50, 40)))
    named = replace(knot_map.yarns[0], name=name)
    figures = figures_of(*settled(SettledMap(knot_map.knots, (named,), knot_map.rug, knot_map.workshop)))
    [row] = csv.DictReader(yarns_csv_lines(figures))
    assert row["name"] == ("'" + name if name[0] in "=+-@" else name)


def uneven(technique: str) -> Figures:
    """Return figures of which none is a round number."""
    rng = np.random.default_rng(4)
    cells = rng.integers(0, 7, (263, 187)) ** 2 // 8
    cells[::3, 40:] = 0
    cells[::7] = 1
    workshop = Workshop(
        pile=Pile(cut="11.37 mm", yarn="Nm 7.3 x2"),
        loom=Loom(
            weavers=3,
            warp="Ne 11 x7",
            weft="Ne 9",
            thin_weft="Ne 17",
            take_up="7.3%",
            shrinkage_across="3.7%",
            shrinkage_along="1.41%",
            section="7.7 cm",
            fringe="7 cm",
            backing_margin="7.7 cm",
        ),
        dye=Dye(allowance="7%", hank="113 g", vessels=[{"name": "pot", "holds": "300 g", "liquor_ratio": 27.3}]),
        cost=Cost(
            pile_per_kg=17.3,
            warp_per_kg=7.7,
            weft_per_kg=6.1,
            dyeing_per_kg=4.3,
            weaving_per_day=31.7,
            finishing_per_m2=5.3,
        ),
    )
    knot_map = make_map(cells, make_rug(187, 263, "9/60 indian", technique=technique), workshop)
    return figures_of(*settled(replace(knot_map, yarns=tuple(replace(yarn, stock_g=33.3) for yarn in knot_map.yarns))))


#: The number of decimals that scripts get of each figure; what the rug file gives is written as it was given.
DECIMALS = {
    "summary": {
        "lab": 2,
        "share": 6,
        "length_m": 1,
        "mass_g": 1,
        "net_length_m": 1,
        "net_mass_g": 1,
        "mass_low_g": 1,
        "mass_high_g": 1,
        "count_tex": 2,
        "cut_mm": 2,
        "length_per_knot_mm": 2,
        "sheared_mass_g": 1,
        "pile_mm": 1,
        "binding_m": 1,
        "rug_mass_g": 1,
        "rug_mass_sheared_g": 1,
        "area_m2": 3,
        "thin_weft_length_m": 1,
        "thin_weft_mass_g": 1,
        "outside_weft_length_m": 0,
        "kilim_weft_length_m": 1,
        "loom_width_cm": 2,
        "loom_length_cm": 2,
        "warp_pitch_mm": 4,
        "across_per_dm_on_loom": 4,
        "along_per_dm_on_loom": 4,
        "warp_end_m": 3,
        "warp_length_m": 1,
        "warp_mass_g": 1,
        "weft_length_m": 1,
        "weft_length_m_range": 1,
        "weft_mass_g": 1,
        "weft_mass_g_range": 1,
        "backing_cloth_m2": 3,
        "in_rug_g": 1,
        "days_range": 0,
        "months_range": 1,
        "rows_a_day": 2,
        "mean_runs_a_row": 2,
        "mean_colours_a_row": 2,
        "runs_a_row": 2,
        "pace": 3,
        "need_g": 1,
        "wanted_g": 1,
        "liquor_l": 1,
        "amount": 2,
        "total": 2,
        "per_m2": 2,
        "per_ft2": 2,
        "knots_per_weaver_day_range": 0,
        "allowance": 2,
        "hank_g": 0,
        "order_g": 0,
        "stock_g": 1,
        "weigh_g": 0,
        "margin": 1,
        "issued_g": 0,
    },
    "left": {"days_range": 0, "weft_length_m": 1, "weft_mass_g": 1},
    "calibration": {
        "length_per_knot_mm": 3,
        "spread": 4,
        "waste": 2,
        "used_g": 3,
        "estimated_g": 1,
        "ratio": 4,
    },
}


def most_decimals(value: Any, key: str = "") -> dict[str, int]:
    """Return the largest number of decimals of the numbers under each key."""
    if isinstance(value, dict):
        parts = [most_decimals(part, key if name in ("low", "best", "high") else name) for name, part in value.items()]
    elif isinstance(value, list):
        parts = [most_decimals(part, key) for part in value]
    elif isinstance(value, float):
        return {key: max(0, -int(Decimal(str(value)).normalize().as_tuple().exponent))}
    else:
        return {}
    names = {name for part in parts for name in part}
    return {name: max(part.get(name, 0) for part in parts) for name in names}


@pytest.mark.parametrize("what", DECIMALS)
def test_each_figure_has_its_number_of_decimals(what: str) -> None:
    told = []
    for technique in ("knotted", "tufted"):
        figures = uneven(technique)
        if what == "summary":
            told.append(summary_of(figures))
        elif what == "left":
            told.append(remaining_dict(remaining_after(figures, 101)))
        else:
            used = {yarn.code: 123.456 + 7.7 * number for number, yarn in enumerate(figures.knot_map.yarns)}
            told.append(calibration_dict(calibrate_by_yarn(figures.knot_map, figures.workshop, used)))
    found = most_decimals(told)
    if what == "left":
        found = {key: value for key, value in found.items() if key in DECIMALS["left"]}
    assert found == DECIMALS[what]
