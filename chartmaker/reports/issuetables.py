"""The yarn to hand out as plain tables of words."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from chartmaker.figures.bundles import QUARTER_OUNCE_G
from chartmaker.figures.reckoning import Figures
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import Told, field, joined, phrase, say, told
from chartmaker.ground.measures import Measures, Units, measures_of
from chartmaker.ground.rounding import half_up
from chartmaker.reports.figuretable import FigureTable
from chartmaker.techniques.crafts import craft_of

TWO_LOTS = phrase("Stock and new lot may differ in shade: never mix them in one row.")
DYEINGS = phrase("The new lot is dyed in several vessels: mix their hanks before you weigh.")
GIVE_BACK = phrase("First take back what is left of the stock of {back}: the new lot begins here.")
LEFT_OVER = phrase("Where a 0 is printed, what is left of an earlier bundle is enough. An empty place needs no yarn.")

#: Where the numbers begin of several who work along a pattern, by the side that the pattern shows.
FROM_LEFT = {
    "back": phrase(
        "Weaver 1 works at the left of the pattern, as it hangs on the frame; the numbers go on to the right."
    ),
    "front": phrase("Weaver 1 works at the left as seen from the pile side; the numbers go on to the right."),
}


def step_of(figures: Figures, units: Units) -> float:
    """Return the step in which bundles are weighed, in grams."""
    if units == "imperial" and "weigh_g" not in figures.workshop.loom.model_fields_set:
        return QUARTER_OUNCE_G
    return figures.issue.weigh_g


def bundle_findings(figures: Figures, units: Units) -> tuple[Finding, ...]:
    """Return what the bundles leave to look at, as they are weighed and told in these units."""
    return figures.issue.findings_in(step_of(figures, units), measures_of(units).yarn_mass)


def _table(
    title: str,
    figures: Figures,
    sections: range,
    bundles_g: NDArray[np.float64],
    needed: NDArray[np.bool_],
    measures: Measures,
    *,
    long: bool,
) -> FigureTable:
    """Return bundles, shape (weavers, yarns), as a table: a row for each yarn that is `needed` by any weaver.

    If asked how `long` they are it has their lengths, each rounded by itself, so that equal masses have equal lengths.
    Where some yarn comes in two lots one after the other, a column says of which lot the bundles of `sections` are.
    """
    mass, length = measures.bundle_mass, measures.bundle_length
    words, yarns = craft_of(figures.knot_map.rug).words, figures.knot_map.yarns
    weavers = [told(words.hand, number=number + 1) for number in range(len(bundles_g))]
    columns = [told("{who}, {unit}", who=who, unit=mass.name) for who in weavers]
    last = [told("in all, {unit}", unit=unit.name) for unit in ((mass, length) if long else (mass,))]
    own = [index for index in range(len(yarns)) if needed[:, index].any()]
    metres = bundles_g.sum(axis=0) / figures.issue.tex * 1000
    lengths = [half_up(metres[index] / length.size) for index in own]
    lots = {yarn.code: _lots(section - 1, sections) for yarn, section, _ in figures.issue.changes}
    rows = tuple(
        (
            yarns[index].code,
            yarns[index].name,
            *([lots.get(yarns[index].code, "")] if lots else []),
            *(
                mass.bare(grams) if is_needed else ""
                for grams, is_needed in zip(bundles_g[:, index], needed[:, index], strict=True)
            ),
            mass.bare(bundles_g[:, index].sum()),
            *([f"{each:,}"] if long else []),
        )
        for index, each in zip(own, lengths, strict=True)
    )
    sums = (*bundles_g[:, own].sum(axis=1), bundles_g[:, own].sum())
    several = craft_of(figures.knot_map.rug).by_colour and len(weavers) > 1
    sides = (say(FROM_LEFT[figures.workshop.pattern.side]),) if several else ()
    left_over = (say(LEFT_OVER),) if any(mass.bare(0) in row for row in rows) else ()
    lot = (say("lot"),) if lots else ()
    two_lots = _lot_notes(figures, sections, [yarns[index].code for index in own])
    first, bundles = 2 + len(lot), [f"bundle{number}" for number in range(1, len(bundles_g) + 1)]
    return FigureTable(
        title,
        (say("code"), say("yarn"), *lot, *columns, *last),
        rows,
        tuple(range(first, first + len(weavers) + len(last))),
        total=("", say("in all"), *([""] * len(lot)), *map(mass.bare, sums), *([f"{sum(lengths):,}"] if long else [])),
        notes=(*sides, *two_lots, *left_over),
        yarns=tuple(yarns[index] for index in own),
        key="bundles",
        fields=("code", "name", *([""] if lots else []), *bundles, "mass", *(["length"] if long else [])),
    )


def _lot_notes(figures: Figures, sections: range, codes: Sequence[str]) -> tuple[str, ...]:
    """Return what the store must mind where some of these yarns come in two lots one after the other."""
    changes = {yarn.code: section for yarn, section, _ in figures.issue.changes if yarn.code in codes}
    if not changes:
        return ()
    new = [code for code, section in changes.items() if sections.stop >= section]
    several = any(len(shade.lots) > 1 for shade in figures.dye.shades if shade.yarn.code in new)
    back = [code for code, section in changes.items() if sections == range(section - 1, section)]
    return (
        *([told(GIVE_BACK, back=", ".join(back))] if back else []),
        say(TWO_LOTS),
        *([say(DYEINGS)] if several else []),
    )


def _lots(change: int, sections: range) -> Told:
    """Return the lots that sections are tied of, if the new one begins with the section `change`."""
    stock = [field("lot_stock", say("stock"))] if sections.start < change else []
    return joined(", ", [*stock, *([field("lot_new", say("new"))] if sections.stop > change else [])])


def issue_tables(figures: Figures, units: Units = "metric") -> tuple[FigureTable, ...]:
    """Return the bundles, one table for each section or one for the whole rug; together they are all that is issued.

    A bundle of a section is weighed, so only the whole rug's tables tell lengths.
    """
    if craft_of(figures.knot_map.rug).by_colour:
        return (issue_total(figures, units),)
    measures, issue, step_g = measures_of(units), figures.issue, step_of(figures, units)
    bundles_g = issue.bundles_in(step_g)
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
        _table(
            title, figures, range(number, number + 1), bundles_g[number], issue.need_g[number] > 0, measures, long=False
        )
        for number, title in enumerate(titles)
    )


def issue_total(figures: Figures, units: Units = "metric") -> FigureTable:
    """Return what the whole rug takes, weaver by weaver."""
    measures = measures_of(units)
    bundles_g = figures.issue.bundles_in(step_of(figures, units)).sum(axis=0)
    by_colour = craft_of(figures.knot_map.rug).by_colour
    title = say("The whole rug, all colours") if by_colour else say("All sections together")
    needed, every = figures.issue.need_g.sum(axis=0) > 0, range(len(figures.issue.sections))
    return _table(title, figures, every, bundles_g, needed, measures, long=True)
