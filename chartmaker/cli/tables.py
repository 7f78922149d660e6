"""Tables of figures on the terminal or on sheets."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from chartmaker.cli import report
from chartmaker.ground.textsafe import inert

if TYPE_CHECKING:
    from chartmaker.figures.reckoning import Figures
    from chartmaker.ground.measures import Units
    from chartmaker.knots.mapfile import MapFile
    from chartmaker.reports.tables import FigureTable


def show_tables(tables: Sequence[FigureTable]) -> None:
    """Print each table with its total and its notes, a blank line between two."""
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


def print_figure_sheets(
    figures: Figures, sheet: str, out: Path, units: Units, found: MapFile, *, replace: bool, as_json: bool, quiet: bool
) -> None:
    """Write the figure sheets, the dye order or the bundles as a PDF, and say so."""
    from chartmaker.ground import files
    from chartmaker.jobs import making as job
    from chartmaker.sheets.tables import dyesheets, figuresheets, issuesheets

    write = {
        "figures": figuresheets.write_figures_pdf,
        "dye": dyesheets.write_dye_pdf,
        "issue": issuesheets.write_issue_pdf,
    }[sheet]
    font = job.read_font(figures.workshop, found.folder)
    sheets: list[int] = []
    files.write_file(
        out,
        lambda stream: sheets.append(write(stream, figures, units, font_bytes=font)),
        replace=replace,
        inputs=found.inputs,
    )
    report.say_file(out, figures, sheets=sheets[0], as_json=as_json, quiet=quiet)
