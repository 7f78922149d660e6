"""For any workshop verify's own calculation agrees with the figures: two codes, one arithmetic."""

from __future__ import annotations

from dataclasses import astuple, replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.making import SQUARE, SettledMap, knot_maps, make_map, make_rug, settled

from chartmaker.figures.dyeing import Lot
from chartmaker.figures.heights import assumed_of
from chartmaker.figures.reckoning import Figures, figures_of
from chartmaker.ground.errors import RugError
from chartmaker.ground.language import fields_of
from chartmaker.ground.sentence import told_words
from chartmaker.ground.units import parse_yarn_count
from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.order.workshop import Loom, Vessel, Workshop
from chartmaker.reports import lotwords
from chartmaker.verify.recount.amounts import amounts_code
from chartmaker.verify.recount.orders import lot_faults
from chartmaker.verify.recount.pile import DENSITIES, thick_mm, ungiven
from chartmaker.verify.recount.weighing import new_lots, weight_warnings
from chartmaker.verify.recount.whole import Recount, recount_of
from chartmaker.verify.recount.work import begun, rate_of, section_starts

LINES = ("net_length_m", "net_mass_g", "length_m", "mass_g", "sheared_mass_g", "length_per_knot_mm")
GROUND = ("loom_width_mm", "loom_length_mm", "warp_pitch_mm", "warp_ends", "warp_end_m", "warp_length_m")
GROUND += ("warp_mass_g", "weft_rows", "picks", "thin_picks", "weft_length_m", "weft_mass_g", "thin_mass_g")
GROUND += ("in_rug_g", "backing_cloth_m2", "outside_picks")
WORK = ("weavers", "knots_per_weaver_day", "days", "months", "rows_a_day", "mean_runs", "most_runs", "most_runs_row")
WORK += ("mean_colours", "most_colours")


def numbers(value: Any) -> list[float]:
    return [value.low, value.best, value.high] if hasattr(value, "best") else [float(value)]


def same(one: Any, other: Any, names: tuple[str, ...]) -> None:
    for name in names:
        assert numbers(getattr(one, name)) == pytest.approx(numbers(getattr(other, name)), rel=1e-9, abs=1e-9), name


def warned(figures: Figures) -> list[dict[str, str]]:
    """Return what the fields of each warning print before yarn is weighed out."""
    found = []
    for finding in figures.weighing:
        fields, words = {"where": str(finding.about)}, told_words(finding.said)
        for start, end, name in fields_of(words):
            fields[name] = fields.get(name, "") + words[start:end]
        found.append(fields)
    return found


def compared(figures: Figures, again: Recount) -> None:
    for line, own in zip(figures.pile.yarns, again.lines, strict=True):
        assert (line.knots, line.count, line.strands) == (own.knots, own.count, own.strands)
        assert (line.cut_mm, line.pile_mm, line.binding_m) == pytest.approx((own.cut_mm, own.pile_mm, own.binding_m))
        same(line, own, LINES)
        assumed = assumed_of(line.yarn.code, again.knot_map.rug, again.workshop)
        assert astuple(assumed) == ungiven(line.yarn.code, again.knot_map.rug, again.workshop)
    same(figures.foundation, again.ground, GROUND)
    for material, own in zip(figures.foundation.materials, again.ground.materials, strict=True):
        assert material.what == own.what
        told = [name for name in ("mass_g", "area_m2", "in_rug_g") if getattr(material, name) is not None]
        same(material, own, tuple(told))
    assert figures.foundation.reed == (again.ground.reed or 0.0)
    for name in ("knots_m", "thin_m", "outside_m", "kilim_m"):
        same(figures.foundation.wefts, again.ground, (name,))
    same(figures.labour, again.work, WORK)
    assert sorted(s.first_row for s in figures.labour.slow) == [part.first_row for part in again.work.slow]
    for section, part in zip(figures.labour.sections, again.work.sections, strict=True):
        every = ("first_row", "last_row", "knots", "runs_a_row", "colours_a_row", "colours", "pace")
        same(section, part, every)
    for shade, order in zip(figures.dye.shades, again.orders, strict=True):
        same(shade, order, ("need_g", "wanted_g", "stock_g", "hanks", "order_g", "undyed"))
    changes = [None if shade.change is None else shade.change.section for shade in figures.dye.shades]
    assert changes == [order.change for order in again.orders]
    assert [shade.later_g for shade in figures.dye.shades] == pytest.approx([order.later_g for order in again.orders])
    begins = [
        {"lot_row": f"{lot.row:,}", "lot_section": str(lot.section), "lot_code": lot.code}
        for lot in lotwords.new_lots(figures)
    ]
    assert begins == list(new_lots(again))
    assert list(lot_faults(figures.dye, again.orders, again.workshop.dye)) == []
    np.testing.assert_allclose(figures.issue.need_g, again.bundles.need_g, rtol=1e-9)
    for step in (1.0, 7.1, float(again.workshop.loom.weigh_g)):
        np.testing.assert_allclose(figures.issue.bundles_in(step), again.bundles.weighed(step, again.orders))
    same(figures, again, ("area_m2", "mass_g", "sheared_mass_g"))
    assert amounts_code(again, figures.dye, None) == figures.amounts_code
    assert warned(figures) == list(weight_warnings(again))


