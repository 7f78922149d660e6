"""All figures agree together: what was woven and what is left are the whole, and all that they rest on is listed."""

from __future__ import annotations

import re
from typing import Any, get_args

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.making import SettledMap, knot_maps, make_map, make_rug, settled

from chartmaker.figures.reckoning import Figures, figures_of, remaining_after
from chartmaker.ground.basis import Basis
from chartmaker.ground.errors import RugError
from chartmaker.ground.findings import Severity
from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.order.rug import Rug
from chartmaker.order.rugfile import from_tables
from chartmaker.order.workshop import Workshop


@settings(max_examples=40)
@given(knot_maps(), st.floats(0, 1))
def test_what_was_woven_and_what_is_left_are_the_whole(knot_map: SettledMap, share: float) -> None:
    figures = figures_of(knot_map, knot_map.workshop)
    row = round(share * knot_map.rows)
    left = remaining_after(figures, row)
    assert left.rows == knot_map.rows - row
    assert left.knots == int((knot_map.knots[row:] != NO_KNOT).sum())
    assert left.pile.knots == left.knots
    assert left.days.best == pytest.approx(figures.labour.days.best * left.knots / knot_map.tied)
    bound_g = [sum(line.count.mass_g(line.binding_m) / 0.95 for line in each.pile.yarns) for each in (figures, left)]
    assert bound_g[1] == pytest.approx(bound_g[0] * left.rows / knot_map.rows)
    in_knots_g = [each.pile.mass_g.best - g for each, g in zip((figures, left), bound_g, strict=True)]
    assert in_knots_g[1] == pytest.approx(in_knots_g[0] * left.knots / knot_map.tied)
    assert left.weft_mass_g.best == pytest.approx(figures.foundation.weft_mass_g.best * left.rows / knot_map.rows)


def test_a_row_that_is_not_there_is_refused() -> None:
    figures = figures_of(*settled(make_map(np.zeros((50, 40)))))
    assert remaining_after(figures, 50).knots == 0
    for row in (-1, 51):
        with pytest.raises(RugError, match=r"--finished-row: this rug has no row -?[0-9]+; give 0 to 50"):
            remaining_after(figures, row)


def test_the_density_notation_is_an_assumption_where_it_leaves_something_open() -> None:
    nominal = figures_of(*settled(make_map(np.zeros((50, 40)), make_rug(40, 50, "80 knot tibetan"))))
    assert nominal.assumptions[0].key == "[rug] density"
    assert figures_of(*settled(make_map(np.zeros((50, 40))))).assumptions[0].key != "[rug] density"


def test_the_finished_rug_weighs_its_parts() -> None:
    figures = figures_of(*settled(make_map(np.zeros((50, 40)))))
    # each end stays in the rug, except for its 36 cm of loom waste, which is the default
    warp_g = figures.foundation.warp_mass_g * (figures.foundation.warp_end_m - 0.36) / figures.foundation.warp_end_m
    parts = figures.pile.net_mass_g.best + warp_g + figures.foundation.weft_mass_g.best
    assert figures.mass_g.best == pytest.approx(parts)
    assert figures.mass_g.low < figures.mass_g.best < figures.mass_g.high


def test_a_map_without_a_knot_has_figures_of_zero() -> None:
    figures = figures_of(*settled(make_map(np.full((50, 40), NO_KNOT), workshop=Workshop())))
    assert (figures.pile.knots, figures.labour.days.best, figures.labour.mean_runs) == (0, 0, 0)
    assert figures.labour.slow == ()


def best_figures(figures: Figures) -> list[float]:
    foundation, labour = figures.foundation, figures.labour
    return [
        figures.pile.length_m.best,
        figures.pile.net_mass_g.best,
        figures.pile.mass_g.best,
        foundation.warp_length_m,
        foundation.warp_mass_g,
        foundation.weft_length_m.best,
        foundation.weft_mass_g.best,
        foundation.backing_cloth_m2,
        labour.days.best,
        labour.months.best,
        labour.weaver_hours.best,
        figures.dye.allowance,
        figures.dye.hank_g,
    ]


def as_in_a_rug_file(value: str) -> Any:
    """Return the value of an assumption as a rug file would have it, without its words of explanation."""
    bare = value.removeprefix("cotton, ").removesuffix(" ends").removesuffix(" each end").replace(",", "")
    return float(bare) if re.fullmatch(r"[0-9.]+", bare) else bare


