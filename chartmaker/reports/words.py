"""What every document says about a rug in the same words: its size, density, knots, yarn and time."""

from __future__ import annotations

import math

from chartmaker.artwork.placing import SCALE_KNOTS, Placement
from chartmaker.convert.report import RepeatReport
from chartmaker.figures.reckoning import Figures
from chartmaker.ground import lengths
from chartmaker.ground.language import phrase, say, say_n, told, told_n
from chartmaker.ground.measures import METRIC
from chartmaker.ground.rounding import adding_up
from chartmaker.knots.knotmap import KnotMap
from chartmaker.order.rug import Rug
from chartmaker.techniques.crafts import craft_of

#: What is said of the knot where the drawing is mirrored.
SAME_KNOT = phrase("The knot itself is not mirrored.")


def size_words(rug: Rug) -> str:
    """Return the size that whole knots really give, width first, in both systems."""
    return lengths.both_sizes(rug.woven_width_mm, rug.woven_length_mm)


def one_handed(rug: Rug) -> bool:
    """Return whether a rug's knot has a left and a right side, which a mirrored drawing does not exchange."""
    return craft_of(rug).by_rows and rug.knot != "symmetric"


def density_words(rug: Rug) -> str:
    """Return the knots per decimetre and per inch, across first."""
    density = rug.density
    return told(
        "{across_per_dm} x {along_per_dm} knots per dm ({across_per_inch} x {along_per_inch} per inch)",
        across_per_dm=f"{float(density.across_per_dm):.4g}",
        along_per_dm=f"{float(density.along_per_dm):.4g}",
        across_per_inch=f"{float(density.across_per_inch):.4g}",
        along_per_inch=f"{float(density.along_per_inch):.4g}",
    )


def grid_words(placement: Placement) -> str:
    """Return how far the grid's lines were moved to follow the drawing; empty if they were not."""
    if placement.greatest_shift_knots < 0.005:
        return ""
    return say(
        "Its lines follow the drawing: none moves by more than {shift:.2f} of a knot, and over {span} knots the scale "
        "changes by at most {change:.1f} %.",
        shift=placement.greatest_shift_knots,
        span=SCALE_KNOTS,
        change=100 * placement.greatest_scale_change,
    )


def repeat_words(repeat: RepeatReport | None) -> str:
    """Return what became of what repeats all over the drawing or in its field; empty if nothing does."""
    if repeat is None:
        return ""
    drawn = say("{wide:g} x {high:g} knots as drawn", wide=repeat.drawn[1], high=repeat.drawn[0])
    if repeat.knots is None:
        return say("{drawn}, left as it lies", drawn=drawn)
    columns, rows = repeat.knots[1], repeat.knots[0]
    return say("{drawn}, woven as the same {columns} x {rows} each", drawn=drawn, columns=columns, rows=rows)


def knots_words(knot_map: KnotMap) -> str:
    """Return the number of knots, their grid, and the number of yarns."""
    tied, yarns = knot_map.tied, len(knot_map.yarns)
    return told(
        "{knots_tied} ({columns:,} x {rows:,}), {yarns_used}",
        knots_tied=told_n("{knots:,} knot", "{knots:,} knots", tied, knots=tied),
        columns=knot_map.columns,
        rows=knot_map.rows,
        yarns_used=told_n("{yarns:,} yarn", "{yarns:,} yarns", yarns, yarns=yarns),
    )


def map_words(knot_map: KnotMap) -> str:
    """Return a map on one line: its grid, its knots, its yarns and its code."""
    return say(
        "{columns:,} columns x {rows:,} rows, {knots}, {yarns}, {code}",
        columns=knot_map.columns,
        rows=knot_map.rows,
        knots=knots_tied_words(knot_map.tied),
        yarns=yarns_words(len(knot_map.yarns)),
        code=knot_map.map_code,
    )


def code_words(knot_map: KnotMap) -> str:
    """Return the map code as every sheet bears it."""
    return told("map {map}", map=knot_map.map_code)


def knots_tied_words(knots: int) -> str:
    """Return ``1 knot``, ``446,040 knots``."""
    return say_n("{n:,} knot", "{n:,} knots", knots)


def yarns_words(yarns: int) -> str:
    """Return ``1 yarn``, ``12 yarns``."""
    return say_n("{n:,} yarn", "{n:,} yarns", yarns)


def days_words(days: float) -> str:
    """Return ``1 working day``, ``120 working days``; rounded up."""
    return say_n("{n:,} working day", "{n:,} working days", math.ceil(days - 1e-9))


def hands_words(figures: Figures) -> str:
    """Return ``1 weaver``, ``3 weavers``; for a tufted rug ``2 tufters``."""
    return craft_of(figures.knot_map.rug).words.hands_of(figures.labour.weavers)


def whole_grams(figures: Figures) -> tuple[float, ...]:
    """Return the mass of each yarn to the gram as in the table of figures, where the column adds up."""
    return tuple(adding_up([line.mass_g.best for line in figures.pile.yarns], METRIC.yarn_mass.decimals))


def whole_metres(figures: Figures) -> tuple[float, ...]:
    """Return the length of each yarn to the metre as in the table of figures, where the column adds up."""
    return tuple(adding_up([line.length_m.best for line in figures.pile.yarns], METRIC.yarn_length.decimals))


def yarn_words(figures: Figures) -> dict[str, str]:
    """Return what the proof page says about each yarn besides its knots, by code."""
    grams = zip(figures.pile.yarns, whole_grams(figures), strict=True)
    return {line.yarn.code: told("{grams:,.0f} g", grams=mass_g) for line, mass_g in grams}
