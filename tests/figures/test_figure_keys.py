"""Keys of the rug file for the figures are refused by name if impossible, and are kept with the knot map."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from support.making import SettledMap, make_map, make_rug, settled

from chartmaker.figures.reckoning import figures_of
from chartmaker.ground.errors import RugError
from chartmaker.order.rugfile import from_tables, to_tables

RUG = {"rug": {"size": "5x8ft", "density": "9/60 indian"}}


@pytest.mark.parametrize(
    ("table", "key", "value", "message"),
    [
        ("loom", "weavers", 0, "0 is too small; the least is 1"),
        ("loom", "weavers", "two", "'two' is not a whole number"),
        ("loom", "picks", 0, "0 is too small; the least is 1"),
        ("loom", "knots_per_weaver_day", 0, "0 is too small; the least is 1"),
        ("loom", "hours_per_day", 25, "25 is too large; the most is 24"),
        ("loom", "warp", "6/10", "two ways, as count/ply and as ply/count"),
        ("loom", "fringe", "-1 cm", "is not a length"),
        ("loom", "shrinkage_along", "80%", "between -50% and 50%"),
        ("loom", "section", "0 cm", "is not a length above zero"),
        ("pile", "yarn", "Nm 0", "must be above zero"),
        ("pile", "waste", "100%", "is not a share"),
        ("pile", "strands", 0, "0 is too small; the least is 1"),
        ("pile", "grams_per_1000_knots", -1, "-1 is too small; it must be above 0"),
        ("pile", "spread", -0.1, "is not a share"),
        ("pile", "hieght", "3 mm", "did you mean heights?"),
        ("dye", "hank", "0 g", "is not a mass above zero"),
        ("dye", "vessels", [{"name": "pot"}], "holds is missing"),
        ("dye", "vessels", [{"name": "pot", "holds": "1 kg", "liqor_ratio": 3}], "did you mean liquor_ratio?"),
        ("cost", "pile_per_kg", -1, "-1 is too small; the least is 0"),
        ("cost", "weft_per_kg", "cheap", "'cheap' is not a number"),
        ("cost", "curency", "EUR", "did you mean currency?"),
    ],
)
def test_impossible_values_are_refused_by_the_name_of_their_key(table: str, key: str, value: Any, message: str) -> None:
    with pytest.raises(RugError) as refused:
        from_tables(RUG | {table: {key: value}}, where="rug.toml")
    assert f"rug.toml, [{table}] {key}" in str(refused.value)
    assert message in str(refused.value)


@pytest.mark.parametrize(
    ("tables", "where"),
    [
        ({"pile": {"yarn": "tex 9000"}}, "[pile] yarn"),
        ({"loom": {"warp": "tex 9000"}}, "[loom] warp"),
        ({"loom": {"weft": "tex 9000"}}, "[loom] weft"),
        ({"loom": {"section": "3 m"}}, "[loom] section"),
        ({"loom": {"knots_per_weaver_day": 50_000}}, "[loom] knots_per_weaver_day"),
        ({"chart": {"strips": [9, 3]}}, "[chart] strips"),
    ],
)
def test_a_value_that_this_rug_makes_impossible_is_refused_by_its_key(tables: dict[str, Any], where: str) -> None:
    order = from_tables(RUG | tables, where="rug.toml")
    cells = np.zeros((order.rug.rows, order.rug.columns), dtype=np.uint16)
    with pytest.raises(RugError) as refused:
        figures_of(*settled(make_map(cells, order.rug, order.workshop)))
    assert where in str(refused.value)


def test_the_map_keeps_which_keys_were_given_and_which_were_not() -> None:
    tables = RUG | {
        "pile": {"yarn": "Nm 5 x2", "heights": {"Y000": "14 mm"}, "waste": 0.15},
        "loom": {"fringe": "0 cm", "shrinkage_across": "-1%", "picks": 2},
        "dye": {"vessels": [{"name": "pot", "holds": "3 kg", "liquor_ratio": 40}], "undyed": ["Y000"]},
        "cost": {"pile_per_kg": 18, "currency": "EUR"},
    }
    order = from_tables(tables, where="rug.toml")
    again = from_tables(to_tables(order.rug, order.workshop), where="knots.png")
    assert again.workshop == order.workshop
    cells = np.zeros((50, 40), dtype=np.uint16)
    first = make_map(cells, make_rug(40, 50), order.workshop)
    second = SettledMap(first.knots, first.yarns, first.rug, again.workshop)
    assert figures_of(first, first.workshop).assumptions == figures_of(second, second.workshop).assumptions
    keys = {a.key for a in figures_of(second, second.workshop).assumptions}
    assert "[pile] waste" not in keys and "[loom] picks" not in keys and "[loom] take_up" in keys
