"""The map must not depend on where the artwork lies, which way it is turned, or the order of card and tiles."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageDraw
from support.drawings import COLOURS, card_of, converted, drawing, picked, rows_for
from support.making import SQUARE, make_rug

from chartmaker.convert.flat import tiles
from chartmaker.convert.flat.likeness import HALO

INKS = [(250, 245, 230), (20, 20, 30), (200, 30, 40), (40, 90, 160), (200, 200, 60)]


@st.composite
def artworks(draw: st.DrawFn, smooth: bool | None = None) -> np.ndarray:
    """Draw lines, arcs, blocks and dots of a few inks on a ground, with hard or mixed edges."""
    width, height = draw(st.integers(40, 150)), draw(st.integers(40, 150))
    scale = 4 if (draw(st.booleans()) if smooth is None else smooth) else 1
    picture = Image.new("RGB", (width * scale, height * scale), INKS[0])
    pen = ImageDraw.Draw(picture)
    place = st.tuples(st.integers(-10, width + 10), st.integers(-10, height + 10))
    for ink, colour in enumerate(INKS[1:]):
        # so that this ink is surely known
        pen.rectangle([6 * ink * scale, 0, (6 * ink + 4) * scale, 4 * scale], fill=colour)
    for _ in range(draw(st.integers(1, 8))):
        colour, kind = INKS[draw(st.integers(0, 4))], draw(st.integers(0, 3))
        one, two = ([scale * part for part in draw(place)] for _ in range(2))
        box = [min(one[0], two[0]), min(one[1], two[1]), max(one[0], two[0]), max(one[1], two[1])]
        thick = draw(st.integers(1, 8)) * max(scale // 2, 1)
        if kind == 0:
            pen.line([*one, *two], fill=colour, width=thick)
        elif kind == 1:
            pen.arc(box, 0, 300, fill=colour, width=thick)
        elif kind == 2:
            pen.rectangle(box, fill=colour)
        else:
            pen.ellipse([one[0], one[1], one[0] + thick, one[1] + thick], fill=colour)
    return np.asarray(picture.resize((width, height), Image.Resampling.BOX))


def knots_of(srgb: np.ndarray, columns: int, rows: int, inks: list[tuple[int, int, int]] = INKS) -> np.ndarray:
    return picked(converted(srgb, make_rug(columns, rows, SQUARE), card_of(inks), style="flat", fit="stretch"))


grids = st.tuples(st.integers(10, 60), st.integers(10, 60))


@settings(max_examples=25)
@given(artworks(), grids)
def test_a_mirrored_or_turned_artwork_gives_the_mirrored_or_turned_map(srgb: np.ndarray, grid: tuple[int, int]) -> None:
    knots = knots_of(srgb, *grid)
    assert np.array_equal(knots_of(srgb[:, ::-1], *grid), knots[:, ::-1])
    assert np.array_equal(knots_of(srgb[::-1], *grid), knots[::-1])
    assert np.array_equal(knots_of(srgb[::-1, ::-1], *grid), knots[::-1, ::-1])


@settings(max_examples=15)
@given(artworks(smooth=False), grids)
def test_a_quarter_turn_turns_the_map(srgb: np.ndarray, grid: tuple[int, int]) -> None:
    assert np.array_equal(knots_of(np.rot90(srgb), grid[1], grid[0]), np.rot90(knots_of(srgb, *grid)))


@settings(max_examples=15)
@given(artworks(), grids, st.permutations(range(5)))
def test_the_order_of_the_card_changes_no_knot(srgb: np.ndarray, grid: tuple[int, int], order: list[int]) -> None:
    shuffled = knots_of(srgb, *grid, inks=[INKS[number] for number in order])
    assert np.array_equal(np.array(order)[shuffled], knots_of(srgb, *grid))


@settings(max_examples=15)
@given(artworks(smooth=False), grids, st.integers(2, 4))
def test_an_enlarged_artwork_gives_the_same_map(srgb: np.ndarray, grid: tuple[int, int], factor: int) -> None:
    """NumPy repeats every pixel; this holds even for artwork with mixed edges, as long as its areas are even."""
    assert np.array_equal(knots_of(srgb.repeat(factor, axis=0).repeat(factor, axis=1), *grid), knots_of(srgb, *grid))


@settings(max_examples=10)
@given(artworks(), st.integers(3, 12), st.integers(1, 7))
def test_a_tiling_moved_by_its_period_gives_the_same_knots(srgb: np.ndarray, knots: int, times: int) -> None:
    """The middle one of three by three repeats is compared, because no tile there reaches the rims of the artwork."""
    many = np.tile(srgb, (3, 3, 1))
    rows, columns = (max(3, size // knots) for size in srgb.shape[:2])
    woven = knots_of(many, 3 * columns, 3 * rows)
    middle = np.roll(many, (srgb.shape[0] * times, srgb.shape[1] * times), axis=(0, 1))
    assert np.array_equal(woven, knots_of(middle, 3 * columns, 3 * rows))
    if min(rows, columns) > 2 * HALO:
        inner = woven[HALO:-HALO, HALO:-HALO]
        assert np.array_equal(inner[rows:], inner[:-rows])
        assert np.array_equal(inner[:, columns:], inner[:, :-columns])


@pytest.mark.parametrize("name", ["harlequin", "celtic_panel"])
def test_tiles_make_no_difference(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    srgb, (_, colours) = drawing(name), COLOURS[name]
    rug, card = make_rug(160, rows_for(srgb, 160), SQUARE), card_of(colours)
    few = picked(converted(srgb, rug, card))
    monkeypatch.setattr(tiles, "_TILE_PIXELS", 4000)
    monkeypatch.setattr(tiles, "_TILE_COLUMNS", 70)
    assert np.array_equal(picked(converted(srgb, rug, card)), few)
