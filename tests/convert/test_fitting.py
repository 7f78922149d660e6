"""Grid lines move on to straight edges within bounds that always hold, alike in mirror images and equal stripes."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from chartmaker.artwork.placing import greatest_scale_change, greatest_shift
from chartmaker.convert.laying.fitting import MOST_SCALE, MOST_SHIFT, Line, class_widths, fitted_edges
from chartmaker.convert.laying.keys import BINS, Keys


def keys_at(places: list[float], weights: list[float] | None = None, along: np.ndarray | None = None) -> Keys:
    order = np.argsort(places, kind="stable")
    weight = np.ones(len(places)) if weights is None else np.array(weights, dtype=float)
    beside = np.ones((len(places), BINS), dtype=bool) if along is None else along
    return Keys(np.array(places, dtype=float)[order], weight[order], beside[order])


@st.composite
def problems(draw: st.DrawFn) -> tuple[Line, Keys]:
    """Return a line of 30 to 120 knots of 7.5 to 15 pixels with up to 25 keys at sixteenths of a pixel."""
    knots, pixels = draw(st.integers(30, 120)), draw(st.integers(900, 1800))
    places = draw(st.lists(st.integers(0, 16 * pixels), max_size=25, unique=True))
    weights = draw(st.lists(st.floats(0.01, 1), min_size=len(places), max_size=len(places)))
    along = np.random.default_rng(draw(st.integers(0, 99))).random((len(places), BINS)) < 0.5
    return Line(0, pixels, knots), keys_at([place / 16 for place in places], weights, along)


@given(problems())
@settings(deadline=None)
def test_no_line_moves_too_far_and_no_scale_changes_too_much(problem: tuple[Line, Keys]) -> None:
    line, keys = problem
    edges = fitted_edges(line, keys)
    assert edges.shape == (line.knots + 1,)
    assert (edges[0], edges[-1]) == (line.first, line.end)
    assert (np.diff(edges) > 0).all()
    assert greatest_shift(edges) <= MOST_SHIFT + 1e-3
    assert greatest_scale_change(edges) <= MOST_SCALE + 1e-4 or greatest_shift(edges) <= 0.5 + 1e-3


@given(problems())
@settings(deadline=None)
def test_the_mirror_image_of_the_keys_gives_the_mirror_image_of_the_edges(problem: tuple[Line, Keys]) -> None:
    line, keys = problem
    turned = keys_at((line.end - keys.place).tolist(), keys.weight.tolist(), keys.along)
    assert (line.end - fitted_edges(line, turned)[::-1]).tolist() == fitted_edges(line, keys).tolist()


@given(problems())
@settings(deadline=None)
def test_keys_that_mirror_give_edges_that_mirror(problem: tuple[Line, Keys]) -> None:
    line, keys = problem
    left = keys.only(keys.place < line.end / 2)
    both = keys_at(
        [*left.place, *(line.end - left.place)], [*left.weight, *left.weight], np.vstack([left.along, left.along])
    )
    edges = fitted_edges(line, both)
    assert (line.end - edges[::-1]).tolist() == edges.tolist()


def test_keys_on_whole_knots_move_nothing() -> None:
    line = Line(0, 1000, 100)
    assert fitted_edges(line, keys_at([50, 60, 300, 310, 700])).tolist() == line.even_edges.tolist()


@pytest.mark.parametrize("knots", [100, 101])
def test_stripes_of_one_width_keep_one_width(knots: int) -> None:
    """Three stripes of 2.4 knots on either side are rounded together to one width, as stems of hinted letters are."""
    line = Line(0, 2000, knots)
    starts = np.array([4.3, 10.3, 16.3]) * line.knot_px
    places = np.sort(np.concatenate([starts, starts + 2.4 * line.knot_px]))
    edges = fitted_edges(line, keys_at([*places, *(2000 - places)]))
    at = np.interp([*places, *(2000 - places[::-1])], edges, np.arange(knots + 1))
    np.testing.assert_allclose(at, np.round(at), atol=0.02)
    widths = np.round(np.diff(at)).astype(int)
    assert set(widths[[0, 2, 4, 6, 8, 10]].tolist()) == {2}


def test_a_stripe_is_never_narrower_than_a_knot() -> None:
    line = Line(0, 1000, 100)
    edges = fitted_edges(line, keys_at([300.5, 304.5]))
    low, high = np.interp([300.5, 304.5], edges, np.arange(101))
    assert high - low == pytest.approx(1, abs=0.01)


def test_widths_within_four_hundredths_are_one_class() -> None:
    wanted, size = class_widths(np.array([2.49, 10.2, 2.52, 0.3, 2.47]))
    assert (wanted.tolist(), size.tolist()) == ([2, 10, 2, 1, 2], [3, 1, 3, 1, 3])
