"""The tables of an order are reckoned as by hand, and each number may be off by what rounding allows and no more.

40,000 knots of two yarns at 40 g a thousand are 800 g of each. With 5 % allowance 840 g are wanted: of Y000, of which
500 g are there, hanks for the second of two sections, half of 840 g or 440 g in bundles with 10 % margin; of Y001,
which is bought, nine of 100 g. A pound is 453.59237 g, a US gallon 3.785411784 l (NIST Handbook 44, appendix C).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from support.making import SettledMap, make_map, make_rug, settled

from chartmaker.figures.reckoning import figures_of
from chartmaker.order.workshop import Workshop
from chartmaker.verify.figuretables import _slow, pile_table, work_tables
from chartmaker.verify.ordertables import bundle_lines, bundle_tables, order_tables, step_and_margin
from chartmaker.verify.recount.whole import recount_of
from chartmaker.verify.recount.work import work_of
from chartmaker.verify.tabletypes import IMPERIAL, METRIC, Table, Units


def a_map() -> SettledMap:
    tables = {
        "pile": {"grams_per_1000_knots": 40, "yarn": "tex 400", "waste": 0, "spread": 0},
        "loom": {"binding": "0 mm", "section": "10 cm", "weavers": 2},
        "dye": {"hank": "100 g", "allowance": 0.05, "undyed": ["Y001"], "vessels": [{"name": "pot", "holds": "300 g"}]},
    }
    plain = make_map(np.arange(400) // 200 * np.ones((100, 1)), make_rug(400, 100), Workshop.model_validate(tables))
    yarns = (replace(plain.yarns[0], stock_g=500.0, fibre="wool", lab=(50.0, 10.0, -20.0)), plain.yarns[1])
    return SettledMap(plain.knots, yarns, plain.rug, plain.workshop)


def told(fields: Mapping[str, Any]) -> str:
    """Return the fields of a row, and behind ~ by how many last figures a number may be off if not by half of one."""
    off = {name: getattr(value, "off", 0.5) for name, value in fields.items()}
    return ", ".join(f"{name} {value}" + f" ~{off[name]:g}" * (off[name] != 0.5) for name, value in fields.items())


def account(table: Table) -> list[str]:
    around = [" ".join(table.units), told(table.title), *(told(line.fields) for line in table.lines)]
    return [each for each in (*around, told(table.sums or {}), told(table.notes)) if each]


SHADE = "code Y000, name Yarn 0, fibre wool, count tex 400"
PLAIN = "code Y001, name Yarn 1, fibre …, count tex 400"
LAB = "lightness 50.0, a 10.0, b -20.0"
METRIC_ORDER = "need 800 ~1, wanted 840, stock 500, order 500, hanks 5"
POUND_ORDER = "need 1.764 ~1, wanted 1.852, stock 1.102, order 1.102 ~2.5, hanks 5"


@pytest.mark.parametrize(
    ("units", "accounts"),
    [
        (
            METRIC,
            {
                "order": [
                    "g g g g",
                    f"{SHADE}, {METRIC_ORDER}, mass 300, 200, unit gg, vessel potpot, liquor 12 litres, 8 litres",
                    "order 500, hanks 5",
                ],
                "reckoned-order": [
                    "g g g g",
                    f"{SHADE}, {METRIC_ORDER}",
                    "order 500, hanks 5",
                    "allowance 5, hank 100, lot_code Y000, lot_mass 440 g, lot_section 2",
                ],
                "bought": [
                    "g g g g",
                    f"{PLAIN}, need 800 ~1, wanted 840, stock –, order 900, hanks 9",
                    "order 900, hanks 9",
                ],
                "lots": [
                    "g litres",
                    f"{SHADE}, {LAB}, number 1, lots 2, mass 300 ~1, hanks 3, vessel pot, liquor 12",
                    f"{SHADE}, {LAB}, number 2, lots 2, mass 200 ~1, hanks 2, vessel pot, liquor 8",
                    "mass 500, hanks 5",
                ],
                "base": ["g", "fibre wool, count tex 400, mass 500, hanks 5, shades 1"],
            },
        ),
        (
            IMPERIAL,
            {
                "order": [
                    "lb lb lb lb",
                    f"{SHADE}, {POUND_ORDER}, mass 0.661, 0.441, unit lblb, vessel potpot, "
                    "liquor 3.2 US gal, 2.1 US gal",
                    "order 1.102 ~2.5, hanks 5",
                ],
                "reckoned-order": [
                    "lb lb lb lb",
                    f"{SHADE}, {POUND_ORDER}",
                    "order 1.102 ~2.5, hanks 5",
                    "allowance 5, hank 100, lot_code Y000, lot_mass 0.970 lb, lot_section 2",
                ],
                "bought": [
                    "lb lb lb lb",
                    f"{PLAIN}, need 1.764 ~1, wanted 1.852, stock –, order 1.984 ~1.5, hanks 9",
                    "order 1.984 ~1.5, hanks 9",
                ],
                "lots": [
                    "lb US gal",
                    f"{SHADE}, {LAB}, number 1, lots 2, mass 0.661 ~1, hanks 3, vessel pot, liquor 3.2",
                    f"{SHADE}, {LAB}, number 2, lots 2, mass 0.441 ~1, hanks 2, vessel pot, liquor 2.1",
                    "mass 1.102 ~2.5, hanks 5",
                ],
                "base": ["lb", "fibre wool, count tex 400, mass 1.102 ~2.5, hanks 5, shades 1"],
            },
        ),
    ],
    ids=["metric", "imperial"],
)
def test_an_order_is_reckoned_as_by_hand(units: Units, accounts: dict[str, list[str]]) -> None:
    plain = a_map()
    loom = plain.workshop.loom.model_validate({**plain.workshop.loom.model_dump(exclude_unset=True), "weigh": "5 g"})
    knot_map = SettledMap(plain.knots, plain.yarns, plain.rug, plain.workshop.model_copy(update={"loom": loom}))
    tables = order_tables(recount_of(*settled(knot_map)), figures_of(*settled(knot_map)), units)
    assert {key: account(table) for key, table in tables.items()} == accounts
    summed = {key: (table.columns, table.patches, [line.yarn for line in table.lines]) for key, table in tables.items()}
    assert summed == {
        "order": (("order", "hanks"), False, [0]),
        "reckoned-order": (("order", "hanks"), False, [0]),
        "bought": (("order", "hanks"), False, [1]),
        "lots": (("mass", "hanks"), True, [0, 0]),
        "base": ((), False, [None]),
    }


@pytest.mark.parametrize(
    ("units", "accounts", "looked_at"),
    # A stock of 500 g lasts for the first section, whose bundle is 440 g; whole quarters of an ounce are 7.087 g.
    [
        (
            METRIC,
            [
                [
                    "g g g m",
                    "code Y000, name Yarn 0, lot_stock …, lot_new …, bundle1 880, mass 880, length 2,200",
                    "code Y001, name Yarn 1, bundle2 880, mass 880, length 2,200",
                    "bundle1 880, bundle2 880, mass 1,760, length 4,400",
                ],
                [
                    "g g g",
                    "number 1, sections 2, first 1, last 50",
                    "code Y000, name Yarn 0, lot_stock …, bundle1 440, mass 440",
                    "code Y001, name Yarn 1, bundle2 440, mass 440",
                    "bundle1 440, bundle2 440, mass 880",
                ],
                [
                    "g g g",
                    "number 2, sections 2, first 51, last 100",
                    "code Y000, name Yarn 0, lot_new …, bundle1 440, mass 440",
                    "code Y001, name Yarn 1, bundle2 440, mass 440",
                    "bundle1 440, bundle2 440, mass 880",
                    "back Y000",
                ],
            ],
            "code Y000, stock 500 g, new 500 g, lasts 1, begins 2, row 51",
        ),
        (
            IMPERIAL,
            [
                [
                    "oz oz oz yd",
                    "code Y000, name Yarn 0, lot_stock …, lot_new …, bundle1 31.50, mass 31.50, length 2,442",
                    "code Y001, name Yarn 1, bundle2 31.25, mass 31.25, length 2,422",
                    "bundle1 31.50, bundle2 31.25, mass 62.75, length 4,864",
                ],
                [
                    "oz oz oz",
                    "number 1, sections 2, first 1, last 50",
                    "code Y000, name Yarn 0, lot_stock …, bundle1 15.75, mass 15.75",
                    "code Y001, name Yarn 1, bundle2 15.75, mass 15.75",
                    "bundle1 15.75, bundle2 15.75, mass 31.50",
                ],
                [
                    "oz oz oz",
                    "number 2, sections 2, first 51, last 100",
                    "code Y000, name Yarn 0, lot_new …, bundle1 15.75, mass 15.75",
                    "code Y001, name Yarn 1, bundle2 15.50, mass 15.50",
                    "bundle1 15.75, bundle2 15.50, mass 31.25",
                    "back Y000",
                ],
            ],
            "code Y000, stock 1.102 lb, new 1.102 lb, lasts 1, begins 2, row 51",
        ),
    ],
    ids=["metric", "imperial"],
)
def test_bundles_are_reckoned_as_by_hand(units: Units, accounts: list[list[str]], looked_at: str) -> None:
    again = recount_of(*settled(a_map()))
    tables = list(bundle_tables(again, units))
    assert [account(table) for table in tables] == accounts
    assert [(table.columns, table.weavers) for table in tables] == [
        (("length",), range(2)),
        ((), range(2)),
        ((), range(2)),
    ]
    assert [told(line.fields) for line in bundle_lines(again, units)] == [looked_at]
    step = {True: "step 0.25 oz, margin 10", False: "step 5 g, margin 10"}
    assert told(step_and_margin(again, units)) == step[units.imperial]


@pytest.mark.parametrize(
    ("stock_g", "looked_at"),
    # 880 g are handed out in all. Where hanks and stock are less, more is handed out than there is; where one section
    # alone takes more than the stock, every bundle holds the same share of it.
    [
        (0.0, []),
        (250.0, ["issued 880 g, there 850 g", "stock 250 g, new 600 g, percent 28"]),
        (435.0, ["stock 435 g, new 500 g, percent 49"]),
        (840.0, ["issued 880 g, there 840 g"]),
        (880.0, []),
    ],
)
def test_what_is_to_be_looked_at_of_a_stock(stock_g: float, looked_at: list[str]) -> None:
    plain = a_map()
    yarns = (replace(plain.yarns[0], stock_g=stock_g), plain.yarns[1])
    again = recount_of(*settled(SettledMap(plain.knots, yarns, plain.rug, plain.workshop)))
    assert [told(line.fields).removeprefix("code Y000, ") for line in bundle_lines(again, METRIC)] == looked_at


def test_the_pile_is_reckoned_as_by_hand() -> None:
    again = recount_of(*settled(a_map()))
    yarn = "knots 20,000, share 50.00 ~1"
    grams = "mass 800 ~1, mass_low 800 ~1, mass_high 800 ~1"
    assert account(pile_table(again, METRIC)) == [
        "mm m g m g g g",
        *(
            f"code Y00{n}, name Yarn {n}, {yarn}, fibre {fibre}, count tex 400, length_per_knot 100.00, "
            f"net_length 2,000 ~1, net_mass 800 ~1, length 2,000 ~1, {grams}"
            for n, fibre in enumerate(("wool", "…"))
        ),
        "knots 40,000, share 100.00, net_length 4,000, net_mass 1,600, length 4,000, mass 1,600, mass_low 1,600, "
        "mass_high 1,600",
    ]


def test_the_time_is_reckoned_as_by_hand() -> None:
    """40,000 knots by two weavers at 6,000 a day are 3.3 days, so four; of 14,000 to 5,000 a day two to four."""
    time, sections = work_tables(recount_of(*settled(a_map())))
    assert account(time) == [
        "figure 2",
        "figure 6,000, low 5,000, high 14,000",
        "figure 4, low 2, high 4",
        "figure 0.2, low 0.1, high 0.2",
        "figure 30.0, low 25.0, high 70.0",
        "figure 2.0, most 2, row 1",
        "figure 2.0, most 2",
    ]
    part = "knots 20,000, runs 2.0, colours_a_row 2.0, colours 2, pace 1.00"
    rows = ("first 1, last 50", "first 51, last 100")
    assert account(sections) == [*(f"{each}, {part}" for each in rows), "knots 40,000, runs 2.0"]


@pytest.mark.parametrize(
    ("slow", "notes"),
    [
        ((), ""),
        ((3,), "first 21, last 30"),
        ((1, 2, 5, 7, 8, 9), "first 1, 41, 61, last 20, 50, 90"),
        (
            range(1, 24, 2),
            f"first {', '.join(str(20 * n + 1) for n in range(12))}, "
            f"last {', '.join(str(20 * n + 10) for n in range(12))}",
        ),
        (
            (*range(1, 26, 2), 26, 29),
            f"n 3, first {', '.join(str(20 * n + 1) for n in range(12))}, "
            f"last {', '.join(str(20 * n + 10) for n in range(12))}",
        ),
    ],
)
def test_stretches_of_sections_that_go_slowly_are_named_up_to_a_dozen(slow: Any, notes: str) -> None:
    """Sections of ten rows; those that follow each other are one stretch, and those beyond the dozen are counted."""
    work = work_of(*settled(a_map()), (range(400),))
    parts = tuple(replace(work.sections[0], first_row=10 * n - 9, last_row=10 * n, pace=1.25) for n in slow)
    plain = replace(work.sections[0], first_row=991, last_row=1000, pace=1.2499)
    assert told(_slow(replace(work, sections=(*parts, plain)))) == notes
