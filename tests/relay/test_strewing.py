"""Where a field without a repeat continues, no motif is cut and no place is balder than in the drawing.

Masters fill what is empty with small flowers and let nothing be cut by an outline (common practice).
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from scipy import ndimage

from chartmaker.artwork.artwork import Artwork
from chartmaker.order.design import Design
from chartmaker.order.layout import Layouting
from chartmaker.order.rug import Rug
from chartmaker.relay.relaid import Relaid, relaid

PX, KNOT_MM, BORDER = 4, 2.5, 6
GROUND, RIM, PETAL, HEART, BLACK = ((120, 30, 34), (24, 40, 92), (236, 224, 196), (204, 150, 60), (30, 26, 24))
#: The outline of the medallion, in pixels from the middle of the field.
REACH = 74


@cache
def drawing() -> Artwork:
    """Return a field with round flowers of two sizes strewn round a medallion, mirrored both ways."""
    high, wide = 560, 400
    chance = np.random.default_rng(3)
    field = np.full((high, wide, 3), GROUND, dtype=np.uint8)
    y, x = np.mgrid[:high, :wide] + 0.5
    down, across = abs(y - high / 2), abs(x - wide / 2)
    for row in range(high // 2 // 36 + 1):
        for column in range(wide // 2 // 36 + 1):
            at = 36 * row + 18 + chance.integers(-4, 5), 36 * column + 18 + chance.integers(-4, 5)
            size = int(chance.choice([10, 13]))
            inside = at[0] + size < high / 2 - 2 and at[1] + size < wide / 2 - 2
            if inside and np.hypot(*at) > REACH + size + 6:
                away = np.hypot(down - at[0], across - at[1])
                field[away < size], field[away < 0.5 * size] = PETAL, HEART
    away = np.hypot(down, across)
    for reach, colour in ((REACH, BLACK), (REACH - 8, RIM), (REACH - 40, PETAL)):
        field[away < reach] = colour
    whole = np.full((high + 2 * BORDER * PX, wide + 2 * BORDER * PX, 3), RIM, dtype=np.uint8)
    whole[BORDER * PX : -BORDER * PX, BORDER * PX : -BORDER * PX] = field
    return Artwork(whole)


@cache
def laid(wide: float, long: float, shape: str) -> Relaid:
    drawn = [size / PX * KNOT_MM for size in (drawing().width, drawing().height)]
    sides = {"width": f"{drawn[0] * wide:.2f} mm", "length": f"{drawn[1] * long:.2f} mm", "shape": shape}
    layout = Layouting.model_validate({"drawn": f"{drawn[0]:.2f} x {drawn[1]:.2f} mm"})
    return relaid(drawing(), Rug.model_validate({"density": "40x40 per dm", **sides}), Design(), layout)


def knots_of(anew: Relaid) -> np.ndarray:
    """Return the colour in the middle of each knot inside the border."""
    picture = anew.placed.artwork.srgb
    px = picture.shape[0] // anew.plan.rows
    return picture[px // 2 :: px, px // 2 :: px][BORDER:-BORDER, BORDER:-BORDER]


def flowers(field: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the number of the flower in each knot of a field, and the knots of each; the medallion is no flower."""
    standing = (field != GROUND).any(axis=-1)
    groups, _ = ndimage.label(standing, np.ones((3, 3), int))
    sizes = np.bincount(groups.ravel())
    sizes[0] = 0
    sizes[groups[field.shape[0] // 2, field.shape[1] // 2]] = 0
    return groups, sizes


def emptiest(field: np.ndarray) -> float:
    """Return how many knots lie between the middle of the emptiest place and the nearest motif."""
    standing = np.pad((field != GROUND).any(axis=-1), 1, constant_values=True)
    return float(ndimage.distance_transform_edt(~standing).max())


SIZES = [(1.5, 1.3), (1.3, 1.7), (1.05, 2.0)]


@pytest.mark.parametrize(("wide", "long"), SIZES)
def test_no_flower_is_cut_and_none_touches_the_edge(wide: float, long: float) -> None:
    """The smaller flower is five knots across, 19.6 in area, and the larger has 33.2; there is nothing else."""
    anew = laid(wide, long, "rectangle")
    assert any("strewn" in finding.what for finding in anew.findings)
    groups, sizes = flowers(knots_of(anew))
    found = sizes[sizes > 0]
    assert len(found) > 40
    assert found.min() >= 0.8 * 19.6
    rim = np.concatenate([groups[0], groups[-1], groups[:, 0], groups[:, -1]])
    assert not rim.any()


@pytest.mark.parametrize(("wide", "long"), SIZES)
def test_no_place_is_much_balder_than_in_the_drawing(wide: float, long: float) -> None:
    drawn = drawing().srgb[PX // 2 :: PX, PX // 2 :: PX][BORDER:-BORDER, BORDER:-BORDER]
    assert emptiest(knots_of(laid(wide, long, "rectangle"))) <= 1.15 * emptiest(drawn)


@pytest.mark.parametrize(("wide", "long"), SIZES)
def test_the_field_mirrors_both_ways(wide: float, long: float) -> None:
    picture = laid(wide, long, "rectangle").placed.artwork.srgb
    assert np.array_equal(picture, picture[::-1]) and np.array_equal(picture, picture[:, ::-1])


def test_in_a_round_rug_the_border_cuts_no_flower() -> None:
    anew = laid(1.6, 1.2, "ellipse")
    picture = anew.placed.artwork.srgb
    px = picture.shape[0] // anew.plan.rows
    knots = picture[px // 2 :: px, px // 2 :: px]
    _, sizes = flowers(np.where((knots == RIM).all(axis=-1, keepdims=True), GROUND, knots))
    found = sizes[(sizes > 0) & (sizes < 100)]
    assert len(found) > 40 and found.min() >= 0.8 * 19.6
    assert np.array_equal(picture, picture[::-1]) and np.array_equal(picture, picture[:, ::-1])
