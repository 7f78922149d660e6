"""Rugs for the sheets' tests, made of arrays."""

from __future__ import annotations

from fractions import Fraction

import numpy as np

from chartmaker.ground.colour import lab_from_srgb8
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Chart, Workshop
from chartmaker.yarns.yarn import Yarn
from support.making import SettledMap


def card(colours: np.ndarray) -> tuple[Yarn, ...]:
    """Return a yarn for each colour, shape (yarns, 3), 0..255."""
    labs = lab_from_srgb8(colours)
    return tuple(
        Yarn(f"C{i + 1}", f"Colour number {i + 1}", tuple(map(int, rgb)), tuple(map(float, lab)))  # type: ignore[arg-type]
        for i, (rgb, lab) in enumerate(zip(colours, labs, strict=True))
    )


def rug_of(
    knots: np.ndarray, colours: np.ndarray, name: str = "Trial", density: tuple[int, int] | None = None, **chart: object
) -> SettledMap:
    """Return a map of `knots`, on a rug just as large as they need at `density` per dm."""
    rows, columns = knots.shape
    across, along = density or (min(40, 2 * columns), min(40, 2 * rows))
    rug = Rug(
        name=name,
        width_mm=Fraction(columns * 100, across),
        length_mm=Fraction(rows * 100, along),
        density=f"{across}x{along} per dm",
    )
    return SettledMap(knots.astype(np.uint16), card(colours), rug, Workshop(chart=Chart.model_validate(chart)))
