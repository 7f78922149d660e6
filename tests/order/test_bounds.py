"""Every quantity of the rug file has bounds: outside them it is refused by its key, near them it is remarked on."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from pydantic import BaseModel

from chartmaker.ground.errors import RugError
from chartmaker.ground.units import YarnCount
from chartmaker.order.bounds import Within, bounds_in, odd_values
from chartmaker.order.design import Design, YarnChoice
from chartmaker.order.rug import Rug
from chartmaker.order.rugfile import RugFile, from_tables
from chartmaker.order.workshop import Vessel, Workshop

#: Keys that are no physical quantity: names, words, choices, prices, numbers of yarns, and settings of the conversion.
FREE = {
    "rug": "name density knot shape technique",
    "design": "artwork style fit mirror turn tidy lines fitted motifs repeats detail ground stipple",
    "yarns": "card colours keep skip",
    "pile": "loops",
    # its bounds depend on the craft, and it has a remark of its own
    "loom": "thin_picks outside_picks binding_yarn knots_per_weaver_day pile_yarn",
    "dye": "vessels undyed",
    "cost": "*",
    "chart": "*",
    "pattern": "roll paper side smallest loops ground resolution",  # a roll has its own limits, in inches
    "carve": "grooves profile when relief",
    "vessel": "name",
}
RUG: dict[str, dict[str, Any]] = {"rug": {"size": "5x8ft", "density": "9/60 indian"}}


def models() -> dict[str, type[BaseModel]]:
    made: dict[str, type[BaseModel]] = {"rug": Rug, "design": Design, "yarns": YarnChoice, "vessel": Vessel}
    return made | {name: field.annotation for name, field in Workshop.model_fields.items()}  # type: ignore[misc]


def quantities() -> Iterator[tuple[str, str, Within]]:
    for table, model in models().items():
        for name, field in model.model_fields.items():
            bounds = next((each for each in field.metadata if isinstance(each, Within)), None)
            bounds = bounds or bounds_in(field.annotation)
            if bounds is not None and table != "chart":
                yield table, field.alias or name, bounds


def test_every_key_has_bounds_or_is_no_quantity() -> None:
    bounded = {(table, key) for table, key, _ in quantities()}
    for table, model in models().items():
        free = FREE[table].split()
        for name, field in model.model_fields.items():
            key = field.alias or name
            assert free == ["*"] or (key in free) != ((table, key) in bounded), f"[{table}] {key}"


def written(bounds: Within, number: float) -> Any:
    unit = {"mm": "mm", "g": "g", "tex": ""}.get(bounds.kind)
    if unit is None:
        return number
    return f"tex {number:g}" if bounds.kind == "tex" else f"{number:f} {unit}"


def order(table: str, key: str, value: Any) -> RugFile:
    given: dict[str, Any] = {"W-07": value} if key in ("heights", "carved") else value  # type: ignore[assignment]
    if table == "rug":
        sides = {} if key not in ("width", "length") else {"width": "1 m", "length": "1 m"}
        rug = {name: each for name, each in RUG["rug"].items() if not (sides and name == "size")}
        return from_tables({"rug": {**rug, **sides, "density": "4x4 per dm", key: given}}, where="rug.toml")
    if table == "vessel":
        vessel = {"name": "pot", "holds": "5000 kg" if key == "least" else "600 g"} | {key: given}
        tables = {"dye": {"vessels": [vessel], "hank": "6 g"}}
    else:
        tables = {table: {key: given}}
    if key == "thin_weft":
        tables["loom"]["picks"] = 2
    return from_tables(RUG | tables, where="rug.toml")


@pytest.mark.parametrize(("table", "key", "bounds"), list(quantities()), ids=lambda value: str(value)[:20])
def test_impossible_values_are_refused_and_unusual_ones_remarked_on(table: str, key: str, bounds: Within) -> None:
    below = bounds.least * (0.9 if bounds.least > 0 else 1.1)
    beyond = [number for number in (below, bounds.most * 1.01) if number not in (bounds.least, bounds.most)]
    whole = key in ("strands", "weavers", "picks", "selvedge")
    for number in beyond:
        with pytest.raises(RugError) as refused:
            order(table, key, written(bounds, int(number + 1) if whole and number > 1 else number))
        assert key in str(refused.value) and "rug.toml" in str(refused.value)
    odd = (bounds.high + bounds.most) / 2
    if (bounds.high < bounds.most and table != "rug") or key == "pile":
        found = order(table, key, written(bounds, int(odd) if whole else odd))
        every = odd_values({"rug": found.rug, **dict(found.workshop)})
        [finding] = [each for each in every if key in each.where.split()]
        assert finding.severity == "warning"
        assert "is unusual" in finding.what and "an estimate" in finding.what
    usual = (bounds.low + bounds.high) / 2
    found = order(table, key, written(bounds, int(usual) if whole else usual))
    odd_keys = {finding.where for finding in odd_values({"rug": found.rug, **dict(found.workshop)})}
    assert not any(where.endswith(f" {key}") for where in odd_keys)


def test_a_default_is_never_remarked_on() -> None:
    found = from_tables(RUG, where="rug.toml")
    assert odd_values({"rug": found.rug, **dict(found.workshop)}) == ()


@pytest.mark.parametrize(
    ("table", "key", "value", "words"),
    [
        ("pile", "cut", "9 cm", "90 mm cannot be right; it must lie between 1 mm and 80 mm"),
        ("rug", "pile", "12 m", "1200 cm cannot be right; it must lie between 0.5 mm and 80 mm"),
        ("pile", "length_per_knot", "329 mm", "32.9 cm cannot be right; it must lie between 3 mm and 25 cm"),
    ],
)
def test_a_value_with_the_wrong_unit_is_refused(table: str, key: str, value: str, words: str) -> None:
    with pytest.raises(RugError) as refused:
        order(table, key, value)
    assert str(refused.value) == f"rug.toml, [{table}] {key}: {words}"


def test_a_quantity_too_large_for_a_number_is_refused() -> None:
    assert Within.number(10**400) == float("inf")
    with pytest.raises(RugError, match="cannot be"):
        order("pile", "cut", f"{'9' * 190} m")
    assert isinstance(order("pile", "yarn", "Nm 5 x2").workshop.pile.yarn, YarnCount)
