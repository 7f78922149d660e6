"""What a table must print, which is its rows with the values of their fields in the units of one system."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from chartmaker.ground.ranges import Range
from chartmaker.verify.values import Number, Perhaps, Value


def ends(low: Number, high: Number) -> dict[str, Value]:
    """Return the fields of a range, which has no high end where both ends would be printed alike."""
    if low.printed.isdisjoint(high.printed):
        return {"low": low, "high": high}
    return {"low": low} if low.printed == high.printed else {"low": low, "high": Perhaps(high)}


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
        """Return the fields of a range."""
        return ends(self.number(value.low), self.number(value.high))


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

    @property
    def imperial(self) -> bool:
        return self.length.name == "yd"


#: Grams in a pound, metres in a yard, square metres in a square foot (NIST Handbook 44, appendix C).
POUND_G, YARD_M, _FT2 = 453.59237, 0.9144, 0.3048**2
_GRAMS, _POUNDS = ("g", 1, 0), (("lb", POUND_G, 3), ("lb", POUND_G, 1))
_METRIC = (_GRAMS, ("kg", 1000, 2), ("m", 1, 0), _GRAMS, ("mm", 1, 2), ("mm", 1, 1))
_IMPERIAL = (*_POUNDS, ("yd", YARD_M, 0), ("oz", POUND_G / 16, 2), ("in", 25.4, 4), ("in", 25.4, 2))
_WIDE = (("m²", 1, 2), ("litres", 1, 0), ("kg/m²", 1000, 2))
_WIDE_IMPERIAL = (("ft²", _FT2, 2), ("US gal", 3.785411784, 1), ("lb/ft²", POUND_G / _FT2, 2))
METRIC = Units(*(Unit(*each) for each in (*_METRIC, *_WIDE)))
IMPERIAL = Units(*(Unit(*each) for each in (*_IMPERIAL, *_WIDE_IMPERIAL)))


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
