"""`chartmaker chart`: the printable charts of a knot map."""

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


@click.command(name="chart", epilog="Example: chartmaker chart knots.png --paper A3 --out chart.pdf")
@click.argument("knots", metavar="KNOTS.png", type=FilePath)
@out_option("The charts' file, a PDF.")
@click.option("--since", type=FilePath, metavar="OLD.png", help="Print only the sheets that changed since this map.")
@with_options(RUG_OPTION, *CHART_OPTIONS, SET_OPTION)
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
    """Print the charts of the knot map KNOTS.png: a cover, then sheet after sheet up each strip.

    With --since, only what replaces sheets of the older map's chart: each sheet says which one, with both map codes.
    """
    from chartmaker.figures.reckoning import figures_of
    from chartmaker.jobs import making as job
    from chartmaker.jobs import outputs
    from chartmaker.jobs.reading import read_map

    if out.suffix.lower() != ".pdf":
        raise click.UsageError(say("--out {name!r}: the name must end in .pdf", name=str(out)))
    files.check_file(out, replace=replace)
    over = tables_of(values, assignments)
    found = read_map(knots, rug, over)
    old = None if since is None else read_map(since, rug, over)
    figures, font = figures_of(found.knot_map, found.workshop), job.read_font(found.workshop, found.folder)
    sheets: list[int] = []
    with report.progress(quiet) as progress:
        write = partial(outputs.write_chart, figures=figures, font=font, progress=progress, sheets=sheets, revises=old)
        files.write_file(out, write, replace=replace, inputs=(*found.inputs, *filter(None, (since,))))
    report.say_file(out, found, sheets=sheets[0], as_json=as_json, quiet=quiet)
