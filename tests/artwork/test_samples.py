"""Awkward pictures from an imaging library's own tests are read as another decoder reads them, or are refused."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from support.judging import judge
from support.otherdecoders import by_pypng

from chartmaker.artwork.reading import read_artwork

SAMPLES = Path(__file__).parents[2] / "fixtures" / "samples"
FILES = sorted(path for path in SAMPLES.iterdir() if path.name != "LICENSE")
#: These files are refused with these words; all others are read right.
REFUSED = {
    "16bit.s.tif": "32-bit or signed pixels",
    "broken.png": "damaged or cut short",
    "hopper_unknown_pixel_mode.tif": "not a picture that can be read",
    "lab.tif": "Lab pixels",
    "mode_16bit.png": "3 frames",
    "pil_sample_cmyk.jpg": "CMYK without a colour profile",
    "png_decompression_dos.png": "damaged or cut short",
    "tRNS_null_1x1.png": "transparent everywhere",
    "truncated_jpeg.jpg": "damaged or cut short",
}
NOTICED = ("icc-after-SOF.jpg", "icc_profile_none.png")


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_a_sample_is_right_or_refused(path: Path) -> None:
    kind, detail = judge(path)
    if path.name in REFUSED:
        assert kind == "refused"
        assert re.search(REFUSED[path.name], detail)
    elif path.name in NOTICED:
        assert kind == "right, noticed"
        assert "profile cannot be used" in detail
    else:
        assert kind in ("right", "explained"), detail


def test_every_orientation_is_the_same_picture() -> None:
    # The same photograph is stored seven ways round as JPEG of one quality, each with the EXIF tag that undoes it.
    pictures = [read_artwork(SAMPLES / f"hopper_orientation_{n}.jpg")[0].srgb.astype(int) for n in range(2, 9)]
    for picture in pictures[1:]:
        assert picture.shape == pictures[0].shape
        assert np.abs(picture - pictures[0]).mean() < 8 < 30 < np.abs(picture[:, ::-1] - pictures[0]).mean()


def test_grey_that_is_stored_with_white_as_zero_is_read_right() -> None:
    # The same grey photograph is stored inverted (TIFF 6.0, PhotometricInterpretation), and also with its bits
    # reversed.
    plain, _ = read_artwork(SAMPLES / "hopper4.tif")
    for name in ("hopper4I.tif", "hopper4IR.tif"):
        assert np.array_equal(read_artwork(SAMPLES / name)[0].srgb, plain.srgb)


def test_orientation_in_xmp_is_followed() -> None:
    # In XMP, part 2, tiff:Orientation has the values of the EXIF tag; this file says 3, which is half a turn.
    path = SAMPLES / "xmp_tags_orientation_exiftool.png"
    assert b"<tiff:Orientation>3<" in path.read_bytes()
    artwork, _ = read_artwork(path)
    assert np.array_equal(artwork.srgb, by_pypng(path.read_bytes())[::-1, ::-1, :3])
