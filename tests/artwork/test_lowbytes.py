"""The low bytes of 16-bit samples are read; a PNG written here by the standard (third edition, 7-11) shows it."""

from __future__ import annotations

import io
import struct
import zlib

import numpy as np
import PIL
import pytest
from PIL import Image
from support import pngparts

from chartmaker.artwork.lowbytes import INSIDE, TRIED, low_bytes

MEND = f"Tried were {', '.join(TRIED)}; installed is {PIL.__version__}; mend chartmaker/artwork/lowbytes.py"


def png(samples: np.ndarray, kind: int, depth: int = 16) -> bytes:
    """Return a PNG of colour type `kind`; samples (height, width, channels) have the high byte first, unfiltered."""
    lines = b"".join(b"\0" + line.astype(">u2" if depth == 16 else "u1").tobytes() for line in samples)
    size = struct.pack(">IIBBBBB", samples.shape[1], samples.shape[0], depth, kind, 0, 0, 0)
    return pngparts.assemble([(b"IHDR", size), (b"IDAT", zlib.compress(lines)), (b"IEND", b"")])


@pytest.mark.parametrize(("kind", "channels"), [(2, 3), (6, 4), (4, 2)], ids=["colour", "colour, alpha", "grey, alpha"])
def test_the_low_byte_of_each_sample_is_read(kind: int, channels: int) -> None:
    samples = np.random.default_rng(7).integers(0, 1 << 16, (5, 7, channels)).astype(np.uint16)
    low = low_bytes(png(samples, kind))
    assert low is not None, MEND
    expected = samples & 255
    if channels == 2:  # grey is read as three equal colours
        expected = expected[..., [0, 0, 0, 1]]
    assert np.array_equal(np.asarray(low), expected), MEND


@pytest.mark.parametrize(("kind", "channels", "depth"), [(2, 3, 8), (6, 4, 8), (0, 1, 16)])
def test_nothing_is_read_where_pillow_keeps_all_bits(kind: int, channels: int, depth: int) -> None:
    assert low_bytes(png(np.zeros((2, 3, channels), np.uint16), kind, depth)) is None


@pytest.mark.parametrize("name", list(INSIDE))
def test_the_private_parts_of_pillow_that_are_used_exist(name: str) -> None:
    picture = Image.open(io.BytesIO(png(np.zeros((2, 3, 3), np.uint16), 2)))
    assert name in {*vars(picture), *dir(type(picture))}, (
        f"Pillow has no {name} of a picture any more, which was: {INSIDE[name]}. {MEND}"
    )


def test_the_installed_release_of_pillow_is_among_the_major_ones_tried() -> None:
    """Attributes have stayed within a major release; a newer one is a reason to look, and then to list it as tried."""
    installed, newest = (int(version.split(".")[0]) for version in (PIL.__version__, TRIED[-1]))
    assert installed <= newest, MEND
