"""The yarn to hand out as plain tables of words."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.figures.issuing import QUARTER_OUNCE_G
from chartmaker.figures.reckoning import Figures
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import phrase, say, told
from chartmaker.ground.measures import Measures, Units, measures_of
from chartmaker.ground.rounding import half_up
from chartmaker.reports.figuretable import FigureTable
from chartmaker.techniques.crafts import craft_of

LEFT_OVER = phrase("Where a 0 is printed, what is left of an earlier bundle is enough. An empty place needs no yarn.")

#: Where the numbers begin of several who work along a pattern, by the side that the pattern shows.
FROM_LEFT = {
    "back": phrase(
        "Weaver 1 works at the left of the pattern, as it hangs on the frame; the numbers go on to the right."
    ),
    "front": phrase("Weaver 1 works at the left as seen from the pile side; the numbers go on to the right."),
}

#: Where a step of weighing is shorter than this, in metres or yards, lengths have one decimal, and then two.
LONG_STEP, SHORT_STEP = 50.0, 5.0


def step_of(figures: Figures, units: Units) -> float:
    """Return the step in which bundles are weighed, in grams."""
    if units == "imperial" and "weigh_g" not in figures.workshop.loom.model_fields_set:
        return QUARTER_OUNCE_G
    return figures.issue.weigh_g


def bundle_findings(figures: Figures, units: Units) -> tuple[Finding, ...]:
    """Return what the bundles leave to look at, as they are weighed and told in these units."""
    return figures.issue.findings_in(step_of(figures, units), measures_of(units).yarn_mass)


@dataclass(frozen=True)
class StepLengths:
    """The length of one step of weighing, rounded, for each yarn of the map.

    Lengths of bundles are whole multiples of it, so that equal masses of a yarn have equal lengths in every table, and
    those of the sections add up to those of the rug.
    """

    units: tuple[int, ...]
    decimals: int
    step_g: float

    def of(self, yarn: int, grams: float) -> int:
        """Return the length of so many grams, in the last figure that is printed."""
        return round(grams / self.step_g) * self.units[yarn]

    def words(self, units: int) -> str:
        """Return a length as it is printed."""
        return f"{units / 10**self.decimals:,.{self.decimals}f}" if units else "0"


def step_lengths(figures: Figures, step_g: float, measures: Measures) -> StepLengths:
    """Return the lengths of a step of each yarn, rounded by less than a hundredth of the shortest."""
    each = [step_g / tex * 1000 / measures.bundle_length.size for tex in figures.issue.tex.tolist()]
    shortest = min(each, default=SHORT_STEP)
    decimals = sum(shortest < limit for limit in (LONG_STEP, SHORT_STEP))
    return StepLengths(tuple(max(half_up(length * 10**decimals), 1) for length in each), decimals, step_g)


def _table(
    title: str,
    figures: Figures,
    bundles_g: NDArray[np.float64],
    needed: NDArray[np.bool_],
    measures: Measures,
    lengths: StepLengths,
) -> FigureTable:
    """Return bundles, shape (weavers, yarns), as a table: a row for each yarn that is `needed` by any weaver."""
    mass, length = measures.bundle_mass, measures.bundle_length
    words, yarns = craft_of(figures.knot_map.rug).words, figures.knot_map.yarns
    weavers = [told(words.hand, number=number + 1) for number in range(len(bundles_g))]
    columns = [told("{who}, {unit}", who=who, unit=mass.name) for who in weavers]
    last = (told("in all, {unit}", unit=mass.name), told("in all, {unit}", unit=length.name))
    own = [index for index in range(len(yarns)) if needed[:, index].any()]
    each_long = [lengths.of(index, float(bundles_g[:, index].sum())) for index in own]
    rows = tuple(
        (
            yarns[index].code,
            yarns[index].name,
            *(
                mass.bare(grams) if is_needed else ""
                for grams, is_needed in zip(bundles_g[:, index], needed[:, index], strict=True)
            ),
            mass.bare(bundles_g[:, index].sum()),
            lengths.words(long),
        )
        for index, long in zip(own, each_long, strict=True)
    )
    sums = (*bundles_g[:, own].sum(axis=1), bundles_g[:, own].sum())
    several = craft_of(figures.knot_map.rug).by_colour and len(weavers) > 1
    sides = (say(FROM_LEFT[figures.workshop.pattern.side]),) if several else ()
    left_over = (say(LEFT_OVER),) if any(mass.bare(0) in row for row in rows) else ()
    return FigureTable(
        title,
        (say("code"), say("yarn"), *columns, *last),
        rows,
        tuple(range(2, 4 + len(weavers))),
        total=("", say("in all"), *(mass.bare(value) for value in sums), lengths.words(sum(each_long))),
        notes=(*sides, *left_over),
        yarns=tuple(yarns[index] for index in own),
        key="bundles",
        fields=("code", "name", *(f"bundle{number}" for number in range(1, len(bundles_g) + 1)), "mass", "length"),
    )


def issue_tables(figures: Figures, units: Units = "metric") -> tuple[FigureTable, ...]:
    """Return the bundles, one table for each section or one for the whole rug; together they are all that is issued."""
    if craft_of(figures.knot_map.rug).by_colour:
        return (issue_total(figures, units),)
    measures, issue, step_g = measures_of(units), figures.issue, step_of(figures, units)
    bundles_g, lengths = issue.bundles_in(step_g), step_lengths(figures, step_g, measures)
    titles = [
        told(
            "Section {number} of {sections}: rows {first:,} to {last:,}",
            number=number,
            sections=len(issue.sections),
            first=rows.start + 1,
            last=rows.stop,
        )
        for number, rows in enumerate(issue.sections, start=1)
    ]
    return tuple(
        _table(title, figures, bundles_g[number], issue.need_g[number] > 0, measures, lengths)
        for number, title in enumerate(titles)
    )


def issue_total(figures: Figures, units: Units = "metric") -> FigureTable:
    """Return what the whole rug takes, weaver by weaver."""
    measures, step_g = measures_of(units), step_of(figures, units)
    bundles_g = figures.issue.bundles_in(step_g).sum(axis=0)
    by_colour = craft_of(figures.knot_map.rug).by_colour
    title = say("The whole rug, all colours") if by_colour else say("All sections together")
    needed = figures.issue.need_g.sum(axis=0) > 0
    return _table(title, figures, bundles_g, needed, measures, step_lengths(figures, step_g, measures))
