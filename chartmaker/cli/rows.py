"""`chartmaker rows`: the row script of a knot map."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from chartmaker.cli import report
from chartmaker.cli.options import MAP_OPTIONS, FilePath, common, out_option, tables_of, with_options


@click.command(name="rows", epilog="Example: chartmaker rows knots.png --out rows.pdf")
@click.argument("knots", metavar="KNOTS.png", type=FilePath)
@out_option(
    "The row script's file: .pdf to print, .csv for programs, .txt for the calls in words.",
    endings=(".pdf", ".csv", ".txt"),
)
@click.option("--since", type=FilePath, metavar="OLD.png", help="Tell only the rows that changed since this map.")
@with_options(*MAP_OPTIONS)
@common
def command(
    knots: Path,
    out: Path,
    replace: bool,
    since: Path | None,
    rug: Path | None,
    as_json: bool,
    quiet: bool,
    assignments: tuple[str, ...],
    **values: Any,
) -> None:
    """Write the row script of the knot map KNOTS.png: its rows as runs of one yarn, with totals to count by.

    With --since, only the rows that differ from the older map's, behind a sheet that says which to strike out.
    """
    from chartmaker.jobs import read_map, write_rows

    over = tables_of(values, assignments)
    found = read_map(knots, rug, over)
    old = None if since is None else read_map(since, rug, over)
    with report.progress(quiet) as progress:
        write_rows(found, out, since=old, replace=replace, progress=progress)
    report.say_file(out, found, as_json=as_json, quiet=quiet)
