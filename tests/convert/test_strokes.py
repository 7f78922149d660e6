"""Strokes of drawn shapes, by what was drawn."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy.ndimage import distance_transform_edt
from skimage.morphology import opening

from chartmaker.convert.flat.lines import keep_lines
from chartmaker.convert.flat.strokes import Strokes, _depth, _wide, dots, thin_strokes
from chartmaker.convert.flat.subgrid import coverages


def test_a_stroke_into_a_wide_part_is_joined_to_it() -> None:
    fine = np.zeros((100, 200), dtype=np.uint8)
    fine[20:80, 120:180] = 1
    fine[48:53, 20:120] = 1
    strokes = thin_strokes(fine, 10)
    (number,) = np.flatnonzero(strokes.yarn == 1)
    assert sorted(strokes.joined[number]) == [False, True]
    assert strokes.length[number] == pytest.approx(10, abs=0.6)
    cells = strokes.cells[strokes.bounds[number] : strokes.bounds[number + 1]]
    assert set(cells[:, 0].tolist()) <= {4, 5}
    assert set(range(2, 12)) <= set(cells[:, 1].tolist())


@given(st.lists(st.tuples(st.integers(0, 179), st.integers(8, 24), st.integers(4, 10)), min_size=1, max_size=4))
@example([(29, 21, 5)])
def test_every_stroke_follows_its_line(slants: list[tuple[int, int, int]]) -> None:
    points, size = 8, 40 * 8
    y, x = np.mgrid[:size, : size * len(slants)] + 0.5
    fine = np.zeros(y.shape, dtype=np.uint8)
    for place, (degrees, reach, wide) in enumerate(slants):
        angle, right, down = np.deg2rad(degrees), x - size * (place + 0.5), y - size / 2
        across, along = right * np.sin(angle) - down * np.cos(angle), right * np.cos(angle) + down * np.sin(angle)
        fine[(abs(across) <= wide / 2) & (abs(along) <= reach * points / 2)] = place + 1
    strokes = thin_strokes(fine, points)
    for place, (degrees, reach, _) in enumerate(slants):
        number = np.argmax(np.where(strokes.yarn == place + 1, strokes.length, 0))  # the rest: points of its ends
        # A chain of steps 1 or sqrt 2 long is up to 8.24 % longer than its line, at 22.5 degrees; a step for the ends.
        assert strokes.length[number] == pytest.approx(reach, abs=0.0824 * reach + 1)
        own = slice(strokes.bounds[number], strokes.bounds[number + 1])
        steps = np.abs(np.diff(strokes.cells[own], axis=0)).max(axis=1)
        assert (steps == 1).all()
        assert (strokes.low[own] <= strokes.high[own]).all()
        middle = (strokes.low[own] + strokes.high[own]) / 2 - (20, 40 * place + 20)
        angle = np.deg2rad(degrees)
        assert np.abs(middle[:, 1] * np.sin(angle) - middle[:, 0] * np.cos(angle)).max() < 0.75


def test_dots_are_strokes_of_one_step() -> None:
    fine = np.zeros((80, 80), dtype=np.uint8)
    fine[16:24, 40:48] = 3
    fine[60:66, 9:15] = 2
    fine[40, 40] = 1  # dust
    found = dots(fine, 8)
    order = np.argsort(found.yarn)
    assert found.yarn[order].tolist() == [2, 3]
    assert found.cells[order].tolist() == [[7, 1], [2, 5]]


def test_strokes_one_after_another() -> None:
    fine = np.zeros((80, 160), dtype=np.uint8)
    fine[38:42, 10:150] = 1
    fine[10:18, 80:88] = 2
    lines, spots = thin_strokes(fine, 8), dots(fine, 8)
    both: Strokes = lines + spots
    assert len(both) == len(lines) + len(spots)
    for number in range(len(both)):
        source, own = (lines, number) if number < len(lines) else (spots, number - len(lines))
        expected = source.cells[source.bounds[own] : source.bounds[own + 1]]
        assert both.cells[both.owner == number].tolist() == expected.tolist()


@settings(max_examples=60)
@given(arrays(np.uint8, st.tuples(st.integers(1, 24), st.integers(1, 24)), elements=st.sampled_from([0, 1, 2, 255])))
def test_any_pattern_gives_chains_of_neighbouring_cells_within_the_grid(pattern: np.ndarray) -> None:
    points = 6
    fine = np.kron(pattern, np.ones((points, points), dtype=np.uint8))
    strokes = thin_strokes(fine, points) + dots(fine, points)
    assert (strokes.cells >= 0).all()
    assert (strokes.cells < pattern.shape).all()
    steps = np.abs(np.diff(strokes.cells, axis=0)).max(axis=1)
    assert (steps[strokes.owner[1:] == strokes.owner[:-1]] <= 1).all()
    counts = coverages(fine, points, 3)
    majority = counts.argmax(axis=2).astype(np.uint16)
    knots = keep_lines(counts, majority, strokes, points).knots
    # whole cells have nothing to lose: a line never takes a knot that its yarn does not cover
    assert np.array_equal(knots[pattern != 255], pattern[pattern != 255])


@given(
    arrays(np.uint8, st.tuples(st.integers(1, 40), st.integers(1, 40)), elements=st.integers(0, 1)), st.integers(2, 9)
)
def test_wide_parts_are_those_that_hold_a_square(labels: np.ndarray, side: int) -> None:
    """An opening by a square, as mathematical morphology has it; here by scikit-image."""
    square = np.ones((side, side), dtype=bool)
    expected = np.zeros(labels.shape, dtype=bool)
    for label in (0, 1):
        padded = np.pad(labels == label, side)
        expected |= opening(padded, square)[side:-side, side:-side]
    assert np.array_equal(_wide(labels, side), expected)


@given(arrays(np.bool_, st.tuples(st.integers(1, 30), st.integers(1, 30))), st.integers(1, 12))
def test_depth_is_the_distance_to_the_nearest_edge(edge: np.ndarray, most: int) -> None:
    """The exact Euclidean distance transform of SciPy."""
    edge = np.pad(edge, 1, constant_values=True)
    place = np.flatnonzero(~edge)
    depth, exact = _depth(edge, place, most), distance_transform_edt(~edge).ravel()[place] + 1
    near = exact <= most + 1
    assert np.allclose(depth[near], exact[near])
    assert (depth[~near] >= most + 1).all()
