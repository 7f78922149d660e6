"""A figure that is known only as a range, with a most likely value."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Range:
    """A figure that may lie between `low` and `high`, most likely at `best`."""

    low: float
    best: float
    high: float

    @classmethod
    def exact(cls, value: float) -> Range:
        return cls(value, value, value)

    @classmethod
    def around(cls, best: float, spread: float) -> Range:
        """Return the range that reaches to either side of `best` by the share `spread` of it."""
        return cls(best * (1 - spread), best, best * (1 + spread))

    def times(self, factor: float) -> Range:
        return Range(self.low * factor, self.best * factor, self.high * factor)

    def up(self, decimals: int = 0) -> Range:
        """Return the range rounded up to `decimals`, for things of which a part counts as a whole."""
        unit = 10**decimals
        return Range(*(math.ceil(value * unit - 1e-9) / unit for value in (self.low, self.best, self.high)))

    def plus(self, shift: float) -> Range:
        return Range(self.low + shift, self.best + shift, self.high + shift)


def total(ranges: Iterable[Range]) -> Range:
    """Return the sum, adding low to low and high to high, because one cause moves all of them the same way."""
    every = tuple(ranges)
    return Range(sum(r.low for r in every), sum(r.best for r in every), sum(r.high for r in every))
