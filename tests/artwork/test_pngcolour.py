"""The colours of a PNG are followed to sRGB by the chunk that decides; colour-science gives the expected values."""

from __future__ import annotations

import struct
import zlib
from pathlib import Path

import colour as colour_science
import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image, ImageCms
from support.otherdecoders import by_pypng
from support.pngparts import Chunk, assemble

from chartmaker.artwork.reading import read_artwork
from chartmaker.ground.errors import ArtworkError

RNG = np.random.default_rng(45)
RGB = RNG.integers(0, 256, (9, 31, 3)).astype(np.uint8)
COLOUR_TYPES = {(1,): 0, (3,): 2, (2,): 4, (4,): 6}


def png(samples: NDArray[np.uint8] | NDArray[np.uint16], *chunks: Chunk) -> bytes:
    """Return a PNG of 8- or 16-bit samples, shape (height, width, 1 to 4), with further chunks before the pixels."""
    height, width, channels = samples.shape
    depth = samples.dtype.itemsize * 8
    head = struct.pack(">IIBBBBB", width, height, depth, COLOUR_TYPES[(channels,)], 0, 0, 0)
    rows = b"".join(b"\0" + row.tobytes() for row in samples.astype(samples.dtype.newbyteorder(">")))
    return assemble([(b"IHDR", head), *chunks, (b"IDAT", zlib.compress(rows)), (b"IEND", b"")])


def read(folder: Path, data: bytes) -> NDArray[np.uint8]:
    (folder / "a.png").write_bytes(data)
    artwork, findings = read_artwork(folder / "a.png")
    assert not findings
    return artwork.srgb


def gamma(value: float) -> Chunk:
    return b"gAMA", struct.pack(">I", round(value * 100_000))


def primaries(space: colour_science.RGB_Colourspace) -> Chunk:
    xy = [*space.whitepoint, *space.primaries.ravel()]
    return b"cHRM", struct.pack(">8I", *[round(value * 100_000) for value in xy])


SRGB = colour_science.RGB_COLOURSPACES["sRGB"]
SRGB_CHUNKS = (gamma(0.45455), primaries(SRGB))


@pytest.mark.parametrize("name", ["Adobe RGB (1998)", "ITU-R BT.2020", "ProPhoto RGB", "DCI-P3", "ITU-R BT.470 - 525"])
@pytest.mark.parametrize("exponent", [0.45455, 1.0, 0.4])
def test_primaries_are_those_of_colour_science(tmp_path: Path, name: str, exponent: float) -> None:
    space = colour_science.RGB_COLOURSPACES[name]
    light = (RGB / 255) ** (1 / exponent)
    expected = colour_science.RGB_to_RGB(light, space, SRGB, "Bradford", apply_cctf_encoding=False)
    encoded = colour_science.models.eotf_inverse_sRGB(np.clip(expected, 0, 1)) * 255
    got = read(tmp_path, png(RGB, gamma(exponent), primaries(space)))
    assert np.abs(got - encoded).max() < 0.51 + 0.3  # the rest is allowed because the chunk holds only five decimals


def test_chunks_that_only_approximate_srgb_change_nothing(tmp_path: Path) -> None:
    # PNG, third edition, 11.3.2.5: these are the values that a file in sRGB also carries for old readers.
    assert np.array_equal(read(tmp_path, png(RGB, *SRGB_CHUNKS)), RGB)
    assert np.array_equal(read(tmp_path, png(RGB, SRGB_CHUNKS[0])), RGB)
    assert np.array_equal(read(tmp_path, png(RGB, SRGB_CHUNKS[1])), RGB)


def test_the_chunk_of_the_highest_rank_decides(tmp_path: Path) -> None:
    # PNG, third edition, 4.3: cICP comes first, then iCCP, then sRGB, then gAMA with cHRM.
    odd = gamma(1.0)
    srgb, cicp = (b"sRGB", b"\0"), (b"cICP", bytes([1, 13, 0, 1]))
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    iccp = (b"iCCP", b"sRGB\0\0" + zlib.compress(profile))
    assert not np.array_equal(read(tmp_path, png(RGB, odd)), RGB)
    assert np.array_equal(read(tmp_path, png(RGB, odd, srgb)), RGB)
    assert np.abs(read(tmp_path, png(RGB, odd, iccp)).astype(int) - RGB).max() <= 1
    broken = (b"iCCP", b"x\0\0" + zlib.compress(b"no profile"))
    assert np.array_equal(read(tmp_path, png(RGB, odd, cicp, broken)), RGB)
    with pytest.raises(ArtworkError, match="coded as 9/16/0/1"):
        read(tmp_path, png(RGB, (b"cICP", bytes([9, 16, 0, 1])), srgb))


