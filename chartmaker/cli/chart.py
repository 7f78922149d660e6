"""`chartmaker chart`: the printable charts of a knot map."""

from __future__ import annotations

from chartmaker.cli import report
from chartmaker.cli.mapcommands import Asked, map_command, since_option
from chartmaker.cli.options import MAP_OPTIONS


@map_command(
    "chartmaker chart knots.png --paper A3 --out chart.pdf",
    "The charts' file, a PDF.",
    since_option("Print only the sheets that changed since this map."),
    *MAP_OPTIONS,
    endings=(".pdf",),
)
def command(asked: Asked) -> None:
    """Print the charts of the knot map KNOTS.png: a cover, then sheet after sheet up each strip.

    With --since, print only the sheets that replace some of the older map's chart; each says which one it replaces,
    with both map codes.
    """
    from chartmaker.jobs import write_chart

    with report.progress(asked.quiet) as progress:
        sheets = write_chart(
            asked.found, asked.out, since=asked.since, redrawn=asked.redrawn, replace=asked.replace, progress=progress
        )
    asked.say_file(sheets=sheets)
