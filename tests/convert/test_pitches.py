"""The pitch of a border is measured to a part of a pixel, but only where its repeats lie equally far apart."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from support import ornament
from support.holdouts import INKS

from chartmaker.convert.repeats.pitches import pitch_of

KNOT_PX = 6.0


def band(pitch: float, times: int) -> np.ndarray:
    """Return a band of drops at a pitch in pixels, anti-aliased as a drawing program renders it."""
    width = round(pitch * times)

    def paint(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return ornament.drop((x / pitch % 1 * 2 - 1) / 0.7, (y / 50 * 2 - 1) / 0.8)

    return ornament.rendered(paint, width, 50, (50, width), INKS, fine=2)[1]


def moved(steps: Sequence[int]) -> np.ndarray:
    """Return a band with one drawing every so many pixels, ground between them."""
    one = band(60, 1)
    inks = np.zeros((50, sum(steps) + 80), dtype=np.uint8)
    for place in np.cumsum([0, *steps]):
        inks[:, 10 + place : 70 + place] = one
    return inks


@pytest.mark.parametrize("pitch", [62.4, 75.0, 71.75])
def test_the_pitch_is_that_of_the_drawing(pitch: float) -> None:
    found = pitch_of(band(pitch, 9), pitch + 0.3, KNOT_PX)
    assert found is not None
    assert float(found) == pytest.approx(pitch, abs=0.1)


def test_a_motif_that_is_missing_changes_nothing() -> None:
    inks = moved([70] * 8)
    inks[:, 10 + 4 * 70 : 70 + 4 * 70] = 0
    assert pitch_of(inks, 70, KNOT_PX) == 70


def test_repeats_that_wander_have_no_pitch() -> None:
    """Drawn by eye, the middle repeats lie three pixels, half a knot, off equal steps, though the ends lie right."""
    assert pitch_of(moved([70, 70, 73, 70, 70, 70, 67, 70]), 70, KNOT_PX) is None
    assert pitch_of(moved([70, 71, 70, 69, 70, 71, 70, 69]), 70, KNOT_PX) is not None  # within a pixel


def test_two_repeats_are_no_rhythm_and_texture_has_none() -> None:
    assert pitch_of(band(60, 2), 60, KNOT_PX) is None
    assert pitch_of(band(60, 9), 60, 20.0) is None  # three knots
