"""`chartmaker chart`: the printable charts of a knot map."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Any

import click

from chartmaker.cli import report
from chartmaker.cli.options import CHART_OPTIONS, SET_OPTION, FilePath, common, out_option, tables_of, with_options
from chartmaker.ground import files


@click.command(name="chart", epilog="Example: chartmaker chart knots.png --paper A3 --out chart.pdf")
@click.argument("knots", metavar="KNOTS.png", type=FilePath)
@out_option("The charts' file, a PDF.")
@click.option("--since", type=FilePath, metavar="OLD.png", help="Print only the sheets that changed since this map.")
@with_options(*CHART_OPTIONS, SET_OPTION)
@common
def command(
    knots: Path,
    out: Path,
    replace: bool,
    since: Path | None,
    as_json: bool,
    quiet: bool,
    assignments: tuple[str, ...],
    **values: Any,
) -> None:
    """Print the charts of the knot map KNOTS.png: a cover, then sheet after sheet up each strip.

    With --since, only what replaces sheets of the older map's chart: each sheet says which one, with both map codes.
    """
    from chartmaker.jobs import making as job
    from chartmaker.jobs import outputs
    from chartmaker.techniques.reckoning import figures_of

    if out.suffix.lower() != ".pdf":
        raise click.UsageError(f"--out {str(out)!r}: the name must end in .pdf")
    files.check_file(out, replace=replace)
    over = tables_of(values, assignments)
    knot_map = job.read_map(knots, over)
    old = None if since is None else job.read_map(since, over)
    figures, font = figures_of(knot_map), job.read_font(knot_map.workshop, knots.parent)
    sheets: list[int] = []
    with report.progress(quiet) as progress:
        write = partial(outputs.write_chart, figures=figures, font=font, progress=progress, sheets=sheets, revises=old)
        files.write_file(out, write, replace=replace)
    report.say_file(out, knot_map, sheets=sheets[0], as_json=as_json, quiet=quiet)
