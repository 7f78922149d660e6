"""CIEDE2000 of very many pairs, without an angle where a direction will do."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.colour import FloatArray

_POW25_7 = 25.0**7
#: Where two hues are this nearly opposite, rounding decides on which side their mean lies.
OPPOSITE = 1e-6


def quick_de00(lab_1: NDArray[Any], lab_2: NDArray[Any]) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Return CIEDE2000 of broadcastable Lab arrays, and which pairs rounding may have got wrong.

    The result equals that of `colour.ciede2000` but for rounding (1e-9 in 64 bits, 1e-3 in 32 bits), except where the
    hues are opposite: there the formula jumps, and the flag is set. The mean hue is the direction of the sum of the
    hues' unit vectors, which is what the formula's three cases amount to (Sharma, Wu, Dalal 2005, equation 14).

    Parameters
    ----------
    lab_1, lab_2 : ndarray of float32 or float64, shape (..., 3)
    """
    l_1, a_1, b_1 = lab_1[..., 0], lab_1[..., 1], lab_1[..., 2]
    l_2, a_2, b_2 = lab_2[..., 0], lab_2[..., 1], lab_2[..., 2]
    mean = (np.sqrt(a_1 * a_1 + b_1 * b_1) + np.sqrt(a_2 * a_2 + b_2 * b_2)) * 0.5
    grow = 1.5 - 0.5 * _chroma_root(mean)
    a_1, a_2 = a_1 * grow, a_2 * grow
    c_1, c_2 = np.sqrt(a_1 * a_1 + b_1 * b_1), np.sqrt(a_2 * a_2 + b_2 * b_2)
    tiny = np.finfo(c_1.dtype).tiny
    one, two = 1 / np.maximum(c_1, tiny), 1 / np.maximum(c_2, tiny)
    x, y = a_1 * one + a_2 * two, b_1 * one + b_2 * two
    length = np.sqrt(x * x + y * y)
    opposite = (length < OPPOSITE) & (c_1 > 0) & (c_2 > 0)
    scale = 1 / np.maximum(length, tiny)
    x, y = x * scale, y * scale
    x = np.where(length > 0, x, 1)
    chroma = (c_1 + c_2) * 0.5
    lightness = (l_1 + l_2) * 0.5 - 50
    lightness *= lightness
    d_l = (l_2 - l_1) / (1 + 0.015 * lightness / np.sqrt(20 + lightness))
    d_c = (c_2 - c_1) / (1 + 0.045 * chroma)
    d_h = _hue_difference(a_1 * a_2 + b_1 * b_2, a_1 * b_2 - a_2 * b_1, c_1 * c_2)
    d_h /= 1 + 0.015 * chroma * _hue_weight(x, y)
    squares = d_l * d_l + d_c * d_c + d_h * d_h + _rotation(x, y, chroma) * d_c * d_h
    return np.sqrt(np.maximum(squares, 0)), opposite


def _chroma_root(chroma: FloatArray) -> FloatArray:
    """Return sqrt(C^7 / (C^7 + 25^7))."""
    seventh = chroma * chroma * chroma
    seventh = seventh * seventh * chroma
    return np.asarray(np.sqrt(seventh / (seventh + _POW25_7)))


def _hue_difference(dot: FloatArray, cross: FloatArray, product: FloatArray) -> FloatArray:
    """Return 2 sqrt(C1 C2) sin(dh / 2), from the dot and cross product of the two a-b vectors.

    Hues less than a right angle apart take the cross product over a cosine, others a sine, so that no digits are lost.
    """
    near = cross / np.sqrt(np.maximum((product + dot) / 2, np.finfo(dot.dtype).tiny))
    far = np.copysign(np.sqrt(np.maximum((product - dot) * 2, 0)), cross)
    return np.asarray(np.where(dot > 0, near, far))


def _hue_weight(x: FloatArray, y: FloatArray) -> FloatArray:
    """Return T of the formula for the mean hue in direction (x, y), by the addition theorems."""
    x_2, y_2 = x * x - y * y, 2 * x * y
    x_3, y_3 = x_2 * x - y_2 * y, y_2 * x + x_2 * y
    x_4, y_4 = x_2 * x_2 - y_2 * y_2, 2 * x_2 * y_2
    c, s = np.cos(np.deg2rad([30, 6, 63])).tolist(), np.sin(np.deg2rad([30, 6, 63])).tolist()
    first = -0.17 * (x * c[0] + y * s[0]) + 0.24 * x_2
    return np.asarray(1 + first + 0.32 * (x_3 * c[1] - y_3 * s[1]) - 0.20 * (x_4 * c[2] + y_4 * s[2]))


def _rotation(x: FloatArray, y: FloatArray, chroma: FloatArray) -> FloatArray:
    """Return R_T of the formula."""
    angle = np.arctan2(y, x)
    angle = np.where(angle < 0, angle + 2 * np.pi, angle)
    off = (angle - np.deg2rad(275)) / np.deg2rad(25)
    return np.asarray(-2 * _chroma_root(chroma) * np.sin(np.deg2rad(60) * np.exp(-off * off)))
