"""Figures in words, metric or imperial."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from chartmaker.ground.language import field, told
from chartmaker.ground.lengths import Length, imperial_size, metric_size
from chartmaker.ground.ranges import Range
from chartmaker.ground.rounding import adding_up, half_up
from chartmaker.ground.units import FOOT_MM, INCH_MM, METRE_MM, POUND_G, YARD_MM

Units = Literal["metric", "imperial"]


def between(low: str, high: str) -> str:
    """Return a range as it is printed, or the one figure that is left of it."""
    return field("low", low) if low == high else told("{low} to {high}", low=low, high=high)


#: Litres in a US gallon, 231 cubic inches (NIST Handbook 44, appendix C).
US_GALLON_L = 231 * float(INCH_MM) ** 3 / 1e6


@dataclass(frozen=True)
class Unit:
    """A unit to show figures in; `size` is one of them in our own unit."""

    name: str
    size: float
    decimals: int

    def bare(self, value: float) -> str:
        """Return `value`, given in the project's own unit, without the unit's name; halves go up, as in a column."""
        steps = 10**self.decimals
        return f"{half_up(value / self.size * steps) / steps:,.{self.decimals}f}"

    def text(self, value: float) -> str:
        return f"{self.bare(value)} {self.name}"

    def column(self, values: Sequence[float]) -> list[str]:
        """Return each value without the unit's name, rounded so that the column adds up to its rounded total."""
        return [f"{v:,.{self.decimals}f}" for v in adding_up([v / self.size for v in values], self.decimals)]

    def between(self, value: Range) -> str:
        """Return the range as ``low to high``."""
        return between(self.bare(value.low), self.bare(value.high))

    def range_text(self, value: Range) -> str:
        """Return the range with the unit's name behind it."""
        return told("{between} {unit}", between=self.between(value), unit=self.name)


@dataclass(frozen=True)
class Measures:
    """The units of one system, and how it writes a size; our own units are gram, metre, millimetre and litre."""

    yarn_mass: Unit
    mass: Unit
    yarn_length: Unit
    bundle_mass: Unit
    bundle_length: Unit
    size: Callable[[Length, Length], str]
    pile: Unit
    height: Unit
    area: Unit
    liquor: Unit
    area_density: Unit


METRIC = Measures(
    yarn_mass=Unit("g", 1, 0),
    mass=Unit("kg", 1000, 2),
    yarn_length=Unit("m", 1, 0),
    bundle_mass=Unit("g", 1, 0),
    bundle_length=Unit("m", 1, 0),
    size=metric_size,
    pile=Unit("mm", 1, 2),
    height=Unit("mm", 1, 1),
    area=Unit("m²", 1, 2),
    liquor=Unit("litres", 1, 0),
    area_density=Unit("kg/m²", 1000, 2),
)

_LB, _YD, _FT2 = float(POUND_G), float(YARD_MM / METRE_MM), float(FOOT_MM**2) / 1e6

IMPERIAL = Measures(
    yarn_mass=Unit("lb", _LB, 3),
    mass=Unit("lb", _LB, 1),
    yarn_length=Unit("yd", _YD, 0),
    bundle_mass=Unit("oz", _LB / 16, 2),
    bundle_length=Unit("yd", _YD, 0),
    size=imperial_size,
    pile=Unit("in", float(INCH_MM), 4),
    height=Unit("in", float(INCH_MM), 2),
    area=Unit("ft²", _FT2, 2),
    liquor=Unit("US gal", US_GALLON_L, 1),
    area_density=Unit("lb/ft²", _LB / _FT2, 2),
)


def measures_of(units: Units) -> Measures:
    return IMPERIAL if units == "imperial" else METRIC
