"""Bounds on CIEDE2000 from a box of Lab colours to one colour."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from chartmaker.ground.colour import FloatArray

_POW25_7 = 25.0**7
#: The bounds are widened by this much. The formula measures the mean hue from 0 to 360 degrees, while the bounds take
#: the short way round. The two differ only where the hue is over 85 degrees from 275. There R_T is below 2e-5, which
#: moves CIEDE2000 by at most 5e-6 of itself, or 6e-4. Rounding errors are far smaller than that.
SLACK = 1e-3


class Interval(NamedTuple):
    """All values from `low` to `high`, two arrays of the same shape."""

    low: FloatArray
    high: FloatArray


def de00_bounds(low: FloatArray, high: FloatArray, yarn: FloatArray) -> Interval:
    """Return bounds on CIEDE2000 between any colour of a box and a yarn.

    Each step of the formula (CIE 142, with the equations in the order of Sharma, Wu, Dalal 2005) is done on intervals.
    Where a step rises or falls throughout, the ends of the interval give the bounds; elsewhere a bound of its slope
    does. The bounds hold for every colour in the box, and the smaller the box, the tighter they are.

    Parameters
    ----------
    low, high : ndarray, broadcastable to (..., 3)
        Lower and upper corner of the box, CIELAB.
    yarn : ndarray, broadcastable to (..., 3)
    """
    low, high, yarn = np.broadcast_arrays(low, high, yarn)
    a, b = Interval(low[..., 1], high[..., 1]), Interval(low[..., 2], high[..., 2])
    a_y, b_y = yarn[..., 1], yarn[..., 2]
    first = _length(a, b)
    own = np.hypot(a_y, b_y)
    mean = Interval((first.low + own) / 2, (first.high + own) / 2)
    grow = Interval(1.5 - 0.5 * _root(mean.high), 1.5 - 0.5 * _root(mean.low))
    a, a_yarn = _times(a, grow), _times(Interval(a_y, a_y), grow)
    chroma, chroma_yarn = _length(a, b), _length(a_yarn, Interval(b_y, b_y))
    total = Interval((chroma.low + chroma_yarn.low) / 2, (chroma.high + chroma_yarn.high) / 2)
    hue, turn = _hues(a, b, chroma), _hues(a_yarn, Interval(b_y, b_y), chroma_yarn)
    weight, rotation = _hue_terms(hue, turn, total)
    d_l = _lightness(low[..., 0], high[..., 0], yarn[..., 0])
    d_c = _over(_minus(chroma_yarn, chroma), Interval(1 + 0.045 * total.low, 1 + 0.045 * total.high))
    s_h = _times(Interval(0.015 * total.low, 0.015 * total.high), weight)
    d_h = _over(_hue_difference(hue, turn, chroma, chroma_yarn), Interval(1 + s_h.low, 1 + s_h.high))
    return _combined(d_l, d_c, d_h, rotation)


def _root(chroma: FloatArray) -> FloatArray:
    seventh = chroma**7
    return np.asarray(np.sqrt(seventh / (seventh + _POW25_7)))


def _times(x: Interval, y: Interval) -> Interval:
    corners = (x.low * y.low, x.low * y.high, x.high * y.low, x.high * y.high)
    low = np.minimum(np.minimum(corners[0], corners[1]), np.minimum(corners[2], corners[3]))
    high = np.maximum(np.maximum(corners[0], corners[1]), np.maximum(corners[2], corners[3]))
    return Interval(low, high)


def _minus(x: Interval, y: Interval) -> Interval:
    return Interval(x.low - y.high, x.high - y.low)


def _over(x: Interval, positive: Interval) -> Interval:
    return _times(x, Interval(1 / positive.high, 1 / positive.low))


def _square(x: Interval) -> Interval:
    low = np.maximum(np.maximum(x.low, -x.high), 0)
    return Interval(low**2, np.maximum(x.low**2, x.high**2))


def _length(x: Interval, y: Interval) -> Interval:
    p, q = _square(x), _square(y)
    return Interval(np.sqrt(p.low + q.low), np.sqrt(p.high + q.high))


class _Hues(NamedTuple):
    """Hue angles in radians, `middle` give or take `half`, which is half a turn where every hue occurs."""

    middle: FloatArray
    half: FloatArray


def _hues(a: Interval, b: Interval, chroma: Interval) -> _Hues:
    """Return the hues in a rectangle of the a-b plane, of which a corner's is the furthest from the centre's."""
    middle = np.arctan2((b.low + b.high) / 2, (a.low + a.high) / 2)
    half = np.zeros(middle.shape)
    for x in a:
        for y in b:
            half = np.maximum(half, np.abs(_wrapped(np.arctan2(y, x) - middle)))
    return _Hues(middle, np.where(chroma.low > 0, half + 1e-9, np.pi))


def _wrapped(angle: FloatArray) -> FloatArray:
    """Return the angle, in radians, brought into the range from -pi to pi."""
    return np.asarray(angle - 2 * np.pi * np.round(angle / (2 * np.pi)))


def _hue_terms(hue: _Hues, turn: _Hues, chroma: Interval) -> tuple[Interval, Interval]:
    """Return bounds of the formula's T and R_T."""
    apart = _wrapped(turn.middle - hue.middle)
    half = (hue.half + turn.half) / 2
    known = np.abs(apart) + 2 * half < np.pi  # otherwise the mean hue may be on either side
    mean = hue.middle + apart / 2
    t = 1 - 0.17 * np.cos(mean - np.pi / 6) + 0.24 * np.cos(2 * mean)
    t = t + 0.32 * np.cos(3 * mean + np.pi / 30) - 0.20 * np.cos(4 * mean - np.deg2rad(63))
    # |T'| <= 0.17 + 2 * 0.24 + 3 * 0.32 + 4 * 0.20 = 2.41, and 0.07 <= T <= 1.93 throughout
    spread = np.where(known, 2.41 * half, np.inf)
    weight = Interval(np.maximum(t - spread, 0.07), np.minimum(t + spread, 1.93))
    off = np.abs(_wrapped(mean - np.deg2rad(275)))
    near = np.where(known, np.maximum(off - half, 0), 0)
    far = np.where(known, np.minimum(off + half, np.pi), np.pi)
    strong = 2 * _root(chroma.high) * np.sin(np.deg2rad(60) * np.exp(-((near / np.deg2rad(25)) ** 2)))
    weak = 2 * _root(chroma.low) * np.sin(np.deg2rad(60) * np.exp(-((far / np.deg2rad(25)) ** 2)))
    return weight, Interval(-strong, -weak)


