"""Untrusted raster files, opened with Pillow under our own limits."""

from __future__ import annotations

import io
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from chartmaker.artwork.pngchunks import SIGNATURE, chunks_of
from chartmaker.ground.errors import ChartmakerError
from chartmaker.ground.foreign import read_whole
from chartmaker.ground.language import say
from chartmaker.ground.textsafe import inert

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray
    from PIL import Image

#: Above this a file is refused before a pixel is decoded.
MOST_PIXELS = 250_000_000
MOST_BYTES = 2_000_000_000
#: Above this many pixels a file must hold something for them. PNG cannot pack more than 8,256 into a byte (its deflate
#: gains 1,032 to 1 at most), blank WebP, TIFF and broken JPEG can pack any number.
FREE_PIXELS, MOST_PIXELS_A_BYTE = 16_000_000, 10_000
_BAND_ROWS = 256
#: TIFF 6.0; EXIF 2.3, where interoperability index R03 is Adobe RGB (DCF 2.0); 2 is what some cameras write for it.
_TRANSFER_FUNCTION, _PRIMARIES, _EXIF_IFD, _COLOUR_SPACE, _INTEROPERABILITY_IFD = 301, 319, 0x8769, 0xA001, 0xA005

_SRGB_PRIMARIES = [0.64, 0.33, 0.3, 0.6, 0.15, 0.06]  # IEC 61966-2-1; many programs write them


def _check_size(picture: Image.Image, size: int, error_class: type[ChartmakerError], what: str, where: str) -> None:
    """Refuse what would take more memory than a picture is worth; `size` is that of the file in bytes."""
    pixels = picture.width * picture.height
    if pixels > MOST_PIXELS:
        raise error_class(
            say(
                "the {what} has {width:,} x {height:,} pixels; the limit is {millions} million: make it smaller",
                what=what,
                width=picture.width,
                height=picture.height,
                millions=MOST_PIXELS // 1_000_000,
            ),
            where=where,
        )
    if pixels > FREE_PIXELS and pixels > MOST_PIXELS_A_BYTE * size:
        raise error_class(
            say(
                "the {what} claims {width:,} x {height:,} pixels in {bytes:,} bytes, so it is empty or "
                "cut short; save it anew",
                what=what,
                width=picture.width,
                height=picture.height,
                bytes=size,
            ),
            where=where,
        )
    if (frames := getattr(picture, "n_frames", 1)) > 1:
        raise error_class(
            say("the {what} holds {frames} frames or pages; save the one you mean by itself", what=what, frames=frames),
            where=where,
        )


def _key_in_eight_bits(picture: Image.Image, data: bytes) -> None:
    """Bring a transparent grey, which Pillow leaves in steps of 2 or 4 bits, to the 8 bits of its pixels.

    Bits above those of a sample do not count (PNG, third edition, 11.3.1.1).
    """
    depth, clear = data[24], picture.info.get("transparency")
    if picture.mode == "L" and depth in (2, 4, 8) and isinstance(clear, int):
        most = 2**depth - 1
        picture.info["transparency"] = (clear & most) * 255 // most


@contextmanager
def our_limits() -> Iterator[None]:
    """Keep Pillow to our limits in place of its own, its warnings of metadata that we do not use from the user."""
    from PIL import Image

    limit = Image.MAX_IMAGE_PIXELS
    Image.MAX_IMAGE_PIXELS = None  # ours is checked before any pixel is decoded
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            yield
    finally:
        Image.MAX_IMAGE_PIXELS = limit


def decode(
    data: bytes, formats: tuple[str, ...], error_class: type[ChartmakerError], what: str, where: str
) -> Image.Image:
    """Return the decoded picture in the file content `data`; the rest as in `open_raster`."""
    from PIL import Image, UnidentifiedImageError

    try:
        with our_limits():
            if data.startswith(SIGNATURE):
                chunks_of(data)  # finds what Pillow takes in its own way
            picture = Image.open(io.BytesIO(data), formats=formats)
            _check_size(picture, len(data), error_class, what, where)
            if picture.format == "PNG":
                picture.verify()  # finds what load() forgives: a bad checksum, a missing end
                picture = Image.open(io.BytesIO(data), formats=formats)
            picture.load()
            if picture.format == "PNG":
                _key_in_eight_bits(picture, data)
    except ChartmakerError:
        raise
    except UnidentifiedImageError as error:
        known = ", ".join(name if name != "WEBP" else "WebP" for name in formats)
        raise error_class(
            say("the {what} is not a picture that can be read ({known})", what=what, known=known), where=where
        ) from error
    except MemoryError as error:
        raise error_class(say("the {what} is too large for this machine's memory", what=what), where=where) from error
    except Exception as error:  # whatever a decoder stumbles over is the file's fault
        raise error_class(
            say("the {what} is damaged or cut short: {error}", what=what, error=inert(error)), where=where
        ) from error
    return picture


