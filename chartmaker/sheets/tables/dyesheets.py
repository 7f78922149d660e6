"""The dye order as a PDF for the dye house."""

from __future__ import annotations

from collections.abc import Sequence
from typing import BinaryIO

from chartmaker.figures.dyeing import CAUTIONS, DEFERS, Shade
from chartmaker.figures.reckoning import Figures
from chartmaker.ground.measures import Measures, Units, measures_of
from chartmaker.paper.lettering import Lettering
from chartmaker.reports.dyetables import dye_table
from chartmaker.reports.figuretable import FigureTable
from chartmaker.reports.tables import findings_table
from chartmaker.sheets.tables.tablelayout import TICK, Look, SetTable, set_table
from chartmaker.sheets.tables.tablesheets import SheetWords, write_tables_pdf
from chartmaker.yarns.yarn import Yarn

LOTS = Look(size_pt=8.2, row_mm=11.0, swatch_mm=18.0)
SHADES = Look(swatch_mm=5.5, symbols=True)
MATCHING = (
    "Swatches are printed, so that they are only near: match to the Lab figures (CIELAB, D65, 2 degrees) or to a "
    "wool standard, under D65 light. Keep a hank end of every lot with this sheet."
)

NOTHING = "Nothing to dye: the store covers every shade. Check that each shade in store is one lot, matched under D65."


def lots_table(figures: Figures, measures: Measures) -> FigureTable:
    """Return a row a lot, with boxes to tick."""
    rows: list[tuple[str, ...]] = []
    yarns: list[Yarn] = []
    for shade in figures.dye.shades:
        for number in range(len(shade.lots)):
            rows.append(_lot_row(shade, number, measures))
            yarns.append(shade.yarn)
    mass, liquor = measures.mass.name, measures.liquor.name
    ticks = ("weighed", "dyed", "matched")
    return FigureTable(
        "Lots",
        ("code", "yarn", "L*", "a*", "b*", "lot", mass, "hanks", "vessel", f"liquor\n{liquor}", *ticks),
        tuple(rows),
        right=(2, 3, 4, 5, 6, 7, 9),
        yarns=tuple(yarns),
        notes=(MATCHING, "Ordered by ____________________   Dyed by ____________________   Date ______________"),
    )


def _lot_row(shade: Shade, number: int, measures: Measures) -> tuple[str, ...]:
    lot, yarn = shade.lots[number], shade.yarn
    return (
        yarn.code,
        yarn.name,
        *(f"{value:.1f}" for value in yarn.lab),
        f"{number + 1} of {len(shade.lots)}",
        measures.mass.bare(lot.mass_g),
        str(lot.hanks),
        "open pot" if lot.vessel is None else lot.vessel.name,
        measures.liquor.bare(lot.liquor_l),
        TICK,
        TICK,
        TICK,
    )


def order_table(figures: Figures, measures: Measures) -> FigureTable:
    """Return how each order was reached, without the lots that stand above it."""
    table = dye_table(figures.dye, measures)
    allowance = f"Allowance {figures.dye.allowance * 100:g} %, hanks of {figures.dye.hank_g:g} g. "
    how = "At most: the upper end of the estimate, clipping waste included. To order: less stock, up to whole hanks."
    total = None if table.total is None else table.total[:-1]
    return FigureTable(
        "How the order was reached",
        table.header[:-1],
        tuple(row[:-1] for row in table.rows),
        right=table.right,
        total=total,
        notes=(allowance + how,),
        yarns=table.yarns,
    )


def write_dye_pdf(
    stream: BinaryIO, figures: Figures, units: Units = "metric", *, font_bytes: bytes | None = None
) -> int:
    """Write the dye order as a PDF; return the number of its sheets.

    Raises
    ------
    SheetError
        If the paper is unknown, or a letter is in no font.
    """
    measures = measures_of(units)
    findings = findings_table(figures.dye.findings)

    def setter(lettering: Lettering, width_mm: float) -> Sequence[SetTable]:
        tables = [(lots_table(figures, measures), LOTS), (findings, Look()), (order_table(figures, measures), SHADES)]
        return [set_table(table, look, width_mm, lettering) for table, look in tables if table.rows]

    nothing = () if any(shade.lots for shade in figures.dye.shades) else (NOTHING,)
    said = SheetWords("Dye order", boxed=(*nothing, *CAUTIONS), foot=(DEFERS,))
    return write_tables_pdf(stream, figures.knot_map, figures.workshop.chart, said, setter, font_bytes=font_bytes)
