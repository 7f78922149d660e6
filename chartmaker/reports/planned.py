"""The plan of a rug in words, before there is any artwork."""

from __future__ import annotations

import re
from fractions import Fraction

from chartmaker.figures.labour import LABOUR_LAW, daily_rate, days_for
from chartmaker.ground.language import say, say_n
from chartmaker.ground.lengths import both_sizes, mm_words
from chartmaker.knots.strips import strips_of, weavers_of
from chartmaker.order.density import Density, indian_trade_figure
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Workshop
from chartmaker.reports.words import days_words
from chartmaker.techniques.crafts import craft_of

_INDIAN = re.compile(r"([\d.]+)\s*/\s*([\d.]+)\s*indian", re.IGNORECASE)

Said = tuple[str, str]


def plan_lines(rug: Rug, workshop: Workshop) -> list[Said]:
    """Return the plan as lines of a label and a value; a line without a label continues the one above."""
    return [
        (say("Rug"), rug.name),
        (say("Size ordered"), both_sizes(rug.width_mm, rug.length_mm)),
        *_density_lines(rug.density),
        *_grid_lines(rug),
        *_work_lines(rug, workshop),
    ]


def _density_lines(density: Density) -> list[Said]:
    notation = density.notation
    if density.assumption:
        notation = say("{notation} ({assumption})", notation=notation, assumption=density.assumption)
    inch = say(
        "{across} across x {along} along per inch",
        across=_figure(density.across_per_inch),
        along=_figure(density.along_per_inch),
    )
    dm = say(
        "{across} across x {along} along per dm",
        across=_figure(density.across_per_dm),
        along=_figure(density.along_per_dm),
    )
    area = say(
        "{per_square_inch} per square inch, {per_dm2} per dm2, {per_m2:,.0f} per m2",
        per_square_inch=_figure(density.per_square_inch),
        per_dm2=_figure(density.per_dm2),
        per_m2=float(density.per_m2),
    )
    lines = [(say("Density"), notation), ("", inch), ("", dm), ("", area)]
    if indian := _INDIAN.match(density.notation):
        trade = _figure(indian_trade_figure(Fraction(indian[1]), Fraction(indian[2])))
        lines.append(("", say("trade figure only: {trade} per square inch (a x b / 4, 1.25 % high)", trade=trade)))
    return lines


def _grid_lines(rug: Rug) -> list[Said]:
    density = rug.density
    width, height = mm_words(density.knot_width_mm), mm_words(density.knot_height_mm)
    if density.knot_width_mm == density.knot_height_mm:
        knot = say("{width} across x {height} along (square)", width=width, height=height)
    else:
        knot = say(
            "{width} across x {height} along (not square: draw on paper ruled to this proportion)",
            width=width,
            height=height,
        )
    words = craft_of(rug).words
    grid = say(words.grid, columns=rug.columns, rows=rug.rows, stitches=rug.knots)
    given = say(words.whole, size=both_sizes(rug.woven_width_mm, rug.woven_length_mm))
    return [(say(words.stitch_label), knot), (say("Grid"), grid), (say("Size it gives"), given)]


def _work_lines(rug: Rug, workshop: Workshop) -> list[Said]:
    weavers, rate = weavers_of(rug, workshop), daily_rate(rug, workshop)
    days = days_for(rug.knots, weavers, rate)
    words = craft_of(rug).words
    time = say("about {days} at {pace}", days=days_words(days.best), pace=words.pace_of(rate.best))
    if "knots_per_weaver_day" not in workshop.loom.model_fields_set:
        time = say("{time}, a default", time=time)
    strips = " + ".join(str(len(strip)) for strip in strips_of(rug, workshop))
    return [
        (say(words.hands_label), say_n("{n}", "{n} side by side", weavers)),
        (say("Strips"), say("{strips} columns", strips=strips)),
        (say("Time"), time),
        ("", say("from {low:,.0f} to {high:,.0f}", low=days.up().low, high=days.up().high)),
        ("", say(LABOUR_LAW)),
    ]


def _figure(value: Fraction) -> str:
    """Return a density to six figures, or to one decimal where it is in the thousands."""
    return f"{float(value):,.6g}" if value < 1000 else f"{float(value):,.1f}"
