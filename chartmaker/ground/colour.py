"""Colour as the eye sees it: sRGB, linear light, CIELAB and CIEDE2000, all as functions of arrays."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.floating]

#: Linear sRGB (columns) to XYZ with Y = 1 for white: the matrix as IEC 61966-2-1 prints it.
RGB_TO_XYZ: FloatArray = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
#: XYZ of the white of sRGB, x = 0.3127, y = 0.3290 (D65, 2 degrees), Y = 1.
WHITE_XYZ: FloatArray = np.array([0.3127 / 0.3290, 1.0, (1 - 0.3127 - 0.3290) / 0.3290])

_DELTA = 6 / 29  # CIE 15: where the cube root joins the straight line


def linear_from_srgb(srgb: ArrayLike) -> FloatArray:
    """Return linear light, 0..1, of sRGB values 0..1 (IEC 61966-2-1). Any shape; float32 stays float32."""
    value = np.asarray(srgb)
    if value.dtype not in (np.float32, np.float64):
        value = value.astype(np.float64)
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4).astype(value.dtype)


def srgb_from_linear(linear: ArrayLike) -> FloatArray:
    """Return sRGB 0..1 of linear light 0..1 (IEC 61966-2-1). Any shape."""
    value = np.asarray(linear)
    if value.dtype not in (np.float32, np.float64):
        value = value.astype(np.float64)
    root = np.maximum(value, 0) ** (1 / 2.4)
    return np.where(value <= 0.0031308, value * 12.92, 1.055 * root - 0.055).astype(value.dtype)


#: Values that are worked out once are kept to so many decimals, because the last figures of a power differ between
#: processors, and what is made from them may not.
_KEPT_DECIMALS = 12
#: Linear light of the 256 sRGB byte values.
LINEAR_OF_BYTE: FloatArray = np.round(linear_from_srgb(np.arange(256) / 255), _KEPT_DECIMALS)
#: The linear light from which on the next byte is the nearer one, for each byte; above the last there is none.
_NEXT_BYTE: FloatArray = np.append(np.round(linear_from_srgb((np.arange(255) + 0.5) / 255), _KEPT_DECIMALS), np.inf)
#: Linear light is looked up by so many even steps, of which none holds more than one of these borders.
_STEPS = 1 << 14
_BYTE_OF_STEP: NDArray[np.uint8] = np.searchsorted(_NEXT_BYTE, np.arange(_STEPS + 1) / _STEPS, "right").astype(np.uint8)


def lab_from_xyz(xyz: ArrayLike) -> FloatArray:
    """Return CIELAB (white D65, 2 degrees; CIE 15) of XYZ with Y = 1 for white. Shape (..., 3)."""
    ratio = np.asarray(xyz, dtype=np.float64) / WHITE_XYZ
    f = np.where(ratio > _DELTA**3, np.cbrt(ratio), ratio / (3 * _DELTA**2) + 4 / 29)
    fx, fy, fz = f[..., 0], f[..., 1], f[..., 2]
    return np.stack([116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)], axis=-1)


def xyz_from_lab(lab: ArrayLike, white: ArrayLike = WHITE_XYZ) -> FloatArray:
    """Return XYZ (Y = 1 for white) of CIELAB (CIE 15) under `white`: D65, 2 degrees, unless told. Shape (..., 3)."""
    value = np.asarray(lab, dtype=np.float64)
    fy = (value[..., 0] + 16) / 116
    f = np.stack([fy + value[..., 1] / 500, fy, fy - value[..., 2] / 200], axis=-1)
    return np.asarray(np.where(f > _DELTA, f**3, 3 * _DELTA**2 * (f - 4 / 29)) * np.asarray(white))


def lab_from_linear(linear: ArrayLike) -> FloatArray:
    """Return CIELAB (D65, 2 degrees) of linear sRGB light 0..1. Shape (..., 3)."""
    return lab_from_xyz(np.asarray(linear, dtype=np.float64) @ RGB_TO_XYZ.T)


def lab_from_srgb8(srgb: ArrayLike) -> FloatArray:
    """Return CIELAB (D65, 2 degrees) of 8-bit sRGB, integers 0..255. Shape (..., 3)."""
    return lab_from_linear(LINEAR_OF_BYTE[np.asarray(srgb)])


def srgb8_from_linear(linear: ArrayLike) -> NDArray[np.uint8]:
    """Return the nearest 8-bit sRGB, clipped to the gamut, of linear light. Shape (..., 3)."""
    clipped = np.clip(np.asarray(linear), 0, 1)
    below = _BYTE_OF_STEP[(clipped * _STEPS).astype(np.int32)]  # for the lower end of the step
    return np.asarray(below + (clipped >= _NEXT_BYTE[below]), dtype=np.uint8)


def srgb8_from_lab(lab: ArrayLike) -> NDArray[np.uint8]:
    """Return the nearest 8-bit sRGB of CIELAB (D65, 2 degrees), clipped to the gamut. Shape (..., 3)."""
    linear = xyz_from_lab(lab) @ np.linalg.inv(RGB_TO_XYZ).T
    return srgb8_from_linear(linear)


def ciede2000(lab_1: ArrayLike, lab_2: ArrayLike) -> FloatArray:
    """Return the CIEDE2000 colour difference (CIE 142; ISO/CIE 11664-6) of two broadcastable Lab arrays.

    Parameters
    ----------
    lab_1, lab_2 : array_like, shape (..., 3)

    Returns
    -------
    ndarray, shape of the broadcast without its last axis
    """
    from skimage.color import deltaE_ciede2000

    first, second = np.broadcast_arrays(np.asarray(lab_1, dtype=np.float64), np.asarray(lab_2, dtype=np.float64))
    return np.asarray(deltaE_ciede2000(first, second), dtype=np.float64)


def hex_of(srgb: tuple[int, int, int]) -> str:
    """Return ``#rrggbb``."""
    return "#{:02x}{:02x}{:02x}".format(*srgb)
