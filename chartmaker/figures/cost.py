"""What the rug costs, part by part, where prices are given."""

from __future__ import annotations

from dataclasses import dataclass

from chartmaker.figures.basis import Reached
from chartmaker.figures.foundation import Foundation
from chartmaker.figures.labour import Labour
from chartmaker.figures.pile import PileFigures
from chartmaker.ground.errors import RugError
from chartmaker.ground.ranges import Range, total
from chartmaker.ground.units import FOOT_MM
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Cost, Workshop

REACHED = Reached("cost", "what the rug uses, with waste; yarn left over goes back to the store", "arithmetic")


@dataclass(frozen=True)
class CostPart:
    """One part of the cost; `amount` is None where its price was not given, `key` names the price."""

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
        """The parts that are priced."""
        return total(part.amount for part in self.parts if part.amount is not None)

    @property
    def complete(self) -> bool:
        return all(part.amount is not None for part in self.parts)

    @property
    def per_m2(self) -> Range:
        return self.total.times(1 / self.area_m2)

    @property
    def per_ft2(self) -> Range:
        return self.per_m2.times(float(FOOT_MM**2) / 1e6)


def _yarn_part(pile: PileFigures, prices: Cost) -> CostPart:
    lines = [(line, line.yarn.price_per_kg) for line in pile.yarns]
    priced = [(line, price if price is not None else prices.pile_per_kg) for line, price in lines]
    missing = [line.yarn.code for line, price in priced if price is None]
    how = "kg with waste x the card's price, else [cost] pile_per_kg"
    if len(missing) == len(priced) or (missing and not prices.model_fields_set):  # nobody asked for the cost
        return CostPart("pile yarn", None, how, "[cost] pile_per_kg")
    if missing:
        raise RugError(
            f"yarns {', '.join(missing)} have no price: give it on the card, or pile_per_kg for those without",
            where="[cost] pile_per_kg",
        )
    amount = total(line.mass_g.times((price or 0.0) / 1000) for line, price in priced)
    return CostPart("pile yarn", amount, how, "[cost] pile_per_kg")


def _by_mass(what: str, mass_g: Range, price: float | None, key: str) -> CostPart:
    amount = None if price is None else mass_g.times(price / 1000)
    return CostPart(what, amount, "kg x price", f"[cost] {key}")


def _by_area(what: str, area_m2: float, price: float | None, key: str) -> CostPart:
    amount = None if price is None else Range.exact(area_m2 * price)
    return CostPart(what, amount, "m2 x price", f"[cost] {key}")


def _weaving(pile: PileFigures, labour: Labour, prices: Cost) -> CostPart:
    what, key = "weaving", "[cost] weaving_per_1000_knots or weaving_per_day"
    if prices.weaving_per_1000_knots is not None:
        return CostPart(
            what, Range.exact(pile.knots / 1000 * prices.weaving_per_1000_knots), "knots / 1000 x price", key
        )
    how = "days x weavers x price of a weaver's day"
    amount = None if prices.weaving_per_day is None else labour.days.times(labour.weavers * prices.weaving_per_day)
    return CostPart(what, amount, how, key)


def cost_of(
    rug: Rug, workshop: Workshop, pile: PileFigures, foundation: Foundation, labour: Labour
) -> CostFigures | None:
    """Return the cost, or None where no price at all is given.

    Raises
    ------
    RugError
        If the cost is asked for, some yarns have a price, and others have none.
    """
    prices = workshop.cost
    undyed = set(workshop.dye.undyed)
    dyed_g = total(line.mass_g for line in pile.yarns if line.yarn.code not in undyed)
    area_m2 = float(rug.woven_width_mm * rug.woven_length_mm) / 1e6
    if rug.technique == "tufted":
        ground = [_by_area("backing cloth", foundation.backing_cloth_m2, prices.backing_per_m2, "backing_per_m2")]
    else:
        ground = [
            _by_mass("warp", Range.exact(foundation.warp_mass_g), prices.warp_per_kg, "warp_per_kg"),
            _by_mass("weft", foundation.weft_mass_g, prices.weft_per_kg, "weft_per_kg"),
        ]
    parts = (
        _yarn_part(pile, prices),
        *ground,
        _by_mass("dyeing", dyed_g, prices.dyeing_per_kg, "dyeing_per_kg"),
        _weaving(pile, labour, prices),
        _by_area("washing and finishing", area_m2, prices.finishing_per_m2, "finishing_per_m2"),
    )
    if all(part.amount is None for part in parts):
        return None
    return CostFigures(parts, prices.currency, area_m2, (REACHED,))
