"""Straight edges are found where they are, in drawings whose edges are known because the tests draw them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageDraw

from chartmaker.artwork.artwork import Artwork
from chartmaker.colours.labelling import Labels, label_pixels
from chartmaker.convert.laying.keys import keys_of, level_edges, upright_edges

WHITE, RED = (255, 255, 255), (200, 20, 30)
PALETTE = np.array([WHITE, RED], dtype=np.uint8)


def labelled(srgb: np.ndarray) -> Labels:
    return label_pixels(Artwork(np.ascontiguousarray(srgb)), PALETTE)


def drawn(box: tuple[float, float, float, float], size: int = 200, scale: int = 8) -> np.ndarray:
    """Return a red box on white whose edges are mixtures of both where they fall between pixels."""
    image = Image.new("RGB", (size * scale, size * scale), WHITE)
    left, top, right, foot = (round(place * scale) for place in box)
    ImageDraw.Draw(image).rectangle([left, top, right - 1, foot - 1], fill=RED)
    return np.asarray(image.resize((size, size), Image.Resampling.BOX))


@given(left=st.integers(80, 480), top=st.integers(80, 480), wide=st.integers(480, 800), high=st.integers(480, 800))
@settings(max_examples=25, deadline=None)
def test_the_edges_of_a_box_are_found_between_pixels(left: int, top: int, wide: int, high: int) -> None:
    """Boxes are drawn at eighths of a pixel, and each edge is found within a sixteenth of where it was drawn."""
    box = (left / 8, top / 8, (left + wide) / 8, (top + high) / 8)
    labels = labelled(drawn(box))
    columns = keys_of(upright_edges(labels, 50), 10, 10, 200)
    rows = keys_of(level_edges(labels, 50), 10, 10, 200)
    np.testing.assert_allclose(columns.place, [box[0], box[2]], atol=1 / 16)
    np.testing.assert_allclose(rows.place, [box[1], box[3]], atol=1 / 16)
    np.testing.assert_allclose(columns.weight, (box[3] - box[1]) / 200, atol=0.011)


def test_a_key_covers_the_part_of_the_side_that_its_edge_covers() -> None:
    keys = keys_of(upright_edges(labelled(drawn((50, 100, 150, 200))), 50), 10, 10, 200)
    half = keys.along.shape[1] // 2
    assert not keys.along[:, :half].any()
    assert keys.along[:, half:].all()


@pytest.mark.parametrize("slope", [1 / 60, 1 / 25, 1 / 8, 1.0])
def test_the_steps_of_a_slanting_edge_are_no_keys(slope: float) -> None:
    """Drawn in steps of a pixel, a slant of 1 in 60 runs straight for 60 pixels, or 6 knots, at a time."""
    down = np.arange(600)
    srgb = np.full((600, 600, 3), WHITE, dtype=np.uint8)
    srgb[np.arange(600)[None] > 100 + slope * down[:, None]] = RED
    edges = upright_edges(labelled(srgb), 50)
    inner = (edges.first > 0) & (edges.end < 600)
    assert not inner.any()


@pytest.mark.parametrize("times", [2, 3])
def test_of_enlarged_artwork_the_keys_are_the_same(times: int) -> None:
    srgb = drawn((50, 40, 140, 180))
    small = keys_of(upright_edges(labelled(srgb), 50), 10, 10, 200)
    large = labelled(srgb.repeat(times, axis=0).repeat(times, axis=1))
    grown = keys_of(upright_edges(large, 50 * times), 10 * times, 10 * times, 200 * times)
    assert (grown.place / times).tolist() == small.place.tolist()
    assert grown.weight.tolist() == small.weight.tolist()


def test_short_edges_and_plain_artwork_ask_for_nothing() -> None:
    assert len(keys_of(upright_edges(labelled(drawn((50, 40, 140, 80))), 50), 10, 10, 200)) == 0
    assert len(upright_edges(labelled(np.full((200, 200, 3), WHITE, np.uint8)), 50)) == 0
