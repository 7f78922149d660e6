"""The time at the loom, reckoned anew on the knots: rates, days, months, and the rows as work."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from chartmaker.ground.ranges import Range
from chartmaker.ground.units import FOOT_MM
from chartmaker.knots.knotmap import NO_KNOT, KnotMap
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Loom, Workshop
from chartmaker.techniques.crafts import craft_of

#: Published sustained rates in knots a day; tufting 5 x 8 ft takes ten days, give or take 30 % (common practice).
LEAST_A_DAY, MOST_A_DAY = 5_000, 14_000
TUFTED_M2_A_DAY, TUFTED_OFF, GIVEN_OFF = float(5 * 8 * FOOT_MM**2) / 1e7, 0.30, 0.15
#: Weaving over rods makes a square metre a day, give or take a half (estimate).
RODS_OFF = 0.50
#: One weaver sits at every 90 cm of width (common practice).
SEAT_MM = 900
#: A section goes slowly if it has this many times the mean number of runs in a row.
SLOW = 1.25


@dataclass(frozen=True)
class Part:
    """A section of rows, counted from 1, as work; `pace` is its runs in a row over the rug's mean."""

    first_row: int
    last_row: int
    knots: int
    runs_a_row: float
    colours_a_row: float
    colours: int
    pace: float


@dataclass(frozen=True)
class Work:
    """The time that all weavers take together, with days that are not rounded and the months of whole days."""

    weavers: int
    knots_per_weaver_day: Range
    days: Range
    months: Range
    rows_a_day: Range
    mean_runs: float
    most_runs: int
    most_runs_row: int
    mean_colours: float
    most_colours: int
    sections: tuple[Part, ...]

    @property
    def slow(self) -> tuple[Part, ...]:
        """The sections that go slowly, the first woven first."""
        return tuple(part for part in self.sections if part.pace >= SLOW)


def begun(value: float, decimals: int = 0) -> float:
    """Return a number rounded up to so many decimals, because a day that is begun counts as whole."""
    unit = 10.0**decimals
    return float(math.ceil(value * unit - 1e-9) / unit)


def section_starts(rug: Rug, loom: Loom) -> list[range]:
    """Return the rows of each section: as many whole rows as its length on the loom holds, but at least one."""
    row_mm = float(rug.density.knot_height_mm) / (1 - loom.shrinkage_along)
    a_section = max(math.floor(float(loom.section_mm) / row_mm + 1e-9), 1)
    return [range(first, min(first + a_section, rug.rows)) for first in range(0, rug.rows, a_section)]


def _weavers(rug: Rug, loom: Loom) -> int:
    return loom.weavers or max(1, math.floor(rug.woven_width_mm / SEAT_MM + Fraction(1, 2)))


def rate_of(rug: Rug, loom: Loom) -> Range:
    """Return what one weaver makes in a day."""
    given, per_m2 = float(loom.knots_per_weaver_day), float(rug.density.per_m2)
    over_rods = craft_of(rug).one_yarn_along(loom) is not None
    if over_rods and loom.days is not None:
        return Range.exact(rug.columns * rug.rows / (loom.days * _weavers(rug, loom)))
    if "knots_per_weaver_day" in loom.model_fields_set:
        return Range.around(given, GIVEN_OFF)
    if craft_of(rug).by_rows:
        return Range(LEAST_A_DAY, given, MOST_A_DAY)
    return Range.around(per_m2, RODS_OFF) if over_rods else Range.around(TUFTED_M2_A_DAY * per_m2, TUFTED_OFF)


def work_of(knot_map: KnotMap, workshop: Workshop, strips: tuple[range, ...]) -> Work:
    """Return the time that a map takes; its runs are cut at the edges of `strips`."""
    rug, loom = knot_map.rug, workshop.loom
    tied, runs, colours = [], [], []
    for cells in knot_map.knots:
        tied.append(int((cells != NO_KNOT).sum()))
        colours.append(frozenset(np.unique(cells[cells != NO_KNOT]).tolist()))
        begins = 0
        for strip in strips:
            part = cells[strip.start : strip.stop]
            begins += int(part[0] != NO_KNOT) + int(((part[1:] != part[:-1]) & (part[1:] != NO_KNOT)).sum())
        runs.append(begins)
    weavers = _weavers(rug, loom)
    rate, knots = rate_of(rug, loom), sum(tied)
    days = Range(*(knots / weavers / each for each in (rate.high, rate.best, rate.low)))
    mean = sum(runs) / len(runs)
    sections = []
    for rows in section_starts(rug, loom):
        own = runs[rows.start : rows.stop]
        a_row = sum(own) / len(own)
        kinds = colours[rows.start : rows.stop]
        sections.append(
            Part(
                rows.start + 1,
                rows.stop,
                sum(tied[rows.start : rows.stop]),
                a_row,
                sum(map(len, kinds)) / len(kinds),
                len(frozenset().union(*kinds)),
                a_row / mean if mean else 1.0,
            )
        )
    return Work(
        weavers,
        rate,
        days,
        Range(*map(begun, (days.low, days.best, days.high))).times(1 / loom.working_days_per_month),
        Range(*(rug.rows / each if each else 0.0 for each in (days.high, days.best, days.low))),
        mean,
        max(runs),
        runs.index(max(runs)) + 1,
        sum(map(len, colours)) / len(colours),
        max(map(len, colours)),
        tuple(sections),
    )
