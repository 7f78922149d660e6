"""The dye order and the yarns that are bought undyed, as plain tables of words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from chartmaker.figures.dyeing import CAUTIONS, DEFERS, DyeOrder, Lot, Shade
from chartmaker.ground.language import field, joined, phrase, say, told
from chartmaker.ground.measures import Measures
from chartmaker.ground.rounding import half_up
from chartmaker.reports.figuretable import FigureTable

NOTHING = phrase("Nothing to dye: what is in store covers every shade. Check that each is of one lot, under D65 light.")
ALL_UNDYED = phrase("Nothing to dye: all yarns of this rug are bought as they are.")


@dataclass(frozen=True)
class Weighed:
    """What is ordered of each shade, rounded so that lots add up to shades and shades to the sum.

    `lots` holds the mass of each lot of each shade, `orders` that of each shade, and `total` that of all, in the unit
    shown.
    """

    shades: tuple[Shade, ...]
    lots: tuple[tuple[float, ...], ...]
    orders: tuple[float, ...]
    total: float


def weighed_shades(shades: Sequence[Shade], measures: Measures) -> Weighed:
    """Return `shades` with their rounded masses; what is rounded are the lots, or the shade itself if it has none.

    Each is rounded by itself and the sums are those of the rounded lots, so that a hank weighs the same in every table.
    """
    unit = measures.yarn_mass
    of_one = 10**unit.decimals
    pieces = [[lot.mass_g for lot in shade.lots] or [shade.order_g] for shade in shades]
    lots = tuple(tuple(half_up(grams / unit.size * of_one) / of_one for grams in piece) for piece in pieces)
    orders = tuple(round(sum(piece), unit.decimals) for piece in lots)
    return Weighed(tuple(shades), lots, orders, round(sum(orders), unit.decimals))


def mass_words(value: float, measures: Measures) -> str:
    """Return an already rounded mass, without its unit."""
    return f"{value:,.{measures.yarn_mass.decimals}f}"


def vessel_words(lot: Lot) -> str:
    """Return the name of the vessel that a lot is dyed in."""
    return say("open pot") if lot.vessel is None else lot.vessel.name


def _lots_words(shade: Shade, masses: Sequence[float], measures: Measures) -> str:
    """Return the lots of a shade on one line, each with its vessel and its liquor."""
    words = [
        told(
            "{mass} {unit} in {vessel}, {liquor}",
            mass=mass_words(mass, measures),
            unit=measures.yarn_mass.name,
            vessel=vessel_words(lot),
            liquor=measures.liquor.text(lot.liquor_l),
        )
        for lot, mass in zip(shade.lots, masses, strict=False)
    ]
    return joined("; ", words) or say("from stock")


#: What stands in place of a stock that is not known.
UNKNOWN = "–"
#: What readers find the columns of an order by.
_FIELDS = ("code", "name", "", "need", "wanted", "stock", "order", "hanks")


def _header(measures: Measures, last: str) -> tuple[str, ...]:
    unit = measures.yarn_mass.name
    return (
        say("code"),
        say("yarn"),
        say("base yarn"),
        told("{unit} at most", unit=unit),
        told("{unit} with allowance", unit=unit),
        told("{unit} in stock", unit=unit),
        last,
        say("hanks"),
    )


def _needs(dye: DyeOrder, measures: Measures) -> dict[str, str]:
    """Return what each yarn takes at most, by its code, to the same gram as in the table of the pile."""
    words = measures.yarn_mass.column([shade.need_g for shade in dye.shades])
    return {shade.yarn.code: need for shade, need in zip(dye.shades, words, strict=True)}


def _row(shade: Shade, need: str, ordered: float, measures: Measures) -> tuple[str, ...]:
    mass = measures.yarn_mass
    return (
        shade.yarn.code,
        shade.yarn.name,
        shade.base,
        need,
        mass.bare(shade.wanted_g),
        UNKNOWN if shade.yarn.stock_g is None else mass.bare(shade.stock_g),
        mass_words(ordered, measures),
        str(shade.hanks),
    )


def unknown_stock(shades: Sequence[Shade]) -> tuple[str, ...]:
    """Return the note on yarns whose stock is not known, which have a dash in place of a figure.

    A knot map knows no stock, nor does a card without the column.
    """
    known = [shade.yarn.stock_g is not None for shade in shades]
    if all(known):
        return ()
    if any(known):
        return (say("A dash: the stock of this yarn is not known, so none is taken off."),)
    return (
        say("No stock is known, so none is taken off. The yarn card tells it in its column stock_g; a map does not."),
    )


def cautions_of(dye: DyeOrder) -> tuple[str, ...]:
    """Return what the dye house must mind, or that this order leaves it nothing to dye."""
    if any(shade.lots for shade in dye.dyed):
        return tuple(map(say, CAUTIONS))
    return (say(NOTHING if dye.dyed else ALL_UNDYED),)


def dye_table(dye: DyeOrder, measures: Measures) -> FigureTable:
    """Return the dye order with its cautions, without what is bought undyed."""
    weighed, needs = weighed_shades(dye.dyed, measures), _needs(dye, measures)
    rows = tuple(
        (*_row(shade, needs[shade.yarn.code], order, measures), _lots_words(shade, lots, measures))
        for shade, order, lots in zip(weighed.shades, weighed.orders, weighed.lots, strict=True)
    )
    return FigureTable(
        say("Dye order"),
        (*_header(measures, told("{unit} to dye", unit=measures.yarn_mass.name)), say("lots")),
        rows,
        right=(3, 4, 5, 6, 7),
        total=_total(weighed, measures, 1),
        notes=(*unknown_stock(dye.dyed), *cautions_of(dye), *((say(DEFERS),) if weighed.total else ())),
        yarns=tuple(shade.yarn for shade in weighed.shades),
        key="order",
        fields=(*_FIELDS, ""),
    )


def buy_table(dye: DyeOrder, measures: Measures) -> FigureTable:
    """Return the yarns that are bought undyed; without rows if there are none."""
    weighed, needs = weighed_shades(dye.bought, measures), _needs(dye, measures)
    return FigureTable(
        say("To buy undyed"),
        _header(measures, told("{unit} to buy", unit=measures.yarn_mass.name)),
        tuple(
            _row(shade, needs[shade.yarn.code], order, measures)
            for shade, order in zip(weighed.shades, weighed.orders, strict=True)
        ),
        right=(3, 4, 5, 6, 7),
        total=_total(weighed, measures, 0),
        notes=unknown_stock(dye.bought),
        yarns=tuple(shade.yarn for shade in weighed.shades),
        key="bought",
        fields=_FIELDS,
    )


def base_table(dye: DyeOrder, measures: Measures) -> FigureTable:
    """Return how much of each undyed base yarn the dye house needs for the order."""
    weighed = weighed_shades(dye.dyed, measures)
    bases: dict[str, tuple[float, int, int]] = {}
    for shade, order in zip(weighed.shades, weighed.orders, strict=True):
        if shade.hanks:
            mass, hanks, shades = bases.get(shade.base, (0.0, 0, 0))
            bases[shade.base] = (mass + order, hanks + shade.hanks, shades + 1)
    return FigureTable(
        say("Base yarn to lay out"),
        (say("base yarn"), field("unit", measures.yarn_mass.name), say("hanks"), say("shades")),
        tuple(
            (base, mass_words(mass, measures), str(hanks), str(shades)) for base, (mass, hanks, shades) in bases.items()
        ),
        right=(1, 2, 3),
        key="base",
        fields=("", "mass", "hanks", "shades"),
    )


def _total(weighed: Weighed, measures: Measures, more: int) -> tuple[str, ...]:
    hanks = sum(shade.hanks for shade in weighed.shades)
    sums = (mass_words(weighed.total, measures), str(hanks))
    return ("", say("in all"), "", "", "", "", *sums, *([""] * more))
