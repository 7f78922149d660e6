"""The lines of the grid over a drawing that repeats lie the same in every repeat."""

from __future__ import annotations

import numpy as np

from chartmaker.artwork.placing import greatest_scale_change
from chartmaker.convert.laying.fitting import MOST_SCALE, Line, fitted_edges
from chartmaker.convert.laying.keys import JOINED_KNOTS, STEP_PX, Keys
from chartmaker.convert.repeats.wholes import Side
from chartmaker.ground.colour import FloatArray

#: The outermost cells become narrower by no more than this share.
MOST_NARROWED = 0.25
#: Edges are whole multiples of this, so that mirror images are exact.
_EDGE_STEP_PX = 2.0**-12
_DIGITS, _SLACK = 3, 0.02


def periodic_edges(line: Line, keys: Keys, side: Side, shift: float = 0.0) -> FloatArray:
    """Return edges that lie the same in every repeat, on the keys that repeat as well.

    The middle of the drawing stays in the middle of the grid, so that as much is over or missing at one end as at the
    other, but for a `shift` by a part of a knot. The edges are the same from whichever end the line is seen.
    """
    period_px = float(side.period_px)
    forth = _tiled(line, keys, side, shift)
    back = _turned(line, _tiled(line, _turned_keys(line, keys), side, -shift))
    if np.array_equal(forth, back):
        return forth
    missed = [_missed(edges, keys, period_px / side.knots) for edges in (forth, back)]
    if missed[0] == missed[1]:
        return np.asarray(np.round((forth + back) / 2 / _EDGE_STEP_PX) * _EDGE_STEP_PX)
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


def _tiled(line: Line, keys: Keys, side: Side, shift: float) -> FloatArray:
    """Return the edges of one repeat, laid on the keys that all repeats have, over the whole line."""
    period = float(side.period_px)
    knot = period / side.knots
    middle = (line.first + line.end) / 2
    origin = middle + ((line.knots % 2) / 2 + shift) * knot
    one = Line(origin, origin + period, side.knots)
    own = fitted_edges(one, _folded(keys, one))
    if greatest_scale_change(own) > MOST_SCALE:
        own = one.even_edges
    number = np.arange(line.knots + 1) - (line.knots + 1) // 2  # counted from the line at the origin
    times, place = np.divmod(number, side.knots)
    edges = times * period + own[place]
    return _within(line, np.asarray(np.round(edges / _EDGE_STEP_PX) * _EDGE_STEP_PX), knot)


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


def _within(line: Line, edges: FloatArray, knot: float) -> FloatArray:
    """Return edges of which none lies beyond the line: where some did, a few cells become narrower."""
    result = edges.copy()
    for own, end in ((result, line.first), (result[::-1], line.end)):
        over = abs(own[0] - end)
        if over <= _SLACK * knot:
            own[0] = end
        elif not line.first < own[0] < line.end:
            cells = int(np.ceil(round(over / (MOST_NARROWED * knot), _DIGITS)))
            inner = own[cells]
            own[: cells + 1] = inner + (end - inner) * np.arange(cells, -1, -1) / cells
    return np.asarray(np.round(result / _EDGE_STEP_PX) * _EDGE_STEP_PX)
