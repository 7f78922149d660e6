"""The readers of foreign files meet a few hundred mutations each; `tests/soak/fuzz.py` goes on for hours."""

from __future__ import annotations

import random
import struct
import zlib
from pathlib import Path

import pytest
from support.fuzzing import CHECKS, MOST_PIXELS, attempt, mutate_png, seeds, words
from support.pngparts import assemble

from chartmaker.artwork import raster

MUTATIONS = 300


@pytest.mark.parametrize("target", CHECKS)
def test_only_documented_exceptions_come_out(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, target: str) -> None:
    monkeypatch.setattr(raster, "MOST_PIXELS", MOST_PIXELS)
    rng = random.Random(2026)
    lexicon = [word.encode() for word in words(target)]

    def mutate(data: bytes, most: int) -> bytes:
        """Return `data` with a few bytes changed, dropped or replaced by a word."""
        changed = bytearray(data)
        for _ in range(rng.randrange(1, 4)):
            place = rng.randrange(len(changed) + 1)
            width = rng.choice([0, 1, 1, 2, 8])
            changed[place : place + width] = rng.choice([rng.randbytes(width), b"", rng.choice(lexicon)])
        return bytes(changed[:most])

    files = seeds(target)
    path = tmp_path / "fuzzed"
    read = 0
    for number in range(MUTATIONS):
        data = files[number] if number < len(files) else rng.choice(files)
        if number >= len(files):
            picture = data.startswith(b"\x89PNG") and rng.random() < 0.9
            data = mutate_png(data, 65_536, rng, mutate) if picture else mutate(data, 65_536)
        path.write_bytes(data)
        read += attempt(target, path)
    assert read > MUTATIONS // 50  # this many mutations must get past the first checks


@pytest.mark.parametrize("target", ["artwork", "knots"])
def test_a_palette_with_too_many_transparencies_is_refused(tmp_path: Path, target: str) -> None:
    """Pillow stumbles over them only when it converts the pixels."""
    palette = [(b"IHDR", struct.pack(">IIBBBBB", 1, 1, 8, 3, 0, 0, 0)), (b"PLTE", bytes(6)), (b"tRNS", bytes(257))]
    path = tmp_path / "clear.png"
    path.write_bytes(assemble([*palette, (b"IDAT", zlib.compress(bytes(2))), (b"IEND", b"")]))
    assert not attempt(target, path)
