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
@with_options(*MAP_OPTIONS)
@common
def command(
    knots: Path,
    out: Path,
    replace: bool,
    rug: Path | None,
    as_json: bool,
    quiet: bool,
    assignments: tuple[str, ...],
    **values: Any,
) -> None:
    """Write the row script of the knot map KNOTS.png: its rows as runs of one yarn, with totals to count by."""
    from chartmaker.jobs import read_map, write_rows

    found = read_map(knots, rug, tables_of(values, assignments))
    with report.progress(quiet) as progress:
        write_rows(found, out, replace=replace, progress=progress)
    report.say_file(out, found, as_json=as_json, quiet=quiet)
