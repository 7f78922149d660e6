"""What [layout] says: the kinds of corners, other densities; a part keeps its millimetres (common practice)."""

from __future__ import annotations

import numpy as np
import pytest
from support.framed import fixed

from chartmaker.artwork.artwork import Artwork
from chartmaker.order.design import Design
from chartmaker.order.layout import Layouting
from chartmaker.order.rug import Rug
from chartmaker.relay.relaid import Relaid, relaid


def laid(picture: np.ndarray, grown: float, density: str = "20x20 per dm", **more: object) -> Relaid:
    high, wide = (each / 6 * 5 for each in picture.shape[:2])
    sides = {"width": f"{wide * grown:.3f} mm", "length": f"{high * grown:.3f} mm"}
    layout = Layouting.model_validate({"drawn": f"{wide:.3f} x {high:.3f} mm", "tolerance": 0.1, **more})
    return relaid(Artwork(picture), Rug.model_validate({"density": density, **sides}), Design(), layout)


@pytest.mark.parametrize(("corner", "marked"), [("as drawn", 1), ("turned", 4), ("blocks", 1)])
def test_corners_are_taken_as_is_said(corner: str, marked: int) -> None:
    """A mark in the corner at the foot on the left alone: turned, it is in all four; as blocks, repeats begin at it."""
    picture = fixed("medallion").artwork.srgb.copy()
    picture[-24:-12, 12:24] = (204, 150, 60)
    anew = laid(picture, 1.3, corner=corner)
    px = 8
    placed = anew.placed.artwork.srgb
    ends_of = np.s_[: 6 * px], np.s_[-6 * px :]
    corners = [placed[rows, columns] for rows in ends_of for columns in ends_of]
    assert sum(bool((each == (204, 150, 60)).all(axis=-1).any()) for each in corners) == marked
    ends = {side.end for band in anew.plan.bands for side in band.sides.values() if side.count is not None}
    assert ends == ({0} if corner == "blocks" else {2})


@pytest.mark.parametrize("density", ["32x32 per dm", "24x36 per dm"])
def test_another_density_keeps_the_millimetres(density: str) -> None:
    anew = laid(fixed("medallion").artwork.srgb, 1.3, density)
    rug = anew.rug.density
    width = sum(band.widths["left"] for band in anew.plan.bands) * float(rug.knot_width_mm)
    depth = sum(band.widths["top"] for band in anew.plan.bands) * float(rug.knot_height_mm)
    assert abs(width - 45) <= 1.5 * float(rug.knot_width_mm) and abs(depth - 45) <= 1.5 * float(rug.knot_height_mm)
    for band in anew.plan.bands:
        for side, knot_mm in (("bottom", rug.knot_width_mm), ("left", rug.knot_height_mm)):
            own = band.sides[side]  # type: ignore[index]
            assert own.count is None or abs(own.period * float(knot_mm) - 50) <= float(knot_mm) / 2
