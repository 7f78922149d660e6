"""The outcome of a conversion, shown to people and to programs."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from chartmaker.cli import report
from chartmaker.ground.language import say

if TYPE_CHECKING:
    from chartmaker.jobs import Converted, Made


def conversion_json(converted: Converted) -> dict[str, Any]:
    """Return the map, the match and the findings under the names that scripts rely on."""
    from chartmaker.reports.records.maps import conversion_dict, finding_dicts, map_dict, match_dict, placement_dict

    conversion = converted.conversion
    return {
        "map": map_dict(conversion.knot_map, converted.order.workshop),
        "match": match_dict(conversion),
        "conversion": conversion_dict(conversion),
        "placement": placement_dict(conversion.placed.placement),
        "findings": finding_dicts(converted.findings),
    }


def show_conversion(converted: Converted) -> None:
    """Print the map: its size, how it was made, and its yarns with their match."""
    from chartmaker.ground.colour import hex_of

    report.lines([pair for pair in _lines(converted) if pair[1]])
    conversion = converted.conversion
    knot_map, match = conversion.knot_map, conversion.report
    by_code = {line.code: line for line in match.yarns}
    rows = [
        (
            yarn.code,
            yarn.name,
            f"{int(knots):,}",
            f"{percent:.2f}",
            *(f"{by_code[yarn.code].mean_de00:.1f}" if yarn.code in by_code else "",),
        )
        for yarn, knots, percent in zip(knot_map.yarns, knot_map.counts, knot_map.percents, strict=True)
    ]
    header = (say("code"), say("yarn"), say("knots"), say("share %"), "CIEDE2000")
    swatches = [hex_of(yarn.srgb) for yarn in knot_map.yarns]
    report.table("", header, rows, right=(2, 3, 4), swatches=swatches)


def _lines(converted: Converted) -> list[tuple[str, str]]:
    """Return what there is to say about a conversion, as lines of a label and a value; empty values do not apply."""
    from chartmaker.reports.words import grid_words, knots_tied_words, repeat_words, yarns_words

    conversion = converted.conversion
    knot_map, match, choosing = conversion.knot_map, conversion.report, conversion.choosing
    grid = say(
        "{columns:,} columns x {rows:,} rows, {knots}",
        columns=knot_map.columns,
        rows=knot_map.rows,
        knots=knots_tied_words(knot_map.tied),
    )
    style = say("{style}: {reason}", style=conversion.style.style, reason=conversion.style.reason)
    matched = say(
        "CIEDE2000 mean {mean:.2f}, 95 % within {p95:.2f}, worst {worst:.2f}",
        mean=match.mean_de00,
        p95=match.p95_de00,
        worst=match.max_de00,
    )
    chosen = ""
    if choosing is not None:
        chosen = say(
            "{yarns}; a mean CIEDE2000 of {mean:.2f} is at most {gap:.1f} % above the best conceivable",
            yarns=yarns_words(len(choosing.codes)),
            mean=choosing.mean_de00,
            gap=100 * choosing.gap,
        )
    return [
        (say("Map"), grid),
        (say("Map code"), knot_map.map_code),
        (say("Style"), style),
        (say("Fit"), conversion.placed.fit),
        (say("Grid"), grid_words(conversion.placed.placement)),
        (say("Repeat"), repeat_words(conversion.repeat)),
        (say("Symmetry"), conversion.symmetry),
        (say("Tidied"), knots_tied_words(conversion.tidied) if conversion.tidied else ""),
        (say("Match"), matched),
        (say("Choice"), chosen),
    ]


def show_set(made: Made, out: Path) -> None:
    """Print what was made: the map, the yarn and the time that it takes, the findings, and where the files are."""
    from chartmaker.reports.words import days_words, hands_words

    show_conversion(made.converted)
    mass_g, days = made.figures.pile.mass_g, days_words(made.figures.labour.days.best)
    pile = say(
        "{best:,.2f} kg ({low:,.2f} to {high:,.2f})",
        best=mass_g.best / 1000,
        low=mass_g.low / 1000,
        high=mass_g.high / 1000,
    )
    time = say("{days} of {hands}", days=days, hands=hands_words(made.figures))
    report.lines([(say("Pile yarn"), pile), (say("Time"), time)])
    report.show_findings(made.findings, of_map=True)
    files = ", ".join((*sorted(made.summary["files"]["written"]), "summary.json"))
    report.lines([(say("Written"), say("{folder}: {files}", folder=out, files=files))])
