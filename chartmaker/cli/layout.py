"""`chartmaker layout`: what a design was found to be made of."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from chartmaker.cli import report
from chartmaker.cli.options import (
    DESIGN_OPTIONS,
    RUG_OPTIONS,
    SET_OPTION,
    FilePath,
    common,
    out_option,
    tables_of,
    with_options,
)


@click.command(name="layout", epilog="Example: chartmaker layout rug.toml --out parts.png")
@click.argument("source", metavar="RUG.toml|ARTWORK", type=FilePath)
@out_option("The picture of the parts, a PNG.", endings=(".png",))
@with_options(*RUG_OPTIONS, *DESIGN_OPTIONS, SET_OPTION)
@common
def command(
    source: Path,
    out: Path,
    replace: bool,
    as_json: bool,
    quiet: bool,
    assignments: tuple[str, ...],
    **values: Any,
) -> None:
    """Show what a design is made of: the bands of its border with their repeats, its field with its pieces.

    From these parts fit = "relay" lays it anew in another size. What was found wrong is put right under [layout]: the
    table that says what was found is printed last, to be taken over into the rug file.
    """
    from chartmaker.jobs import read_order, write_layout

    with report.progress(quiet) as progress:
        order = read_order(source, tables_of(values, assignments))
        found = write_layout(order, out, replace=replace, progress=progress)
    if as_json:
        from chartmaker.reports.records.relaid import parts_record

        report.say_json({"file": str(out), **parts_record(found.apart.parts)})
    elif not quiet:
        from chartmaker.reports.partswords import layout_table, parts_lines

        for line in parts_lines(found.apart.parts, found.mm_per_px):
            click.echo(line)
        click.echo()
        for line in layout_table(found.apart.parts, found.mm_per_px):
            click.echo(line)
