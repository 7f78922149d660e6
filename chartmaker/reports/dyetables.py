"""The dye order as plain tables of words."""

from __future__ import annotations

from chartmaker.figures.dyeing import CAUTIONS, DEFERS, DyeOrder, Lot, Shade
from chartmaker.ground.language import say
from chartmaker.ground.measures import Measures
from chartmaker.reports.figuretable import FigureTable


def lot_words(lot: Lot, measures: Measures) -> str:
    """Return a lot on one line: its mass, its vessel and its liquor."""
    return say(
        "{mass} in {vessel}, {liquor}",
        mass=measures.mass.text(lot.mass_g),
        vessel=say("open pot") if lot.vessel is None else lot.vessel.name,
        liquor=measures.liquor.text(lot.liquor_l),
    )


def _shade_row(shade: Shade, measures: Measures) -> tuple[str, ...]:
    mass = measures.yarn_mass
    words = "; ".join(lot_words(lot, measures) for lot in shade.lots)
    lots = say("undyed") if shade.undyed else words or say("from stock")
    return (
        shade.yarn.code,
        shade.yarn.name,
        mass.bare(shade.need_g),
        mass.bare(shade.wanted_g),
        mass.bare(shade.stock_g),
        mass.bare(shade.order_g),
        str(shade.hanks),
        lots,
    )


def dye_table(dye: DyeOrder, measures: Measures) -> FigureTable:
    """Return the dye order with its cautions."""
    mass = measures.yarn_mass
    header = (
        say("code"),
        say("yarn"),
        say("{unit} at most", unit=mass.name),
        say("{unit} with allowance", unit=mass.name),
        say("{unit} in stock", unit=mass.name),
        say("{unit} to order", unit=mass.name),
        say("hanks"),
        say("lots"),
    )
    return FigureTable(
        say("Dye order"),
        header,
        tuple(_shade_row(shade, measures) for shade in dye.shades),
        right=(2, 3, 4, 5, 6),
        total=("", say("in all"), "", "", "", mass.bare(dye.order_g), str(dye.hanks), ""),
        notes=tuple(map(say, (*CAUTIONS, DEFERS))),
        yarns=tuple(shade.yarn for shade in dye.shades),
    )
