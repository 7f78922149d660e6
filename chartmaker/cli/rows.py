"""`chartmaker rows`: the row script of a knot map."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from chartmaker.cli import report
from chartmaker.cli.options import CHART_OPTIONS, SET_OPTION, FilePath, common, out_option, tables_of, with_options
from chartmaker.ground import files


@click.command(name="rows", epilog="Example: chartmaker rows knots.png --out rows.pdf")
@click.argument("knots", metavar="KNOTS.png", type=FilePath)
@out_option("The row script's file: .pdf to print, .csv or .txt for programs.")
@with_options(*CHART_OPTIONS, SET_OPTION)
@common
def command(
    knots: Path, out: Path, replace: bool, as_json: bool, quiet: bool, assignments: tuple[str, ...], **values: Any
) -> None:
    """Write the row script of the knot map KNOTS.png: its rows as runs of one yarn, with totals to count by."""
    from chartmaker.jobs import making as job
    from chartmaker.jobs import outputs

    writer = outputs.ROW_WRITERS.get(out.suffix.lower())
    if writer is None:
        raise click.UsageError(f"--out {str(out)!r}: the name must end in .pdf, .csv or .txt")
    files.check_file(out, replace=replace)
    knot_map = job.read_map(knots, tables_of(values, assignments))
    font = job.read_font(knot_map.workshop, knots.parent)
    with report.progress(quiet) as progress:
        files.write_file(out, lambda stream: writer(stream, knot_map, font, progress), replace=replace)
    report.say_file(out, knot_map, as_json=as_json, quiet=quiet)
