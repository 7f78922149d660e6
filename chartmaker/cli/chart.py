"""`chartmaker chart`: the printable charts of a knot map."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from chartmaker.cli import report
from chartmaker.cli.options import MAP_OPTIONS, FilePath, common, out_option, tables_of, with_options


@click.command(name="chart", epilog="Example: chartmaker chart knots.png --paper A3 --out chart.pdf")
@click.argument("knots", metavar="KNOTS.png", type=FilePath)
@out_option("The charts' file, a PDF.", endings=(".pdf",))
@click.option("--since", type=FilePath, metavar="OLD.png", help="Print only the sheets that changed since this map.")
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
    """Print the charts of the knot map KNOTS.png: a cover, then sheet after sheet up each strip.

    With --since, print only the sheets that replace some of the older map's chart; each says which one it replaces,
    with both map codes.
    """
    from chartmaker.jobs import read_map, write_chart

    over = tables_of(values, assignments)
    found = read_map(knots, rug, over)
    old = None if since is None else read_map(since, rug, over)
    with report.progress(quiet) as progress:
        sheets = write_chart(found, out, since=old, replace=replace, progress=progress)
    report.say_file(out, found, sheets=sheets, as_json=as_json, quiet=quiet)
