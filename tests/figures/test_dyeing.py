"""The dye order comes in whole hanks, one lot for each shade where a vessel takes it, with cautions."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError
from support.making import make_rug, make_yarn

from chartmaker.figures.dyeing import CAUTIONS, DEFERS, DyeOrder, dye_order_of, lots_of, vessel_for
from chartmaker.figures.pile import pile_figures
from chartmaker.ground.errors import RugError
from chartmaker.order.workshop import Dye, Pile, Vessel, Workshop

POT = Vessel(name="pot", holds="1 kg")
SMALL = Vessel(name="small machine", holds="10 kg", least="4 kg", liquor_ratio=20)
LARGE = Vessel(name="large machine", holds="50 kg", least="20 kg", liquor_ratio=12)


def order(knots: list[int], stock_g: float | None = None, name: str = "Red", **dye: Any) -> DyeOrder:
    """Return the dye order for yarns of 20 mg a knot, with 20 % waste, measured within 10 %."""
    pile = Pile(length_per_knot="50 mm", yarn="tex 400", waste="20%", spread="10%")
    yarns = tuple(replace(make_yarn(i, (i, 0, 0)), stock_g=stock_g, name=name) for i in range(len(knots)))
    figures = pile_figures(yarns, np.array(knots), make_rug(40, 50, "30x30 per dm"), Workshop(pile=pile))
    return dye_order_of(figures, Dye(**dye))


def test_an_order_by_hand() -> None:
    # 100,000 knots x 20 mg are 2 kg net, 2.5 kg with 20 % waste, 2.75 kg at most, and 3.025 kg with an allowance of a
    # tenth (common practice: about 10 % over the need, rounded up to whole hanks), which is seven hanks of 500 g.
    [shade] = order([100_000]).shades
    assert (shade.best_g, shade.need_g, shade.wanted_g) == pytest.approx((2500, 2750, 3025))
    assert (shade.hanks, shade.order_g) == (7, 3500)
    [shade] = order([100_000], stock_g=525).shades  # 2,500 g are exactly five hanks
    assert (shade.hanks, shade.order_g) == (5, 2500)
    [shade] = order([100_000], stock_g=9000).shades
    assert (shade.hanks, shade.order_g, shade.lots) == (0, 0, ())


@given(st.lists(st.integers(0, 10**6), min_size=1, max_size=9), st.integers(50, 900), st.integers(0, 5000))
def test_an_order_covers_the_need_by_less_than_a_hank(knots: list[int], hank: int, stock: int) -> None:
    made = order(knots, stock_g=stock, hank=f"{hank} g", vessels=(POT, SMALL, LARGE))
    for shade in made.shades:
        assert shade.order_g == shade.hanks * hank
        assert shade.order_g + shade.stock_g >= shade.wanted_g - 1e-6
        assert shade.order_g < max(shade.wanted_g - shade.stock_g, 0) + hank
        assert sum(lot.hanks for lot in shade.lots) == shade.hanks
        assert math.fsum(lot.mass_g for lot in shade.lots) == pytest.approx(shade.order_g)
        assert all(lot.vessel is not None and lot.mass_g <= lot.vessel.holds_g for lot in shade.lots)
        fewest = -(-shade.hanks // (50_000 // hank))  # the most that the largest vessel takes at once
        assert len(shade.lots) in (fewest, fewest + 1)
        even = [lot.mass_g >= (lot.vessel.least_g or 0) for lot in shade.lots if lot.vessel is not None]
        assert len(shade.lots) == fewest or all(even)
    assert made.order_g == sum(shade.order_g for shade in made.shades)
    assert made.hanks == sum(shade.hanks for shade in made.shades)


def test_the_smallest_vessel_that_takes_a_shade_whole() -> None:
    vessels = (LARGE, POT, SMALL)
    assert vessel_for(900, vessels) == POT
    assert vessel_for(5_000, vessels) == SMALL
    # It is too little to be dyed evenly, but no other vessel takes it whole.
    assert vessel_for(2_000, vessels) == SMALL
    assert vessel_for(15_000, vessels) == LARGE
    assert vessel_for(60_000, vessels) is None
    fussy = Vessel(name="fussy", holds="8 kg", least="6 kg")
    assert vessel_for(5_000, (fussy, SMALL)) == SMALL  # the larger vessel does not dye so little evenly
    assert vessel_for(4_000, (fussy, SMALL)) == SMALL  # this is the least that it dyes evenly
    assert vessel_for(3_000, (fussy, SMALL)) == fussy


def test_liquor_by_the_vessel() -> None:
    # Open pots take about 40 litres of liquor a kilogram (caroun.com, Garous weaving 9).
    [lot] = lots_of(2, 500, ())
    assert (lot.vessel, lot.liquor_l, lot.mass_g, lot.hanks) == (None, 40, 1000, 2)
    [lot] = lots_of(10, 500, (POT, SMALL))
    assert (lot.vessel, lot.liquor_l) == (SMALL, 100)


def test_a_shade_that_no_vessel_takes_is_split_evenly_and_reported() -> None:
    lots = lots_of(5, 500, (POT,))
    assert [lot.hanks for lot in lots] == [2, 2, 1]
    made = order([1_600_000], vessels=(LARGE,))  # the whole shade is 48.4 kg
    assert len(made.shades[0].lots) == 1
    made = order([1_800_000], vessels=(LARGE,))
    assert [lot.hanks for lot in made.shades[0].lots] == [55, 54]
    [finding] = made.findings
    assert finding.what.startswith(
        "No vessel dyes 54.5 kg evenly in one lot: it takes 2 lots, to be dyed to one standard"
    )
    assert finding.where == "yarn Y000"


@pytest.mark.parametrize(("hanks", "said"), [(5, False), (6, True), (7, True), (8, None)])
def test_a_little_more_that_is_one_lot_is_thought_of(hanks: int, said: bool | None) -> None:
    """A shade in one lot needs no mixing (common practice): from 4 kg on the machine dyes it, and 3 kg is near that."""
    made = order([17_000 * hanks - 4000], vessels=(Vessel(name="copper", holds="2 kg"), SMALL))
    assert made.shades[0].hanks == hanks
    found = [each.what for each in made.findings if each.severity == "note"]
    assert found == (
        ["From 4 kg on vessel small machine dyes it evenly in one lot: think of ordering that much."] * bool(said)
    )
    assert (len(made.shades[0].lots) == 1) == (said is None)


def test_small_loads_are_findings() -> None:
    for stock_g in (0, 0.5, 500, 9000):  # that a yarn comes from two lots is said once, with its bundles
        assert order([100_000], stock_g=stock_g).findings == ()
    [little] = order([100_000], vessels=(SMALL,)).findings
    assert little.where == "yarn Y000"
    assert little.what.startswith("3.5 kg is less than the 4 kg that vessel small machine dyes evenly: list a smaller")
    assert order([100_000], stock_g=0, hank="1 kg", vessels=(SMALL,)).findings == ()  # 4 kg are just enough
    assert {f.severity for f in order([100_000], stock_g=500, vessels=(SMALL,)).findings} == {"warning"}
    assert order([100_000], vessels=(POT, SMALL), hank="100 g", stock_g=2000).shades[0].order_g == 1100


def test_undyed_yarns_are_bought_as_they_are() -> None:
    made = order([100_000, 5], undyed=("Y000", "NOPE"))
    assert made.shades[0].undyed and made.shades[0].hanks and not made.shades[0].lots
    assert made.shades[1].lots
    [finding] = made.findings
    assert finding.where == "[dye] undyed"
    assert finding.what == "NOPE is listed as undyed, but this map does not tie it."


def test_a_yarn_to_dye_that_is_called_undyed_is_remarked_on() -> None:
    """Grey fleece is sold as it grows; natural indigo and raw umber are dyed (common practice)."""
    for name, said in (
        *(("Undyed", True), ("Natural", True), ("natural, dark grey", True), ("Wool, unbleached", True)),
        *(("Natural indigo", False), ("Raw umber", False), ("Supernatural blue", False), ("Grey", False)),
    ):
        for undyed in ((), ("Y000",)):
            found = [each for each in order([100_000], undyed=undyed, name=name).findings if name in str(each.what)]
            assert bool(found) == (said and not undyed), (name, undyed)


def test_each_default_of_dyeing_is_listed_as_an_assumption() -> None:
    assumed = {a.key: (a.value, a.basis) for a in order([9]).assumptions}
    assert assumed == {
        "[dye] allowance": ("10 %", "common practice"),
        "[dye] hank": ("500 g", "common practice"),
        "[dye] vessels": ("40 l/kg", "published"),
    }
    assert order([9], allowance=0.1, hank="500 g", vessels=(POT,)).assumptions == ()


def test_impossible_vessels_are_refused() -> None:
    with pytest.raises(ValidationError, match="least is more than holds"):
        Vessel(name="x", holds="1 kg", least="2 kg")
    with pytest.raises(ValidationError, match="none of the vessels holds one hank"):
        Dye(hank="2 kg", vessels=(POT,))
    with pytest.raises(ValidationError, match="two vessels have the same name"):
        Dye(vessels=(POT, POT))


def test_the_usual_cautions_are_there() -> None:
    words = " ".join(CAUTIONS).lower()
    for needed in ("scald", "mask", "goggles", "gloves", "ventilation", "food", "acid to water", "alkali"):
        assert needed in words
    for needed in ("data sheet", "local codes", "trained supervision"):
        assert needed in DEFERS


@pytest.mark.parametrize(
    ("hanks", "expected"),
    # Hanks are 250 g; one vessel holds 2 kg and dyes from 1.5 kg, the other holds 1 kg. By hand: half of 2.25 kg would
    # put 1.25 kg into the large one, which is too little, so 1.50 + 0.75; 1.25 kg fits neither whole, so 0.75 + 0.50 in
    # the small one; 3 kg is twice 1.5.
    [(9, [6, 3]), (5, [3, 2]), (12, [6, 6]), (7, [7]), (4, [4]), (10, [6, 4])],
)
def test_no_lot_is_under_its_vessels_least_where_that_can_be(hanks: int, expected: list[int]) -> None:
    vessels = (Vessel(name="large", holds="2 kg", least="1.5 kg"), Vessel(name="small", holds="1 kg"))
    lots = lots_of(hanks, 250, vessels)
    assert [lot.hanks for lot in lots] == expected
    assert sum(lot.hanks for lot in lots) == hanks
    for lot in lots:
        assert lot.vessel is not None
        assert (lot.vessel.least_g or 0) <= lot.mass_g <= lot.vessel.holds_g


def test_more_lots_than_anybody_dyes_are_refused() -> None:
    # 302.5 kg at 1 kg a pot would be as many lots.
    with pytest.raises(RugError, match=r"^\[dye\] vessels: 302.5 kg of one yarn would take 303 lots; the most is 200"):
        order([10_000_000], vessels=(POT,))


def test_undyed_yarns_are_bought_and_not_dyed() -> None:
    made = order([100_000, 100_000], undyed=("Y001",))
    assert [[shade.yarn.code for shade in part] for part in (made.dyed, made.bought)] == [["Y000"], ["Y001"]]
    assert made.bought[0].lots == () and made.dyed[0].base == "wool, tex 400"
