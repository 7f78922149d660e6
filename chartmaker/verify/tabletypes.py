"""What a table must print, which is its rows with the values of their fields in the units of one system."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from chartmaker.ground.ranges import Range
from chartmaker.verify.values import Number, Perhaps, Value


@dataclass(frozen=True)
class Unit:
    """A unit of a table with its name, its size in g, m, mm, square metres or litres, and its decimals."""

    name: str
    size: float
    decimals: int

    def number(self, value: float, off: float = 0.5) -> Number:
        """Return a value as a number without the unit's name."""
        return Number(value / self.size, self.decimals, "", off)

    def text(self, value: float) -> Number:
        """Return a value as a number with the unit's name behind it."""
        return Number(value / self.size, self.decimals, self.name)

    def between(self, value: Range) -> dict[str, Value]:
        """Return the fields of a range, which has no high end where both ends would be printed alike."""
        low, high = self.number(value.low), self.number(value.high)
        if low.printed.isdisjoint(high.printed):
            return {"low": low, "high": high}
        return {"low": low} if low.printed == high.printed else {"low": low, "high": Perhaps(high)}


@dataclass(frozen=True)
class Units:
    """The units of one system, metric or imperial."""

    yarn: Unit
    mass: Unit
    length: Unit
    bundle: Unit
    knot: Unit
    height: Unit
    area: Unit
    liquor: Unit
    by_area: Unit
    imperial: bool


#: Grams in a pound, metres in a yard, square metres in a square foot (NIST Handbook 44, appendix C).
POUND_G, YARD_M, _FT2 = 453.59237, 0.9144, 0.3048**2
METRIC = Units(
    *(Unit("g", 1, 0), Unit("kg", 1000, 2), Unit("m", 1, 0), Unit("g", 1, 0), Unit("mm", 1, 2), Unit("mm", 1, 1)),
    *(Unit("m²", 1, 2), Unit("litres", 1, 0), Unit("kg/m²", 1000, 2), False),
)
IMPERIAL = Units(
    *(
        Unit("lb", POUND_G, 3),
        Unit("lb", POUND_G, 1),
        Unit("yd", YARD_M, 0),
        Unit("oz", POUND_G / 16, 2),
        Unit("in", 25.4, 4),
    ),
    *(
        Unit("in", 25.4, 2),
        Unit("ft²", _FT2, 2),
        Unit("US gal", 3.785411784, 1),
        Unit("lb/ft²", POUND_G / _FT2, 2),
        True,
    ),
)


@dataclass(frozen=True)
class Line:
    """A row with its name, what each of its fields prints, and the place of its yarn in the map."""

    fields: Mapping[str, Value]
    name: str = "line"
    yarn: int | None = None


@dataclass(frozen=True)
class Table:
    """A table with its `key`, its rows, the units and weavers in its head, and the `columns` that add up to `sums`."""

    key: str
    lines: Sequence[Line]
    units: Sequence[str] = ()
    sums: Mapping[str, Number] | None = None
    columns: Sequence[str] = ()
    title: Mapping[str, Value] = field(default_factory=dict)
    notes: Mapping[str, Value] = field(default_factory=dict)
    weavers: range = range(0)
    patches: bool = False
    """Whether its swatches are patches to match by, without symbols."""


def in_all(tables: Iterable[Table]) -> list[Table]:
    """Return the tables that have rows, because others are not printed."""
    return [table for table in tables if table.lines]
