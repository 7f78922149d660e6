"""`chartmaker calibrate`: the length of yarn in a knot, from what a finished rug used."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from chartmaker.cli import report
from chartmaker.cli.figures import UNITS_OPTION
from chartmaker.cli.options import RUG_OPTION, SET_OPTION, FilePath, common, tables_of, with_options
from chartmaker.cli.tables import show_tables
from chartmaker.ground.language import say

if TYPE_CHECKING:
    from chartmaker.ground.measures import Units


@click.command(name="calibrate", epilog="Example: chartmaker calibrate knots.png --total '6.2 kg'")
@click.argument("knots", metavar="KNOTS.png", type=FilePath)
@click.option(
    "--used", multiple=True, metavar="CODE=MASS", help="How much of a yarn was used: --used W-01='1250 g'. Repeatable."
)
@click.option("--total", metavar="MASS", help="How much pile yarn was used in all: '9.4 kg'.")
@UNITS_OPTION
@with_options(RUG_OPTION, SET_OPTION)
@common
def command(
    knots: Path,
    used: tuple[str, ...],
    total: str | None,
    units: Units,
    rug: Path | None,
    assignments: tuple[str, ...],
    as_json: bool,
    quiet: bool,
) -> None:
    """Work out the length of yarn in a knot from what the finished rug KNOTS.png used, for [pile] of the next rug."""
    from chartmaker.figures.calibration import used_of
    from chartmaker.ground.units import parse_mass_g
    from chartmaker.jobs import calibrate, read_map
    from chartmaker.reports import tables
    from chartmaker.reports.records.figures import calibration_dict

    if bool(used) == (total is not None):
        raise click.UsageError(say("give either --used, once for each yarn, or --total"))
    found = read_map(knots, rug, tables_of({}, assignments))
    result = calibrate(found, used_of(used) if total is None else float(parse_mass_g(total)))
    if as_json:
        report.say_json(calibration_dict(result))
    elif not quiet:
        show_tables(tables.calibration_tables(result, units))
