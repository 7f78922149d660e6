"""The nearest yarn is the one that the reference formula gives, for every kind of colour."""

from __future__ import annotations

import json

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from skimage.color import deltaE_ciede2000
from support.drawings import DRAWINGS

from chartmaker.colours.bounds import de00_bounds
from chartmaker.colours.matching import YarnFinder, nearest_yarns
from chartmaker.colours.quick import quick_de00
from chartmaker.ground.colour import ciede2000, lab_from_srgb8

bytes_ = st.integers(0, 255)


def by_trying_all(lab: np.ndarray, yarns: np.ndarray) -> np.ndarray:
    columns = [deltaE_ciede2000(lab, np.broadcast_to(yarn, lab.shape)) for yarn in yarns]
    return np.stack(columns, axis=1).argmin(axis=1)


@pytest.mark.parametrize("yarns", [1, 2, 24, 200])
def test_every_colour_gets_the_yarn_that_trying_all_finds(yarns: int) -> None:
    random = np.random.default_rng(yarns)
    lab = lab_from_srgb8(random.integers(0, 256, (min(40_000, 2_000_000 // yarns), 3)))
    card = lab_from_srgb8(random.integers(0, 256, (yarns, 3)))
    assert (nearest_yarns(lab, card) == by_trying_all(lab, card)).all()


def test_greys_saturated_colours_and_those_beyond_srgb_too() -> None:
    random = np.random.default_rng(0)
    grey = lab_from_srgb8(np.repeat(np.arange(256)[:, None], 3, axis=1))
    corners = lab_from_srgb8(np.stack(np.meshgrid(*[[0, 255]] * 3), -1).reshape(-1, 3))
    wide = random.uniform((-5, -200, -200), (120, 200, 200), (20_000, 3))
    lab = np.concatenate([np.repeat(grey, 40, axis=0), np.repeat(corners, 100, axis=0), wide])
    card = np.concatenate([grey[::50], corners, lab_from_srgb8(random.integers(0, 256, (9, 3)))])
    assert (nearest_yarns(lab, card) == by_trying_all(lab, card)).all()


def test_ties_go_to_the_lower_index() -> None:
    random = np.random.default_rng(3)
    card = np.tile(lab_from_srgb8(random.integers(0, 256, (10, 3))), (3, 1))
    lab = lab_from_srgb8(random.integers(0, 256, (30_000, 3)))
    assert nearest_yarns(lab, card).max() < 10


def test_a_finder_remembers_boxes_without_changing_its_answers() -> None:
    random = np.random.default_rng(4)
    card = lab_from_srgb8(random.integers(0, 256, (30, 3)))
    finder = YarnFinder(card)
    for _ in range(3):
        lab = lab_from_srgb8(random.integers(0, 256, (20_000, 3)))
        nearest = by_trying_all(lab, card)
        assert (finder.nearest(lab) == nearest).all()
        assert (finder.nearest(lab) == nearest).all()  # the finder has nothing new to learn


def test_quick_differences_agree_with_the_published_pairs() -> None:
    # Sharma, Wu, Dalal, Color Research and Application 30 (2005), table 1
    pairs = json.loads((DRAWINGS.parent / "sharma34.json").read_text(encoding="utf-8"))
    first, second, published = (np.array([pair[key] for pair in pairs], float) for key in ("lab1", "lab2", "de00"))
    de00, unsure = quick_de00(first, second)
    assert np.abs(de00 - published)[~unsure].max() < 1e-4
    assert unsure.sum() <= 4  # only pairs of nearly opposite hues may be unsure


@settings(max_examples=60, deadline=None)
@given(
    arrays(np.uint8, (40, 3), elements=bytes_),
    arrays(np.uint8, (5, 3), elements=bytes_),
    st.sampled_from([0.25, 1.0, 2.0, 8.0]),
    st.integers(0, 2**31),
)
def test_no_colour_of_a_box_is_out_of_its_bounds(
    colours: np.ndarray, yarns: np.ndarray, side: float, seed: int
) -> None:
    lab, card = lab_from_srgb8(colours), lab_from_srgb8(yarns)
    low = np.floor(lab / side) * side
    bounds = de00_bounds(low[:, None], low[:, None] + side, card[None])
    inside = low + side * np.random.default_rng(seed).random(lab.shape)
    for point in (lab, inside, low, low + side):
        de00 = ciede2000(point[:, None], card[None])
        assert (bounds.low <= de00).all()
        assert (de00 <= bounds.high).all()
