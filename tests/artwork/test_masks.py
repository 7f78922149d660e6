"""Boxes and masks say where regions lie, and a mask is read as carefully as any file from outside."""

from __future__ import annotations

from fractions import Fraction
from math import floor
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from support.making import SQUARE, make_rug

from chartmaker.artwork.artwork import Artwork
from chartmaker.artwork.masks import WHITE, mask_bytes, mask_of, with_regions
from chartmaker.artwork.placing import place
from chartmaker.ground.errors import ArtworkError
from chartmaker.order.design import Design, Region


def saved(picture: Image.Image, folder: Path, name: str = "mask.png") -> Path:
    picture.save(folder / name)
    return folder / name


def read(path: Path, number: int = 3) -> np.ndarray:
    return mask_of(mask_bytes(path, number), path, number)


def region(**keys: object) -> Region:
    return Region.model_validate(keys)


@pytest.mark.parametrize("mode", ["1", "L", "P", "LA", "RGB", "RGBA", "I;16"])
def test_white_is_the_region_in_every_kind_of_png(tmp_path: Path, mode: str) -> None:
    white = np.random.default_rng(1).random((7, 9)) < 0.5
    if mode == "I;16":
        picture = Image.fromarray(np.where(white, 40_000, 300).astype(np.uint16))
    else:
        picture = Image.fromarray(np.where(white, 255, 0).astype(np.uint8)).convert(mode)
    assert np.array_equal(read(saved(picture, tmp_path)), white)


def test_grey_counts_from_half_upwards_and_transparent_pixels_do_not_count(tmp_path: Path) -> None:
    grey = np.array([[0, WHITE - 1, WHITE, 255]], dtype=np.uint8)
    assert read(saved(Image.fromarray(grey), tmp_path)).tolist() == [[False, False, True, True]]
    seen = Image.merge("LA", [Image.fromarray(np.full_like(grey, 255)), Image.fromarray(grey)])
    assert read(saved(seen, tmp_path)).tolist() == [[False, False, True, True]]


def test_a_file_that_is_no_mask_is_refused_with_the_number_of_its_region(tmp_path: Path) -> None:
    black = saved(Image.new("L", (5, 5)), tmp_path)
    with pytest.raises(ArtworkError, match="the mask of region 3 has no white: paint the region white"):
        read(black)
    cut = tmp_path / "cut.png"
    cut.write_bytes(black.read_bytes()[:40])
    with pytest.raises(ArtworkError, match="the mask of region 3 is"):
        read(cut)
    with pytest.raises(ArtworkError, match=r"the mask of region 3 is not a picture that can be read \(PNG\)"):
        read(saved(Image.new("RGB", (5, 5)), tmp_path, "mask.jpg"))
    with pytest.raises(ArtworkError, match="cannot read the mask of region 3: No such file"):
        read(tmp_path / "none.png")
    with pytest.raises(ArtworkError, match="the mask of region 3 must be a file, and this"):
        read(tmp_path)


@given(st.integers(1, 12), st.integers(1, 12), st.integers(1, 4), st.integers(1, 4), st.integers(0, 2**32 - 1))
def test_a_pixel_belongs_to_the_region_if_half_of_it_is_white(
    height: int, width: int, larger: int, smaller: int, seed: int
) -> None:
    """The expected areas are added up here, pixel by pixel and in exact fractions."""
    size = height * larger, width * larger
    mask = np.random.default_rng(seed).random(size) < 0.5
    artwork = Artwork(np.zeros((height * smaller, width * smaller, 3), np.uint8))
    found = with_regions(artwork, [region(mask="m.png")], {1: mask}).regions
    assert found is not None
    scale = Fraction(larger, smaller)
    for y in range(artwork.height):
        for x in range(artwork.width):
            area = Fraction(0)
            for v in range(floor(y * scale), min(floor((y + 1) * scale) + 1, size[0])):
                for u in range(floor(x * scale), min(floor((x + 1) * scale) + 1, size[1])):
                    high = min((y + 1) * scale, v + 1) - max(y * scale, v)
                    wide = min((x + 1) * scale, u + 1) - max(x * scale, u)
                    area += high * wide * bool(mask[v, u])
            assert found[y, x] == (2 * area >= scale**2)


def test_of_two_regions_the_later_counts_and_all_turn_with_the_artwork() -> None:
    artwork = Artwork(np.zeros((40, 20, 3), np.uint8))
    regions = [region(box=[0, 0, 10, 40]), region(box=[5, 30, 20, 40])]
    marked = with_regions(artwork, regions, {})
    assert marked.regions is not None
    assert marked.regions[[0, 39, 39, 0], [0, 0, 19, 19]].tolist() == [1, 1, 2, 0]
    turned = place(marked, make_rug(40, 20, SQUARE), Design(turn=90)).artwork.regions
    assert np.array_equal(turned, np.rot90(marked.regions, -1))
    padded = place(marked, make_rug(40, 40, SQUARE), Design(fit="pad")).artwork.regions
    assert padded is not None
    assert np.array_equal(padded[:, 10:30], marked.regions)
    assert not padded[:, :10].any()
    assert not padded[:, 30:].any()
