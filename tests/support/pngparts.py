"""PNG files are taken apart into chunks and put together again by the W3C specification (third edition, 5.2, 5.3)."""

from __future__ import annotations

import struct
import zlib
from collections.abc import Iterable, Iterator

SIGNATURE = b"\x89PNG\r\n\x1a\n"

Chunk = tuple[bytes, bytes]


def split(data: bytes) -> Iterator[Chunk]:
    """Yield (type, content) of the chunks as far as they are whole, without looking at checksums."""
    place = len(SIGNATURE)
    while data.startswith(SIGNATURE) and place + 12 <= len(data):
        (length,) = struct.unpack_from(">I", data, place)
        if place + 12 + length > len(data):
            return
        yield data[place + 4 : place + 8], data[place + 8 : place + 8 + length]
        place += 12 + length


def assemble(chunks: Iterable[Chunk]) -> bytes:
    """Return the file made of `chunks` in this order, with right checksums."""
    parts = [struct.pack(">I", len(c)) + k + c + struct.pack(">I", zlib.crc32(k + c)) for k, c in chunks]
    return SIGNATURE + b"".join(parts)
