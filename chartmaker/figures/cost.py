"""What the rug costs, part by part, as far as prices are given."""

from __future__ import annotations

from dataclasses import dataclass

from chartmaker.figures.labour import Labour
from chartmaker.figures.pile import PileFigures
from chartmaker.ground.basis import Reached
from chartmaker.ground.errors import RugError
from chartmaker.ground.language import phrase, say_n
from chartmaker.ground.ranges import Range, total
from chartmaker.ground.sentence import later
from chartmaker.ground.units import FOOT_MM
from chartmaker.order.workshop import Cost, Workshop
from chartmaker.techniques.foundation import Foundation, Material

REACHED = Reached(
    later("cost"), later("what the rug uses, with waste; yarn left over goes back to the store"), "arithmetic"
)


@dataclass(frozen=True)
class CostPart:
    """One part of the cost; `amount` is None if its price was not given, and `key` names the key for the price."""

    what: str
    amount: Range | None
    how: str
    key: str


@dataclass(frozen=True)
class CostFigures:
    """The cost of a rug. `complete` says whether every part was priced."""

    parts: tuple[CostPart, ...]
    currency: str
    area_m2: float
    reached: tuple[Reached, ...]

    @property
    def total(self) -> Range:
        """The sum of the parts that have a price."""
        return total(part.amount for part in self.parts if part.amount is not None)

    @property
    def complete(self) -> bool:
        return all(part.amount is not None for part in self.parts)

    @property
    def per_m2(self) -> Range:
        return self.total.times(1 / self.area_m2 if self.area_m2 else 0.0)

    @property
    def per_ft2(self) -> Range:
        return self.per_m2.times(float(FOOT_MM**2) / 1e6)


def _yarn_part(pile: PileFigures, prices: Cost) -> CostPart:
    lines = [(line, line.yarn.price_per_kg) for line in pile.yarns]
    priced = [(line, price if price is not None else prices.pile_per_kg) for line, price in lines]
    missing = [line.yarn.code for line, price in priced if price is None]
    how = phrase("kg with waste x the card's price, else [cost] pile_per_kg")
    if len(missing) == len(priced) or (missing and not prices.model_fields_set):  # nobody asked for the cost
        return CostPart(phrase("pile yarn"), None, how, "[cost] pile_per_kg")
    if missing:
        message = say_n(
            "yarn {codes} has no price; give it on the card, or give pile_per_kg for those without",
            "yarns {codes} have no price; give it on the card, or give pile_per_kg for those without",
            len(missing),
            codes=", ".join(missing),
        )
        raise RugError(message, where="[cost] pile_per_kg")
    amount = total(line.mass_g.times((price or 0.0) / 1000) for line, price in priced)
    return CostPart(phrase("pile yarn"), amount, how, "[cost] pile_per_kg")


def _by_mass(what: str, mass_g: Range, price: float | None, key: str) -> CostPart:
    amount = None if price is None else mass_g.times(price / 1000)
    return CostPart(what, amount, phrase("kg x price"), f"[cost] {key}")


def _by_area(what: str, area_m2: float, price: float | None, key: str) -> CostPart:
    amount = None if price is None else Range.exact(area_m2 * price)
    return CostPart(what, amount, phrase("m2 x price"), f"[cost] {key}")


def _material(material: Material, prices: Cost) -> CostPart:
    price: float | None = getattr(prices, material.price_key)
    if material.mass_g is not None:
        return _by_mass(material.what, material.mass_g, price, material.price_key)
    return _by_area(material.what, material.area_m2 or 0.0, price, material.price_key)


def _weaving(pile: PileFigures, labour: Labour, prices: Cost) -> CostPart:
    what, key = phrase("weaving"), "[cost] weaving_per_1000_knots or weaving_per_day"
    if prices.weaving_per_1000_knots is not None:
        return CostPart(
            what, Range.exact(pile.knots / 1000 * prices.weaving_per_1000_knots), phrase("knots / 1000 x price"), key
        )
    how = phrase("whole days x weavers x price of a weaver's day")
    wage = prices.weaving_per_day
    amount = None if wage is None else labour.whole_days.times(labour.weavers * wage)
    return CostPart(what, amount, how, key)


def cost_of(
    area_m2: float, workshop: Workshop, pile: PileFigures, foundation: Foundation, labour: Labour
) -> CostFigures | None:
    """Return the cost of a rug of `area_m2` inside its outline, or None if no price at all is given.

    Raises
    ------
    RugError
        If the cost is asked for and some yarns have a price while others have none.
    """
    prices = workshop.cost
    undyed = set(workshop.dye.undyed)
    dyed_g = total(line.mass_g for line in pile.yarns if line.yarn.code not in undyed)
    parts = (
        _yarn_part(pile, prices),
        *(_material(material, prices) for material in foundation.materials),
        _by_mass(phrase("dyeing"), dyed_g, prices.dyeing_per_kg, "dyeing_per_kg"),
        _weaving(pile, labour, prices),
        _by_area(phrase("washing and finishing"), area_m2, prices.finishing_per_m2, "finishing_per_m2"),
    )
    if all(part.amount is None for part in parts):
        return None
    return CostFigures(parts, prices.currency, area_m2, (REACHED,))
