"""One yarn: its code, name, colour, with what the workshop knows of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.units import YarnCount


@dataclass(frozen=True)
class Yarn:
    """A dyed yarn.

    `srgb` is 0..255; `lab` is CIELAB under D65, 2 degrees. What the card left out is None.
    """

    code: str
    name: str
    srgb: tuple[int, int, int]
    lab: tuple[float, float, float]
    fibre: str | None = None
    count: YarnCount | None = None
    stock_g: float | None = None
    price_per_kg: float | None = None


def lab_of(yarns: tuple[Yarn, ...]) -> NDArray[np.float64]:
    """Return the yarns' CIELAB, shape (yarns, 3)."""
    return np.array([yarn.lab for yarn in yarns], dtype=np.float64).reshape(-1, 3)


def srgb_of(yarns: tuple[Yarn, ...]) -> NDArray[np.uint8]:
    """Return the yarns' sRGB bytes, shape (yarns, 3)."""
    return np.array([yarn.srgb for yarn in yarns], dtype=np.uint8).reshape(-1, 3)
