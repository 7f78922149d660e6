"""Tables of figures printed on the terminal."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import click

from chartmaker.cli import report
from chartmaker.ground.textsafe import inert

if TYPE_CHECKING:
    from chartmaker.reports.figuretable import FigureTable


def show_tables(tables: Sequence[FigureTable]) -> None:
    """Print each table with its total and its notes, with a blank line between tables."""
    from chartmaker.ground.colour import hex_of

    for number, table in enumerate(tables):
        if number:
            click.echo()
        rows = [*table.rows, *([table.total] if table.total is not None else [])]
        swatches = None
        if table.yarns:
            swatches = [hex_of(yarn.srgb) for yarn in table.yarns] + ["default"] * (len(rows) - len(table.yarns))
        report.table(table.title, table.header, rows, right=table.right, swatches=swatches)
        for note in table.notes:
            click.echo(inert(note, longest=2000))
