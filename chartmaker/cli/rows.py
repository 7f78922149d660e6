"""`chartmaker rows`: the row script of a knot map."""

from __future__ import annotations

from chartmaker.cli import report
from chartmaker.cli.mapcommands import Asked, map_command, since_option
from chartmaker.cli.options import MAP_OPTIONS


@map_command(
    "chartmaker rows knots.png --out rows.pdf",
    "The row script's file: .pdf to print, .csv for programs, .txt for the calls in words.",
    since_option("Tell only the rows that changed since this map."),
    *MAP_OPTIONS,
    endings=(".pdf", ".csv", ".txt"),
)
def command(asked: Asked) -> None:
    """Write the row script of the knot map KNOTS.png: its rows as runs of one yarn, with totals to count by.

    With --since, write only the rows that differ from the older map's, after a sheet that says which to strike out.
    """
    from chartmaker.jobs import write_rows

    with report.progress(asked.quiet) as progress:
        write_rows(
            asked.found, asked.out, since=asked.since, redrawn=asked.redrawn, replace=asked.replace, progress=progress
        )
    asked.say_file()
