"""The chunks of a PNG that say how its pixels are meant."""

from __future__ import annotations

import struct

SIGNATURE = b"\x89PNG\r\n\x1a\n"
#: What a reader must know, and what changes the meaning of the pixels; each stands once, before the pixels.
_CRITICAL = (b"IHDR", b"PLTE", b"IDAT", b"IEND")
_MEANINGFUL = (b"IHDR", b"PLTE", b"tRNS", b"cICP", b"iCCP", b"sRGB", b"gAMA", b"cHRM")
#: More chunks than this beside the pixels are an attack on the reader's patience.
MOST_REMARKS = 10_000


def chunks_of(data: bytes) -> dict[bytes, bytes]:
    """Return the contents of the chunks of a PNG that say how its pixels are meant, by type.

    Raises
    ------
    ValueError
        If they break the rules of the PNG specification (third edition, 5.6): no header in front, one of them twice
        or after the pixels, a chunk that must be known but is not. Decoders forgive that, each in its own way.
    """
    found: dict[bytes, bytes] = {}
    place, pixels, remarks = len(SIGNATURE), False, 0
    while place + 8 <= len(data):
        length, kind = struct.unpack_from(">I4s", data, place)
        name = kind.decode("ascii", "backslashreplace")
        if not found and (kind, length) != (b"IHDR", 13):
            raise ValueError("its header does not stand in front")
        if kind == b"IEND":
            break
        if kind in _MEANINGFUL:
            if kind in found:
                raise ValueError(f"it holds two {name} chunks")
            if pixels:
                raise ValueError(f"its {name} chunk stands behind the pixels")
            if kind == b"tRNS" and length > 256:
                raise ValueError("its tRNS chunk is longer than any palette")
            found[kind] = data[place + 8 : place + 8 + length]
        elif kind not in _CRITICAL and not kind[0] & 32:
            raise ValueError(f"it holds a {name} chunk, which no reader knows")
        pixels = pixels or kind == b"IDAT"
        remarks += kind != b"IDAT"
        if remarks > MOST_REMARKS:
            raise ValueError(f"it holds over {MOST_REMARKS:,} chunks beside its pixels")
        place += 12 + length
    return found
