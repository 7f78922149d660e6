"""A knot map that is opened beside its rug file takes from there what it lacks, and nothing else."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from support.small_order import RUG

from chartmaker.ground.errors import KnotFileError, RugError
from chartmaker.jobs.reading import read_map

PRICED = (
    "code,name,colour,stock_g,price_per_kg\n"
    "R1,Madder,#a02820,40,31.5\nB1,Indigo,#202c60,0,42\nW1,Ivory,#f0e8d8,15.5,18\nG1,Olive,#707030,9,20\n"
)
COST = '[cost]\ncurrency = "EUR"\nwarp_per_kg = 8\nweft_per_kg = 6.5\nweaving_per_day = 33\nfinishing_per_m2 = 5\n'


@pytest.fixture
def priced(order: Path) -> Path:
    (order.parent / "wool.csv").write_text(PRICED)
    order.write_text(RUG + COST + '[pile]\nwaste = "12%"\n[chart]\npaper = "A5"\n')
    return order


def test_figures_with_the_rug_file_are_those_that_make_gave(
    priced: Path,
    chartmaker: Callable[..., Any],
) -> None:
    out = priced.parent / "set"
    assert chartmaker("make", priced, "--out", out, "--quiet").code == 0
    made = json.loads((out / "summary.json").read_text())
    said = json.loads(chartmaker("figures", out / "knots.png", "--rug", priced, "--json").out)
    findings = said.pop("findings")
    assert made["cost"]["parts"][0]["amount"] is not None
    assert [shade["stock_g"] for shade in said["dye"]["shades"]] == [40, 0, 15.5]
    assert {key: made[key] for key in said} == said
    assert all({**finding, "places": []} in made["findings"] for finding in findings)
    alone = json.loads(chartmaker("figures", out / "knots.png", "--json").out)
    assert alone["cost"] is None
    assert [shade["stock_g"] for shade in alone["dye"]["shades"]] == [None] * 3  # a 0 would be an empty store
    assert alone["pile"] == made["pile"]
    options = ("--card", priced.parent / "wool.csv", "--set", "cost.warp_per_kg=8")
    card = json.loads(chartmaker("figures", out / "knots.png", *options, "--json").out)
    assert card["dye"] == made["dye"]
    assert card["cost"]["parts"][0] == made["cost"]["parts"][0]
    assert chartmaker("verify", out).code == 0


def test_the_chart_with_the_rug_file_is_the_one_that_make_drew(
    priced: Path,
    chartmaker: Callable[..., Any],
) -> None:
    out = priced.parent / "set"
    assert chartmaker("make", priced, "--out", out, "--quiet").code == 0
    for name in ("chart.pdf", "rows.pdf"):
        again = priced.parent / name
        command = name.removesuffix(".pdf")
        assert chartmaker(command, out / "knots.png", "--rug", priced, "--out", again, "--quiet").code == 0
        assert again.read_bytes() == (out / name).read_bytes()


def test_the_rug_file_overrides_the_map_and_the_command_line_overrides_both(knots: Path, order: Path) -> None:
    order.write_text(RUG.replace("weavers = 2", "weavers = 3"))
    assert read_map(knots).workshop.loom.weavers == 2
    assert read_map(knots, order).workshop.loom.weavers == 3
    assert read_map(knots, order, {"loom": {"weavers": 4}}).workshop.loom.weavers == 4
    assert read_map(knots, None, {"loom": {"weavers": 4}}).workshop.loom.weavers == 4
    assert read_map(knots, knots).workshop.loom.weavers == 2


def test_the_rug_file_of_another_rug_is_refused(knots: Path, order: Path) -> None:
    order.write_text(RUG.replace("12x16 cm", "13x16 cm"))
    with pytest.raises(KnotFileError, match="asks for 52 x 80 knots, but the knot map has 48 x 80") as refused:
        read_map(knots, order)
    assert "rug.toml" in str(refused.value)
    with pytest.raises(RugError, match="weaver"):
        read_map(knots, None, {"loom": {"weavers": -1}})
