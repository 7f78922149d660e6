"""The chunks of a PNG that say how its pixels are meant."""

from __future__ import annotations

import struct

from chartmaker.ground.language import say

SIGNATURE = b"\x89PNG\r\n\x1a\n"
#: What a reader must know, and what changes the meaning of the pixels; each stands once, before the pixels.
_CRITICAL = (b"IHDR", b"PLTE", b"IDAT", b"IEND")
_MEANINGFUL = (b"IHDR", b"PLTE", b"tRNS", b"cICP", b"iCCP", b"sRGB", b"gAMA", b"cHRM")
_INDEXED = 3  # the colour type of pixels that are indices into the palette
#: More chunks than this beside the pixels are an attack on the reader's patience.
MOST_REMARKS = 10_000


def chunks_of(data: bytes) -> dict[bytes, bytes]:
    """Return the contents of the chunks of a PNG that say how its pixels are meant, by type.

    Raises
    ------
    ValueError
        If they break the rules of the PNG specification (third edition, 5.6): no header in front, one of them twice
        or after the pixels, a chunk that must be known but is not, an impossible palette. Decoders forgive that, each
        in its own way.
    """
    found: dict[bytes, bytes] = {}
    place, pixels, remarks = len(SIGNATURE), False, 0
    while place + 8 <= len(data):
        length, kind = struct.unpack_from(">I4s", data, place)
        name = kind.decode("ascii", "backslashreplace")
        if not found and (kind, length) != (b"IHDR", 13):
            raise ValueError(say("its header does not stand in front"))
        if kind == b"IEND":
            break
        if kind in _MEANINGFUL:
            if kind in found:
                raise ValueError(say("it holds two {name} chunks", name=name))
            if pixels:
                raise ValueError(say("its {name} chunk stands behind the pixels", name=name))
            found[kind] = data[place + 8 : place + 8 + length]
        elif kind not in _CRITICAL and not kind[0] & 32:
            raise ValueError(say("it holds a {name} chunk, which no reader knows", name=name))
        pixels = pixels or kind == b"IDAT"
        remarks += kind != b"IDAT"
        if remarks > MOST_REMARKS:
            raise ValueError(say("it holds over {most:,} chunks beside its pixels", most=MOST_REMARKS))
        place += 12 + length
    if found and found[b"IHDR"][9] == _INDEXED:
        _check_palette(found.get(b"PLTE", b""), found.get(b"tRNS", b""))
    return found


def _check_palette(colours: bytes, clear: bytes) -> None:
    """Refuse a palette that is not one, or that has fewer colours than are said to be transparent."""
    if not colours or len(colours) % 3 or len(colours) > 3 * 256:
        raise ValueError(
            say("its palette has {bytes} bytes, which is not three for each of 1 to 256 colours", bytes=len(colours))
        )
    if len(clear) > len(colours) // 3:
        raise ValueError(
            say(
                "its transparency is given for {clear} colours, but its palette has {colours}",
                clear=len(clear),
                colours=len(colours) // 3,
            )
        )