LENGTHS = st.sampled_from(["3 mm", "8 mm", "12 mm", "15 mm"])


@st.composite
def workshops(draw: st.DrawFn, codes: tuple[str, ...]) -> Workshop:
    """Draw the settings of a workshop, with some of the keys of each table."""

    def some(every: dict[str, st.SearchStrategy[Any]]) -> dict[str, Any]:
        return {name: draw(each) for name, each in every.items() if draw(st.booleans())}

    pile = some(
        {
            "cut": LENGTHS,
            "heights": st.dictionaries(st.sampled_from(codes), LENGTHS, max_size=2),
            "carved": st.dictionaries(st.sampled_from(codes), st.just("2 mm"), max_size=1),
            "yarn": st.sampled_from(["Nm 5 x2", "Nm 8", "tex 300"]),
            "strands": st.integers(1, 2),
            "waste": st.sampled_from([0, 0.05, 0.2]),
            "spread": st.just(0.08),
            "loops": st.booleans(),
        }
    )
    measures = [{}, {"length_per_knot": "42 mm"}, {"grams_per_1000_knots": 12.5}, {"grams_per_m2": 2400}]
    measured = draw(st.sampled_from(measures))
    loom = some(
        {
            "weavers": st.integers(1, 3),
            "warp": st.sampled_from(["Ne 10 x6", "Nm 8 x3"]),
            "weft": st.sampled_from(["Ne 10 x6", "Nm 8 x2"]),
            "picks": st.integers(2, 3),
            "thin_weft": st.just("Ne 20 x2"),
            "thin_picks": st.integers(1, 2),
            "outside_picks": st.integers(2, 5),
            "take_up": st.sampled_from([0.05, 0.11]),
            "selvedge": st.integers(0, 12),
            "binding": st.sampled_from(["0 mm", "7 mm"]),
            "binding_yarn": st.sampled_from(codes),
            "kilim": st.sampled_from(["0 cm", "4 cm"]),
            "fringe": st.just("8 cm"),
            "loom_waste": st.just("30 cm"),
            "days": st.just(7.5),
            "reed": st.sampled_from([8, 13]),
            "latex_per_m2": st.just("900 g"),
            "second_backing_per_m2": st.sampled_from(["0 g", "400 g"]),
            "shrinkage_across": st.sampled_from([0.03, -0.02]),
            "shrinkage_along": st.sampled_from([0.05, -0.01]),
            "section": st.sampled_from(["2 cm", "5 cm"]),
            "weigh": st.sampled_from(["5 g", "20 g"]),
            "issue_margin": st.sampled_from([0, 0.1]),
            "knots_per_weaver_day": st.integers(4000, 9000),
            "pile_yarn": st.sampled_from(["weft", "warp"]),
            "backing_margin": st.sampled_from(["5 cm", "20 cm"]),
            "cloth_per_m2": st.sampled_from(["250 g", "420 g"]),
            "hours_per_day": st.sampled_from([6, 9.5]),
            "working_days_per_month": st.integers(18, 26),
        }
    )
    vessels = [
        {"name": "pot", "holds": "2 kg", "least": "200 g"},
        {"name": "vat", "holds": "300 g", "liquor_ratio": 20},
    ]
    dye = some(
        {
            "allowance": st.sampled_from([0, 0.2]),
            "hank": st.sampled_from(["100 g", "250 g"]),
            "vessels": st.just(vessels),
            "undyed": st.lists(st.sampled_from(codes), max_size=2, unique=True),
        }
    )
    if dye.get("vessels"):
        dye.setdefault("hank", "100 g")
    if "thin_weft" not in loom:
        loom.pop("thin_picks", None)
    return Workshop.model_validate({"pile": pile | measured, "loom": loom, "dye": dye})


