"""A conversion refuses artwork that it cannot use, and takes each artwork for flat or for shaded."""

from __future__ import annotations

import numpy as np
import pytest
from support.drawings import card_of, converted
from support.making import SQUARE, make_rug

from chartmaker.artwork.artwork import Artwork
from chartmaker.colours.palette import MOST_COLOURS
from chartmaker.convert.conversion import convert
from chartmaker.convert.flat.tiles import prepared
from chartmaker.ground.errors import ArtworkError
from chartmaker.order.design import Design, YarnChoice

CARD = card_of([(0, 0, 0), (255, 255, 255), (200, 30, 30)])


def test_artwork_without_an_even_area_cannot_be_flat() -> None:
    noise = np.random.default_rng(1).integers(0, 256, (80, 80, 3)).astype(np.uint8)
    with pytest.raises(ArtworkError, match="the artwork has none; use style = 'shaded'"):
        converted(noise, make_rug(20, 20, SQUARE), CARD, style="flat")
    assert converted(noise, make_rug(20, 20, SQUARE), CARD).style.style == "shaded"


@pytest.mark.parametrize("style", ["flat", "shaded"])
def test_artwork_that_lies_outside_the_rug_is_refused(style: str) -> None:
    """Everything that is not transparent lies in the corners, outside the ellipse."""
    srgb = np.full((80, 80, 3), (200, 30, 30), np.uint8)
    coverage = np.zeros((80, 80), np.uint8)
    coverage[:8, :8] = coverage[-8:, -8:] = 255
    with pytest.raises(ArtworkError, match="no part of the artwork lies inside the rug"):
        convert(
            Artwork(srgb, coverage), make_rug(20, 20, SQUARE, shape="ellipse"), CARD, Design(style=style), YarnChoice()
        )


@pytest.mark.parametrize("style", ["flat", "shaded"])
@pytest.mark.parametrize("mirror", ["across", "along", "both"])
def test_artwork_that_lies_outside_the_part_that_is_mirrored_is_refused(style: str, mirror: str) -> None:
    """The top right quarter alone is drawn, and the left half, or the lower one, is mirrored."""
    srgb, coverage = np.full((80, 80, 3), (200, 30, 30), np.uint8), np.zeros((80, 80), np.uint8)
    coverage[:30, 50:] = 255
    corners = [coverage, coverage[::-1], coverage[:, ::-1], coverage[::-1, ::-1]]
    refused = 0
    for corner in corners:
        rug, design = make_rug(20, 20, SQUARE, shape="artwork"), Design(style=style, mirror=mirror)
        try:
            made = convert(Artwork(srgb, np.ascontiguousarray(corner)), rug, CARD, design, YarnChoice())
        except ArtworkError as error:
            assert "inside the part that is mirrored" in str(error)
            refused += 1
        else:
            assert made.knot_map.tied
    assert refused == {"across": 2, "along": 2, "both": 3}[mirror]


def test_even_areas_of_very_many_colours_are_shaded() -> None:
    side = 24
    assert side * side > MOST_COLOURS
    colours = np.random.default_rng(2).choice(256**3, side * side, replace=False)
    blocks = np.stack([colours >> 16, colours >> 8 & 255, colours & 255], axis=-1).astype(np.uint8)
    artwork = np.kron(blocks.reshape(side, side, 3), np.ones((6, 6, 1), np.uint8))
    style = converted(artwork, make_rug(36, 36, SQUARE), CARD).style
    assert (style.style, f"over {MOST_COLOURS} colours" in style.reason) == ("shaded", True)


def test_getting_ready_early_changes_nothing() -> None:
    artwork = np.kron(np.eye(4, dtype=np.uint8)[..., None] * 255, np.ones((10, 10, 3), np.uint8))
    before = converted(artwork, make_rug(20, 20, SQUARE), CARD).knot_map.sha256
    prepared()
    assert converted(artwork, make_rug(20, 20, SQUARE), CARD).knot_map.sha256 == before
