"""An array that cannot be artwork is refused before anything is made of it."""

from __future__ import annotations

import numpy as np
import pytest

from chartmaker.artwork.artwork import Artwork
from chartmaker.ground.errors import ArtworkError


@pytest.mark.parametrize(
    "srgb",
    [
        np.zeros((4, 5), dtype=np.uint8),
        np.zeros((4, 5, 4), dtype=np.uint8),
        np.zeros((4, 5, 3), dtype=np.float64),
        np.zeros((0, 5, 3), dtype=np.uint8),
    ],
)
def test_arrays_that_are_no_pixels_are_refused(srgb: np.ndarray) -> None:
    with pytest.raises(ArtworkError, match="must be height x width x 3 bytes"):
        Artwork(srgb)


@pytest.mark.parametrize("coverage", [np.zeros((5, 4), dtype=np.uint8), np.zeros((4, 5), dtype=bool)])
def test_coverage_of_another_shape_or_type_is_refused(coverage: np.ndarray) -> None:
    with pytest.raises(ArtworkError, match="coverage must be bytes"):
        Artwork(np.zeros((4, 5, 3), dtype=np.uint8), coverage)


def test_width_is_across_and_height_is_down() -> None:
    artwork = Artwork(np.zeros((4, 5, 3), dtype=np.uint8), np.zeros((4, 5), dtype=np.uint8))
    assert (artwork.width, artwork.height) == (5, 4)
