"""The remarks on a chart of colours alone: counts have no symbols to stand between, and a grey copy hides yarns."""

from __future__ import annotations

from collections.abc import Iterator

from chartmaker.ground.findings import Finding
from chartmaker.ground.sentence import later
from chartmaker.knots.knotmap import KnotMap
from chartmaker.order.workshop import Workshop
from chartmaker.techniques.crafts import craft_of

#: Yarns whose lightness L* differs by less than this are one grey on a copy (common practice).
ONE_GREY = 5.0


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
    groups: list[list[tuple[float, str]]] = []
    tied = (yarn for yarn, knots in zip(knot_map.yarns, knot_map.counts, strict=True) if knots)
    for lightness, code in sorted((yarn.lab[0], yarn.code) for yarn in tied):
        if groups and lightness - groups[-1][0][0] < ONE_GREY:
            groups[-1].append((lightness, code))
        else:
            groups.append([(lightness, code)])
    for group in groups:
        if len(group) > 1:
            codes = ", ".join(code for _, code in group)
            words = (
                "{codes} are one grey on a copy of the chart without colour: give marks = 'both', or copy the chart in "
                "colour only."
            )
            yield Finding(later(words, codes=codes), "[chart] marks", "note")
