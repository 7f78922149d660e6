"""The dye order: the mass, hanks, lots, vessels and liquor of every shade."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement

from chartmaker.figures.bundles import LotChange
from chartmaker.figures.pile import PileFigures, YarnPile
from chartmaker.ground.basis import Assumption, Reached
from chartmaker.ground.errors import RugError
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import phrase, say, say_n, told
from chartmaker.ground.sentence import later
from chartmaker.ground.units import YarnCount
from chartmaker.order.workshop import Dye, Vessel
from chartmaker.yarns.yarn import Yarn

CAUTIONS = (
    phrase("Liquor near the boil scalds: use lids, long gloves and sleeves, keep floors dry, and lift hanks by two."),
    phrase("Weigh and dissolve dye powder and acids with mask, goggles, gloves and good ventilation."),
    phrase("Keep pots, ladles and measures for dyeing only; have no food or drink in the dye house."),
    phrase("Add acid to water, never water to acid. Never bring strong acid and alkali together."),
)
DEFERS = phrase(
    "The dye maker's data sheets, local codes for handling and waste water, and trained supervision come before "
    "anything on this sheet. It gives masses, not recipes."
)


@dataclass(frozen=True)
class Lot:
    """One filling of a vessel; `vessel` is None if the rug file lists none."""

    mass_g: float
    hanks: int
    vessel: Vessel | None
    liquor_l: float


@dataclass(frozen=True)
class Shade:
    """The order of one yarn.

    `need_g` is the upper end of the estimate with waste, `wanted_g` the same with the allowance, `stock_g` what is in
    stock by the card, and `order_g` what is ordered, in whole hanks. If a section parts stock and new lot, it is the
    `change`, and `later_g` is what this section and all after it take, with the allowance.
    """

    yarn: Yarn
    best_g: float
    need_g: float
    wanted_g: float
    stock_g: float
    order_g: float
    hanks: int
    lots: tuple[Lot, ...]
    undyed: bool
    count: YarnCount
    change: LotChange | None = None
    later_g: float = 0.0

    @property
    def base(self) -> str:
        """The undyed yarn that is dyed, or bought as it is: its fibre and its count."""
        return told("{fibre}, {count}", fibre=self.yarn.fibre or say("wool"), count=self.count.notation)

    @property
    def in_two_lots(self) -> bool:
        """Whether a part comes from stock and a part from a new lot."""
        return self.hanks > 0 and self.stock_g > 0


@dataclass(frozen=True)
class DyeOrder:
    """The dye order of a rug, with a shade for each yarn in the map's order."""

    shades: tuple[Shade, ...]
    allowance: float
    hank_g: float
    reached: tuple[Reached, ...]
    assumptions: tuple[Assumption, ...]
    findings: tuple[Finding, ...]

    @property
    def order_g(self) -> float:
        """The grams ordered of all yarns together, dyed or bought."""
        return sum(shade.order_g for shade in self.shades)

    @property
    def hanks(self) -> int:
        return sum(shade.hanks for shade in self.shades)

    @property
    def dyed(self) -> tuple[Shade, ...]:
        """The shades that are dyed."""
        return tuple(shade for shade in self.shades if not shade.undyed)

    @property
    def bought(self) -> tuple[Shade, ...]:
        """The yarns that are bought as they are."""
        return tuple(shade for shade in self.shades if shade.undyed)


#: How an order is reckoned, by whether a new lot of some yarn follows its stock.
_HOW_ORDERED = {
    False: phrase("upper end with waste x (1 + allowance) - stock, rounded up to whole hanks"),
    True: phrase(
        "upper end with waste x (1 + allowance) - stock, rounded up to whole hanks; where a new lot follows the stock, "
        "at least what its sections take of it"
    ),
}

#: Words that say outright that a yarn is not dyed, and the fleeces that "natural" may stand beside; next to any other
#: word it more likely means a natural dye.
_NOT_DYED = re.compile(r"\b(undyed|unbleached|ecru|écru|greige)\b", re.IGNORECASE)
_FLEECES = frozenset(
    {
        *("natural", "white", "off", "cream", "ivory", "grey", "gray", "silver", "brown", "black", "beige", "fawn"),
        *("camel", "dark", "light", "mid", "pale", "very", "wool", "fleece", "sheep", "yarn", "colour", "color"),
    }
)


def says_undyed(name: str) -> bool:
    """Return whether a yarn is called by a name that undyed yarns have (common practice).

    Examples
    --------
    >>> says_undyed("Natural dark grey"), says_undyed("Natural indigo")
    (True, False)
    """
    words = re.findall(r"[\w']+", name.lower())
    return bool(_NOT_DYED.search(name)) or ("natural" in words and _FLEECES.issuperset(words))


