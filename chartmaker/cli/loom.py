"""`chartmaker loom`: the page that calls the rows at the loom and keeps the place."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from chartmaker.cli import report
from chartmaker.cli.options import MAP_OPTIONS, FilePath, common, out_option, tables_of, with_options


@click.command(name="loom", epilog="Example: chartmaker loom knots.png --out loom.html")
@click.argument("knots", metavar="KNOTS.png", type=FilePath)
@out_option("The page's file, .html; or a folder, which a rug of more than four million knots needs.")
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
    """Write the row script of the knot map KNOTS.png as a page for a phone or a tablet at the loom. It shows and reads
    aloud one call after another, keeps the place, and needs no network."""
    from chartmaker.jobs import read_map, write_loom

    found = read_map(knots, rug, tables_of(values, assignments))
    write_loom(found, out, replace=replace)
    report.say_file(out, found, as_json=as_json, quiet=quiet)
