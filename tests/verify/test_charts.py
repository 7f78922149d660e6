"""A chart and a script of one rug differ from those of any other: each fact of it is held against what they say."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from support.making import SettledMap, make_map, make_rug
from support.repacking import contents_of, packed
from test_every_number import a_map, an_oval, chart, script

from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Workshop
from chartmaker.verify.charts import chart_differences
from chartmaker.verify.expected import Expected, expected_of
from chartmaker.verify.recount.whole import recount_of
from chartmaker.verify.scripts import script_differences

Other = Callable[[Expected], Expected]


def rug(**more: Any) -> Other:
    return lambda known: replace(known, rug=known.rug.model_copy(update=more))


def of_density(density: str) -> Other:
    other = Rug.model_validate({"size": "1x1 m", "density": density}).density
    return rug(density=other)


def settings(**more: Any) -> Other:
    return lambda known: replace(known, chart=known.chart.model_copy(update=more))


def yarn(**more: Any) -> Other:
    return lambda known: replace(known, yarns=(replace(known.yarns[0], **more), *known.yarns[1:]))


def painted(*places: tuple[int, int]) -> Other:
    def other(known: Expected) -> Expected:
        knots = known.knots.copy()
        for place in places:
            knots[place] = (knots[place] + 1) % 4 if knots[place] != NO_KNOT else 0
        return replace(known, knots=knots)

    return other


def grown(known: Expected, axis: int) -> Expected:
    """Return a rug with one row or one column more."""
    knots = np.concatenate([known.knots, known.knots.take([0], axis)], axis)
    return replace(known, knots=knots, strips=(range(knots.shape[1]),))


def loom(name: str, kind: str = "loom_numbers") -> Other:
    """Return a loom of which one number, one measure or one text is another."""
    ways: dict[str, Callable[[Any], Any]] = {
        "loom_numbers": lambda value: value + 1,
        "loom_measures": lambda value: (value[0] + 1, value[1]),
        "loom_texts": lambda value: f"{value} x9",
    }

    def other(known: Expected) -> Expected:
        told = dict(getattr(known, kind))
        return replace(known, **{kind: told | {name: ways[kind](told[name])}})

    return other


def grams(known: Expected) -> Expected:
    return replace(known, grams=(known.grams[0] + 3, *known.grams[1:]))


def one_higher(known: Expected) -> Expected:
    base = tuple(known.loom_measures[name][0] for name in ("cut_mm", "pile_mm"))
    return replace(known, heights_mm=((20.0, 18.0), *[(base[0], base[1])] * (len(known.yarns) - 1)))


#: Another fact of the rug, with what the chart and the script must then be found to say otherwise; "" for nothing.
CHARTED: dict[str, tuple[Other, str, str]] = {
    "another name": (rug(name="Other"), "it does not name the rug", "it does not name the rug"),
    "another density": (of_density("41x50 per dm"), "for across_per_dm", ""),
    "a density said otherwise": (of_density("10.16x12.7 per inch"), "for density", ""),
    "another cut": (loom("cut_mm", "loom_measures"), "for cut_mm", "the pile is cut at"),
    "another pile": (loom("pile_mm", "loom_measures"), "for pile_mm", "the pile is cut at"),
    "other heights assumed": (
        lambda known: replace(known, assumed=known.assumed ^ {"assumed_cut"}),
        "which heights of the pile are assumed",
        "the pile is cut at",
    ),
    "a height of its own": (one_higher, "the pile of Y000", "heights of their own"),
    "another knot": (rug(knot="symmetric"), "for knot", ""),
    "the other reading": (
        settings(reading="left to right"),
        "rows are read left to right",
        "rows are read left to right",
    ),
    "other cells": (settings(cell_mm=6), "its cells are 7 x", ""),
    "other heavy lines": (settings(bold_every=8), "the heavy lines between ", ""),
    "colours as well": (settings(marks="both"), "another colour", "is not that of its yarn"),
    "no symbols": (settings(marks="colour"), "bears another symbol", "is not that of its yarn"),
    "nothing mirrored": (settings(whole=True), "no sheet shows", "rows are missing"),
    "no second use": (settings(whole=True), "a times that should not be there", "rows are missing"),
    "another code": (yarn(code="Z9"), "the legend lacks Z9", "the legend lacks Z9"),
    "another name of a yarn": (yarn(name="Rose"), "the legend calls ", "the legend calls "),
    "a name to call": (yarn(call="Rose"), "", "is called ''"),
    "a symbol of its own": (yarn(symbol=200), "and the yarn's own is 200", "and the yarn's own is 200"),
    "another colour": (yarn(lab=(5.0, 60.0, -60.0)), "the colour of ", "the colour of "),
    "a knot": (
        painted((3, 4), (24, 4), (3, 23), (24, 23)),
        "without their yarn's symbol",
        "the runs are not the map's",
    ),
    "another weight": (grams, "the legend gives Y000 ", ""),
    "one strip": (lambda known: replace(known, strips=(range(28),)), "there are 1 strips", "for strips"),
    "other strips": (lambda known: replace(known, strips=(range(10), range(10, 28))), "", "other columns than"),
    "one weaver": (lambda known: replace(known, seats=(range(28),)), "whose columns these are: one weaver", ""),
    "other seats": (lambda known: replace(known, seats=(range(20), range(20, 28))), "whose columns these are", ""),
    "another shrinkage": (lambda known: replace(known, loom_length_factor=1.05), "rows for 10 cm on the loom", ""),
    **{f"other {name}": (loom(name), f"for {name}", "") for name in ("warp_ends", "picks", "days", "all_picks")},
    **{f"other {name}": (loom(name, "loom_measures"), f"for {name}", "") for name in ("warp_end_m", "loom_length")},
    **{f"other {name}": (loom(name, "loom_texts"), f"for {name}", "") for name in ("warp_count", "weft_count")},
    "another width on the loom": (loom("loom_width", "loom_measures"), "for the width on the loom", ""),
}
#: The same for a round rug in colours, on several sheets.
ROUND: dict[str, tuple[Other, str, str]] = {
    "symbols alone": (settings(marks="symbol"), "", "is not that of its yarn"),
    "a knot": (painted((13, 14)), "painted in another colour", "the runs are not the map's"),
    "a knot of a join": (painted((13, 15)), "of the join ", "the runs are not the map's"),
    "a knot outside": (painted((0, 0)), "without their yarn's symbol", "the runs are not the map's"),
    "another colour": (yarn(srgb=(1, 2, 3)), "in the legend has another colour", "is not that of its yarn"),
    "other heights": (
        lambda known: replace(known, heights_mm=((9.0, 8.0), *known.heights_mm[1:])),
        "other heights than its own",
        "",
    ),
    "one weaver": (lambda known: replace(known, seats=(range(30),)), "whose columns these are: one weaver", ""),
    "nothing outside": (
        lambda known: replace(known, knots=np.where(known.knots == NO_KNOT, 0, known.knots)),
        "the rug's outline",
        "the runs are not the map's",
    ),
    "a row more": (lambda known: grown(known, 0), "for rows", "rows are missing"),
    "a column more": (lambda known: grown(known, 1), "for columns", "other columns than"),
    "two strips": (lambda known: replace(known, strips=(range(15), range(15, 30))), "there are 2 strips", "for strips"),
}


def facts(told: dict[str, tuple[Other, str, str]], of: Callable[[], Any]) -> None:
    knot_map = of()
    known = expected_of(knot_map, knot_map.workshop, recount_of(knot_map, knot_map.workshop))
    papers = chart(knot_map), script(knot_map)
    for what, (other, of_chart, of_script) in told.items():
        expected = other(known)
        for data, read, said in zip(
            papers, (chart_differences, script_differences), (of_chart, of_script), strict=True
        ):
            found = list(read(data, expected))
            assert said == "" or any(said in words for words in found), (what, found)


@pytest.mark.parametrize(("told", "of"), [(CHARTED, a_map), (ROUND, an_oval)], ids=["half a rug", "a round rug"])
def test_the_sheets_of_a_rug_are_not_those_of_another(told: Any, of: Any) -> None:
    facts(told, of)


@pytest.mark.parametrize("reading", ["left to right", "right to left"])
@pytest.mark.parametrize("side", [np.s_[:4, :5], np.s_[:4, -5:], np.s_[:4, 4:7]])
def test_a_script_gives_an_example_where_a_run_begins_behind_empty_places(reading: str, side: Any) -> None:
    """Places at the end of a row are no reason for one, and of two ways to read a row each has an end of its own."""
    knots = np.zeros((10, 20), dtype=np.uint16)
    knots[side] = NO_KNOT
    workshop = Workshop.model_validate({"chart": {"paper": "A5", "strips": 1, "reading": reading}})
    knot_map = make_map(knots, make_rug(20, 10, shape="artwork"), workshop)
    data = script(knot_map)
    known = expected_of(knot_map, workshop, recount_of(knot_map, workshop))
    assert list(script_differences(data, known)) == []
    contents = contents_of(data)
    told = {number: text.replace("/example [", "/half [") for number, text in contents.items()}
    ends = {"left to right": np.s_[:4, -5:], "right to left": np.s_[:4, :5]}
    assert (told == contents) == (ends[reading] == side)
    assert bool(list(script_differences(packed(data, told), known))) == (told != contents)


@pytest.mark.parametrize(
    "pile", [{"cut": "30 mm", "waste": 0.4}, {"yarn": "Nm 30"}, {"cut": "12 mm", "waste": 0.2}], ids=str
)
def test_a_cover_that_warns_of_a_weight_raises_no_alarm(pile: dict[str, Any]) -> None:
    plain = a_map()
    workshop = plain.workshop.model_copy(update={"pile": Workshop.model_validate({"pile": pile}).pile})
    rug = plain.rug.model_copy(update={"pile_mm": Fraction(6)})
    knot_map = SettledMap(plain.knots, plain.yarns, rug, workshop)
    expected = expected_of(knot_map, workshop, recount_of(knot_map, workshop))
    assert expected.warnings
    assert list(chart_differences(chart(knot_map), expected)) == []