#: Assumptions of a tufted rug that have no key, or a key of another form.
TUFTED_LEFT = {"[loom] knots_per_weaver_day", "pile on a square metre"}


@pytest.mark.parametrize("rug", [{}, {"pile": "7 mm"}, {"technique": "tufted"}])
def test_a_default_that_is_written_into_the_rug_file_changes_no_figure(rug: dict[str, str]) -> None:
    tables: dict[str, Any] = {"rug": {"size": "2.4x1 m", "density": "40x40 per dm", **rug}}
    order = from_tables(tables, where="rug.toml")
    cells = np.zeros((order.rug.rows, order.rug.columns))
    told = figures_of(*settled(make_map(cells, order.rug, order.workshop)))
    left = {"fibre on the card", "[dye] vessels"} | (TUFTED_LEFT if "technique" in rug else set())
    for assumption in told.assumptions:
        assert assumption.why
        if assumption.key not in left:
            table, key = re.fullmatch(r"\[(\w+)\] (\w+)", assumption.key).groups()  # type: ignore[union-attr]
            value = as_in_a_rug_file(assumption.value)
            tables.setdefault(table, {})[key] = int(value) if value in (1.0, 2.0, 3.0, 8.0, 6000.0) else value
    given = from_tables(tables, where="rug.toml")
    again = figures_of(*settled(make_map(cells, given.rug, given.workshop)))
    assert best_figures(again) == pytest.approx(best_figures(told), rel=1e-9)
    assert {assumption.key for assumption in again.assumptions} == left


#: These rug files together make the figures say all that they can say.
ORDERS: dict[str, dict[str, Any]] = {
    "nothing given": {},
    "tufted": {"rug": {"technique": "tufted"}},
    "tufted at a strange rate": {"rug": {"technique": "tufted"}, "loom": {"knots_per_weaver_day": 9_000}},
    "measured": {"pile": {"length_per_knot": "44 mm", "cut": "9 mm"}, "cost": {"weaving_per_day": 30}},
    "weighed": {"pile": {"grams_per_1000_knots": 20.0, "spread": "3%"}, "cost": {"pile_per_kg": 9}},
    "crowded": {"loom": {"weavers": 9, "knots_per_weaver_day": 20_000, "warp": "tex 2000"}},
    "small vessels": {
        "dye": {"vessels": [{"name": "pot", "holds": "1 kg", "least": "900 g"}], "undyed": ["NOPE"]},
        "pile": {"heights": {"NOPE": "9 mm"}},
    },
}


@pytest.mark.parametrize("order", ORDERS)
def test_findings_and_assumptions_name_only_keys_that_exist(order: str) -> None:
    tables = {"rug": {"size": "1x1 m", "density": "40x40 per dm"}}
    tables |= {name: tables.get(name, {}) | keys for name, keys in ORDERS[order].items()}
    read = from_tables(tables, where="rug.toml")
    figures = figures_of(*settled(make_map(np.zeros((read.rug.rows, read.rug.columns)), read.rug, read.workshop)))
    assert {line.basis for line in (*figures.reached, *figures.assumptions)} <= set(get_args(Basis))
    assert {finding.severity for finding in figures.findings} <= set(get_args(Severity))
    costs = () if figures.cost is None else figures.cost.parts
    words = [word for line in figures.reached for word in (line.what, line.how)]
    words += [word for line in figures.assumptions for word in (line.key, line.why)]
    words += [word for finding in figures.findings for word in (finding.what, finding.where)]
    words += [word for part in costs for word in (part.how, part.key)]
    assert all(words)
    known = {"rug": Rug.model_fields} | {n: type(t).model_fields for n, t in dict(read.workshop).items()}
    for table, key in re.findall(r"\[(\S+)\] (\w+)", " ".join(words)):
        assert key in {field.alias or name for name, field in known[table].items()}
    if order in ("crowded", "small vessels", "tufted at a strange rate"):
        assert figures.findings


#: What a reader can judge a figure by; if it is published, a source stands beside the default or in its reason.
BASES = {
    "published": "[loom] take_up, [loom] fringe, [loom] loom_waste, [loom] knots_per_weaver_day, [loom] hours_per_day, "
    "[loom] working_days_per_month, [dye] vessels; net grams, size on the loom, warp ends, warp and weft mass, "
    "range of days",
    "common practice": "fibre on the card, [pile] cut, [rug] knot, [pile] strands, [loom] picks, "
    "[loom] selvedge, [loom] kilim, [loom] binding, [loom] weigh, [loom] weavers, [dye] allowance, [dye] hank; "
    "to order, lots",
    "estimate": "[pile] yarn, [loom] warp, [loom] weft, [loom] shrinkage_across, [loom] shrinkage_along, "
    "[rug] pile, [pile] waste, [loom] binding_yarn, [loom] issue_margin; length per knot, range of yarn, side binding, "
    "weft of the kilim ends, slow sections",
    "arithmetic": "; net metres, with waste, metres and grams, pile as sheared, warp length, "
    "weft between knots, liquor, bundles, days",
    "measured here": "; knots, runs and colours per row",
}


