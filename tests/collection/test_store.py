"""The one dye order for all rugs adds up to the sums of the sets, and no rug mixes lots where one vessel takes it."""

from __future__ import annotations

import csv
import math
from collections import Counter
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.pieces import piece, yarn

from chartmaker.collection.stock import read_stock
from chartmaker.collection.store import store_order
from chartmaker.ground.errors import CardError
from chartmaker.order.workshop import Dye


def dye(holds: tuple[str, ...] = (), hank: str = "250 g", least: str | None = None) -> Dye:
    more = {} if least is None else {"least": least}
    vessels = [{"name": f"pot {n}", "holds": each, "liquor_ratio": 30, **more} for n, each in enumerate(holds)]
    return Dye.model_validate({"hank": hank, "allowance": "10%", "vessels": vessels})


def test_a_worked_example() -> None:
    # Two rugs need 1,000 g each, 1,200 g at most, and 1,320 g with the allowance. A pot of 3 kg takes both, 2,640 g, in
    # eleven hanks of 250 g; at 30:1 these 2,750 g take 82.5 litres.
    pieces = [piece("a", [yarn("M1", 1000)]), piece("b", [yarn("M1", 1000)])]
    (shade,) = store_order(pieces, dye(("3 kg",)), {}).shades
    (lot,) = shade.lots
    assert (shade.mass_g, shade.need_g, shade.wanted_g) == (2000, 2400, 2640)
    assert (lot.hanks, lot.mass_g, lot.vessel, lot.liquor_l, lot.rugs) == (11, 2750, "pot 0", 82.5, {"a": 1, "b": 1})


def test_a_rug_that_does_not_fit_with_another_has_a_lot_of_its_own() -> None:
    pieces = [piece("a", [yarn("M1", 1000)]), piece("b", [yarn("M1", 1000)]), piece("c", [yarn("M1", 400)])]
    (shade,) = store_order(pieces, dye(("2 kg", "1 kg")), {}).shades
    assert [dict(lot.rugs) for lot in shade.lots] == [{"a": 1, "c": 1}, {"b": 1}]


def test_a_rug_that_no_vessel_takes_is_dyed_in_parts_and_reported() -> None:
    order = store_order([piece("a", [yarn("M1", 3000)])], dye(("2 kg",)), {})
    (shade,) = order.shades
    assert [(lot.hanks, lot.parts) for lot in shade.lots] == [(8, 2), (8, 2)]
    assert math.fsum(lot.wanted_g for lot in shade.lots) == pytest.approx(3960)
    assert "No vessel takes what a needs of M1: it is dyed in 2 lots" in str(order.remarks[0])
    (thin,) = store_order([piece("a", [yarn("M1", 10)])], dye(("2 kg",), least="1 kg"), {}).remarks
    assert "less than vessel pot 0 dyes evenly" in str(thin)


def test_stock_serves_whole_rugs_the_earliest_first() -> None:
    pieces = [piece(name, [yarn("M1", 1000, stock_g=1500)]) for name in ("a", "b")]
    starts = {0: date(2027, 6, 1), 1: date(2027, 3, 1)}
    (shade,) = store_order(pieces, dye(), starts).shades
    stock, new = shade.lots
    assert (stock.from_stock, dict(stock.rugs), stock.by) == (True, {"b": 1}, date(2027, 3, 1))
    assert (new.from_stock, dict(new.rugs), new.by) == (False, {"a": 1}, date(2027, 6, 1))
    (other,) = store_order(pieces, dye(), starts, {"M1": 5000.0}).shades
    assert [lot.from_stock for lot in other.lots] == [True]


def test_stock_that_is_not_known_is_none_and_what_stays_in_stock_is_said() -> None:
    """The papers print a dash where no stock is known; a nought there would say that the shelf is empty. A rug's own
    dye order takes any stock off, and the season only what covers a whole rug, so that must be said."""
    pieces = [piece("a", [yarn("M1", 1000, stock_g=None)])]
    assert store_order(pieces, dye(), {}).shades[0].stock_g is None
    assert store_order(pieces, dye(), {}, {"B1": 5.0}).shades[0].stock_g is None
    assert store_order(pieces, dye(), {}, {"M1": 0.0}).shades[0].stock_g == 0
    order = store_order([piece("a", [yarn("M1", 1000, stock_g=300)])], dye(), {})
    assert [lot.from_stock for lot in order.shades[0].lots] == [False]
    assert str(order.remarks[0]).startswith("M1: 300 g stay in stock, because that is not enough for a whole rug more")


def test_one_code_for_two_yarns_is_kept_apart() -> None:
    order = store_order([piece("a", [yarn("M1", 10)]), piece("b", [yarn("M1", 10, srgb="#112233")])], dye(), {})
    assert [shade.rugs for shade in order.shades] == [1, 1]
    assert "Code M1 stands for 2 different yarns" in str(order.remarks[0])


