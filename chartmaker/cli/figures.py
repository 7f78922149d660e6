"""`chartmaker figures`: knots, yarn, foundation, dye order, time of a knot map."""

from __future__ import annotations

from pathlib import Path

import click

from chartmaker.cli import report
from chartmaker.cli.options import SET_OPTION, FilePath, common, tables_of, with_options
from chartmaker.cli.tables import show_tables
from chartmaker.figures.measures import Units


@click.command(name="figures", epilog="Example: chartmaker figures knots.png --finished-row 200")
@click.argument("knots", metavar="KNOTS.png", type=FilePath)
@click.option("--units", type=click.Choice(["metric", "imperial"]), default="metric", help="metric or imperial.")
@click.option("--finished-row", type=int, metavar="N", help="Only what is left after row N.")
@with_options(SET_OPTION)
@common
def command(
    knots: Path, units: Units, finished_row: int | None, assignments: tuple[str, ...], as_json: bool, quiet: bool
) -> None:
    """Reckon what the knot map KNOTS.png takes: yarn by colour, warp and weft, the dye order, time, cost."""
    from chartmaker import job
    from chartmaker.figures import gather, summary, tables

    figures = gather.figures_of(job.read_map(knots, tables_of({}, assignments)))
    left = None if finished_row is None else gather.remaining_after(figures, finished_row)
    if as_json:
        said = summary.summary_of(figures) | {"findings": summary.finding_dicts(figures)}
        report.say_json(said if left is None else said | {"remaining": summary.remaining_dict(left)})
    elif not quiet:
        show_tables(tables.tables_of(figures, units) if left is None else tables.remaining_tables(left, units))