#: Litres of liquor per kilogram of yarn in an open pot (published: caroun.com, Garous weaving, part 9).
OPEN_POT_RATIO = 40.0


def vessel_for(mass_g: float, vessels: tuple[Vessel, ...]) -> Vessel | None:
    """Return the smallest vessel that takes `mass_g` in one lot, preferring those that dye so small a lot evenly."""
    large = sorted((v for v in vessels if v.holds_g >= mass_g), key=lambda v: v.holds_g)
    even = [v for v in large if v.least_g is None or v.least_g <= mass_g]
    return next(iter(even or large), None)


#: Nobody orders more than this many times what is needed to have it dyed in one lot (estimate).
MOST_MORE = 1.5
#: Nobody matches more lots than this of one shade to one standard (estimate).
MOST_LOTS = 200


def lots_of(hanks: int, hank_g: float, vessels: tuple[Vessel, ...]) -> tuple[Lot, ...]:
    """Return the lots of an order: as few and as even as the vessels allow, none below its vessel's least.

    One lot more than the fewest is taken if that keeps to the least of every vessel; if it does not, the fewest are.

    Raises
    ------
    RugError
        If the order takes more lots of one shade than anybody dyes.
    """
    if hanks == 0:
        return ()
    if not vessels:
        return (Lot(hanks * hank_g, hanks, None, hanks * hank_g / 1000 * OPEN_POT_RATIO),)
    room = math.floor(max(v.holds_g for v in vessels) / hank_g + 1e-9)
    fewest = math.ceil(hanks / room)
    if fewest > MOST_LOTS:
        message = say_n(
            "{mass:,.4g} kg of one yarn would take {n:,} lot; the most is {most}: give larger vessels",
            "{mass:,.4g} kg of one yarn would take {n:,} lots; the most is {most}: give larger vessels",
            fewest,
            mass=hanks * hank_g / 1000,
            most=MOST_LOTS,
        )
        raise RugError(message, where="[dye] vessels")
    parts = even_parts(hanks, fewest, hank_g, vessels) or even_parts(hanks, fewest + 1, hank_g, vessels)
    return tuple(_lot(part, hank_g, vessels) for part in parts or _shared(hanks, fewest))


def even_parts(hanks: int, number: int, hank_g: float, vessels: tuple[Vessel, ...]) -> tuple[int, ...] | None:
    """Return `hanks` in `number` lots as even as possible, each within a vessel's least and most, or None.

    The lots use at most two kinds of vessel.
    """
    spans = []
    for vessel in vessels:
        least = max(math.ceil(float(vessel.least_g or 0) / hank_g - 1e-9), 1)
        most = math.floor(float(vessel.holds_g) / hank_g + 1e-9)
        if least <= most:
            spans.append((least, most))
    found: list[tuple[int, ...]] = []
    for (low, high), (other_low, other_high) in combinations_with_replacement(dict.fromkeys(spans), 2):
        for count in range(number + 1):
            rest = number - count
            first = max(count * low, hanks - rest * other_high)
            last = min(count * high, hanks - rest * other_low)
            if first <= last:
                share = min(max(round(hanks * count / number), first), last)
                found.append((*_shared(share, count), *_shared(hanks - share, rest)))
    return min((tuple(sorted(parts, reverse=True)) for parts in found), key=lambda p: p[0] - p[-1], default=None)


