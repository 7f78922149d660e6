"""What a conversion did, shown to people or programs."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from chartmaker.cli import report
from chartmaker.ground.language import counted

if TYPE_CHECKING:
    from chartmaker.jobs.making import Converted, Made


def conversion_json(converted: Converted) -> dict[str, Any]:
    """Return the map, the match, the findings, under the names that scripts rely on."""
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
    """Print the map: its size, how it was made, its yarns with their match, the findings."""
    from chartmaker.ground.colour import hex_of
    from chartmaker.reports.words import grid_words

    conversion = converted.conversion
    knot_map, match = conversion.knot_map, conversion.report
    said = [
        ("Map", f"{knot_map.columns:,} columns x {knot_map.rows:,} rows, {counted(knot_map.tied, 'knot')}"),
        ("Map code", knot_map.map_code),
        ("Style", f"{conversion.style.style}: {conversion.style.reason}"),
        ("Fit", conversion.placed.fit),
        ("Grid", grid_words(conversion.placed.placement)),
        ("Symmetry", conversion.symmetry),
        ("Tidied", counted(conversion.tidied, "knot") if conversion.tidied else ""),
        (
            "Match",
            f"CIEDE2000 mean {match.mean_de00:.2f}, 95 % within {match.p95_de00:.2f}, worst {match.max_de00:.2f}",
        ),
    ]
    if conversion.choosing is not None:
        choosing = conversion.choosing
        bound = f"{choosing.mean_de00:.2f} is at most {100 * choosing.gap:.1f} % above the best conceivable"
        said.append(("Choice", f"{counted(len(choosing.codes), 'yarn')}; a mean CIEDE2000 of {bound}"))
    report.lines([pair for pair in said if pair[1]])
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
    header = ("code", "yarn", "knots", "share %", "CIEDE2000")
    swatches = [hex_of(yarn.srgb) for yarn in knot_map.yarns]
    report.table("", header, rows, right=(2, 3, 4), swatches=swatches)


def show_set(made: Made, out: Path) -> None:
    """Print what was made: the map, the yarn and the time it takes, where it was put."""
    from chartmaker.reports.words import days_words, hands_words

    show_conversion(made.converted)
    pile = made.figures.pile
    report.lines(
        [
            (
                "Pile yarn",
                f"{pile.mass_g.best / 1000:,.2f} kg ({pile.mass_g.low / 1000:,.2f} to {pile.mass_g.high / 1000:,.2f})",
            ),
            ("Time", f"{days_words(made.figures.labour.days.best)} of {hands_words(made.figures)}"),
        ]
    )
    report.show_findings(made.findings)
    report.lines([("Written", f"{out}: {', '.join(sorted(made.summary['files']['written']))}, summary.json")])
