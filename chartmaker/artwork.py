"""The artwork file, read into upright sRGB pixels with their coverage."""

from __future__ import annotations

import io
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import numpy as np

from chartmaker.errors import ArtworkError
from chartmaker.findings import Finding
from chartmaker.picture import Artwork, ByteArray
from chartmaker.raster import open_raster
from chartmaker.textsafe import inert

if TYPE_CHECKING:
    from PIL import Image

FORMATS = ("PNG", "JPEG", "TIFF", "WEBP")
_SIXTEEN_BIT = ("I;16", "I;16L", "I;16B", "I;16N")
_WITH_ALPHA = ("RGBA", "RGBa", "LA", "La", "PA")


def _grey_from_sixteen_bit(picture: Image.Image) -> tuple[Image.Image, ByteArray | None]:
    """Return (8-bit grey, coverage): scaled, since Pillow's own conversion clips all above 255 to white."""
    from PIL import Image

    values = np.asarray(picture)
    values = values.astype(values.dtype.newbyteorder("="), copy=False)
    clear = picture.info.get("transparency")
    coverage = None
    if isinstance(clear, int):
        coverage = np.where(values == clear, 0, 255).astype(np.uint8)
    grey = ((values.astype(np.uint32) * 255 + 32767) // 65535).astype(np.uint8)
    return Image.fromarray(grey), coverage


def _check_palette(picture: Image.Image, where: str) -> None:
    """Refuse an index past the palette, which Pillow would turn to black without a word."""
    palette = picture.getpalette("RGB") or []
    _, highest = picture.getextrema()
    if int(highest) >= len(palette) // 3:  # type: ignore[arg-type]
        raise ArtworkError(
            f"a pixel uses colour {highest} of a palette of {len(palette) // 3}; save the artwork anew", where=where
        )


def _to_srgb(picture: Image.Image, profile: bytes | None, where: str) -> tuple[Image.Image, list[Finding]]:
    """Return the picture as sRGB, by way of its colour profile where it has one, with what was noticed."""
    from PIL import ImageCms

    if picture.mode not in ("L", "RGB", "CMYK"):
        picture = picture.convert("RGB")
    if not profile:
        if picture.mode == "CMYK":
            raise ArtworkError(
                "the artwork is CMYK without a colour profile, so its colours are not known; save it as RGB",
                where=where,
            )
        return picture.convert("RGB"), []
    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        space = source.profile.xcolor_space.strip()
        if {"GRAY": "L", "RGB": "RGB", "CMYK": "CMYK"}.get(space) != picture.mode:
            picture = picture.convert({"GRAY": "L"}.get(space, "RGB"))
        converted = ImageCms.profileToProfile(picture, source, ImageCms.createProfile("sRGB"), outputMode="RGB")
    except (ImageCms.PyCMSError, OSError, ValueError) as error:
        if picture.mode == "CMYK":
            raise ArtworkError(
                f"the artwork is CMYK with an unusable colour profile ({inert(error)}); save it as RGB", where=where
            ) from error
        said = "the artwork's colour profile cannot be used; its colours were taken as sRGB"
        return picture.convert("RGB"), [Finding(said, inert(where), "warning")]
    assert converted is not None  # only an in-place conversion returns nothing
    return converted, []


def _refuse_mode(mode: str, where: str) -> NoReturn:
    names = {"F": "floating-point pixels", "I": "32-bit pixels", "LAB": "Lab pixels", "HSV": "HSV pixels"}
    raise ArtworkError(
        f"the artwork has {names.get(mode, mode + ' pixels')}, which are not read; save it as 8- or 16-bit RGB",
        where=where,
    )


def _split(picture: Image.Image, where: str) -> tuple[Image.Image, ByteArray | None]:
    """Return (colours without alpha, coverage or None), modes that cannot be trusted refused."""
    if picture.mode in _SIXTEEN_BIT:
        return _grey_from_sixteen_bit(picture)
    if picture.mode == "P":
        _check_palette(picture, where)
    if picture.mode in _WITH_ALPHA or "transparency" in picture.info:
        picture = picture.convert("RGBA")
        coverage = np.array(picture.getchannel("A"))
        return picture.convert("RGB"), coverage
    if picture.mode not in ("1", "L", "P", "RGB", "RGBX", "CMYK", "YCbCr"):
        _refuse_mode(picture.mode, where)
    return picture, None


def read_artwork(path: Path) -> tuple[Artwork, tuple[Finding, ...]]:
    """Return the artwork at `path` (PNG, JPEG, TIFF or WebP), with what was noticed while reading.

    Colour profiles are followed to sRGB, orientation is applied, 16 bits become 8 (more than yarn can
    show), alpha becomes coverage.

    Raises
    ------
    ArtworkError
        If the file cannot be read for certain: damaged, several frames, larger than the limit, unknown
        pixels.
    """
    from PIL import ImageOps

    where = inert(path)
    picture = open_raster(path, FORMATS, ArtworkError, "artwork")
    profile = picture.info.get("icc_profile")
    if picture.format != "TIFF":  # Pillow turns a TIFF upright by itself
        picture = ImageOps.exif_transpose(picture)
    colours, coverage = _split(picture, where)
    srgb, findings = _to_srgb(colours, profile if isinstance(profile, bytes) else None, where)
    if coverage is not None and not coverage.any():
        raise ArtworkError("the artwork is transparent everywhere", where=where)
    if coverage is not None and coverage.min() == 255:
        coverage = None
    return Artwork(np.asarray(srgb), coverage), tuple(findings)