def _lightness(low: FloatArray, high: FloatArray, yarn: FloatArray) -> Interval:
    off = _square(Interval((low + yarn) / 2 - 50, (high + yarn) / 2 - 50))
    weight = Interval(*(1 + 0.015 * q / np.sqrt(20 + q) for q in off))
    return _over(Interval(yarn - high, yarn - low), weight)


def _hue_difference(hue: _Hues, turn: _Hues, chroma: Interval, chroma_yarn: Interval) -> Interval:
    """Return bounds of the formula's Delta H', 2 sqrt(C1 C2) sin(dh / 2)."""
    apart, half = _wrapped(turn.middle - hue.middle), hue.half + turn.half
    across = np.abs(apart) + half >= np.pi  # then it may be of either sign
    low, high = np.sin(np.maximum(apart - half, -np.pi) / 2), np.sin(np.minimum(apart + half, np.pi) / 2)
    sine = Interval(np.where(across, -1.0, low), np.where(across, 1.0, high))
    root = Interval(2 * np.sqrt(chroma.low * chroma_yarn.low), 2 * np.sqrt(chroma.high * chroma_yarn.high))
    return _times(sine, root)


def _combined(d_l: Interval, d_c: Interval, d_h: Interval, rotation: Interval) -> Interval:
    squares = [_square(d) for d in (d_l, d_c, d_h)]
    cross = _times(rotation, _times(d_c, d_h))
    pair_low = squares[1].low + squares[2].low
    # c^2 + h^2 + R c h >= (1 - |R| / 2) (c^2 + h^2), as 2 |c h| <= c^2 + h^2
    low = squares[0].low + np.maximum(pair_low + cross.low, (1 + rotation.low / 2) * pair_low)
    high = squares[0].high + squares[1].high + squares[2].high + cross.high
    return Interval(np.sqrt(np.maximum(low, 0)) - SLACK, np.sqrt(np.maximum(high, 0)) + SLACK)