def test_each_figure_says_what_it_rests_on() -> None:
    figures = figures_of(*settled(make_map(np.zeros((50, 40)))))
    for basis, told in BASES.items():
        told = told.replace("waste, metres", "waste: metres")
        keys, names = ({name.replace(":", ",") for name in words.split(", ")} - {""} for words in told.split("; "))
        assert {line.key for line in figures.assumptions if line.basis == basis} == keys
        assert {line.what for line in figures.reached if line.basis == basis} == names


def test_measured_and_given_values_are_listed_as_such() -> None:
    order = from_tables(
        {
            "rug": {"size": "1x1 m", "density": "40x40 per dm", "pile": "7 mm"},
            "pile": {"length_per_knot": "44 mm"},
            "loom": {"knots_per_weaver_day": 7000},
            "cost": {"weaving_per_day": 30},
        },
        where="rug.toml",
    )
    figures = figures_of(*settled(make_map(np.zeros((400, 400)), order.rug, order.workshop)))
    bases = {line.what: line.basis for line in figures.reached}
    assert (bases["length per knot"], bases["range of days"], bases["cost"]) == ("given", "estimate", "arithmetic")
    assert {a.key: a.basis for a in figures.assumptions}["[pile] cut"] == "estimate"
    weighed = order.workshop.model_copy(update={"pile": type(order.workshop.pile)(grams_per_1000_knots=20)})
    figures = figures_of(*settled(make_map(np.zeros((400, 400)), order.rug, weighed)))
    assert {line.what: line.basis for line in figures.reached}["length per knot"] == "given"


def test_a_tufted_rug_rests_on_other_figures() -> None:
    rug = make_rug(40, 50, technique="tufted")
    figures = figures_of(*settled(make_map(np.zeros((50, 40)), rug)))
    bases = {line.what: line.basis for line in figures.reached}
    assert {
        name: bases[name] for name in ("length per tuft", "size in the frame", "backing cloth", "range of days")
    } == {
        "length per tuft": "estimate",
        "size in the frame": "arithmetic",
        "backing cloth": "arithmetic",
        "range of days": "estimate",
    }
    assumed = {line.key: line.basis for line in figures.assumptions}
    assert assumed["[loom] backing_margin"] == assumed["[loom] knots_per_weaver_day"] == "common practice"
    assert assumed["[loom] shrinkage_across"] == assumed["[loom] shrinkage_along"] == "estimate"


def test_a_round_rug_is_weighed_over_its_true_area() -> None:
    # A round rug of 1 m has pi / 4 m2, and 40 x 40 knots per dm are 160,000 a square metre.
    at = np.arange(400) + 0.5 - 200
    cells = np.where(at[:, None] ** 2 + at[None, :] ** 2 <= 200**2, 0, NO_KNOT)
    order = from_tables(
        {
            "rug": {"size": "1x1 m", "density": "40x40 per dm", "shape": "ellipse", "pile": "9 mm"},
            "pile": {"length_per_knot": "40 mm", "yarn": "tex 500", "cut": "9 mm"},
            "cost": {"finishing_per_m2": 100},
        },
        where="rug.toml",
    )
    figures = figures_of(*settled(make_map(cells, order.rug, order.workshop)))
    assert figures.area_m2 == pytest.approx(np.pi / 4, rel=2e-3)
    # At 20 mg a knot and 160,000 knots a m2 the pile has 3.2 kg a square metre, whatever the outline.
    assert figures.pile.net_mass_g.best / figures.area_m2 == pytest.approx(3200, rel=1e-9)
    assert figures.cost is not None
    assert figures.cost.per_m2.best == pytest.approx(100, rel=1e-9)
    square = figures_of(*settled(make_map(np.zeros((400, 400)), make_rug(400, 400, "40x40 per dm"), order.workshop)))
    assert figures.foundation.in_rug_g.best < square.foundation.in_rug_g.best * np.pi / 4
