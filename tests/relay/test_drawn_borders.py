"""Borders of shared drawings are laid in sizes never drawn: whole repeats, the same corners, mirrored halves.

The drawings are public domain (fixtures/drawings/README.md). That a border keeps its width, that its repeats are whole
and alike and that corners stay is common practice of designers.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest
from support.bordered import CUTS, DARK, GROUND, KNOT_PX, LIGHT, LINE, Bordered, bordered
from support.drawings import COLOURS, card_of

from chartmaker.convert.conversion import convert
from chartmaker.order.design import Design, YarnChoice
from chartmaker.order.layout import Layouting
from chartmaker.order.rug import Rug
from chartmaker.relay.planning import Plan
from chartmaker.relay.relaid import relaid

#: Knots are 2.5 mm wide and high.
KNOT_MM = 2.5
TIMES = {"arches": (4, 5), "crosses": (4, 6), "solomons_knot": (4, 6)}
#: How many more repeats than the drawn rug the ordered ones have, across and along.
MORE = ((0, 0), (2, 3))
#: Arches are mirror images of themselves, while crosses turn and the strands of the knot go over and under.
MIRRORED = ("arches",)


@dataclass(frozen=True)
class Woven:
    """Codes of the yarns of all knots, with the top first, and the plan by which they are laid."""

    codes: np.ndarray
    plan: Plan


@cache
def drawn_of(name: str) -> Bordered:
    return bordered(name, TIMES[name])


@cache
def woven(name: str, more: tuple[int, int]) -> Woven:
    drawn = drawn_of(name)
    length, width = (each / KNOT_PX * KNOT_MM for each in drawn.picture.shape[:2])
    across, along = (number * drawn.period / KNOT_PX * KNOT_MM for number in more)
    sides = {"width": f"{width + across:.3f} mm", "length": f"{length + along:.3f} mm"}
    rug = Rug.model_validate({"density": "40x40 per dm", **sides})
    layout = Layouting.model_validate({"drawn": f"{width:.3f} x {length:.3f} mm", "tolerance": 0.05})
    anew = relaid(drawn.artwork, rug, Design(), layout)
    card = card_of([*COLOURS[name][1], DARK, GROUND, LIGHT])
    design = Design(style="flat").model_copy(update=anew.design)
    knot_map = convert(anew.placed.artwork, anew.rug, card, design, YarnChoice()).knot_map
    return Woven(np.array([yarn.code for yarn in knot_map.yarns])[knot_map.knots[::-1]], anew.plan)


def sides_of(made: Woven) -> list[tuple[np.ndarray, int, int, int]]:
    """Return the four sides of the border that repeats, turned to lie across, with their ends, periods and counts."""
    number = next(number for number, band in enumerate(made.plan.bands) if band.sides["bottom"].count is not None)
    around, own = made.plan.bands[:number], made.plan.bands[number]
    top, left = (sum(band.widths[side] for band in around) for side in ("top", "left"))
    deep, wide = own.widths["top"], own.widths["left"]
    codes = made.codes
    found = []
    for side, strip in (
        ("top", codes[top : top + deep, left + wide : -left - wide]),
        ("bottom", codes[-top - deep : codes.shape[0] - top, left + wide : -left - wide]),
        ("left", codes[top + deep : -top - deep, left : left + wide].T),
        ("right", codes[top + deep : -top - deep, -left - wide : codes.shape[1] - left].T),
    ):
        count = own.sides[side].count  # type: ignore[index]
        assert count is not None
        found.append((strip, own.sides[side].end, own.sides[side].period, count.times))  # type: ignore[index]
    return found


@pytest.mark.parametrize("more", MORE)
@pytest.mark.parametrize("name", CUTS)
def test_every_repeat_is_whole_and_like_the_first(name: str, more: tuple[float, float]) -> None:
    """All but the outermost repeats are the same to the knot, and there are as many as the length has room for."""
    made = woven(name, more)
    drawn = drawn_of(name)
    for side in ("top", "left"):
        knots = sum(band.widths[side] for band in made.plan.bands)  # type: ignore[index]
        assert abs(knots - (drawn.deep + 2 * LINE) / KNOT_PX) <= 0.5 * len(made.plan.bands)
    for number, (strip, end, period, times) in enumerate(sides_of(made)):
        whole = times + 2 * end * KNOT_PX / drawn.period  # an end may hold half a repeat, and it has a guard line
        assert 0 <= whole - (TIMES[name][number // 2] + more[number // 2]) <= 0.3
        assert abs(period - drawn.period / KNOT_PX) <= 0.5
        assert strip.shape[1] == 2 * end + times * period
        repeats = [strip[:, at : at + period] for at in range(end, strip.shape[1] - end, period)]
        inner = repeats[1:-1]  # What stands beside the first and the last repeat is no repeat.
        assert all(np.array_equal(each, inner[0]) for each in inner)
        assert all((each != inner[0]).mean() < 0.02 for each in repeats)
        assert len(np.unique(inner[0])) >= 4


@pytest.mark.parametrize("name", CUTS)
def test_corners_are_the_same_to_the_knot_in_both_sizes(name: str) -> None:
    (one, other) = (woven(name, more) for more in MORE)
    deep, wide = (sum(band.widths[side] for band in one.plan.bands) for side in ("top", "left"))
    assert (deep, wide) == tuple(sum(band.widths[side] for band in other.plan.bands) for side in ("top", "left"))
    corners = [
        (made.codes[:deep, :wide], made.codes[:deep, -wide:], made.codes[-deep:, :wide], made.codes[-deep:, -wide:])
        for made in (one, other)
    ]
    assert all(np.array_equal(small, large) for small, large in zip(*corners, strict=True))
    assert len(np.unique(corners[0][0])) >= 3


@pytest.mark.parametrize("more", MORE)
@pytest.mark.parametrize("name", CUTS)
def test_opposite_sides_mirror_and_so_do_halves_where_the_drawing_does(name: str, more: tuple[int, int]) -> None:
    made = woven(name, more)
    (top, *_), (foot, *_), (left, *_), (right, *_) = sides_of(made)
    assert np.array_equal(top, foot[::-1]) and np.array_equal(left, right[::-1])
    if name in MIRRORED:
        assert np.array_equal(made.codes, made.codes[::-1]) and np.array_equal(made.codes, made.codes[:, ::-1])
