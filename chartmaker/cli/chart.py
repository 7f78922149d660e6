"""`chartmaker chart`: the printable charts of a knot map."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from chartmaker import files
from chartmaker.cli import report
from chartmaker.cli.options import CHART_OPTIONS, SET_OPTION, FilePath, common, out_option, tables_of, with_options


@click.command(name="chart", epilog="Example: chartmaker chart knots.png --paper A3 --out chart.pdf")
@click.argument("knots", metavar="KNOTS.png", type=FilePath)
@out_option("The charts' file, a PDF.")
@with_options(*CHART_OPTIONS, SET_OPTION)
@common
def command(
    knots: Path, out: Path, replace: bool, as_json: bool, quiet: bool, assignments: tuple[str, ...], **values: Any
) -> None:
    """Print the charts of the knot map KNOTS.png: a cover, then sheet after sheet up each strip."""
    from chartmaker import job, outputs
    from chartmaker.figures.gather import figures_of

    files.check_file(out, replace=replace)
    knot_map = job.read_map(knots, tables_of(values, assignments))
    figures, font = figures_of(knot_map), job.read_font(knot_map.workshop, knots.parent)
    sheets: list[int] = []
    with report.progress(quiet) as tell:
        files.write_file(out, lambda stream: outputs.write_chart(stream, figures, font, tell, sheets), replace=replace)
    report.say_file(out, knot_map, {"sheets": sheets[0]}, as_json=as_json, quiet=quiet)
