"""The yarn to hand out as plain tables of words."""

from __future__ import annotations

from collections.abc import Sequence

from chartmaker.figures.issuing import Bundles, bundles_of
from chartmaker.figures.reckoning import Figures
from chartmaker.ground.language import phrase, say
from chartmaker.ground.measures import Measures, Units, measures_of
from chartmaker.reports.figuretable import FigureTable
from chartmaker.yarns.yarn import Yarn

SHORT_ENDS = phrase(
    "Where a bundle weighs 0.0, only a few knots are tied: hand out a short end. An empty place needs none."
)


def _in_turn(parts: Bundles, measures: Measures) -> list[str]:
    """Return mass and length in turn of the bundles of one yarn and of their sum; empty where no knot is tied."""
    mass, length = measures.bundle_mass.decimals, measures.bundle_length.decimals
    words = [[*array.tolist(), array.sum().item()] for array in (parts.knots, parts.mass, parts.length)]
    return [
        word if knots else ""
        for knots, m, n in zip(*words, strict=True)
        for word in (f"{m:,.{mass}f}", f"{n:,.{length}f}")
    ]


def issue_table(title: str, yarns: Sequence[Yarn], parts: Bundles, measures: Measures) -> FigureTable:
    """Return bundles of shape (strips, yarns): a row for each yarn that is needed, with mass and length by strip."""
    strips = [say("strip {number}", number=number + 1) for number in range(len(parts.knots))] + [say("in all")]
    units = (measures.bundle_mass.name, measures.bundle_length.name)
    columns = (say("{strip}, {unit}", strip=strip, unit=unit) for strip in strips for unit in units)
    header = (say("code"), say("yarn"), *columns)
    needed = [index for index in range(len(yarns)) if parts.knots[:, index].any()]
    rows = [(yarns[i].code, yarns[i].name, *_in_turn(parts.take((slice(None), i)), measures)) for i in needed]
    return FigureTable(
        title,
        header,
        tuple(rows),
        tuple(range(2, len(header))),
        total=("", say("in all"), *_in_turn(parts.sum(1), measures)),
        notes=(say(SHORT_ENDS),) if any("0.0" in row for row in rows) else (),
        yarns=tuple(yarns[i] for i in needed),
    )


def issue_tables(figures: Figures, units: Units = "metric") -> tuple[FigureTable, ...]:
    """Return the bundles, a table for each stretch; together they add up to the pile's rounded figures."""
    measures, stretches = measures_of(units), figures.issue.stretches
    parts = bundles_of(figures.issue.knots, figures.pile, measures.bundle_mass, measures.bundle_length)
    titles = [
        say(
            "Stretch {number} of {stretches}: rows {first:,} to {last:,}",
            number=number,
            stretches=len(stretches),
            first=rows.start + 1,
            last=rows.stop,
        )
        for number, rows in enumerate(stretches, start=1)
    ]
    yarns = figures.knot_map.yarns
    return tuple(issue_table(title, yarns, parts.take(number), measures) for number, title in enumerate(titles))


def issue_total(figures: Figures, units: Units = "metric") -> FigureTable:
    """Return what all stretches together need, strip by strip."""
    measures = measures_of(units)
    parts = bundles_of(figures.issue.knots, figures.pile, measures.bundle_mass, measures.bundle_length)
    return issue_table(say("All stretches together"), figures.knot_map.yarns, parts.sum(0), measures)
