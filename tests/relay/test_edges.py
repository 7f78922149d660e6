"""Corner blocks of a border keep their straight edges in every size, also where those are drawn within a knot.

That a block has straight edges and that its halves, and the four corners, are mirror images is common practice of
designers.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.framed import BLACK, COLOURS, FIELD, GOLD, GROUND, MOTIF, RIM
from support.making import make_yarn

from chartmaker.artwork.artwork import Artwork
from chartmaker.convert.conversion import convert
from chartmaker.order.design import Design, YarnChoice
from chartmaker.order.layout import Layouting
from chartmaker.order.rug import Rug
from chartmaker.relay.edges import DepthEdge, on_lines
from chartmaker.relay.relaid import Relaid, relaid

#: Pixels and millimetres to a knot, knots of the rim and of the border inside it, and knots of a repeat of that.
PX, KNOT_MM, OUTER, WIDE, PERIOD = 8, 5, 3, 10, 8
#: The corner block begins in the middle of a knot, and is seven knots wide.
INSET = 1.5
CARD = tuple(make_yarn(number, (int(r), int(g), int(b))) for number, (r, g, b) in enumerate(COLOURS))


def drawn(across: int, along: int) -> np.ndarray:
    """Return a design of so many repeats: lozenges along its border, blocks with a lozenge at its corners."""
    deep = OUTER + WIDE
    height, width = (PX * (2 * deep + times * PERIOD) for times in (along, across))
    picture = np.full((height, width), RIM, dtype=np.uint8)
    outer, inner = PX * OUTER, PX * deep
    picture[outer:-outer, outer:-outer] = GROUND
    y, x = np.mgrid[:height, :width] + 0.5
    y, x = np.minimum(y, height - y), np.minimum(x, width - x)
    from_line = np.abs(y - PX * (OUTER + WIDE / 2)), np.abs(x - PX * (OUTER + WIDE / 2))
    for off_line, place, own in ((from_line[0], x, y), (from_line[1], y, x)):
        beside = np.abs((place - inner) % (PX * PERIOD) - PX * PERIOD / 2)
        picture[(off_line + beside < 2.6 * PX) & (place > inner) & (own < inner)] = MOTIF
    half = PX * (WIDE / 2 - INSET)
    picture[np.maximum(*from_line) < half] = BLACK
    picture[from_line[0] + from_line[1] < 0.65 * half] = GOLD
    picture[inner:-inner, inner:-inner] = FIELD
    return picture


def laid(picture: np.ndarray, across: int, along: int) -> Relaid:
    """Return a design laid anew for so many repeats."""
    length, width = (side / PX * KNOT_MM for side in picture.shape)
    ordered = [2 * (OUTER + WIDE) + times * PERIOD for times in (across, along)]
    sides = {"width": f"{ordered[0] * KNOT_MM} mm", "length": f"{ordered[1] * KNOT_MM} mm"}
    rug = Rug.model_validate({"density": "20x20 per dm", **sides})
    layout = Layouting.model_validate({"drawn": f"{width} x {length} mm"})
    return relaid(Artwork(COLOURS[picture]), rug, Design(), layout)


@cache
def woven(across: int, along: int) -> np.ndarray:
    """Return the inks of all knots of a rug with so many repeats, laid from a design of five and seven."""
    anew = laid(drawn(5, 7), across, along)
    design = Design(style="flat").model_copy(update=anew.design)
    knot_map = convert(anew.placed.artwork, anew.rug, CARD, design, YarnChoice()).knot_map
    ink_of = {yarn.code: number for number, yarn in enumerate(CARD)}
    return np.array([ink_of[yarn.code] for yarn in knot_map.yarns])[knot_map.knots]


@pytest.mark.parametrize("times", [(5, 7), (7, 9)])
def test_a_corner_block_within_knots_keeps_its_edges_and_its_halves(times: tuple[int, int]) -> None:
    knots, deep = woven(*times), OUTER + WIDE
    corner = knots[OUTER:deep, OUTER:deep]
    rows, columns = np.nonzero(corner == BLACK)
    block = corner[rows.min() : rows.max() + 1, columns.min() : columns.max() + 1]
    assert block.shape == (7, 7)
    assert set(np.unique(block).tolist()) == {BLACK, GOLD}  # no knot of ground within its edges
    assert (corner == GROUND).sum() == WIDE * WIDE - 7 * 7
    assert np.array_equal(block, block[::-1]) and np.array_equal(block, block[:, ::-1])
    for other in (knots[:, ::-1], knots[::-1], knots[::-1, ::-1]):
        assert np.array_equal(other[OUTER:deep, OUTER:deep], corner)


def test_corner_blocks_are_the_same_in_both_sizes() -> None:
    deep = OUTER + WIDE
    assert np.array_equal(woven(5, 7)[:deep, :deep], woven(7, 9)[:deep, :deep])


def test_nothing_of_the_field_comes_into_the_border_that_reaches_a_pixel_into_it() -> None:
    """Corner pieces of the field reach a pixel over its rim at the foot and at the right; no knot shows that."""
    picture = drawn(5, 7)
    deep, piece = PX * (OUTER + WIDE), 12 * PX
    for rows in (slice(deep, deep + piece), slice(-deep - piece, 1 - deep)):
        for columns in (slice(deep, deep + piece), slice(-deep - piece, 1 - deep)):
            picture[rows, columns] = RIM
    anew = laid(picture, 7, 9)
    srgb = anew.placed.artwork.srgb
    px = srgb.shape[0] // anew.plan.rows
    first, last = px * OUTER, px * (OUTER + WIDE)
    foot, right = srgb[-last:-first, last:-last], srgb[last:-last, -last:-first]
    for side in (foot, right):
        assert (side == COLOURS[MOTIF]).all(axis=-1).any()
        assert not (side == COLOURS[RIM]).all(axis=-1).any()


@given(st.lists(st.floats(1, 200), min_size=1, max_size=6, unique=True), st.integers(1, 40))
def test_whole_knots_lie_between_all_edges_and_fill_the_band(places: list[float], knots: int) -> None:
    """Each part has the knots that it is drawn with, to less than one, unless a narrow one must have a whole knot."""
    stops = sorted(places)
    length = stops[-1] + 10
    stretches = on_lines([DepthEdge(at, at) for at in stops], length, knots)
    assert sum(number for *_, number in stretches) == knots
    assert [first for first, *_ in stretches[1:]] == [end for _, end, _ in stretches[:-1]]
    assert (stretches[0][0], stretches[-1][1]) == (0.0, length)
    wide = [(end - first) / length * knots for first, end, _ in stretches]
    assert all(number >= 1 for *_, number in stretches)
    if min(wide) >= 1:
        assert all(abs(number - own) < 1 for (*_, number), own in zip(stretches, wide, strict=True))
