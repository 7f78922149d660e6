"""The figures of a rug as a PDF."""

from __future__ import annotations

from collections.abc import Sequence
from typing import BinaryIO

from chartmaker.checks import check_map
from chartmaker.figures.reckoning import Figures
from chartmaker.ground.language import say
from chartmaker.ground.measures import Units
from chartmaker.paper.lettering import Lettering
from chartmaker.reports.tables import tables_of
from chartmaker.sheets.tables.tablelayout import Look, SetTable, set_table
from chartmaker.sheets.tables.tablesheets import SheetWords, write_tables_pdf

PLAIN = Look()
WITH_YARNS = Look(swatch_mm=5.5, symbols=True)


def write_figures_pdf(
    stream: BinaryIO, figures: Figures, units: Units = "metric", *, font_bytes: bytes | None = None
) -> int:
    """Write every table of figures, with what the map tells a master, as a PDF and return the number of its sheets.

    Raises
    ------
    SheetError
        If the paper is unknown, or a letter is in no font.
    """

    remarks = check_map(figures.knot_map, figures.workshop)

    def setter(lettering: Lettering, width_mm: float) -> Sequence[SetTable]:
        return [
            set_table(table, WITH_YARNS if table.yarns else PLAIN, width_mm, lettering)
            for table in tables_of(figures, units, remarks)
        ]

    said = SheetWords(say("Figures"), "figures-sheet", units == "imperial", figures.amounts_code)
    return write_tables_pdf(stream, figures.knot_map, figures.workshop.chart, said, setter, font_bytes=font_bytes)
