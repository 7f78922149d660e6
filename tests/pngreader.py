"""PNG files as a decoder of another make (pypng) reads them, their colours followed to sRGB by colour-science."""

from __future__ import annotations

import colour as colour_science
import numpy as np
import png
from numpy.typing import NDArray


def stored(data: bytes) -> tuple[NDArray[np.float64], NDArray[np.uint8], float | None]:
    """Return (RGB 0..1 as stored, alpha as bytes, gamma or None) of the PNG `data`."""
    reader = png.Reader(bytes=data)
    width, height, rows, info = reader.read()
    depth, planes = info["bitdepth"], info["planes"]
    samples = np.array([list(row) for row in rows], dtype=np.int64).reshape(height, width, planes)
    most = 2**depth - 1
    if reader.colormap:
        entries = np.array([(*entry, 255)[:4] for entry in info["palette"]])[samples[..., 0]]
        return entries[..., :3] / 255, entries[..., 3].astype(np.uint8), info.get("gamma")
    alpha = np.full((height, width), 255, dtype=np.uint8)
    if info["alpha"]:
        alpha = np.floor(samples[..., -1] / most * 255 + 0.5).astype(np.uint8)
        samples = samples[..., :-1]
    elif reader.transparent is not None:
        alpha[(samples == np.array(reader.transparent)).all(axis=-1)] = 0
    return np.broadcast_to(samples / most, (height, width, 3)), alpha, info.get("gamma")


def srgb8_of(values: NDArray[np.float64], gamma: float | None) -> NDArray[np.uint8]:
    """Return sRGB bytes: light is the value to the power of 1 / gamma (PNG, third edition, 4.3 and 13.13)."""
    if gamma is not None:
        values = colour_science.models.eotf_inverse_sRGB(values ** (1 / gamma))
    return np.floor(values * 255 + 0.5).astype(np.uint8)
