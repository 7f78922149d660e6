"""Untrusted raster files, opened with Pillow under our own limits."""

from __future__ import annotations

import io
import warnings
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from chartmaker.errors import ChartmakerError
from chartmaker.textsafe import inert

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray
    from PIL import Image

#: Above this a file is refused before a pixel is decoded.
MOST_PIXELS = 250_000_000
MOST_BYTES = 2_000_000_000


def _read_bytes(path: Path, error_class: type[ChartmakerError], what: str) -> bytes:
    where = inert(path)
    try:
        if path.exists() and not path.is_file():
            raise error_class(f"the {what} must be a file, and this is none", where=where)
        if path.stat().st_size > MOST_BYTES:
            raise error_class(f"the {what} is larger than {MOST_BYTES / 1e9:g} GB", where=where)
        return path.read_bytes()
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise error_class(f"cannot read the {what}: {reason}", where=where) from error


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
    from PIL import Image, UnidentifiedImageError

    where = inert(path)
    data = _read_bytes(path, error_class, what)
    limit = Image.MAX_IMAGE_PIXELS
    Image.MAX_IMAGE_PIXELS = None  # our own limit, checked below before any pixel is decoded
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # Pillow warns of metadata that we do not use
            picture = Image.open(io.BytesIO(data), formats=formats)
            if picture.width * picture.height > MOST_PIXELS:
                raise error_class(
                    f"the {what} has {picture.width:,} x {picture.height:,} pixels; the limit is "
                    f"{MOST_PIXELS // 1_000_000} million: make it smaller",
                    where=where,
                )
            if getattr(picture, "n_frames", 1) > 1:
                raise error_class(
                    f"the {what} holds {picture.n_frames} frames or pages; save the one you mean by itself",  # type: ignore[attr-defined]
                    where=where,
                )
            if picture.format == "PNG":
                picture.verify()  # finds what load() forgives: a bad checksum, a missing end
                picture = Image.open(io.BytesIO(data), formats=formats)
            picture.load()
    except ChartmakerError:
        raise
    except UnidentifiedImageError as error:
        known = ", ".join(name if name != "WEBP" else "WebP" for name in formats)
        raise error_class(f"the {what} is no picture that can be read ({known})", where=where) from error
    except (OSError, ValueError, SyntaxError, EOFError, Image.DecompressionBombError, OverflowError) as error:
        raise error_class(f"the {what} is damaged or cut short: {inert(error)}", where=where) from error
    except MemoryError as error:
        raise error_class(f"the {what} is too large for this machine's memory", where=where) from error
    finally:
        Image.MAX_IMAGE_PIXELS = limit
    return picture


def write_rgb(stream: BinaryIO, srgb: NDArray[np.uint8]) -> None:
    """Write sRGB pixels of shape (height, width, 3) as a PNG; the same pixels give the same bytes."""
    from PIL import Image

    Image.fromarray(srgb).save(stream, format="PNG")
