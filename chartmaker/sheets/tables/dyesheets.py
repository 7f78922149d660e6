"""The dye order as a PDF for the dye house."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import BinaryIO

from chartmaker.figures.dyeing import DEFERS, Shade
from chartmaker.figures.reckoning import Figures
from chartmaker.ground.language import field, phrase, say, told
from chartmaker.ground.measures import Measures, Units, measures_of
from chartmaker.paper.lettering import Lettering
from chartmaker.reports.dyetables import (
    base_table,
    buy_table,
    cautions_of,
    dye_table,
    mass_words,
    unknown_stock,
    vessel_words,
    weighed_shades,
)
from chartmaker.reports.figuretable import FigureTable
from chartmaker.reports.issuetables import bundle_findings
from chartmaker.reports.tables import findings_table
from chartmaker.sheets.tables.tablelayout import TICK, Look, SetTable, set_table
from chartmaker.sheets.tables.tablesheets import SheetWords, write_tables_pdf
from chartmaker.yarns.yarn import Yarn

LOTS = Look(size_pt=8.2, row_mm=11.0, swatch_mm=16.0)
SHADES = Look(swatch_mm=5.5, symbols=True)
MATCHING = phrase(
    "Printed swatches are only near: match to the Lab figures or to a wool standard, under D65 light. The figures are "
    "CIELAB for D65 and 2 degrees: from a card that gives its colours otherwise (another light, D65/10, sRGB) they are "
    "converted, so set the colour meter to D65 and 2 degrees. Measure each lot dry, write down its colour, its "
    "difference from the figures and its lot number, and keep a hank end of it with this sheet."
)
#: A lot beside stock is seen beside it in the rug, so that nearness to the card's figures is no use to it.
JOINS = phrase(
    "{codes}: the new lot lies beside stock in one rug. Match it to a dry hank of that stock instead of the figures, "
    "and take the difference from the stock."
)
SIGNED = phrase("Ordered by ____________________   Dyed by ____________________   Date ______________")
HOW = phrase(
    "Allowance {allowance:g} %, hanks of {hank:g} g. At most: the upper end of the estimate, waste included. To dye or "
    "to buy: less stock, up to whole hanks, of which one is the least, however little is wanted ([dye] hank)."
)
#: Blanks to be filled in by hand: a colour in three figures, a difference, a number.
COLOUR_BLANK, SHORT_BLANK = "_" * 14, "_" * 6


def lots_table(figures: Figures, measures: Measures) -> FigureTable:
    """Return the table of the lots, with boxes to tick and blanks for what is measured."""
    weighed = weighed_shades(figures.dye.dyed, measures)
    rows: list[tuple[str, ...]] = []
    yarns: list[Yarn] = []
    for shade, masses in zip(weighed.shades, weighed.lots, strict=True):
        for number in range(len(shade.lots)):
            rows.append(_lot_row(shade, number, mass_words(masses[number], measures), measures))
            yarns.append(shade.yarn)
    hanks = sum(shade.hanks for shade in weighed.shades)
    joining = ", ".join(shade.yarn.code for shade in weighed.shades if shade.hanks and shade.stock_g)
    joins = (say(JOINS, codes=joining),) if joining else ()
    header = (
        *(
            say("code"),
            say("yarn"),
            say("base yarn"),
            "L*",
            "a*",
            "b*",
            say("lot"),
            field("unit", measures.yarn_mass.name),
        ),
        *(say("hanks"), say("vessel"), told("liquor, {unit}", unit=measures.liquor.name), say("weighed"), say("dyed")),
        *(say("measured L* a* b*"), say("differ- ence"), say("lot number")),
    )
    blanks = ("", "", "", "", "", "", "")
    return FigureTable(
        say("Lots"),
        header,
        tuple(rows),
        right=(3, 4, 5, 6, 7, 8, 10),
        total=("", say("in all"), *[""] * 5, mass_words(weighed.total, measures), str(hanks), *blanks),
        yarns=tuple(yarns),
        key="lots",
        fields=("code", "name", "", "lightness", "a", "b", "", "mass", "hanks", "vessel", "liquor", *[""] * 5),
        notes=(say(MATCHING), *joins, say(SIGNED)),
    )


def _lot_row(shade: Shade, number: int, mass: str, measures: Measures) -> tuple[str, ...]:
    lot, yarn = shade.lots[number], shade.yarn
    return (
        yarn.code,
        yarn.name,
        shade.base,
        *(f"{value:.1f}" for value in yarn.lab),
        told("{number} of {lots}", number=number + 1, lots=len(shade.lots)),
        mass,
        str(lot.hanks),
        vessel_words(lot),
        measures.liquor.bare(lot.liquor_l),
        TICK,
        TICK,
        COLOUR_BLANK,
        SHORT_BLANK,
        SHORT_BLANK,
    )


def _later_words(shade: Shade, measures: Measures) -> str:
    """Return why more is dyed of a yarn than its stock falls short by."""
    assert shade.change is not None
    return told(
        "{lot_code}: at least {lot_mass}, which section {lot_section} and all after it take with the allowance: what "
        "is left of the stock goes back before the new lot begins.",
        lot_code=shade.yarn.code,
        lot_mass=measures.yarn_mass.text(shade.later_g),
        lot_section=shade.change.section + 1,
    )


def order_table(figures: Figures, measures: Measures) -> FigureTable:
    """Return the table of how each order was reached; its lots stand in the table above."""
    table = dye_table(figures.dye, measures)
    return replace(
        table,
        title=say("How the order was reached"),
        header=table.header[:-1],
        key="reckoned-order",
        fields=table.fields[:-1],
        rows=tuple(row[:-1] for row in table.rows),
        total=None if table.total is None else table.total[:-1],
        notes=(
            told(HOW, allowance=figures.dye.allowance * 100, hank=figures.dye.hank_g),
            *(_later_words(shade, measures) for shade in figures.dye.dyed if shade.change is not None),
            *unknown_stock(figures.dye.dyed),
        ),
    )


def write_dye_pdf(
    stream: BinaryIO, figures: Figures, units: Units = "metric", *, font_bytes: bytes | None = None
) -> int:
    """Write the dye order as a PDF and return the number of its sheets.

    Raises
    ------
    SheetError
        If the paper is unknown, or a letter is in no font.
    """
    measures, dye = measures_of(units), figures.dye

    def setter(lettering: Lettering, width_mm: float) -> Sequence[SetTable]:
        lots = lots_table(figures, measures)
        weighing = (*figures.weighing, *bundle_findings(figures, units))
        found = (findings_table((*weighing, *dye.findings)), Look())
        first = [(lots, LOTS), (base_table(dye, measures), Look())]
        tables = [
            *([found, *first] if weighing else [*first, found]),
            (order_table(figures, measures), SHADES),
            (buy_table(dye, measures), SHADES),
        ]
        return [set_table(table, look, width_mm, lettering) for table, look in tables if table.rows]

    boxed, code = cautions_of(dye), figures.amounts_code
    said = SheetWords(say("Dye order"), "dye-sheet", units == "imperial", code, boxed=boxed, foot=(say(DEFERS),))
    return write_tables_pdf(stream, figures.knot_map, figures.workshop.chart, said, setter, font_bytes=font_bytes)
