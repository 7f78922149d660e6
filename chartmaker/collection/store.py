"""One dye order for all rugs: shades in shared lots, no rug in two lots of a shade, and what must be bought by when."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from chartmaker.collection.pieces import Ordered
from chartmaker.figures.dyeing import OPEN_POT_RATIO, lots_of, vessel_for
from chartmaker.ground.language import phrase
from chartmaker.ground.sentence import Sentence, later
from chartmaker.order.workshop import Dye

#: What identifies a shade, because the cards of two designs may give one code to two yarns.
Key = tuple[str, str, str, str | None, str]

_LEFT_IN_STOCK = phrase(
    "{code}: {grams:,.0f} g stay in stock, because that is not enough for a whole rug more, and no rug has two lots of "
    "a shade. A rug's own dye order takes them off instead, and warns of the second lot."
)
_IN_PARTS = phrase(
    "No vessel takes what {rug} needs of {code}: it is dyed in {parts} lots, to one standard, and mixed hank by hank "
    "through the rug."
)


@dataclass(frozen=True)
class SharedLot:
    """One filling of a vessel, or yarn taken from stock, for the rugs that it serves.

    `wanted_g` is what they need with the allowance, and `mass_g` that in whole hanks; `rugs` is how many pieces of each
    set there are; `by` is the day by which it must be begun, None if no loom is planned. A lot is one of `parts` if no
    vessel takes what a single rug needs.
    """

    rugs: Mapping[str, int]
    wanted_g: float
    mass_g: float
    hanks: int
    vessel: str | None
    liquor_l: float
    by: date | None
    from_stock: bool = False
    parts: int = 1


@dataclass(frozen=True)
class SharedShade:
    """One yarn for all rugs: what they take by the best estimate (`mass_g`), at most, with the allowance; its lots.

    `stock_g` is None where no card and no table says what is in stock, and then nothing is taken from it.
    """

    code: str
    name: str
    srgb: str
    fibre: str | None
    count: str
    undyed: bool
    rugs: int
    mass_g: float
    need_g: float
    wanted_g: float
    stock_g: float | None
    lots: tuple[SharedLot, ...]


@dataclass(frozen=True)
class Purchase:
    """What must be ordered by some day: yarn bought as it is, warp, weft (in grams) or backing cloth (in m2)."""

    what: str
    count: str
    amount: float
    unit: str
    by: date | None

    @property
    def kind(self) -> tuple[str, str, str]:
        """What is bought, its count and its unit: purchases of one kind on several days add up."""
        return self.what, self.count, self.unit


def bought_in_all(purchases: Sequence[Purchase]) -> dict[tuple[str, str, str], float]:
    """Return how much is bought of each kind on all days together."""
    kinds = dict.fromkeys(each.kind for each in purchases)
    return {kind: round(math.fsum(each.amount for each in purchases if each.kind == kind), 3) for kind in kinds}


@dataclass(frozen=True)
class StoreOrder:
    """The dye order and the purchases of all pieces together."""

    shades: tuple[SharedShade, ...]
    purchases: tuple[Purchase, ...]
    remarks: tuple[Sentence, ...]


@dataclass
class _Need:
    """What the pieces take of one shade: (piece, grams at most with the allowance, name of the set, day)."""

    yarn: dict[str, Any]
    tenths: int = 0
    need_tenths: int = 0
    pieces: list[tuple[float, str, date | None]] = field(default_factory=list)


def store_order(
    pieces: Sequence[Ordered], dye: Dye, starts: Mapping[int, date], stock_g: Mapping[str, float] | None = None
) -> StoreOrder:
    """Return the one dye order of all `pieces`, and what must be bought for them.

    Parameters
    ----------
    pieces : sequence of Ordered
    dye : Dye
        The one dye house: its vessels, hank and allowance.
    starts : mapping of int to date
        The day by which the yarn of a piece must be ordered, by its number; empty if no loom is planned.
    stock_g : mapping of code to grams, optional
        The yarn in stock; left out, what the cards of the rugs say.
    """
    remarks: list[Sentence] = []
    needs = _needs(pieces, dye, starts)
    codes = Counter(key[0] for key in needs)
    for code, number in codes.items():
        if number > 1:
            what = "Code {code} stands for {number} different yarns on the cards of the rugs, which are kept apart."
            remarks.append(later(what, code=code, number=number))
    shades = []
    for need in needs.values():
        code = need.yarn["code"]
        at_hand = need.yarn["stock_g"]
        if stock_g is not None:
            at_hand = stock_g[code] / codes[code] if code in stock_g else None
        shades.append(_shade(need, dye, at_hand, remarks))
    return StoreOrder(tuple(shades), tuple(_purchases(pieces, starts, shades)), tuple(remarks))


def _needs(pieces: Sequence[Ordered], dye: Dye, starts: Mapping[int, date]) -> dict[Key, _Need]:
    needs: dict[Key, _Need] = {}
    for number, piece in enumerate(pieces):
        for yarn in piece.record["yarns"]:
            key = (yarn["code"], yarn["name"], yarn["srgb"], yarn["fibre"], yarn["count"])
            need = needs.setdefault(key, _Need(yarn))
            need.tenths += round(yarn["mass_g"] * 10)
            need.need_tenths += round(yarn["need_g"] * 10)
            need.pieces.append((yarn["need_g"] * (1 + dye.allowance), piece.name, starts.get(number)))
    return dict(sorted(needs.items(), key=lambda item: item[0][0]))


def _shade(need: _Need, dye: Dye, stock_g: float | None, remarks: list[Sentence]) -> SharedShade:
    yarn = need.yarn
    in_time = sorted(need.pieces, key=lambda piece: piece[2] or date.max)
    hank_g, at_hand_g = float(dye.hank_g), stock_g or 0.0
    if yarn["undyed"]:
        lots = _bought(in_time, at_hand_g, hank_g)
    else:
        lots = _dyed(in_time, at_hand_g, dye, yarn["code"], remarks)
    return SharedShade(
        **{name: yarn[name] for name in ("code", "name", "srgb", "fibre", "count", "undyed")},
        rugs=len(need.pieces),
        mass_g=need.tenths / 10,
        need_g=need.need_tenths / 10,
        wanted_g=round(math.fsum(piece[0] for piece in need.pieces), 1),
        stock_g=stock_g,
        lots=tuple(lots),
    )


def _first(days: Sequence[date | None]) -> date | None:
    return min((day for day in days if day is not None), default=None)


def _lot_of(pieces: Sequence[tuple[float, str, date | None]], **more: Any) -> SharedLot:
    wanted_g = math.fsum(piece[0] for piece in pieces)
    given = {"mass_g": wanted_g, "hanks": 0, "vessel": None, "liquor_l": 0.0, **more}
    rugs = dict(Counter(piece[1] for piece in pieces))
    return SharedLot(rugs=rugs, wanted_g=wanted_g, by=_first([piece[2] for piece in pieces]), **given)


def _hanks(mass_g: float, hank_g: float) -> int:
    return math.ceil(mass_g / hank_g - 1e-9)


def _bought(pieces: Sequence[tuple[float, str, date | None]], at_hand_g: float, hank_g: float) -> list[SharedLot]:
    """Return what is bought of a yarn that is not dyed: all that stock does not cover, in whole hanks."""
    wanted_g = math.fsum(piece[0] for piece in pieces)
    lots = []
    if at_hand_g > 0:
        lots.append(_lot_of(pieces, mass_g=min(at_hand_g, wanted_g), from_stock=True))
    if wanted_g > at_hand_g:
        hanks = _hanks(wanted_g - at_hand_g, hank_g)
        lots.append(_lot_of(pieces, mass_g=hanks * hank_g, hanks=hanks))
    return lots


def _dyed(
    pieces: Sequence[tuple[float, str, date | None]], at_hand_g: float, dye: Dye, code: str, remarks: list[Sentence]
) -> list[SharedLot]:
    """Return the lots of a shade: rugs in order of time, first those served from stock, the rest by first fit."""
    hank_g = float(dye.hank_g)
    room = math.floor(max((v.holds_g for v in dye.vessels), default=math.inf) / hank_g + 1e-9) if dye.vessels else None
    stocked: list[tuple[float, str, date | None]] = []
    fillings: list[list[tuple[float, str, date | None]]] = []
    alone: list[tuple[float, str, date | None]] = []
    left_g = at_hand_g
    for piece in pieces:
        if piece[0] <= left_g:
            stocked.append(piece)
            left_g -= piece[0]
        elif room is not None and _hanks(piece[0], hank_g) > room:
            alone.append(piece)
        else:
            _first_fit(fillings, piece, room, hank_g)
    if left_g > 0 and (fillings or alone):
        remarks.append(later(_LEFT_IN_STOCK, code=code, grams=left_g))
    lots = [_lot_of(stocked, from_stock=True)] if stocked else []
    lots += [_filled(filling, dye, code, remarks) for filling in fillings]
    for piece in alone:
        parts = lots_of(_hanks(piece[0], hank_g), hank_g, dye.vessels)
        remarks.append(later(_IN_PARTS, rug=piece[1], code=code, parts=len(parts)))
        for part in parts:
            share = (piece[0] * part.hanks / sum(each.hanks for each in parts), piece[1], piece[2])
            vessel = None if part.vessel is None else part.vessel.name
            more = {"mass_g": part.mass_g, "hanks": part.hanks, "vessel": vessel, "liquor_l": part.liquor_l}
            lots.append(_lot_of([share], parts=len(parts), **more))
    return lots


def _first_fit(
    fillings: list[list[tuple[float, str, date | None]]],
    piece: tuple[float, str, date | None],
    room: int | None,
    hank_g: float,
) -> None:
    for filling in fillings:
        if room is None or _hanks(math.fsum(each[0] for each in filling) + piece[0], hank_g) <= room:
            filling.append(piece)
            return
    fillings.append([piece])


def _filled(filling: list[tuple[float, str, date | None]], dye: Dye, code: str, remarks: list[Sentence]) -> SharedLot:
    hank_g = float(dye.hank_g)
    hanks = _hanks(math.fsum(piece[0] for piece in filling), hank_g)
    mass_g = hanks * hank_g
    vessel = vessel_for(mass_g, dye.vessels)
    if vessel is not None and vessel.least_g is not None and mass_g < vessel.least_g:
        what = "{code}: {lot_kg:g} kg is less than vessel {vessel} dyes evenly."
        remarks.append(later(what, code=code, lot_kg=mass_g / 1000, vessel=vessel.name))
    ratio = OPEN_POT_RATIO if vessel is None else vessel.liquor_ratio
    name = None if vessel is None else vessel.name
    return _lot_of(filling, mass_g=mass_g, hanks=hanks, vessel=name, liquor_l=mass_g / 1000 * ratio)


def _purchases(pieces: Sequence[Ordered], starts: Mapping[int, date], shades: Sequence[SharedShade]) -> list[Purchase]:
    """Return what is bought, in order of time; tenths of a gram and thousandths of a square metre add up exactly."""
    sums: dict[tuple[str, str, str, date | None], int] = {}
    for number, piece in enumerate(pieces):
        for what in ("warp", "weft"):
            part = piece.record[what]
            key = (what, part["count"], "g", starts.get(number))
            sums[key] = sums.get(key, 0) + round(part["mass_g"] * 10)
        key = ("backing", "", "m2", starts.get(number))
        sums[key] = sums.get(key, 0) + round(piece.record["backing_cloth_m2"] * 1000)
    units = {"g": 10, "m2": 1000}
    bought = [Purchase(what, count, n / units[unit], unit, by) for (what, count, unit, by), n in sums.items() if n]
    for shade in shades:
        if shade.undyed:
            new = [lot for lot in shade.lots if not lot.from_stock]
            bought += [Purchase(f"{shade.code} {shade.name}", shade.count, lot.mass_g, "g", lot.by) for lot in new]
    return sorted(bought, key=lambda each: (each.by or date.min, each.what, each.count))