def open_raster(path: Path, formats: tuple[str, ...], error_class: type[ChartmakerError], what: str) -> Image.Image:
    """Return the decoded picture at `path`, its one frame loaded, in the mode that it was stored in.

    Parameters
    ----------
    path : Path
    formats : tuple of str
        Pillow's names of the formats allowed.
    error_class : type of ChartmakerError
        Raised for everything that is wrong with the file.
    what : str
        What the file is called in a message: ``artwork`` or ``knot map``.
    """
    return decode(read_whole(path, MOST_BYTES, error_class, what), formats, error_class, what, inert(path))


def turn_upright(picture: Image.Image, error_class: type[ChartmakerError], what: str, where: str) -> None:
    """Turn the picture as its EXIF or XMP data say."""
    from PIL import ImageOps

    if picture.format == "TIFF":  # Pillow turns a TIFF upright by itself
        return
    try:
        with our_limits():
            ImageOps.exif_transpose(picture, in_place=True)
    except Exception as error:  # the data are parsed only now
        raise error_class(
            say(
                "the {what} does not say for certain which edge is up: its EXIF data are damaged; save it anew",
                what=what,
            ),
            where=where,
        ) from error


def colours_said(picture: Image.Image) -> str | None:
    """Return what a file says of its colours outside a profile, where nothing here follows it; None for sRGB."""
    tags = getattr(picture, "tag_v2", {})
    try:
        primaries = [round(float(value), 3) for value in tags.get(_PRIMARIES, _SRGB_PRIMARIES)]
    except Exception:  # damaged details say nothing
        primaries = _SRGB_PRIMARIES
    if _TRANSFER_FUNCTION in tags or primaries != _SRGB_PRIMARIES:
        return "primaries or tones of their own (TIFF tags)"
    adobe = _exif_value(picture, _EXIF_IFD, _COLOUR_SPACE) == 2
    return "Adobe RGB (EXIF)" if adobe or _exif_value(picture, _INTEROPERABILITY_IFD, 1) == "R03" else None


def _exif_value(picture: Image.Image, table: int, tag: int) -> object:
    """Return a value of a table of the EXIF data; None where there is none, or where the data are damaged."""
    try:
        with our_limits():
            return picture.getexif().get_ifd(table).get(tag)
    except Exception:  # older Pillow refuses a table that is not there, too
        return None


def pixels_of(picture: Image.Image) -> NDArray[np.uint8]:
    """Return the bytes of an RGB or RGBA picture, shape (height, width, 3 or 4), without a second copy on the way."""
    import numpy as np

    pixels = np.empty((picture.height, picture.width, len(picture.mode)), dtype=np.uint8)
    with our_limits():
        for first in range(0, picture.height, _BAND_ROWS):
            last = min(first + _BAND_ROWS, picture.height)
            pixels[first:last] = np.asarray(picture.crop((0, first, picture.width, last)))
    return pixels


def write_rgb(stream: BinaryIO, srgb: NDArray[np.uint8]) -> None:
    """Write sRGB pixels of shape (height, width, 3) as a PNG; the same pixels give the same bytes."""
    from PIL import Image

    Image.fromarray(srgb).save(stream, format="PNG")


def pixels_said(data: bytes) -> int:
    """Return how many pixels a picture file says that it has; 0 for what is no picture, which its reader will say."""
    from PIL import Image

    try:
        with our_limits(), Image.open(io.BytesIO(data)) as picture:
            return picture.width * picture.height
    except Exception:  # whatever a decoder stumbles over
        return 0