def _shared(hanks: int, number: int) -> tuple[int, ...]:
    return tuple(hanks // number + (index < hanks % number) for index in range(number))


def _lot(hanks: int, hank_g: float, vessels: tuple[Vessel, ...]) -> Lot:
    vessel = vessel_for(hanks * hank_g, vessels)
    assert vessel is not None
    return Lot(hanks * hank_g, hanks, vessel, hanks * hank_g / 1000 * vessel.liquor_ratio)


def _shade(line: YarnPile, dye: Dye, change: LotChange | None) -> Shade:
    """Return the order of a yarn; a new lot is enough for every section that it serves, whatever the stock leaves."""
    hank_g = float(dye.hank_g)
    wanted_g = line.mass_g.high * (1 + dye.allowance)
    stock_g = line.yarn.stock_g or 0.0
    short_g = wanted_g - stock_g
    change = change if short_g > 0 else None
    later_g = 0.0 if change is None else max(wanted_g * change.share, change.bundles_g)
    hanks = math.ceil(max(short_g, later_g, 0.0) / hank_g - 1e-9)
    undyed = line.yarn.code in dye.undyed
    return Shade(
        yarn=line.yarn,
        best_g=line.mass_g.best,
        need_g=line.mass_g.high,
        wanted_g=wanted_g,
        stock_g=stock_g,
        order_g=hanks * hank_g,
        hanks=hanks,
        lots=() if undyed else lots_of(hanks, hank_g, dye.vessels),
        undyed=undyed,
        count=line.count,
        change=change,
        later_g=later_g,
    )


def _findings(shade: Shade, vessels: Sequence[Vessel]) -> list[Finding]:
    found = []
    where = later("yarn {code}", code=shade.yarn.code)
    if shade.lots and says_undyed(shade.yarn.name):
        what = later(
            "It is called {name}, and stands among the yarns to dye: list {code} in [dye] undyed if it is bought as it "
            "is.",
            name=shade.yarn.name,
            code=shade.yarn.code,
        )
        found.append(Finding(what, where, "warning"))
    if len(shade.lots) > 1:
        what = later(
            "No vessel dyes {order_kg:g} kg evenly in one lot: it takes {lots} lots, to be dyed to one standard, whose "
            "hanks are mixed before any are handed out.",
            order_kg=shade.order_g / 1000,
            lots=len(shade.lots),
        )
        found.append(Finding(what, where, "warning"))
        most_g = MOST_MORE * shade.order_g
        least_g = {float(each.least_g or 0): each for each in vessels if shade.order_g < (each.least_g or 0) <= most_g}
        if least_g:
            what = later(
                "From {least_kg:g} kg on vessel {vessel} dyes it evenly in one lot: think of ordering that much.",
                least_kg=min(least_g) / 1000,
                vessel=least_g[min(least_g)].name,
            )
            found.append(Finding(what, where, "note"))
    for lot in shade.lots:
        if lot.vessel is not None and lot.vessel.least_g is not None and lot.mass_g < lot.vessel.least_g:
            what = later(
                "{lot_kg:g} kg is less than the {least_kg:g} kg that vessel {vessel} dyes evenly: list a smaller "
                "vessel, or raise the order to that.",
                lot_kg=lot.mass_g / 1000,
                least_kg=float(lot.vessel.least_g) / 1000,
                vessel=lot.vessel.name,
            )
            found.append(Finding(what, where, "warning"))
    return found


def _assumptions(dye: Dye) -> tuple[Assumption, ...]:
    given, assumed = dye.model_fields_set, []
    if "allowance" not in given:
        why = later("one lot for each shade, about a tenth over the need")
        assumed.append(Assumption("[dye] allowance", f"{dye.allowance * 100:g} %", why, "common practice"))
    if "hank_g" not in given:
        assumed.append(Assumption("[dye] hank", f"{float(dye.hank_g):g} g", later("a usual hank"), "common practice"))
    if not dye.vessels:
        why = later("no vessels are listed, so each shade is dyed in one lot in an open pot")
        assumed.append(Assumption("[dye] vessels", f"{OPEN_POT_RATIO:g} l/kg", why, "published"))
    return tuple(assumed)


def dye_order_of(pile: PileFigures, dye: Dye, changes: Sequence[LotChange | None] = ()) -> DyeOrder:
    """Return the dye order for the upper end of the pile's estimate.

    Parameters
    ----------
    pile : PileFigures
    dye : Dye
    changes : sequence of LotChange or None, optional
        Where a new lot of each yarn follows its stock; without it no section parts them.
    """
    changes = changes or (None,) * len(pile.yarns)
    shades = tuple(_shade(line, dye, change) for line, change in zip(pile.yarns, changes, strict=True))
    codes = {line.yarn.code for line in pile.yarns}
    findings = [
        Finding(later("{code} is listed as undyed, but this map does not tie it.", code=code), "[dye] undyed", "note")
        for code in dye.undyed
        if code not in codes
    ]
    findings += [finding for shade in shades for finding in _findings(shade, dye.vessels)]
    return DyeOrder(
        shades=shades,
        allowance=dye.allowance,
        hank_g=float(dye.hank_g),
        reached=(
            Reached(
                later("to order"),
                later(_HOW_ORDERED[any(shade.change for shade in shades)]),
                "common practice",
            ),
            Reached(
                later("lots"),
                later("as few and as even as possible, with no vessel filled below its least"),
                "common practice",
            ),
            Reached(later("liquor"), later("kg of yarn x the vessel's litres per kg"), "arithmetic"),
        ),
        assumptions=_assumptions(dye),
        findings=tuple(findings),
    )