@pytest.mark.parametrize("channels", [1, 2, 3, 4])
@pytest.mark.parametrize("exponent", [None, 1.0, 2.5])
def test_all_sixteen_bits_count(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, channels: int, exponent: float | None
) -> None:
    monkeypatch.setattr(Image, "MAX_IMAGE_PIXELS", 2)  # Pillow's own limit on text chunks is lower than ours
    samples = RNG.integers(0, 65_536, (12, 14, channels)).astype(np.uint16) >> RNG.integers(0, 16, (12, 14, 1))
    samples = samples.astype(np.uint16)
    data = png(samples, *([] if exponent is None else [gamma(exponent)]))
    assert np.array_equal(read(tmp_path, data), by_pypng(data)[..., :3])


def test_a_transparent_colour_is_compared_in_all_its_bits(tmp_path: Path) -> None:
    samples = np.array([[[0x1234, 0x5678, 0x9ABC], [0x1234, 0x5678, 0x9ABD], [0x1200, 0x5600, 0x9A00]]], np.uint16)
    (tmp_path / "a.png").write_bytes(png(samples, (b"tRNS", struct.pack(">3H", 0x1234, 0x5678, 0x9ABC))))
    artwork, _ = read_artwork(tmp_path / "a.png")
    assert artwork.coverage is not None
    assert artwork.coverage.tolist() == [[0, 255, 255]]


@pytest.mark.parametrize(
    ("chunks", "message"),
    [
        ([gamma(0)], "gamma of 0 cannot be"),
        ([gamma(3000)], "gamma of 3000 cannot be"),
        ([(b"cHRM", bytes(32))], "primary colours"),
        ([(b"cHRM", struct.pack(">8I", *[31_270, 32_900] * 4))], "primary colours"),
        ([(b"iCCP", b"x\0\0no stream")], "colour profile cannot be used"),
    ],
)
def test_impossible_colours_are_reported(tmp_path: Path, chunks: list[Chunk], message: str) -> None:
    (tmp_path / "a.png").write_bytes(png(RGB, *chunks))
    artwork, findings = read_artwork(tmp_path / "a.png")
    assert np.array_equal(artwork.srgb, RGB)
    assert [finding.severity for finding in findings] == ["warning"]
    assert message in findings[0].what


HEAD = (b"IHDR", struct.pack(">IIBBBBB", 2, 1, 8, 0, 0, 0, 0))
INDEXED = (b"IHDR", struct.pack(">IIBBBBB", 2, 1, 8, 3, 0, 0, 0))
PIXELS, END = (b"IDAT", zlib.compress(b"\0\1\2")), (b"IEND", b"")


@pytest.mark.parametrize(
    ("chunks", "message"),
    [
        ([gamma(1), HEAD, PIXELS, END], "header does not stand in front"),
        ([(b"IHDR", HEAD[1][:12]), PIXELS, END], "header does not stand in front"),
        ([HEAD, HEAD, PIXELS, END], "two IHDR"),
        ([HEAD, gamma(1), gamma(0.5), PIXELS, END], "two gAMA"),
        ([HEAD, PIXELS, gamma(1), END], "behind the pixels"),
        ([HEAD, (b"ABCD", b""), PIXELS, END], "no reader knows"),
        ([HEAD, *[(b"tEXt", b"a\0b")] * 10_000, PIXELS, END], "over 10,000 chunks"),
        ([INDEXED, PIXELS, END], "palette has 0 bytes"),
        ([INDEXED, (b"PLTE", bytes(8)), PIXELS, END], "palette has 8 bytes"),
        ([INDEXED, (b"PLTE", bytes(9)), (b"tRNS", bytes(4)), PIXELS, END], "4 colours, but its palette has 3"),
        ([HEAD, END], "damaged"),
        ([HEAD, (b"gAMA", b""), PIXELS, END], "damaged|not a picture"),
        ([HEAD, (b"eXIf", b"MM\0\0 this is no EXIF"), PIXELS, END], "which edge is up"),
    ],
)
def test_a_file_that_breaks_the_rules_of_chunks_is_refused(tmp_path: Path, chunks: list[Chunk], message: str) -> None:
    # These are rules of PNG, third edition, 5.6, Table 7; a fuzzer found the last four cases.
    (tmp_path / "a.png").write_bytes(assemble(chunks))
    with pytest.raises(ArtworkError, match=message):
        read_artwork(tmp_path / "a.png")
