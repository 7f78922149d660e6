"""Frames are found in drawings whose frames are known, in some that are drawn here and in the example."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from chartmaker.colours.labelling import Labels
from chartmaker.convert.laying.keys import FINE_KNOTS, level_edges, upright_edges
from chartmaker.convert.repeats.frames import Box, Layout, layout_of

KNOT_PX = 6.0


def layout(inks: np.ndarray) -> Layout:
    labels = Labels(inks, inks, np.zeros_like(inks))
    edges = level_edges(labels, FINE_KNOTS * KNOT_PX), upright_edges(labels, FINE_KNOTS * KNOT_PX)
    return layout_of(inks.shape, edges, (KNOT_PX, KNOT_PX))


def framed(height: int, width: int, bands: list[int]) -> np.ndarray:
    """Return bands of alternating ink round a field with strewn discs; all sides of a band are alike."""
    inks, at = np.zeros((height, width), dtype=np.uint8), 0
    for number, band in enumerate(bands):
        at += band
        inks[at : height - at, at : width - at] = 1 + number % 3
    y, x = np.mgrid[:height, :width]
    for cy, cx in np.random.default_rng(height + width).uniform(0.45, 0.55, (9, 2)):
        inks[np.hypot(y - cy * height, x - cx * width) < 0.04 * width] = 4
    return inks


@given(st.integers(500, 900), st.integers(500, 900), st.lists(st.integers(6, 40), min_size=1, max_size=5))
@settings(max_examples=8, deadline=None)
def test_every_frame_is_found_at_its_own_pixels(height: int, width: int, bands: list[int]) -> None:
    found = layout(framed(height, width, bands))
    places = np.cumsum([0, *bands]).tolist()
    assert list(found.frames) == [Box(at, at, height - at, width - at) for at in places]


def test_sides_of_a_band_lie_between_its_corners() -> None:
    found = layout(framed(600, 500, [30, 12]))
    runs = {(run.band, run.side): run.box for run in found.runs((18, 18))}
    assert runs == {
        (0, "top"): Box(0, 30, 30, 470),
        (0, "bottom"): Box(570, 30, 600, 470),
        (0, "left"): Box(30, 0, 570, 30),
        (0, "right"): Box(30, 470, 570, 500),
    }
    assert found.field == Box(42, 42, 558, 458)


def test_motifs_that_touch_a_frame_do_not_hide_it() -> None:
    inks = framed(600, 600, [40])
    for at in range(60, 540, 60):
        inks[30:40, at : at + 10] = 1
    assert layout(inks).field == Box(40, 40, 560, 560)


@pytest.mark.parametrize("turned", [False, True])
def test_an_open_or_small_shape_is_not_taken_for_a_frame(turned: bool) -> None:
    inks = np.zeros((600, 600), dtype=np.uint8)
    inks[50:60, 50:550] = inks[50:550, 50:60] = inks[50:550, 540:550] = 1  # three sides of a frame
    inks[100:180, 100:180] = 2  # a small square
    inks = np.rot90(inks) if turned else inks
    assert len(layout(np.ascontiguousarray(inks)).frames) == 1
