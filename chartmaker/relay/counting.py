"""How many knots each part of a design gets in another size, and which sizes near the ordered one come out whole.

A side of a border is ``2 c + k p`` knots long: two ends of c knots, k repeats of p knots. Between its corners every
band of the rug asks for such a length, and all of them hang on one width (or length) of the rug. Where the remainder
is not zero, a knot of plain ground goes between repeats or is left out there, and only where no ground is plain are
repeats a knot longer or shorter. Which of these may give is the order's to say. The counts are settled before anything
is drawn (common practice of designers; Ali Fard, "On the repeat of a border": width and length share a module, or the
border does not fit both ways).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

Way = Literal["exact", "ground", "repeats"]

#: Repeats are made longer or shorter by at most this share.
MOST_GIVEN = 0.04
#: What a demand costs that is met by other ground, and by other repeats, as shares of what may be given.
_COST: dict[Way, float] = {"exact": 0.0, "ground": 1.0, "repeats": 4.0}
#: Odd counts are preferred a little, of knots and of repeats: the middle of a side is one knot then, and the middle of
#: a repeat (common practice in Persia).
_EVEN_COST = 0.05
#: Sizes are looked for down to this share of the one that was ordered, and up to so many times as much.
_SEARCHED = 0.5, 2.0


@dataclass(frozen=True)
class Demand:
    """What one side of a band asks for.

    Attributes
    ----------
    name : str
        Which border it is, and which way, for people.
    taken : int
        Knots of all bands outside it and of its own, on both sides together: what the rug's width exceeds it by.
    end : int
        Knots of each end, before the first repeat and behind the last.
    period : int
        Knots of a repeat.
    plain : int
        Knots of plain ground between repeats, of which one may be left out; with none, none can be put in either.
    weight : float
        How much it matters: the share of its band in all bands.
    drawn : (float, float), optional
        The end and the repeat as they are drawn, which are no whole knots.
    """

    name: str
    taken: int
    end: int
    period: int
    plain: int
    weight: float
    drawn: tuple[float, float] | None = None


@dataclass(frozen=True)
class Count:
    """How a side comes out: `times` repeats, and `spare` knots more (or, below zero, fewer) than those take."""

    times: int
    spare: int
    way: Way


@dataclass(frozen=True)
class Counted:
    """The knots of one direction with how each demand comes out."""

    knots: int
    counts: tuple[Count, ...]


@dataclass(frozen=True)
class Asked:
    """What one direction is asked for: knots, the share by which they may differ, and what may give.

    The knots that were `ordered` are as long as the size that was; they need not be whole.
    """

    ordered: float
    tolerance: float
    ways: tuple[Way, ...] = ("exact", "ground", "repeats")

    @property
    def wanted(self) -> int:
        """The whole knots nearest to the ordered size."""
        return math.floor(self.ordered + 0.5)

    @property
    def tried(self) -> range:
        """The numbers of knots within the tolerance of the ordered size, and at least the nearest one."""
        reach = self.tolerance * self.ordered + 1e-9
        least, most = math.ceil(self.ordered - reach), math.floor(self.ordered + reach)
        return range(min(least, self.wanted), max(most, self.wanted) + 1)


def count_of(length: int, demand: Demand, ways: tuple[Way, ...] = ("exact", "ground", "repeats")) -> Count | None:
    """Return how a side of `length` knots comes out by some `ways`; None if it cannot.

    The spare knots lie as a mirror image on both sides of the middle. An odd number of them needs a place in the very
    middle: a repeat, or the line between two, which becomes a knot of its own then (a shared mirror line).

    Examples
    --------
    >>> side = Demand("foot of border 1", 20, 6, 10, 2, 1.0)
    >>> count_of(112, side)
    Count(times=10, spare=0, way='exact')
    >>> count_of(114, side)
    Count(times=10, spare=2, way='ground')
    """
    between = length - 2 * demand.end
    if between < demand.period:
        return None
    nearest = round(between / demand.period)
    found: list[Count] = []
    for times in range(max(1, nearest - 1), nearest + 2):
        spare = between - times * demand.period
        odd = spare % 2 == 1
        gaps, most = times + 1, int(MOST_GIVEN * times * demand.period)
        if spare == 0:
            found.append(Count(times, 0, "exact"))
        elif demand.plain and abs(spare) <= gaps and not (odd and gaps % 2 == 0) and (spare > 0 or demand.plain > 1):
            found.append(Count(times, spare, "ground"))
        elif abs(spare) <= most:
            found.append(Count(times, spare, "repeats"))
    found = [count for count in found if count.way in ways]
    return min(found, key=lambda count: (_cost(count, demand), abs(count.spare), count.times), default=None)


def _cost(count: Count, demand: Demand) -> float:
    return _COST[count.way] * abs(count.spare) / (count.times * demand.period)


def _only_rounded(length: int, count: Count, demand: Demand) -> bool:
    """Whether a side of `length` knots is as long as it is drawn with so many repeats, but for whole knots."""
    if demand.drawn is None:
        return False
    end, period = demand.drawn
    return abs(length - 2 * end - count.times * period) < 1


def lacking(length: int, demand: Demand) -> tuple[int, int] | None:
    """Return how many repeats come nearest to a side of `length` knots, and the knots that it has beyond them.

    Above zero each repeat would have to be longer, below zero shorter. None if no repeat has room.

    Examples
    --------
    >>> lacking(117, Demand("foot of border 1", 20, 6, 10, 0, 1.0))
    (10, 5)
    """
    between = length - 2 * demand.end
    if between < demand.period / 2:
        return None
    times = max(1, round(between / demand.period))
    return times, between - times * demand.period


def counted(asked: Asked, demands: Sequence[Demand], field: tuple[int, int]) -> Counted | None:
    """Return the knots of one direction nearest to what is wanted at which all demands come out best.

    Parameters
    ----------
    asked : Asked
        The knots of the size that was ordered, and how they may differ.
    demands : sequence of Demand
    field : (int, int)
        Knots that all bands take together, and the parity (0 or 1) of the knots between them: what lies in the middle
        keeps its knots only if the middle stays a knot, or between two.
    """
    return _best(asked, asked.tried, demands, field)


def nearest_counts(asked: Asked, demands: Sequence[Demand], field: tuple[int, int]) -> tuple[Counted, ...]:
    """Return the nearest knots below and above those wanted at which all demands come out, as far as there are any."""
    wanted = asked.wanted
    least, most = (int(share * wanted) for share in _SEARCHED)
    below = (_best(asked, [knots], demands, field) for knots in range(wanted, least, -1))
    above = (_best(asked, [knots], demands, field) for knots in range(wanted + 1, most))
    found = (next((each for each in side if each is not None), None) for side in (below, above))
    return tuple(each for each in found if each is not None)


def _best(asked: Asked, tried: Sequence[int], demands: Sequence[Demand], field: tuple[int, int]) -> Counted | None:
    """Return the best of the knots that are `tried`."""
    bands, parity = field
    wanted = asked.wanted
    best: tuple[float, int, Counted] | None = None
    for knots in tried:
        if knots - bands < 2 or (knots - bands) % 2 != parity:
            continue
        counts = [count_of(knots - demand.taken, demand, asked.ways) for demand in demands]
        if any(count is None for count in counts):
            continue
        met = [count for count in counts if count is not None]
        cost = sum(
            demand.weight * _cost(count, demand)
            for count, demand in zip(met, demands, strict=True)
            if not _only_rounded(knots - demand.taken, count, demand)
        )
        cost = cost / MOST_GIVEN + abs(knots - wanted) / max(0.02 * wanted, 1) + _EVEN_COST * (knots % 2 == 0)
        cost += _EVEN_COST * sum(
            demand.weight * (count.times % 2 == 0) for count, demand in zip(met, demands, strict=True)
        )
        if best is None or (cost, abs(knots - wanted)) < best[:2]:
            best = cost, abs(knots - wanted), Counted(knots, tuple(met))
    return None if best is None else best[2]


def placed(count: Count) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Return how many knots more lie between repeats, `times` + 1 places from end to end, and how many in each repeat.

    Examples
    --------
    >>> placed(Count(4, 3, "repeats"))
    ((0, 0, 1, 0, 0), (0, 1, 1, 0))
    """
    none, no_gap = (0,) * count.times, (0,) * (count.times + 1)
    if count.way == "ground":
        return spread(count.spare, count.times + 1), none
    if count.way == "repeats" and count.spare % 2 and count.times % 2 == 0:
        middle = count.times // 2
        return (*no_gap[:middle], 1, *no_gap[:middle]), spread(count.spare - 1, count.times)
    return no_gap, spread(count.spare, count.times)


def spread(spare: int, places: int) -> tuple[int, ...]:
    """Return how many knots more each of `places` gets, the same from both ends, as evenly as that allows.
    An odd number needs an odd number of places, which have a middle.

    Examples
    --------
    >>> spread(3, 7)
    (0, 1, 0, 1, 0, 1, 0)
    >>> spread(-2, 4)
    (0, -1, -1, 0)
    """
    sign = 1 if spare > 0 else -1
    all_get, rest = divmod(abs(spare), places)
    assert not (rest % 2 and places % 2 == 0), "there is no middle for the odd one"
    half = [all_get] * (places // 2)
    pairs, middle = divmod(rest, 2)
    for number in range(pairs):
        half[(2 * number + 1) * len(half) // (2 * pairs)] += 1
    own = [all_get + middle] if places % 2 else []
    return tuple(sign * each for each in (*half, *own, *reversed(half)))
