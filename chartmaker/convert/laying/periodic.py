"""The lines of the grid over a drawing that repeats lie the same in every repeat."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.placing import greatest_scale_change
from chartmaker.convert.laying.fitting import MOST_SCALE, Line, fitted_edges
from chartmaker.convert.laying.keys import JOINED_KNOTS, STEP_PX, Keys
from chartmaker.convert.repeats.wholes import LEAST_KNOTS, Side
from chartmaker.ground.colour import FloatArray

#: The outermost cells become narrower or wider by no more than this share.
MOST_NARROWED = 0.5
#: Edges are whole multiples of this, so that mirror images are exact.
EDGE_STEP_PX = 2.0**-12
_DIGITS, _SLACK = 3, 0.02


@dataclass(frozen=True)
class Anchor:
    """What holds the repeats of a drawing on the lines of the grid.

    If the drawing has an `axis`, in pixels, that lies on a line, or in the middle of a knot `astride` of it. Otherwise
    the middle of the drawing stays in the middle of the grid, but for a `shift` by a part of a knot.
    """

    shift: float = 0.0
    axis: float | None = None
    astride: bool = False

    def turned(self, line: Line) -> Anchor:
        """Return the anchor as it is seen from the other end of a line."""
        return Anchor(-self.shift, None if self.axis is None else line.first + line.end - self.axis, self.astride)

    def origin(self, line: Line, side: Side) -> tuple[float, int] | None:
        """Return where in pixels a line of the grid lies, and its number, or None if two numbers are as good."""
        knot, middle = float(side.period_px) / side.knots, (line.first + line.end) / 2
        if self.axis is None:
            return middle + ((line.knots % 2) / 2 + self.shift) * knot, (line.knots + 1) // 2
        away = (self.axis - middle) / knot
        part = (line.knots + self.astride) % 2 / 2
        if part and not away:
            return None
        nearest = float(np.copysign(max(np.ceil(round(abs(away), _DIGITS) - part - 0.5), 0) + part, away))
        return self.axis + self.astride / 2 * knot, round(nearest + (line.knots + self.astride) / 2)


def periodic_edges(line: Line, keys: Keys, side: Side, anchor: Anchor, *, mirror: bool) -> FloatArray | None:
    """Return edges that lie the same in every repeat, on the keys that repeat as well, where the anchor holds them.

    The edges are the same from whichever end the line is seen. If the drawing has a `mirror` image of itself, they
    mirror too. There are none if the anchor does not tell where they lie.
    """
    period_px = float(side.period_px)
    forth = _tiled(line, keys, side, anchor, mirror)
    turned = _tiled(line, _turned_keys(line, keys), side, anchor.turned(line), mirror)
    if forth is None or turned is None:
        return None
    back = _turned(line, turned)
    if np.array_equal(forth, back):
        return forth
    missed = [_missed(edges, keys, period_px / side.knots) for edges in (forth, back)]
    if missed[0] == missed[1]:
        return np.asarray(np.round((forth + back) / 2 / EDGE_STEP_PX) * EDGE_STEP_PX)
    return forth if missed[0] < missed[1] else back


def _missed(edges: FloatArray, keys: Keys, knot: float) -> float:
    """Return how far, in knots, edges lie from the keys on average, to a digit that does not hang on rounding."""
    if not len(keys):
        return 0.0
    after = np.clip(np.searchsorted(edges, keys.place), 1, len(edges) - 1)
    away = np.minimum(np.abs(keys.place - edges[after - 1]), np.abs(edges[after] - keys.place))
    return round(float((away * keys.weight).sum() / (keys.weight.sum() * knot)), _DIGITS)


def _turned(line: Line, edges: FloatArray) -> FloatArray:
    return np.asarray(line.first + line.end - edges[::-1])


def _turned_keys(line: Line, keys: Keys) -> Keys:
    return Keys(line.first + line.end - keys.place[::-1], keys.weight[::-1], keys.along[::-1])


def _tiled(line: Line, keys: Keys, side: Side, anchor: Anchor, mirror: bool) -> FloatArray | None:
    """Return the edges of one repeat, laid on the keys that all repeats have, over the whole line."""
    side = _finest(keys, side)
    period = float(side.period_px)
    knot = period / side.knots
    found = anchor.origin(line, side)
    if found is None:
        return None
    origin, first = found
    if anchor.astride and side.knots % 2:  # the next axis lies on a line
        origin, first = origin - knot / 2 + period / 2, first + (side.knots - 1) // 2
    one = Line(origin, origin + period, side.knots)
    own = fitted_edges(one, _folded(keys, one), closed=True, mirror=mirror)
    if greatest_scale_change(own) > MOST_SCALE:
        own = one.even_edges
    number = np.arange(line.knots + 1) - first
    edges = _repeated(own, period, number)
    if (
        mirror and anchor.astride and side.knots % 2 == 0
    ):  # no axis lies on a line, so that the repeat was not laid as its image
        edges = (edges + 2 * origin - knot - _repeated(own, period, -1 - number)) / 2
    return ended(line, np.asarray(np.round(edges / EDGE_STEP_PX) * EDGE_STEP_PX), knot, cut=True)


def _finest(keys: Keys, side: Side) -> Side:
    """Return the shortest part of a repeat, in whole knots, after which all keys recur though other inks may lie there.

    Crosses of five colours, say, have edges at every fifth of their repeat.
    """
    many = len(_folded(keys, _one(side)))
    for times in range(side.knots // LEAST_KNOTS, 1, -1):
        if many and side.knots % times == 0 and many % times == 0:
            part = Side(side.knots // times, side.period_px / times)
            if len(_folded(keys, _one(part))) * times == many:
                return part
    return side


def _one(side: Side) -> Line:
    return Line(0.0, float(side.period_px), side.knots)


def _repeated(own: FloatArray, period: float, number: NDArray[np.intp]) -> FloatArray:
    """Return the edges with some numbers, counted from the first edge of the repeat that has its `own` edges."""
    times, place = np.divmod(number, len(own) - 1)
    return np.asarray(times * period + own[place])


def _folded(keys: Keys, one: Line) -> Keys:
    """Return the keys of all repeats as keys of one of them, lighter where not all have them."""
    if not len(keys):
        return keys
    period = one.end - one.first
    times = max(1.0, float(np.ptp(keys.place)) / period)
    phase = np.round((keys.place - one.first) % period / STEP_PX) * STEP_PX
    order = np.argsort(phase, kind="stable")
    places, weights, along = list[float](), list[float](), list[np.ndarray]()
    first = 0
    while first < len(order):
        end = first + 1
        while end < len(order) and phase[order[end]] - phase[order[first]] <= JOINED_KNOTS * one.knot_px:
            end += 1
        group = order[first:end]
        weight = keys.weight[group]
        mean = float((phase[group] * weight).sum() / weight.sum())
        places.append(one.first + round(mean / STEP_PX) * STEP_PX)
        weights.append(min(1.0, float(weight.sum()) / times))
        along.append(np.asarray(keys.along[group].any(axis=0)))
        first = end
    return Keys(np.array(places), np.array(weights), np.array(along).reshape(len(places), -1))


def ended(line: Line, edges: FloatArray, knot: float, *, cut: bool) -> FloatArray:
    """Return edges of which none lies beyond the line: where some did, a few cells become narrower.

    Where they end before it, what lies beyond them is `cut` off, or else a few cells become wider.
    """
    result = edges.copy()
    for own, end in ((result, line.first), (result[::-1], line.end)):
        over = abs(own[0] - end)
        if over <= _SLACK * knot:
            own[0] = end
        elif not (cut and line.first < own[0] < line.end):
            cells = min(int(np.ceil(round(over / (MOST_NARROWED * knot), _DIGITS))), len(own) - 1)
            inner = own[cells]
            own[: cells + 1] = inner + (end - inner) * np.arange(cells, -1, -1) / cells
    return np.asarray(np.round(result / EDGE_STEP_PX) * EDGE_STEP_PX)
