"""`chartmaker knot`: the knot map alone."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from chartmaker.cli import report
from chartmaker.cli.conversion import conversion_json, show_conversion
from chartmaker.cli.options import ORDER_OPTIONS, FilePath, common, out_option, tables_of, with_options


@click.command(name="knot", epilog="Example: chartmaker knot rug.toml --out knots.png")
@click.argument("order", metavar="RUG.toml|ARTWORK", type=FilePath)
@out_option("The knot map's file, a PNG.")
@with_options(*ORDER_OPTIONS)
@common
def command(
    order: Path, out: Path, replace: bool, as_json: bool, quiet: bool, assignments: tuple[str, ...], **values: Any
) -> None:
    """Convert the artwork to the knot map alone: a PNG in which one pixel is one knot."""
    from chartmaker.jobs import make_map, read_order

    asked = read_order(order, tables_of(values, assignments))
    with report.progress(quiet) as progress:
        converted = make_map(asked, out, replace=replace, progress=progress)
    if as_json:
        report.say_json(conversion_json(converted))
    elif not quiet:
        show_conversion(converted)
        if converted.findings:
            report.show_findings(converted.findings)
