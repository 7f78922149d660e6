"""The kinds of corners and the densities that [layout] gives are followed, and parts keep their millimetres."""

from __future__ import annotations

import numpy as np
import pytest
from support.framed import COLOURS, KNOT_PX, fixed
from support.making import make_yarn

from chartmaker.artwork.artwork import Artwork
from chartmaker.convert.conversion import convert
from chartmaker.ground.errors import ArtworkError
from chartmaker.order.design import Design, YarnChoice
from chartmaker.order.layout import Layouting
from chartmaker.order.rug import Rug
from chartmaker.relay.relaid import Relaid, relaid

CARD = tuple(make_yarn(number, (int(r), int(g), int(b))) for number, (r, g, b) in enumerate(COLOURS))


def laid(
    picture: np.ndarray, grown: float, density: str = "20x20 per dm", length: float | None = None, **more: object
) -> Relaid:
    """Return a design laid for a rug `grown` times as wide as drawn, and as long by the same or its own factor."""
    high, wide = (each / 6 * 5 for each in picture.shape[:2])
    sides = {"width": f"{wide * grown:.3f} mm", "length": f"{high * (grown if length is None else length):.3f} mm"}
    layout = Layouting.model_validate({"drawn": f"{wide:.3f} x {high:.3f} mm", "tolerance": 0.1, **more})
    return relaid(Artwork(picture), Rug.model_validate({"density": density, **sides}), Design(), layout)


@pytest.mark.parametrize(("corner", "marked"), [("as drawn", 1), ("turned", 4), ("blocks", 1)])
def test_corners_are_made_as_the_rug_file_says(corner: str, marked: int) -> None:
    """A mark in the lower left corner comes to all four if corners are turned; with blocks, repeats begin there."""
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


@pytest.mark.parametrize("density", ["32x32 per dm", "24x36 per dm"])
def test_kept_parts_are_the_same_in_two_sizes_of_another_density(density: str) -> None:
    """At the other density parts are converted again; corner and medallion are then the same in both sizes."""
    drawn = fixed("medallion")
    made = []
    for grown in (1.0, 1.33):
        anew = laid(drawn.artwork.srgb, grown, density)
        knot_map = convert(
            anew.placed.artwork, anew.rug, CARD, Design().model_copy(update=anew.design), YarnChoice()
        ).knot_map
        made.append((np.array([yarn.code for yarn in knot_map.yarns])[knot_map.knots], anew.plan, anew.rug))
    (small, plan, rug), (large, other, _) = made
    deep, wide = (sum(band.widths[side] for band in plan.bands) for side in ("top", "left"))
    assert (deep, wide) == tuple(sum(band.widths[side] for band in other.bands) for side in ("top", "left"))
    assert np.array_equal(small[:deep, :wide], large[:deep, :wide])
    radius = 0.22 * min(drawn.field) / KNOT_PX * 5
    half = int(radius / float(rug.density.knot_height_mm)), int(radius / float(rug.density.knot_width_mm))
    one, two = (
        each[tuple(slice(n // 2 - h, (n + 1) // 2 + h) for n, h in zip(each.shape, half, strict=True))]
        for each in (small, large)
    )
    assert np.array_equal(one, two) and len(np.unique(one)) == 3
    assert large.shape[0] > 1.2 * small.shape[0]


@pytest.mark.parametrize("give", [(), ("ground",), ("ground", "repeats"), ("borders",)])
def test_only_what_may_give_gives(give: tuple[str, ...]) -> None:
    """For sizes one knot apart, none of which may differ, each is laid by what may give or is refused."""
    drawn = fixed("medallion")
    picture = drawn.artwork.srgb
    wide = picture.shape[1] // KNOT_PX
    ways, widened, refused = set(), 0, 0
    for more in range(12):
        try:
            anew = laid(picture, (wide + more) / wide, tolerance=0.0, give=list(give), length=1.0)
        except ArtworkError as error:
            assert "the nearest that does is" in str(error) and "For " in str(error)
            refused += 1
            continue
        assert anew.plan.columns == wide + more
        ways |= {side.count.way for band in anew.plan.bands for side in band.sides.values() if side.count}
        widened += any(any(band.given) for band in anew.plan.bands)
        said = [
            finding.what for finding in anew.findings if "a knot wider" in finding.what or "narrower" in finding.what
        ]
        assert bool(said) == any(any(band.given) for band in anew.plan.bands)
    assert ways <= {"exact", *give} and "exact" in ways
    assert (widened > 0) == ("borders" in give)
    assert refused > 0