CODES = ("A", "B", "C")
GRAMS = st.integers(1, 60_000).map(lambda tenths: tenths / 10)
YARNS = st.dictionaries(st.sampled_from(CODES), GRAMS, min_size=1)
DAYS = st.one_of(st.none(), st.integers(0, 300))


@st.composite
def seasons(draw: st.DrawFn) -> tuple[list[Any], Dye, dict[int, date]]:
    undyed = draw(st.sets(st.sampled_from(CODES), max_size=1))
    stock = {code: draw(st.integers(0, 5000)) for code in CODES}
    pieces = [
        piece(f"rug {n}", [yarn(code, g, stock[code], undyed=code in undyed) for code, g in draw(YARNS).items()])
        for n in range(draw(st.integers(1, 12)))
    ]
    days = {n: draw(DAYS) for n in range(len(pieces))}
    starts = {n: date(2027, 1, 1) + timedelta(days=day) for n, day in days.items() if day is not None}
    return pieces, dye(draw(st.sampled_from([(), ("2 kg",), ("8 kg", "3 kg")]))), starts


@given(seasons())
def test_totals_are_the_sums_of_the_sets_to_the_tenth_of_a_gram(season: tuple[list[Any], Dye, dict[int, date]]) -> None:
    pieces, house, starts = season
    order = store_order(pieces, house, starts)
    sums: Counter[str] = Counter()
    needs: Counter[str] = Counter()
    for each in pieces:
        for line in each.record["yarns"]:
            sums[line["code"]] += Fraction(Decimal(str(line["mass_g"])))  # type: ignore[assignment]
            needs[line["code"]] += Fraction(Decimal(str(line["need_g"])))  # type: ignore[assignment]
    assert {shade.code: Fraction(Decimal(str(shade.mass_g))) for shade in order.shades} == sums
    assert {shade.code: Fraction(Decimal(str(shade.need_g))) for shade in order.shades} == needs
    for what, mass_g in (("warp", "812.3"), ("weft", "455.8")):
        bought = sum(Fraction(Decimal(str(each.amount))) for each in order.purchases if each.what == what)
        assert bought == len(pieces) * Fraction(Decimal(mass_g))


@given(seasons())
def test_no_rug_mixes_lots_and_every_lot_fits_its_vessel(season: tuple[list[Any], Dye, dict[int, date]]) -> None:
    pieces, house, starts = season
    order = store_order(pieces, house, starts)
    holds = {vessel.name: float(vessel.holds_g) for vessel in house.vessels}
    for shade in order.shades:
        if shade.undyed:
            from_stock = math.fsum(lot.mass_g for lot in shade.lots if lot.from_stock)
            new = math.fsum(lot.mass_g for lot in shade.lots if not lot.from_stock)
            assert from_stock + new >= shade.wanted_g - 0.1 and from_stock <= shade.stock_g
            assert new - float(house.hank_g) < max(shade.wanted_g - from_stock, 0) + 0.1
            continue
        served: Counter[str] = Counter()
        for lot in shade.lots:
            served.update({name: count / lot.parts for name, count in lot.rugs.items()})
            if lot.from_stock:
                assert lot.wanted_g <= shade.stock_g
                continue
            assert lot.mass_g == lot.hanks * float(house.hank_g) >= lot.wanted_g - 1e-6
            assert lot.mass_g - float(house.hank_g) < lot.wanted_g + 1e-6 or lot.parts > 1
            assert lot.vessel is None or lot.mass_g <= holds[lot.vessel]
        users = [each.name for each in pieces if any(line["code"] == shade.code for line in each.record["yarns"])]
        assert {name: round(count, 6) for name, count in served.items()} == dict(Counter(users))
        assert math.fsum(lot.wanted_g for lot in shade.lots) == pytest.approx(shade.wanted_g, abs=0.1)
        if not house.vessels:
            assert sum(not lot.from_stock for lot in shade.lots) <= 1


def test_the_stock_is_read_from_a_table(tmp_path: Path) -> None:
    path = tmp_path / "store.csv"
    with path.open("w", newline="") as stream:
        csv.writer(stream).writerows([["code", "shelf", "stock_g"], ["M1", "3", "1500"], ["B1", "", "0"]])
    assert read_stock(path) == {"M1": 1500.0, "B1": 0.0}
    for text, said in (
        ("code\nM1\n", "line 2"),
        ("code,stock_g\nM1,1\nM1,2\n", "twice"),
        ("code,stock_g\nM1,nan", "2"),
    ):
        path.write_text(text)
        with pytest.raises(CardError, match=said):
            read_stock(path)