def test_every_key_of_a_workshop_that_a_figure_rests_on_is_drawn() -> None:
    """A key that no test draws could be left out of the recount, or be read wrongly in it, and nobody would see it."""
    source = Path(__file__).read_text()
    for table in ("pile", "loom", "dye"):
        keys = Workshop.model_fields[table].annotation.model_fields.items()  # type: ignore[union-attr]
        assert [key.alias or name for name, key in keys if f'"{key.alias or name}": ' not in source] == []


@settings(deadline=None, max_examples=60)
@given(st.data(), knot_maps(40, 40, 6))
def test_recount_and_figures_agree_for_any_workshop(data: st.DataObject, plain: SettledMap) -> None:
    codes = tuple(yarn.code for yarn in plain.yarns)
    workshop = data.draw(workshops(codes))
    more = data.draw(
        st.fixed_dictionaries(
            {
                "knot": st.sampled_from(["asymmetric", "symmetric", "looped", "asymmetric, open left"]),
                "shape": st.sampled_from(["rectangle", "ellipse", "artwork"]),
                "technique": st.sampled_from(["knotted", "tufted", "hand-loomed"]),
                "pile_mm": st.sampled_from([None, 2.5]),
            }
        )
    )
    rug = plain.rug.model_copy(update=more)
    fibres = data.draw(st.lists(st.sampled_from([None, "silk", "wool"]), min_size=len(codes), max_size=len(codes)))
    counts = data.draw(st.lists(st.sampled_from([None, "Nm 6"]), min_size=len(codes), max_size=len(codes)))
    yarns = tuple(
        replace(yarn, fibre=fibre, count=None if count is None else parse_yarn_count(count), stock_g=stock)
        for yarn, fibre, count, stock in zip(
            plain.yarns, fibres, counts, (0.0, 120.0, None, 3.0, 9.0, 5000.0), strict=False
        )
    )
    knot_map = SettledMap(plain.knots, yarns, rug, workshop)
    try:
        figures = figures_of(*settled(knot_map))
    except RugError:
        return  # an impossible rug has no figures to be compared
    compared(figures, recount_of(*settled(knot_map)))


