"""What programs read: the contract's keys, columns that add up."""

from __future__ import annotations

import csv
import json
from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given, settings
from making import knot_maps, make_map

from chartmaker.figures.gather import figures_of, remaining_after
from chartmaker.figures.summary import finding_dicts, remaining_dict, summary_of, yarns_csv_lines
from chartmaker.knotmap import KnotMap
from chartmaker.workshop import Cost, Dye, Pile, Workshop


def test_the_keys_that_scripts_rely_on() -> None:
    summary = summary_of(figures_of(make_map(np.zeros((50, 40)))))
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


def test_prices_vessels_findings_reach_the_summary() -> None:
    dye = Dye(vessels=[{"name": "pot", "holds": "1 kg"}])
    workshop = Workshop(cost=Cost(pile_per_kg=10, currency="EUR"), dye=dye, pile=Pile(heights={"NOPE": "9 mm"}))
    figures = figures_of(make_map(np.zeros((50, 40)), workshop=workshop))
    summary = summary_of(figures)
    assert summary["dye"]["shades"][0]["lots"][0]["vessel"] == "pot"
    assert [part["what"] for part in summary["cost"]["parts"] if part["amount"]] == ["pile yarn"]
    assert summary["cost"]["complete"] is False
    [finding] = finding_dicts(figures)
    assert set(finding) == {"what", "where", "severity"}
    json.dumps(summary, allow_nan=False)


@settings(max_examples=40)
@given(knot_maps())
def test_yarns_csv_adds_up_to_the_summary(knot_map: KnotMap) -> None:
    figures = figures_of(knot_map)
    rows = list(csv.DictReader(yarns_csv_lines(figures)))
    assert [row["code"] for row in rows] == [yarn.code for yarn in knot_map.yarns]
    assert sum(int(row["knots"]) for row in rows) == knot_map.tied
    assert sum(Decimal(row["share"]) for row in rows) == 1
    pile = summary_of(figures)["pile"]
    for column, whole in (("length_m", pile["length_m"]["best"]), ("mass_g", pile["mass_g"]["best"])):
        total = sum(Decimal(row[column]) for row in rows)
        assert abs(total - Decimal(str(whole))) <= Decimal("0.05")  # the same rounding, but for ties
    assert float(sum(Decimal(row["mass_high_g"]) for row in rows)) == pytest.approx(pile["mass_g"]["high"], abs=0.06)


def test_a_name_is_no_formula_to_a_spreadsheet() -> None:
    knot_map = make_map(np.zeros((50, 40)))
    evil = replace(knot_map.yarns[0], name='=HYPERLINK("x"), y')
    figures = figures_of(KnotMap(knot_map.knots, (evil,), knot_map.rug, knot_map.workshop))
    [row] = csv.DictReader(yarns_csv_lines(figures))
    assert row["name"] == '\'=HYPERLINK("x"), y'
    assert row["fibre"] == ""


def test_what_is_left_for_programs() -> None:
    figures = figures_of(make_map(np.zeros((50, 40))))
    left = remaining_dict(remaining_after(figures, 20))
    assert (left["rows"], left["knots"], left["yarns"][0]["knots"]) == (30, 1200, 1200)
    assert left["days"] == pytest.approx(0.2)
