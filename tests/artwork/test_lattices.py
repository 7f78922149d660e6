"""Repeats are found in drawings whose repeats are known: tilings and bands drawn by formula, and old ornament."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support import ornament
from support.drawings import COLOURS, drawing
from support.holdouts import INKS, labels_among_neighbours

from chartmaker.artwork.lattices import lattice_in, period_in
from chartmaker.colours.labelling import Labels
from chartmaker.convert.repeats.finding import repeats_of

LEAST = (20.0, 20.0)


def tiled(name: str, pitch: float, kind: str, stroke: float, shape: tuple[int, int]) -> np.ndarray:
    """Return the inks of a tiling whose pitch is given in pixels."""
    paint = ornament.tiling(ornament.MOTIFS[name], pitch, kind, stroke)
    return ornament.rendered(paint, shape[1], shape[0], shape, INKS, fine=2)[1]


@settings(max_examples=5, deadline=None)
@given(
    st.sampled_from(["drop", "hook"]),  # such motifs do not look the same when turned
    st.integers(400, 900),
    st.sampled_from(["square", "centred", "turned"]),
    st.integers(250, 400),
    st.integers(250, 400),
)
def test_a_tiling_has_the_lattice_by_which_it_was_drawn(
    name: str, tenths: int, kind: str, height: int, width: int
) -> None:
    pitch = tenths / 10
    found = lattice_in(tiled(name, pitch, kind, 3.0, (height, width)), LEAST)
    times = 2 if kind == "turned" else 1
    if times * pitch > 0.45 * min(height, width):
        return
    assert found is not None
    assert found.width == pytest.approx(times * pitch, abs=0.4)
    assert found.height == pytest.approx(times * pitch, abs=0.6)
    assert found.shift == pytest.approx(pitch / 2 if kind == "centred" else 0, abs=0.4)
    assert found.centred == (kind == "centred")


@pytest.mark.parametrize(
    ("name", "height", "width", "shift"),
    [("arches", 225, 300, 0), ("crosses", 300, 300, 0), ("harlequin", 150, 150, 75)],
)
def test_ornament_that_is_one_tile_repeated(name: str, height: float, width: float, shift: float) -> None:
    """The sizes are those of the tiles, in pixels, as they were rendered; that of harlequin is centred, as one sees."""
    found = lattice_in(labels_among_neighbours(drawing(name), np.array(COLOURS[name][1], dtype=np.uint8)), LEAST)
    assert found is not None
    assert (found.height, found.width, found.shift) == pytest.approx((height, width, shift), abs=0.3)


@pytest.mark.parametrize("name", ["celtic_panel", "rosette_panel", "solomons_knot"])
def test_hand_drawn_panels_have_no_repeat(name: str) -> None:
    """Four rosettes drawn by hand are much alike but no repeat, and nothing must force them to one drawing."""
    assert lattice_in(labels_among_neighbours(drawing(name), np.array(COLOURS[name][1], dtype=np.uint8)), LEAST) is None


def test_a_change_of_colour_is_no_repeat() -> None:
    """Eyes that are madder, then gold, repeat at twice the width, though nearly all pixels agree at half of it."""
    inks = np.zeros((400, 800), dtype=np.uint8)
    for row in range(5):
        for column in range(10):
            inks[80 * row + 10 : 80 * row + 60, 80 * column + 10 : 80 * column + 60] = 1
            inks[80 * row + 30 : 80 * row + 40, 80 * column + 30 : 80 * column + 40] = 2 + column % 2
    found = lattice_in(inks, LEAST)
    assert found is not None
    assert (found.height, found.width) == pytest.approx((80, 160), abs=0.2)


@given(st.sampled_from(["star", "drop", "leaf", "hook"]), st.integers(400, 1200))
@settings(max_examples=5, deadline=None)
def test_a_band_has_the_period_by_which_it_was_drawn(name: str, tenths: int) -> None:
    pitch = tenths / 10
    band = tiled(name, pitch, "square", 0.0, (round(pitch), 700))
    found = period_in(band, 20.0)
    assert found is not None
    assert found.length == pytest.approx(pitch, abs=0.3)


def test_plain_ground_and_noise_have_no_repeat() -> None:
    plain = np.zeros((300, 300), dtype=np.uint8)
    noise = np.random.default_rng(3).integers(0, 3, (300, 300)).astype(np.uint8)
    disc = (np.hypot(*(np.mgrid[:300, :300] - 150)) < 60).astype(np.uint8)
    for inks in (plain, noise, disc):
        assert lattice_in(inks, LEAST) is None
        assert period_in(inks, 20.0) is None


def test_the_search_in_an_artwork_of_few_pixels_ends() -> None:
    """A repeat of less than eight pixels cannot be measured, so none is looked for."""
    inks = np.tile(np.array([[0, 1, 1], [0, 1, 1]], dtype=np.uint8), (20, 14))
    labels = Labels(inks, inks, np.zeros_like(inks))
    field = repeats_of(labels, (0.7, 0.7)).field
    assert field is None or min(field.lattice.width, field.lattice.height) >= 8
