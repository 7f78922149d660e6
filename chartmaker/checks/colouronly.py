"""The remarks on a chart of colours alone: counts have no symbols to stand between, and a grey copy hides yarns."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from chartmaker.ground.findings import Finding
from chartmaker.ground.sentence import later
from chartmaker.knots.knotmap import KnotMap
from chartmaker.order.workshop import Workshop
from chartmaker.techniques.crafts import craft_of
from chartmaker.yarns.yarn import Yarn

#: Yarns whose lightness L* differs by less than this are one grey on a copy (common practice).
ONE_GREY = 5.0


def one_grey(yarns: Iterable[Yarn]) -> list[list[str]]:
    """Return the codes of the yarns that a copy without colour shows alike, group by group from the darkest.

    Within a group each yarn is one grey with the next, so that no two yarns of one grey are in different groups.
    """
    groups: list[list[tuple[float, str]]] = []
    for lightness, code in sorted((yarn.lab[0], yarn.code) for yarn in yarns):
        if groups and lightness - groups[-1][-1][0] < ONE_GREY:
            groups[-1].append((lightness, code))
        else:
            groups.append([(lightness, code)])
    return [[code for _, code in group] for group in groups if len(group) > 1]


def colours_alone(knot_map: KnotMap, workshop: Workshop) -> Iterator[Finding]:
    """Yield what the chart of a rug that is tied row by row cannot show, if its cells have colours and no symbols."""
    if workshop.chart.marks != "colour" or not craft_of(knot_map.rug).by_rows:
        return
    if workshop.chart.counts:
        words = (
            "The counts of long runs stand between symbols, and this chart has none, so it prints no counts: give "
            "marks = 'both' or 'symbol'."
        )
        yield Finding(later(words), "[chart] counts", "warning")
    groups = one_grey(yarn for yarn, knots in zip(knot_map.yarns, knot_map.counts, strict=True) if knots)
    if groups:
        words = (
            "On a copy of the chart without colour these yarns are one grey, each with the next: {groups}. Give "
            "marks = 'both', or copy the chart in colour only."
        )
        yield Finding(later(words, groups="; ".join(map(", ".join, groups))), "[chart] marks", "note")