@pytest.mark.parametrize("technique", ["knotted", "tufted", "hand-loomed"])
@pytest.mark.parametrize("shape", ["rectangle", "ellipse", "octagon", "artwork"])
def test_every_fibre_craft_and_shape_agrees(technique: str, shape: str) -> None:
    """A yarn of each fibre that has a density, thick and thin, in rugs with bound sides along every outline."""
    rows, columns = np.mgrid[-1:1:40j, -1:1:40j]
    fibres = (None, *DENSITIES, "wool and silk")
    knots = (np.arange(1600).reshape(40, 40) // 7 % len(fibres)).astype(np.uint16)
    knots[rows**2 + columns**2 > (9.0 if shape == "rectangle" else 1.1)] = NO_KNOT
    loom = {"binding": "9 mm", "kilim": "3 cm", "outside_picks": 3}
    for pile in ({}, {"yarn": "Nm 0.9", "strands": 2}, {"yarn": "Nm 40"}, {"cut": "30 mm", "waste": 0.4}):
        workshop = Workshop.model_validate({"loom": loom, "pile": pile})
        plain = make_map(knots, make_rug(40, 40, shape=shape, technique=technique, pile="6 mm"), workshop)
        yarns = tuple(replace(yarn, fibre=fibre) for yarn, fibre in zip(plain.yarns, fibres, strict=True))
        knot_map = SettledMap(plain.knots, yarns, plain.rug, workshop)
        try:
            figures = figures_of(*settled(knot_map))
        except RugError:
            continue  # a pile that is higher than its loops has no figures
        compared(figures, recount_of(*settled(knot_map)))


@pytest.mark.parametrize("loom", [{}, {"weigh": "20 g"}, {"weavers": 3}, {"issue_margin": 0.1, "weavers": 2}], ids=str)
def test_a_new_lot_that_follows_the_stock_agrees(loom: dict[str, Any]) -> None:
    """A stock that lasts for none, for some and for all of five sections, of a yarn that is tied in every section."""
    exact = {"length_per_knot": "45 mm", "spread": 0}
    workshop = Workshop.model_validate(
        {"loom": {"section": "2 cm", **loom}, "dye": {"hank": "50 g", "allowance": 0.05}, "pile": exact}
    )
    plain = make_map(np.arange(100 * 50).reshape(50, 100) // 10 % 2, make_rug(100, 50), workshop)
    need_g = figures_of(*settled(plain)).pile.yarns[0].mass_g.high
    changes = set()
    for share in (0.0, 0.05, 0.3, 0.5, 0.7, 0.95, 1.02, 1.05, 1.3):  # 1.05 is the need with its allowance
        yarns = (replace(plain.yarns[0], stock_g=need_g * share), *plain.yarns[1:])
        knot_map = SettledMap(plain.knots, yarns, plain.rug, workshop)
        again = recount_of(*settled(knot_map))
        compared(figures_of(*settled(knot_map)), again)
        changes.add(again.orders[0].change)
    assert None in changes and len(changes) > 2


POT, VAT = Vessel(name="pot", holds="800 g", least="100 g"), Vessel(name="vat", holds="300 g", liquor_ratio=20)
ASTRAY, TOO_MANY, UNFIT = (
    "the lots of Y000 do not hold 16 hanks",
    "Y000 is dyed in more lots than it needs",
    "a lot of Y000 does not fit its vessel",
)


def filling(hanks: int, vessel: Vessel | None = POT, **other: Any) -> Lot:
    """Return a lot of hanks of 100 g; a kilogram takes 40 litres, or as many as the vessel says."""
    litres = hanks * (2.0 if vessel is VAT else 4.0)
    return replace(Lot(hanks * 100.0, hanks, vessel, litres), **other)


@pytest.mark.parametrize(
    ("vessels", "lots", "faults"),
    # A dye house fills as few vessels as it can, or one more so that none is too empty (common practice): 1,600 g take
    # two pots of 800 g.
    [
        ((POT, VAT), [filling(8), filling(8)], []),
        ((POT, VAT), [filling(8), filling(5), filling(3, VAT)], []),
        ((VAT, POT), [filling(7), filling(5), filling(4)], []),
        ((POT, VAT), [filling(8), filling(5), filling(2), filling(1)], [TOO_MANY]),
        ((POT, VAT), [filling(8), filling(7)], [ASTRAY]),
        ((POT, VAT), [filling(8), filling(8), filling(1)], [ASTRAY]),
        ((POT, VAT), [filling(9), filling(7)], [UNFIT]),
        ((POT, VAT), [filling(16)], [UNFIT]),
        ((POT, VAT), [filling(8), filling(4), filling(4, VAT)], [UNFIT]),
        ((POT, VAT), [filling(8), filling(8), filling(0)], [UNFIT]),
        ((POT, VAT), [filling(8), filling(8, mass_g=801.0, liquor_l=32.04)], [UNFIT]),
        ((POT, VAT), [filling(8), filling(8, mass_g=700.0, liquor_l=28.0)], [UNFIT]),
        ((POT, VAT), [filling(8, liquor_l=33.0), filling(8)], [UNFIT]),
        ((POT, VAT), [filling(8), filling(8, None)], [UNFIT]),
        ((POT,), [filling(8), filling(5), filling(3, VAT)], [UNFIT]),
        ((), [filling(16, None)], []),
        ((), [filling(8, None), filling(8, None)], []),
        ((), [filling(8, None), filling(4, None), filling(4, None)], [TOO_MANY]),
        ((), [filling(8), filling(8)], [UNFIT]),
        ((), [filling(16, None, liquor_l=32.0)], [UNFIT]),
    ],
)
def test_lots_that_break_their_rules_are_found(vessels: tuple[Vessel, ...], lots: list[Lot], faults: list[str]) -> None:
    plain = {"pile": {"grams_per_1000_knots": 40.0, "waste": 0, "spread": 0}, "loom": {"binding": "0 mm"}}
    dye = {"hank": "100 g", "allowance": 0, "vessels": vessels}
    knot_map = make_map(np.zeros((100, 400)), make_rug(400, 100), Workshop.model_validate({**plain, "dye": dye}))
    figures, again = figures_of(*settled(knot_map)), recount_of(*settled(knot_map))
    shade = replace(figures.dye.shades[0], lots=tuple(lots))
    order = replace(figures.dye, shades=(shade,))
    assert list(lot_faults(order, again.orders, again.workshop.dye)) == faults
    nothing = [replace(each, hanks=0) for each in again.orders]
    for undyed, orders in ((True, again.orders), (False, nothing)):
        order = replace(figures.dye, shades=(replace(shade, undyed=undyed),))
        told = list(lot_faults(order, orders, again.workshop.dye))
        assert told == ["Y000 has lots, but nothing of it is dyed"]
        order = replace(figures.dye, shades=(replace(shade, undyed=undyed, lots=()),))
        assert list(lot_faults(order, orders, again.workshop.dye)) == []


def test_the_recount_gives_published_figures() -> None:
    """40 raj of 6.5 cm: 614,400 knots of 4 cm in two-ply of Nm 8 take 24,576 m, 6,144 g (Ahrari 1705, 1718).

    Of the same rug 640 columns stand on 1,280 warps (Ahrari 1726); 156 cm of it at 1.2 m a row are 960 rows.
    """
    workshop = Workshop.model_validate(
        {
            "pile": {"length_per_knot": "40 mm", "yarn": "Nm 8 x2", "waste": 0},
            "loom": {"selvedge": 0, "binding": "0 mm", "picks": 1},
        }
    )
    knot_map = make_map(np.zeros((960, 640)), make_rug(640, 960, "40 raj (6.5 cm)"), workshop)
    again = recount_of(*settled(knot_map))
    assert again.sum_of("length_m").best == pytest.approx(24_576)
    assert again.sum_of("mass_g").best == pytest.approx(6_144)
    assert (again.ground.warp_ends, again.ground.weft_rows) == (1_280, 960)


def test_a_cotton_yarn_is_as_thick_as_peirce_says() -> None:
    """Diameter in inch = 1 / (28 sqrt(Ne)) (F. T. Peirce, Journal of the Textile Institute 28, 1937), to 1 %."""
    assert thick_mm(590.541 / 20, "cotton") == pytest.approx(25.4 / (28 * 20**0.5), rel=0.01)


@pytest.mark.parametrize(("wanted_g", "hanks"), [(300.0, 3), (300.0 + 1e-7, 3), (300.1, 4), (299.9, 3), (0.0, 0)])
def test_whole_hanks_are_not_one_more_for_the_last_figure_of_a_sum(wanted_g: float, hanks: int) -> None:
    """A shade of just so many hanks takes so many, though its grams are a sum that may be off in the last figure."""
    workshop = Workshop.model_validate(
        {
            "pile": {"grams_per_1000_knots": 10.0, "waste": 0, "spread": 0},
            "dye": {"hank": "100 g", "allowance": 0},
            "loom": {"binding": "0 mm"},
        }
    )
    plain = make_map(np.zeros((100, 400)), make_rug(400, 100, "40x50 per dm"), workshop)
    stock = 40_000 * 10.0 / 1000 - wanted_g
    knot_map = SettledMap(plain.knots, (replace(plain.yarns[0], stock_g=stock),), plain.rug, workshop)
    again = recount_of(*settled(knot_map))
    need = again.lines[0].mass_g
    assert need.low == need.best == need.high == pytest.approx(400.0)
    assert again.orders[0].hanks == hanks


@pytest.mark.parametrize(
    ("columns", "weavers"), [(10, 1), (44, 1), (90, 1), (134, 1), (135, 2), (224, 2), (225, 3), (315, 4)]
)
def test_a_weaver_sits_at_every_90_cm(columns: int, weavers: int) -> None:
    """Common practice; here a column is a centimetre wide, and half a seat more makes room for one weaver more."""
    rug = make_rug(columns, 20, SQUARE)
    rate = rate_of(rug, Loom())
    assert (rate.low, rate.high) == (5_000, 14_000)
    whole_day = Loom(days=2.0, pile_yarn="warp")
    loomed = rate_of(make_rug(columns, 20, SQUARE, technique="hand-loomed"), whole_day)
    assert loomed.best == pytest.approx(columns * 20 / (2.0 * weavers))


def test_sections_are_as_many_whole_rows_as_their_length_holds() -> None:
    """Rows of 10 mm that shrink by 4 % after the loom are 10.417 mm high on it, so that 5 cm hold four and not five."""
    rug = make_rug(20, 12, SQUARE)
    for section, shrinkage, rows in (("5 cm", 0.0, 5), ("5 cm", 0.04, 4), ("59 mm", 0.0, 5), ("12 mm", 0.2, 1)):
        loom = Loom.model_validate({"section": section, "shrinkage_along": shrinkage})
        wanted = [range(first, min(first + rows, 12)) for first in range(0, 12, rows)]
        assert section_starts(rug, loom) == wanted, section


@pytest.mark.parametrize(
    ("value", "decimals", "whole"),
    [(2.0, 0, 2.0), (2.0 + 1e-12, 0, 2.0), (2.01, 0, 3.0), (0.0, 0, 0.0), (2.3, 1, 2.3), (2.31, 1, 2.4)],
)
def test_a_day_that_is_begun_counts_as_whole(value: float, decimals: int, whole: float) -> None:
    assert begun(value, decimals) == pytest.approx(whole, abs=1e-12)
