"""The rug's width divided into strips, one for each weaver or chart sheet column."""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import pairwise

from chartmaker.ground.errors import RugError
from chartmaker.ground.language import say, say_n
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Workshop

#: The width that a weaver needs to sit and tie (common practice).
WEAVER_WIDTH_MM = Fraction(900)
_KEY = "[chart] strips"


def weavers_of(rug: Rug, workshop: Workshop) -> int:
    """Return how many weavers sit side by side: as set, or one for every 90 cm, rounded to the nearest."""
    if workshop.loom.weavers is not None:
        return workshop.loom.weavers
    return max(1, math.floor(rug.woven_width_mm / WEAVER_WIDTH_MM + Fraction(1, 2)))


def strips_of(rug: Rug, workshop: Workshop) -> tuple[range, ...]:
    """Return the columns of each strip, from the left; together they cover every column exactly once.

    `[chart] strips` may be a number of strips, or the column numbers (counted from 1) that each further
    strip begins at. The default is one strip for each weaver. A middle column lies in the half that is read first.

    Raises
    ------
    RugError
        If there are more strips than columns, or the given column numbers do not rise within the rug.
    """
    wish = workshop.chart.strips
    if isinstance(wish, tuple):
        starts = [1, *(column for column in wish if column != 1)]
        if any(b <= a for a, b in pairwise(starts)) or starts[-1] > rug.columns:
            message = "the first columns {columns} must rise, and lie within 1 to {most}"
            raise RugError(say(message, columns=list(wish), most=rug.columns), where=_KEY)
        edges = [start - 1 for start in starts] + [rug.columns]
    else:
        count = wish if wish is not None else weavers_of(rug, workshop)
        if count > rug.columns:
            one, many = "{n} strip does not fit {columns} columns", "{n} strips do not fit {columns} columns"
            raise RugError(say_n(one, many, count, columns=rug.columns), where=_KEY)
        # rounded up from the side where reading begins: the half of a mirrored rug is then told in whole strips
        edges = [math.floor(Fraction(index * rug.columns, count) + Fraction(1, 2)) for index in range(count + 1)]
        if workshop.chart.reading == "right to left":
            edges = [rug.columns - edge for edge in reversed(edges)]
    return tuple(range(a, b) for a, b in pairwise(edges))


def seats_of(rug: Rug, workshop: Workshop) -> tuple[range, ...]:
    """Return the columns of each weaver, from the left; together they cover every column exactly once.

    A weaver ties whole strips where there are enough of them: as many as the next, the extra ones at the right. Where
    there are fewer strips than weavers, the columns are shared out evenly.
    """
    weavers, strips = min(weavers_of(rug, workshop), rug.columns), strips_of(rug, workshop)
    if len(strips) < weavers:
        edges = [round(Fraction(index * rug.columns, weavers)) for index in range(weavers + 1)]
        return tuple(range(a, b) for a, b in pairwise(edges))
    first = [index * len(strips) // weavers for index in range(weavers + 1)]
    return tuple(range(strips[a].start, strips[b - 1].stop) for a, b in pairwise(first))


def seats_on(seats: tuple[range, ...], columns: range) -> list[int]:
    """Return which weavers, counted from 0, tie any of `columns`."""
    return [number for number, seat in enumerate(seats) if seat.start < columns.stop and columns.start < seat.stop]
