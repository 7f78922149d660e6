"""Strokes are found where shapes were drawn, with their places and widths."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy import ndimage

from chartmaker.artwork.cells import KNOT, Cells, cells_of
from chartmaker.artwork.placing import evenly_placed
from chartmaker.colours.labelling import OUTSIDE
from chartmaker.convert.flat.dots import with_dots
from chartmaker.convert.flat.runs import Pixels, pieces_of, runs_of, touching
from chartmaker.convert.flat.strokes import Crossings, crossings_of, stretches_of

EIGHT = np.ones((3, 3), dtype=bool)


def pixels_of(plane: np.ndarray) -> Pixels:
    return Pixels(plane, plane, np.zeros_like(plane))


def grid(plane: np.ndarray, rows: int, columns: int) -> Cells:
    return cells_of(evenly_placed(0, 0, *plane.shape, rows, columns))


def across_columns(plane: np.ndarray, cells: Cells) -> Crossings:
    runs = runs_of(pixels_of(plane).turned, cells.down, cells.across)
    return crossings_of(stretches_of(runs, *touching(runs)))


@given(st.integers(0, 44), st.integers(4, 14), st.floats(-4, 4), st.booleans())
@example(45, 8, 0.0, False)
def test_a_stroke_is_crossed_in_its_middle_at_its_width(degrees: int, wide: int, shift: float, down: bool) -> None:
    """A straight line is found where its equation says, and as wide as it was drawn to within a pixel."""
    size, pixels = 30, 10
    slope = np.tan(np.deg2rad(degrees)) * (-1 if down else 1)
    y, x = np.mgrid[: size * pixels, : size * pixels] + 0.5
    middle = size * pixels / 2 + shift + slope * (x - size * pixels / 2)
    plane = (np.abs(y - middle) * np.cos(np.deg2rad(degrees)) <= wide / 2).astype(np.uint8)
    found = across_columns(plane, grid(plane, size, size))
    line = found.chosen((found.yarn == 1) & (np.abs(found.across - size // 2) < size // 2 - 3))
    assert set(line.across.tolist()) == set(range(4, size - 3))
    expected = size / 2 + shift / pixels + slope * (line.across + 0.5 - size / 2)
    assert np.abs(line.twice / (2 * KNOT) - expected).max() < 0.1
    assert np.abs(line.width / KNOT - wide / pixels).max() < 0.12
    assert line.lone.all()


def test_wide_shapes_have_no_strokes() -> None:
    plane = np.zeros((200, 200), np.uint8)
    plane[50:150, 50:150] = 1
    assert not len(across_columns(plane, grid(plane, 20, 20)))


def test_lines_side_by_side_are_not_taken_for_single_lines() -> None:
    plane = np.zeros((200, 200), np.uint8)
    plane[60:66] = plane[72:78] = plane[140:146] = 1
    found = across_columns(plane, grid(plane, 20, 20))
    lone = {int(row): bool(found.lone[found.low // KNOT == row].all()) for row in (6, 7, 14)}
    assert lone == {6: False, 7: False, 14: True}


patterns = arrays(
    np.uint8, st.tuples(st.integers(1, 24), st.integers(1, 24)), elements=st.sampled_from([0, 1, OUTSIDE])
)


@given(patterns)
def test_pieces_are_the_connected_areas(plane: np.ndarray) -> None:
    """SciPy labels the areas that touch, corners included."""
    runs = runs_of(pixels_of(plane), *(getattr(grid(plane, 1, 1), side) for side in ("across", "down")))
    pieces = pieces_of(runs, *touching(runs))
    for ink in (0, 1):
        areas, count = ndimage.label(plane == ink, EIGHT)
        own = pieces.number[runs.of_pixel]
        pairs = {(int(a), int(b)) for a, b in zip(areas[plane == ink], own[plane == ink], strict=True)}
        assert len(pairs) == count == len({b for _, b in pairs})


@pytest.mark.parametrize(("top", "left", "expected"), [(22, 41, [[2, 4]]), (27, 40, [[2, 4], [3, 4]])])
def test_a_dot_has_the_knot_that_it_covers_most_of(top: int, left: int, expected: list[list[int]]) -> None:
    plane = np.zeros((80, 80), np.uint8)
    plane[top : top + 6, left : left + 6] = 1
    plane[60, 60] = 1  # a mark so small that it counts as dust
    cells = grid(plane, 8, 8)
    rows = runs_of(pixels_of(plane), cells.across, cells.down)
    share = np.stack([np.zeros((8, 8), np.int64)] * 2, axis=-1)
    none = np.zeros((8, 8), np.uint16)
    knots, changed = with_dots(none, share, rows, pieces_of(rows, *touching(rows)), none > 0)
    assert np.argwhere(knots == 1).tolist() == expected
    assert np.array_equal(changed, knots == 1)
