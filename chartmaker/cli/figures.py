"""`chartmaker figures`: the knots, yarn, foundation, dye order and time of a knot map."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from chartmaker.cli import report
from chartmaker.cli.options import (
    CARD_OPTION,
    RUG_OPTION,
    SET_OPTION,
    FilePath,
    common,
    out_option,
    tables_of,
    with_options,
)
from chartmaker.cli.tables import show_tables
from chartmaker.ground.language import say

if TYPE_CHECKING:
    from chartmaker.ground.measures import Units
    from chartmaker.jobs import MapFile, Sheet

UNITS_OPTION = click.option(
    "--units", type=click.Choice(["metric", "imperial"]), default="metric", help="metric or imperial."
)
#: The printable sheets, by their names in --sheet.
SHEETS = ("figures", "dye", "issue")


@click.command(name="figures", epilog="Example: chartmaker figures knots.png --rug rug.toml")
@click.argument("knots", metavar="KNOTS.png", type=FilePath)
@UNITS_OPTION
@click.option("--finished-row", type=int, metavar="N", help="Only what is left after row N.")
@click.option("--issue", is_flag=True, help="The bundles of each weaver for each section of rows.")
@click.option("--sheet", type=click.Choice(SHEETS), default="figures", help="With --out: figures, dye or issue.")
@out_option("Print a sheet into this PDF instead.", required=False)
@with_options(RUG_OPTION, CARD_OPTION, SET_OPTION)
@common
def command(
    knots: Path,
    units: Units,
    finished_row: int | None,
    issue: bool,
    sheet: Sheet,
    out: Path | None,
    replace: bool,
    rug: Path | None,
    assignments: tuple[str, ...],
    as_json: bool,
    quiet: bool,
    **values: Any,
) -> None:
    """Work out what the knot map KNOTS.png takes: yarn by colour, warp and weft, the dye order, the time and the cost.

    The map holds neither prices nor stock: they come from the rug file and its card (--rug), from --card or from --set.
    """
    from chartmaker.jobs import read_map, write_sheets
    from chartmaker.techniques.crafts import spoken_of

    if finished_row is not None and (out is not None or issue):
        raise click.UsageError(
            say("--finished-row goes with the tables and with --json; sheets and bundles are of the whole rug")
        )
    found = read_map(knots, rug, tables_of(values, assignments))
    if out is not None:
        sheets = write_sheets(found, out, sheet, units, replace=replace)
        report.say_file(out, found, sheets=sheets, as_json=as_json, quiet=quiet)
        return
    with spoken_of(found.knot_map.rug):
        _show(found, units, finished_row, issue=issue, as_json=as_json, quiet=quiet)


def _show(found: MapFile, units: Units, finished_row: int | None, *, issue: bool, as_json: bool, quiet: bool) -> None:
    """Print the figures, or those of what is left."""
    from chartmaker.jobs import figures_of, map_remarks, remaining_after
    from chartmaker.reports import issuetables, tables
    from chartmaker.reports.records.figures import bundle_dicts, remaining_dict, summary_of
    from chartmaker.reports.records.maps import finding_dicts

    figures = figures_of(found.knot_map, found.workshop)
    left = None if finished_row is None else remaining_after(figures, finished_row)
    if as_json:
        said = summary_of(figures) | {"findings": finding_dicts(figures.findings)}
        if issue:
            said["issue"] |= {"bundles": bundle_dicts(figures)}
        report.say_json(said if left is None else said | {"remaining": remaining_dict(left)})
    elif issue and not quiet:
        found_first = tables.findings_table((*figures.weighing, *issuetables.bundle_findings(figures, units)))
        bundles = issuetables.issue_tables(figures, units)
        show_tables((found_first, *bundles) if found_first.rows else bundles)
    elif not quiet:
        remarks = map_remarks(found) if left is None else ()
        show_tables(tables.tables_of(figures, units, remarks) if left is None else tables.remaining_tables(left, units))
