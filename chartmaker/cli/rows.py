"""`chartmaker rows`: the row script of a knot map."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Any

import click

from chartmaker.cli import report
from chartmaker.cli.options import (
    CHART_OPTIONS,
    RUG_OPTION,
    SET_OPTION,
    FilePath,
    common,
    out_option,
    tables_of,
    with_options,
)
from chartmaker.ground import files
from chartmaker.ground.language import say


@click.command(name="rows", epilog="Example: chartmaker rows knots.png --out rows.pdf")
@click.argument("knots", metavar="KNOTS.png", type=FilePath)
@out_option("The row script's file: .pdf to print, .csv or .txt for programs.")
@with_options(RUG_OPTION, *CHART_OPTIONS, SET_OPTION)
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
    from chartmaker.jobs import making as job
    from chartmaker.jobs import outputs
    from chartmaker.jobs.reading import read_map

    writer = outputs.ROW_WRITERS.get(out.suffix.lower())
    if writer is None:
        raise click.UsageError(say("--out {name!r}: the name must end in .pdf, .csv or .txt", name=str(out)))
    files.check_file(out, replace=replace)
    found = read_map(knots, rug, tables_of(values, assignments))
    font = job.read_font(found.workshop, found.folder)
    with report.progress(quiet) as progress:
        write = partial(writer, knot_map=found.knot_map, workshop=found.workshop, font=font, progress=progress)
        files.write_file(out, write, replace=replace, inputs=found.inputs)
    report.say_file(out, found, as_json=as_json, quiet=quiet)
