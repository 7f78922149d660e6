"""What all rugs take together, as tables and as a record: the dye order, the list to buy, the plan of the looms."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from chartmaker.collection.looms import HONEST, LoomPlan, plan_of
from chartmaker.collection.pieces import Ordered, pieces_of
from chartmaker.collection.store import SharedLot, StoreOrder, bought_in_all, store_order
from chartmaker.collection.told import Told
from chartmaker.figures.dyeing import CAUTIONS, DEFERS
from chartmaker.ground.plaintext import no_formula, table_lines
from chartmaker.ground.sentence import Sentence, english, later

DYE_HEADER = ("code", "name", "colour", "count", "lot", "of", "from", "wanted_g", "dyed_g", "hanks", "liquor_l", "by")
PURCHASE_HEADER = ("what", "count", "amount", "unit", "by", "in_all")
LOOM_HEADER = ("loom", "set", "order", "weavers", "days", "start", "end", "late_end", "yarn_by")
_DIFFER = later(
    "The rug files have different [dye] tables, of which the first is taken: give [dye] in the collection file."
)
_ONE_EACH = later("One rug of each set is reckoned here, because the collection file has no [orders].")
_SHADE_KEYS = ("code", "name", "srgb", "fibre", "count", "undyed", "rugs", "mass_g", "need_g", "wanted_g", "stock_g")
_DECIMALS = {"g": 1, "m2": 3}


@dataclass(frozen=True)
class Together:
    """The pieces of a season, what they take together, and when they are woven."""

    pieces: tuple[Ordered, ...]
    store: StoreOrder
    looms: LoomPlan


def together_of(told: Told) -> Together:
    """Return what the pieces of all orders, or of the chosen ones, take together."""
    file, pieces = told.season.file, pieces_of(told, told.orders)
    looms = plan_of(pieces, file.looms, file.calendar, file.store.lead_days)
    order = store_order(pieces, told.dye, looms.starts, told.stock_g)
    one_each = [_ONE_EACH] if len(pieces) > 1 and not file.orders else []
    first = (*([_DIFFER] if told.dyes_differ else []), *one_each, *_weighing(pieces))
    order = StoreOrder(order.shades, order.purchases, (*first, *order.remarks))
    return Together(pieces, order, looms)


def _weighing(pieces: Sequence[Ordered]) -> Iterator[Sentence]:
    """Yield the warnings of each set that change what is weighed out or dyed for it."""
    for name, record in {piece.name: piece.record for piece in pieces}.items():
        for severity, what, where in record["remarks"]:
            if severity == "warning" and where.startswith("[pile]"):
                yield later("{set}: {what}", set=name, what=what)


def dye_lines(together: Together) -> Iterator[str]:
    """Yield the lines of dye-order.csv, one for each lot, with the sets that it serves."""
    header = (*DYE_HEADER, "rugs")

    def rows() -> Iterator[list[object]]:
        for shade in together.store.shades:
            for number, lot in enumerate(shade.lots, start=1):
                yield [
                    shade.code,
                    no_formula(shade.name),
                    shade.srgb,
                    shade.count,
                    number,
                    len(shade.lots),
                    _source(lot, undyed=shade.undyed),
                    f"{lot.wanted_g:.1f}",
                    f"{lot.mass_g:.1f}",
                    lot.hanks,
                    f"{lot.liquor_l:.1f}",
                    _day(lot.by),
                    no_formula("; ".join(f"{count} x {name}" for name, count in lot.rugs.items())),
                ]

    yield from table_lines(header, rows())


def _source(lot: SharedLot, *, undyed: bool) -> str:
    if lot.from_stock:
        return "stock"
    return "bought" if undyed else no_formula(lot.vessel or "pot")


def _day(day: date | None) -> str:
    return "" if day is None else day.isoformat()


def purchase_lines(together: Together) -> Iterator[str]:
    """Yield the lines of purchases.csv, in order of time, each with what is bought of its kind on all days."""
    bought = together.store.purchases
    sums = bought_in_all(bought)

    def amount(value: float, unit: str) -> str:
        return f"{value:.{_DECIMALS[unit]}f}"

    rows = (
        [
            *(no_formula(each.what), each.count, amount(each.amount, each.unit), each.unit, _day(each.by)),
            amount(sums[each.kind], each.unit),
        ]
        for each in bought
    )
    yield from table_lines(PURCHASE_HEADER, rows)


def loom_lines(together: Together) -> Iterator[str]:
    """Yield the lines of looms.csv in the order of the pieces; a piece without a loom gives the reason instead."""
    why = dict(together.looms.unplaced)
    turns = {turn.piece: turn for turn in together.looms.turns}

    def rows() -> Iterator[list[object]]:
        for number, piece in enumerate(together.pieces):
            named = [no_formula(piece.name), no_formula(piece.order)]
            if number in turns:
                turn = turns[number]
                days = [_day(day) for day in (turn.start, turn.end, turn.late_end, turn.yarn_by)]
                yield [no_formula(turn.at), *named, turn.weavers, turn.days, *days]
            elif number in why:
                yield [str(why[number]), *named, *[""] * 6]

    yield from table_lines(LOOM_HEADER, rows())


def together_record(together: Together) -> dict[str, Any]:
    """Return the keys store and looms of collection.json."""
    store, looms, pieces = together.store, together.looms, together.pieces
    sums = bought_in_all(store.purchases)
    return {
        "store": {
            "pieces": len(pieces),
            "shades": [
                {
                    **{key: getattr(shade, key) for key in _SHADE_KEYS},
                    "lots": [_lot_record(lot) for lot in shade.lots],
                }
                for shade in store.shades
            ],
            "purchases": [
                {
                    "what": e.what,
                    "count": e.count,
                    "amount": e.amount,
                    "unit": e.unit,
                    "by": _day(e.by) or None,
                    "in_all": sums[e.kind],
                }
                for e in store.purchases
            ],
            "remarks": [english(remark) for remark in store.remarks],
            "cautions": [*CAUTIONS, DEFERS],
        },
        "looms": {
            "honest": english(HONEST),
            "turns": [
                {
                    "loom": turn.at,
                    "set": pieces[turn.piece].name,
                    "order": pieces[turn.piece].order or None,
                    "weavers": turn.weavers,
                    "days": turn.days,
                    **{key: getattr(turn, key).isoformat() for key in ("start", "end", "late_end", "yarn_by")},
                }
                for turn in looms.turns
            ],
            "unplaced": [{"set": pieces[number].name, "why": english(why)} for number, why in looms.unplaced],
        },
    }


def _lot_record(lot: SharedLot) -> dict[str, Any]:
    return {
        "from_stock": lot.from_stock,
        "wanted_g": round(lot.wanted_g, 1),
        "mass_g": round(lot.mass_g, 1),
        "hanks": lot.hanks,
        "vessel": lot.vessel,
        "liquor_l": round(lot.liquor_l, 1),
        "by": _day(lot.by) or None,
        "parts": lot.parts,
        "rugs": dict(lot.rugs),
    }
