"""The grid laid over a whole drawing mirrors where the drawing mirrors, and is even where it should be."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageDraw
from support.drawings import card_of, converted, picked
from support.making import SQUARE, make_rug

from chartmaker.convert.conversion import Conversion

INKS = [(245, 240, 225), (30, 40, 90), (170, 30, 40)]
CARD = card_of(INKS)


def framed(width: int, height: int, stripes: list[tuple[int, int]], corner: int = 0) -> np.ndarray:
    """Return a drawing with stripes (distance from the edge, width) all round and a red block in one corner."""
    inks = np.zeros((height, width), dtype=int)
    for start, wide in stripes:
        inks[start : height - start, start : width - start] = 1
        inner = start + wide
        inks[inner : height - inner, inner : width - inner] = 0
    inks[height // 3 : height // 3 + corner, width // 3 : width // 3 + corner] = 2
    return np.array(INKS, dtype=np.uint8)[inks]


def edges_of(result: Conversion) -> tuple[np.ndarray, np.ndarray]:
    placement = result.placed.placement
    return placement.column_edges, placement.raster_row_edges


def test_stripes_all_round_come_out_with_one_width() -> None:
    """The three stripes are 2.4 knots wide; on ruled paper a designer gives each two knots (common practice)."""
    srgb = framed(803, 997, [(33, 24), (98, 24), (157, 24)])
    result = converted(srgb, make_rug(80, 99, SQUARE), CARD, fit="stretch")
    knots = picked(result)
    for line in (knots[50], knots[:, 40]):
        runs = np.diff(np.flatnonzero(np.append(True, np.diff(line) != 0)))
        assert runs[1:6:2].tolist() == runs[-5::2].tolist() == [2, 2, 2]
    assert 0.2 < result.placed.placement.greatest_shift_knots <= 0.75
    even = picked(converted(srgb, make_rug(80, 99, SQUARE), CARD, fit="stretch", fitted=False))
    widths = [np.diff(np.flatnonzero(np.append(True, np.diff(line) != 0)))[1:6:2] for line in (even[50], even[:, 40])]
    assert {2, 3} == set(np.concatenate(widths).tolist())  # this much is allowed for sampling


@given(st.integers(300, 450), st.lists(st.tuples(st.integers(5, 30), st.integers(8, 30)), min_size=1, max_size=3))
@settings(max_examples=15, deadline=None)
def test_a_drawing_that_mirrors_gives_edges_that_mirror(size: int, widths: list[tuple[int, int]]) -> None:
    at, stripes = 0, []
    for gap, wide in widths:
        stripes.append((at + gap, wide))
        at += gap + wide
    result = converted(framed(size, size + 50, stripes), make_rug(35, 40, SQUARE), CARD, fit="stretch")
    for edges, end in zip(edges_of(result), (size, size + 50), strict=True):
        assert (end - edges[::-1]).tolist() == edges.tolist()


@given(st.integers(300, 450), st.integers(40, 100))
@settings(max_examples=15, deadline=None)
def test_a_turned_drawing_turns_the_edges(size: int, corner: int) -> None:
    srgb = framed(size, size + 50, [(33, 24)], corner)
    plain = edges_of(converted(srgb, make_rug(36, 40, SQUARE), CARD, fit="stretch"))
    turned = edges_of(converted(srgb[::-1, ::-1], make_rug(36, 40, SQUARE), CARD, fit="stretch"))
    for one, other, end in zip(plain, turned, (size, size + 50), strict=True):
        assert (end - other[::-1]).tolist() == one.tolist()


@pytest.mark.parametrize("mirror", ["across", "along", "both"])
def test_of_a_mirrored_rug_only_the_master_half_moves_the_lines(mirror: str) -> None:
    """The left and the lower half are the masters, and what stands only in the other half moves no line."""
    srgb = framed(800, 1000, [(33, 24)])
    srgb[100:400, 455:600] = INKS[2]
    srgb[620:900, 233:300] = INKS[2]
    across, down = edges_of(converted(srgb, make_rug(80, 100, SQUARE), CARD, mirror=mirror))
    if mirror != "along":
        assert (800 - across[::-1]).tolist() == across.tolist()
        assert np.abs(across - 233).min() < 0.1
    if mirror != "across":
        assert (1000 - down[::-1]).tolist() == down.tolist()
        assert np.abs(down - 620).min() < 0.1


def dotted_guard(knot_px: int, knots: int) -> np.ndarray:
    """Return leaves with long backs over a guard whose dots, four knots apart, are all alike on an even grid."""
    size, guard = knot_px * knots, 8 * knot_px
    image = Image.new("P", (size, size))
    pencil = ImageDraw.Draw(image)
    for x, y in np.random.default_rng(5).uniform(80, size - 100, (60, 2)).tolist():
        pencil.ellipse([x - 24, y - 70, x + 24, y + 70], fill=1, outline=2, width=knot_px)
    pencil.rectangle([0, size - guard, size, size], fill=1)
    for x in range(0, size, 4 * knot_px):
        pencil.ellipse([x, size - 6 * knot_px, x + 3 * knot_px - 1, size - 3 * knot_px - 1], fill=2)
    return np.array(INKS, dtype=np.uint8)[np.asarray(image)]


def test_the_backs_of_curves_leave_the_dots_of_a_guard_alike() -> None:
    """A period of whole knots stays so, whatever else the drawing holds (common practice)."""
    knots = picked(converted(dotted_guard(4, 240), make_rug(240, 240, SQUARE), CARD))
    dots = knots[234:237]
    assert len(np.unique(dots)) == 2
    assert (dots == np.tile(dots[:, :4], 60)).all()


def test_short_edges_do_not_narrow_a_whole_column() -> None:
    """A stripe a third of a knot wide and a tenth of the drawing long must not narrow its column to that width."""
    srgb = framed(800, 1000, [(33, 24)], 60)
    srgb[300:420, 404:407] = INKS[1]
    across, _ = edges_of(converted(srgb, make_rug(80, 100, SQUARE), CARD))
    inner = np.diff(across)[8:-8] / 10
    assert inner.min() >= 0.75
    assert inner.max() <= 1.34


def test_an_even_grid_can_be_asked_for_and_shaded_artwork_has_one() -> None:
    srgb = framed(803, 997, [(33, 24)])
    for design in ({"fitted": False}, {"style": "shaded"}):
        placement = converted(srgb, make_rug(80, 99, SQUARE), CARD, fit="stretch", **design).placed.placement
        assert placement.greatest_shift_knots == pytest.approx(0, abs=1e-9)
