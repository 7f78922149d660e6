"""A file that would take far more memory or time than its size suggests is refused within 2 seconds and 300 MB."""

from __future__ import annotations

import io
import struct
import subprocess
import sys
import zlib
from collections.abc import Callable
from pathlib import Path

import pytest
from PIL import Image
from support.pngparts import assemble

MOST_SECONDS, MOST_MB = 2, 300
#: This runs in a process of its own, which the system ends if it takes more processor time. It prints the peak of its
#: memory and the message.
READ = f"""
import resource, sys
from pathlib import Path
resource.setrlimit(resource.RLIMIT_CPU, ({MOST_SECONDS}, {MOST_SECONDS}))
from chartmaker.artwork.reading import read_artwork
from chartmaker.ground.errors import ArtworkError
try:
    read_artwork(Path(sys.argv[1]))
except ArtworkError as error:
    # not ru_maxrss: a process starts with that of whoever started it
    lines = Path("/proc/self/status").read_text().splitlines()
    print(next(line.split()[1] for line in lines if line.startswith("VmHWM")), error.message)
"""
ONE_PIXEL = zlib.compress(bytes(4))


def header(width: int, height: int, depth: int = 8, interlaced: int = 0) -> tuple[bytes, bytes]:
    return b"IHDR", struct.pack(">IIBBBBB", width, height, depth, 2, 0, 0, interlaced)


def zeros(million: int) -> bytes:
    """Return a zlib stream (RFC 1950 and 1951) of that many million zeros, made by repeating one packed block."""
    packer = zlib.compressobj(9, zlib.DEFLATED, -15)
    block = packer.compress(bytes(1_000_000)) + packer.flush(zlib.Z_FULL_FLUSH)
    checksum = 1 | million * 1_000_000 % 65_521 << 16  # the Adler-32 checksum of zeros
    return b"\x78\xda" + block * million + packer.flush() + struct.pack(">I", checksum)


def test_the_stream_of_zeros_unpacks_to_zeros() -> None:
    assert zlib.decompress(zeros(3)) == bytes(3_000_000)


def png(*chunks: tuple[bytes, bytes], pixels: bytes = ONE_PIXEL) -> bytes:
    return assemble([*chunks, (b"IDAT", pixels), (b"IEND", b"")])


def jpeg(size: int, **options: bool) -> bytes:
    """Return a JPEG of 8 x 8 pixels whose header says `size` x `size`, so that a decoder fills in the rest."""
    stream = io.BytesIO()
    Image.new("RGB", (8, 8)).save(stream, "JPEG", **options)
    data = bytearray(stream.getvalue())
    place = data.index(b"\xff\xc2" if options else b"\xff\xc0")  # the frame header (ITU-T T.81, B.2.2)
    data[place + 5 : place + 9] = struct.pack(">HH", size, size)
    return bytes(data)


def webp(size: int) -> bytes:
    """Return a lossless WebP of one colour, which takes no bits per pixel; its size stands where RFC 9649, 3.4 says."""
    stream = io.BytesIO()
    Image.new("RGB", (8, 8)).save(stream, "WEBP", lossless=True)
    data = bytearray(stream.getvalue())
    place = data.index(b"VP8L") + 9
    bits = struct.unpack_from("<I", data, place)[0] & 0xF0000000
    data[place : place + 4] = struct.pack("<I", bits | (size - 1) | (size - 1) << 14)
    return bytes(data)


def tiff(width: int, height: int, pixels: bytes, compression: int = 8, tile: int | None = None) -> bytes:
    """Return an 8-bit grey TIFF (TIFF 6.0) of a single strip or a single tile."""
    tags = [(256, width), (257, height), (258, 8), (259, compression), (262, 1), (277, 1)]
    tags += [(273, -1), (278, height), (279, len(pixels))] if tile is None else []
    tags += [(322, tile), (323, tile), (324, -1), (325, len(pixels))] if tile is not None else []
    start = 8 + 2 + 12 * len(tags) + 4
    entries = [struct.pack("<HHII", tag, 4, 1, start if value < 0 else value) for tag, value in tags]
    return struct.pack("<2sHIH", b"II", 42, 8, len(tags)) + b"".join(entries) + bytes(4) + pixels


BOMBS: dict[str, tuple[Callable[[], bytes], str]] = {
    "huge.png": (lambda: png(header(60_000, 60_000)), "limit is 250 million"),
    "thin.png": (lambda: png(header(2**31 - 1, 1)), "limit is 250 million"),
    "hollow.png": (lambda: png(header(15_800, 15_800, 16, 1), pixels=zeros(1)), "empty or cut short"),
    "profile.png": (lambda: png(header(1, 1), (b"iCCP", b"x\0\0" + zeros(300))), "damaged"),
    "words.png": (lambda: png(header(1, 1), (b"iTXt", b"x\0\1\0\0\0" + zeros(300))), "damaged"),
    "frames.png": (lambda: png(header(1, 1), (b"acTL", struct.pack(">II", 2**31 - 1, 0))), "frames"),
    "remarks.png": (lambda: png(header(1, 1), *[(b"tEXt", b"a\0b")] * 300_000), "10,000 chunks"),
    "huge.jpg": (lambda: jpeg(65_500), "limit is 250 million"),
    "hollow.jpg": (lambda: jpeg(15_000), "empty or cut short"),
    "steps.jpg": (lambda: jpeg(15_000, progressive=True), "empty or cut short"),
    "blank.webp": (lambda: webp(15_800), "empty or cut short"),
    "huge.tif": (lambda: tiff(60_000, 60_000, zeros(300)), "limit is 250 million"),
    "hollow.tif": (lambda: tiff(15_800, 15_800, zlib.compress(bytes(1000))), "empty or cut short"),
    "cut.tif": (lambda: tiff(15_800, 15_800, zeros(100)), "damaged"),
    "tile.tif": (lambda: tiff(10, 10, zeros(300), tile=60_000), "damaged"),
}


@pytest.mark.parametrize("name", BOMBS)
def test_a_bomb_is_refused_before_it_goes_off(root: Path, tmp_path: Path, name: str) -> None:
    build, message = BOMBS[name]
    (tmp_path / name).write_bytes(build())
    command = [sys.executable, "-c", READ, str(tmp_path / name)]
    done = subprocess.run(command, cwd=root, capture_output=True, text=True, check=False)
    assert done.returncode == 0, f"ended by signal {-done.returncode}: {done.stderr}"
    peak_kb, _, said = done.stdout.partition(" ")
    assert message in said
    assert int(peak_kb) < MOST_MB * 1000
