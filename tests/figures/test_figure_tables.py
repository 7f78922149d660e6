"""The tables as read: they add up, in both systems; nothing is missing."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from making import knot_maps, make_map, make_rug

from chartmaker.figures.calibration import calibrate_by_yarn, calibrate_in_all
from chartmaker.figures.gather import figures_of, remaining_after
from chartmaker.figures.measures import Units
from chartmaker.figures.tables import (
    FigureTable,
    calibration_tables,
    issue_tables,
    remaining_tables,
    tables_of,
)
from chartmaker.knotmap import KnotMap
from chartmaker.workshop import Chart, Cost, Dye, Loom, Pile, Workshop

BOTH = st.sampled_from(["metric", "imperial"])


def value(words: str) -> Decimal:
    return Decimal(words.replace(",", "") or 0)


def adds_up(table: FigureTable, column: int) -> bool:
    assert table.total is not None
    return sum((value(row[column]) for row in table.rows), Decimal(0)) == value(table.total[column])


@settings(max_examples=30)
@given(knot_maps(), BOTH)
def test_the_pile_adds_up_as_printed(knot_map: KnotMap, units: Units) -> None:
    pile = tables_of(figures_of(knot_map), units)[0]
    for name in ("knots", "share %"):
        assert adds_up(pile, pile.header.index(name))
    for column in (6, 7, 8):
        assert pile.total is not None
        difference = sum(value(row[column]) for row in pile.rows) - value(pile.total[column])
        assert abs(difference) <= Decimal(1).scaleb(value(pile.total[column]).as_tuple().exponent)  # type: ignore[arg-type]


@settings(max_examples=30)
@given(knot_maps(), BOTH, st.integers(1, 3))
def test_bundles_add_up_as_printed(knot_map: KnotMap, units: Units, strips: int) -> None:
    workshop = Workshop(loom=Loom(stretch="2 cm"), chart=Chart(strips=strips))
    figures = figures_of(KnotMap(knot_map.knots, knot_map.yarns, knot_map.rug, workshop))
    tables = issue_tables(figures, units)
    for table in tables:
        assert len(table.header) == 4 + 2 * strips
        for column in table.right:
            assert adds_up(table, column)
        for row in (*table.rows, table.total):
            assert row is not None
            assert sum(value(w) for w in row[2:-2:2]) == value(row[-2])
    printed = sum(value(table.total[-2]) for table in tables if table.total)
    whole = figures.pile.mass_g.best / (1 if units == "metric" else 28.349523125)
    assert float(printed) == pytest.approx(whole, abs=0.0501 if units == "metric" else 0.00501)


def test_every_table_has_what_its_header_says() -> None:
    cells = np.zeros((100, 40), dtype=int)
    cells[10] = np.arange(40) % 3
    workshop = Workshop(
        pile=Pile(heights={"NOPE": "9 mm"}, strands=2),
        loom=Loom(warp="Ne 10 x9", stretch="2 cm"),
        dye=Dye(vessels=[{"name": "pot", "holds": "1 kg"}], undyed=("Y001",)),
        cost=Cost(pile_per_kg=10, currency="EUR", warp_per_kg=3),
    )
    figures = figures_of(make_map(cells, make_rug(40, 100), workshop))
    calibration = calibrate_by_yarn(figures.knot_map, {"Y000": 90.0})
    for units in ("metric", "imperial"):
        tables = (
            *tables_of(figures, units),  # type: ignore[arg-type]
            *issue_tables(figures, units),  # type: ignore[arg-type]
            *remaining_tables(remaining_after(figures, 30), units),  # type: ignore[arg-type]
            *calibration_tables(calibration, units),  # type: ignore[arg-type]
            *calibration_tables(calibrate_in_all(figures.knot_map, 90.0), units),  # type: ignore[arg-type]
        )
        for table in tables:
            for row in (*table.rows, *((table.total,) if table.total else ())):
                assert len(row) == len(table.header)
            assert not table.yarns or len(table.yarns) == len(table.rows)
    words = {table.title: table for table in tables_of(figures)}
    assert "Cost in EUR" in words and "To look at" in words
    assert ("total of the priced parts, the rug" in row[0] for row in words["Cost in EUR"].rows)
    assert ("weft", "no price", "[cost] weft_per_kg") in words["Cost in EUR"].rows
    assert words["Stretches, first woven first"].notes == ("1 go slowly: many runs a row.",)
    assert "labour law" in words["Time"].notes[0]
    assert "trained supervision" in words["Dye order"].notes[-1]
    dye = words["Dye order"]
    assert [row[-1] for row in dye.rows if row[0] == "Y001"] == ["undyed"]
    assert "Ne 10 x9 (531 tex)" in {row[2] for row in words["Foundation"].rows}


def test_a_tufted_rug_has_a_backing_table() -> None:
    rug = make_rug(200, 200, "20x20 per dm", technique="tufted")
    figures = figures_of(make_map(np.zeros((200, 200)), rug, Workshop(cost=Cost(pile_per_kg=1))))
    titles = {table.title: table for table in tables_of(figures)}
    assert "Backing" in titles and "Foundation" not in titles
    assert "Cost" in titles
    assert titles["Time"].rows[1][0] == "tufts a weaver a day"


def test_stock_that_covers_a_shade_is_told() -> None:
    from dataclasses import replace

    knot_map = make_map(np.zeros((50, 40)))
    stocked = replace(knot_map.yarns[0], stock_g=5000.0)
    figures = figures_of(KnotMap(knot_map.knots, (stocked,), knot_map.rug, knot_map.workshop))
    [row] = next(table for table in tables_of(figures) if table.title == "Dye order").rows
    assert row[-1] == "from stock"
