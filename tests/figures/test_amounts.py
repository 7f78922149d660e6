"""Sheets of two orders of one map bear two codes, and those of one order bear one, whatever else is set."""

from __future__ import annotations

import io
from dataclasses import replace
from typing import Any

import numpy as np
import pypdfium2 as pdfium
import pytest
from support.making import SettledMap, make_map, make_rug, settled

from chartmaker.figures.reckoning import figures_of
from chartmaker.order.workshop import Workshop
from chartmaker.reports.records.figures import summary_of
from chartmaker.sheets.tables import dyesheets, figuresheets, issuesheets
from chartmaker.verify.expected import expected_of
from chartmaker.verify.figuresheets import figure_differences
from chartmaker.verify.recount.amounts import amounts_code
from chartmaker.verify.recount.whole import recount_of

WRITERS = (figuresheets.write_figures_pdf, dyesheets.write_dye_pdf, issuesheets.write_issue_pdf)
VESSELS = [{"name": "Küpe", "holds": "400 g", "least": "100 g"}]


def order(stock_g: float | None = 40.0, **tables: dict[str, Any]) -> SettledMap:
    """Return one map of four yarns as another order."""
    made = make_map(np.arange(8000).reshape(80, 100) % 4, make_rug(100, 80), Workshop.model_validate(tables))
    yarns = tuple(replace(yarn, stock_g=stock_g) for yarn in made.yarns)
    return SettledMap(made.knots, yarns, made.rug, made.workshop)


def code_of(knot_map: SettledMap) -> str:
    """Return the code of the amounts, reckoned twice."""
    figures = figures_of(*settled(knot_map))
    cost = summary_of(figures)["cost"]
    assert amounts_code(recount_of(*settled(knot_map)), figures.dye, cost) == figures.amounts_code
    return figures.amounts_code


ORDERS: dict[str, dict[str, Any]] = {
    "as it is": {},
    "no stock known": {"stock_g": None},
    "an empty store": {"stock_g": 0.0},
    "more stock": {"stock_g": 47.0},
    "waste": {"pile": {"waste": 0.07}},
    "pile": {"pile": {"cut": "11 mm"}},
    "hanks": {"dye": {"hank": "100 g"}},
    "allowance": {"dye": {"allowance": 0.15}},
    "bought as it is": {"dye": {"undyed": ["Y001"]}},
    "vessels": {"dye": {"hank": "100 g", "vessels": VESSELS}},
    "bundles": {"loom": {"weigh": "10 g"}},
    "margin": {"loom": {"issue_margin": 0.08}},
    "sections": {"loom": {"section": "5 cm"}},
    "weavers": {"loom": {"weavers": 2}},
    "weft": {"loom": {"picks": 3}},
    "warp": {"loom": {"fringe": "14 cm"}},
    "rate": {"loom": {"knots_per_weaver_day": 2000}},
    "a price": {"cost": {"pile_per_kg": 20}},
    "another price": {"cost": {"pile_per_kg": 20.5}},
    "another currency": {"cost": {"pile_per_kg": 20, "currency": "EUR"}},
}


def test_every_order_of_a_map_has_a_code_of_its_own() -> None:
    codes = {name: code_of(order(**given)) for name, given in ORDERS.items()}
    assert sorted(codes) == sorted({code: name for name, code in codes.items()}.values())
    assert all(len(code) == 6 and int(code, 16) >= 0 for code in codes.values())


@pytest.mark.parametrize(
    "given",
    [
        {"pile": {"waste": 0.05}},  # the default, said outright
        {"pile": {"waste": 0.0500000001}},  # which changes no figure that is printed
        {"chart": {"paper": "A3", "marks": "symbol"}, "carve": {"relief": False}},
    ],
)
def test_the_code_stays_where_nothing_printed_changes(given: dict[str, Any]) -> None:
    assert code_of(order(**given)) == code_of(order())


@pytest.mark.parametrize("write", WRITERS)
def test_sheets_bear_the_code_and_those_of_another_order_are_found(write: Any) -> None:
    mine, other = (order(cost={"pile_per_kg": price}) for price in (20, 21))
    bare = order()  # no map holds a price: verify takes the cost from the summary
    figures, again, known = figures_of(*settled(mine)), recount_of(*settled(bare)), figures_of(*settled(bare))
    streams = io.BytesIO(), io.BytesIO(), io.BytesIO()
    for stream, knot_map in zip(streams, (mine, other, bare), strict=True):
        write(stream, figures_of(*settled(knot_map)))
    expected, cost = expected_of(*settled(bare), again), summary_of(figures)["cost"]
    own, stale, unpriced = (
        list(figure_differences(stream.getvalue(), expected, again, known, cost)) for stream in streams
    )
    for page in pdfium.PdfDocument(streams[0].getvalue()):
        assert f"amounts {figures.amounts_code}" in page.get_textpage().get_text_range()
    assert own == [] and any("for amounts it prints" in fault for fault in stale)
    # the dye house and the store need no price, and print none
    assert (unpriced == []) is (write is not figuresheets.write_figures_pdf)
