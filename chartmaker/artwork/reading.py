"""The artwork file, read into upright sRGB pixels with their coverage."""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import Artwork, ByteArray
from chartmaker.artwork.lowbytes import low_bytes
from chartmaker.artwork.pngcolour import PngColour, eight_bits, read_colour, to_srgb8
from chartmaker.artwork.raster import MOST_BYTES, colours_said, decode, pixels_of, turn_upright
from chartmaker.ground.errors import ArtworkError
from chartmaker.ground.findings import Finding
from chartmaker.ground.foreign import read_whole
from chartmaker.ground.language import say
from chartmaker.ground.sentence import later
from chartmaker.ground.textsafe import inert

if TYPE_CHECKING:
    from PIL import Image

Samples = NDArray[np.uint8] | NDArray[np.uint16]

FORMATS = ("PNG", "JPEG", "TIFF", "WEBP")
_SIXTEEN_BIT = ("I;16", "I;16L", "I;16B", "I;16N")
_WITH_ALPHA = ("RGBA", "RGBa", "LA", "La", "PA")


def _sixteen_bit_grey(picture: Image.Image) -> tuple[NDArray[np.uint16], ByteArray | None]:
    """Return (grey of 16 bits, coverage); Pillow's own conversion clips all above 255 to white."""
    values = np.asarray(picture)
    values = values.astype(values.dtype.newbyteorder("="), copy=False)
    clear = picture.info.get("transparency")
    return values, _without(values[..., None], (clear,)) if isinstance(clear, int) else None


def _without(samples: Samples, clear: tuple[int, ...]) -> ByteArray:
    """Return the coverage of samples of which one value, `clear`, is transparent. Shape (height, width, n)."""
    return np.where((samples == np.array(clear)).all(axis=-1), 0, 255).astype(np.uint8)


def _check_palette(picture: Image.Image, where: str) -> None:
    """Refuse an index past the palette, which Pillow would turn to black without a word."""
    palette = picture.getpalette("RGB") or []
    _, highest = picture.getextrema()
    if int(highest) >= len(palette) // 3:  # type: ignore[arg-type]
        raise ArtworkError(
            say(
                "a pixel uses colour {number} of a palette of {colours}; save the artwork anew",
                number=highest,
                colours=len(palette) // 3,
            ),
            where=where,
        )


def _as_rgb(picture: Image.Image) -> Image.Image:
    return picture if picture.mode == "RGB" else picture.convert("RGB")


def _to_srgb(picture: Image.Image, profile: bytes | None, where: str) -> tuple[Image.Image, list[Finding]]:
    """Return the picture as sRGB, by way of its colour profile where it has one, with what was noticed."""
    from PIL import ImageCms

    if picture.mode not in ("L", "RGB", "CMYK"):
        picture = picture.convert("RGB")
    if not profile:
        if picture.mode == "CMYK":
            raise ArtworkError(
                say("the artwork is CMYK without a colour profile, so its colours are not known; save it as RGB"),
                where=where,
            )
        return _as_rgb(picture), []
    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        space = source.profile.xcolor_space.strip()
        _check_space(space, picture.mode, where)
        if {"GRAY": "L", "RGB": "RGB", "CMYK": "CMYK"}.get(space) != picture.mode:
            picture = picture.convert({"GRAY": "L"}.get(space, "RGB"))
        converted = ImageCms.profileToProfile(picture, source, ImageCms.createProfile("sRGB"), outputMode="RGB")
    except (ImageCms.PyCMSError, OSError, ValueError) as error:
        if picture.mode == "CMYK":
            raise ArtworkError(
                say(
                    "the artwork is CMYK with an unusable colour profile ({error}); save it as RGB", error=inert(error)
                ),
                where=where,
            ) from error
        said = later("The artwork's colour profile cannot be used, so its colours were taken as sRGB.")
        return picture.convert("RGB"), [Finding(said, inert(where), "warning")]
    assert converted is not None  # only an in-place conversion returns nothing
    return converted, []


def _check_space(space: str, mode: str, where: str) -> None:
    """Refuse a profile of other colours than the picture's, through which they would become others unseen.

    Raises
    ------
    ArtworkError
        Of a CMYK picture whose profile is not CMYK, and of any picture with a profile of Lab colours.
    """
    if mode == "CMYK" and space != "CMYK":
        message = say("the artwork is CMYK, and its colour profile is for {space}; save it as RGB", space=inert(space))
        raise ArtworkError(message, where=where)
    if space == "Lab":
        message = say("the artwork's colour profile is for Lab, and its pixels are {mode}; save it as RGB", mode=mode)
        raise ArtworkError(message, where=where)


def _refuse_mode(mode: str, where: str) -> NoReturn:
    names = {"F": say("floating-point"), "I": say("32-bit or signed"), "LAB": "Lab", "HSV": "HSV"}
    raise ArtworkError(
        say(
            "the artwork has {kind} pixels, which are not read; save it as 8- or 16-bit RGB",
            kind=names.get(mode, mode),
        ),
        where=where,
    )


def _split(picture: Image.Image, where: str) -> tuple[Image.Image, ByteArray | None]:
    """Return (colours without alpha, coverage or None), modes that cannot be trusted refused."""
    from PIL import Image

    if picture.mode in _SIXTEEN_BIT:
        grey, coverage = _sixteen_bit_grey(picture)
        return Image.fromarray(eight_bits(grey)), coverage
    if picture.mode == "P":
        _check_palette(picture, where)
    if picture.mode in _WITH_ALPHA or "transparency" in picture.info:
        picture = picture.convert("RGBA")
        coverage = np.array(picture.getchannel("A"))
        return picture.convert("RGB"), coverage
    if picture.mode not in ("1", "L", "P", "RGB", "RGBX", "CMYK", "YCbCr"):
        _refuse_mode(picture.mode, where)
    return picture, None


def _samples(picture: Image.Image, data: bytes, colour: PngColour, where: str) -> tuple[Samples, ByteArray | None]:
    """Return (RGB of all the bits that the PNG `data` holds, coverage or None); `picture` is it upright."""
    if picture.mode in _SIXTEEN_BIT:
        grey, coverage = _sixteen_bit_grey(picture)
        return np.repeat(grey[..., None], 3, axis=2), coverage
    low = low_bytes(data)
    if low is None:
        colours, coverage = _split(picture, where)
        return pixels_of(_as_rgb(colours)), coverage
    turn_upright(low, ArtworkError, "artwork", where)
    samples = pixels_of(picture).astype(np.uint16)
    samples <<= 8
    samples |= pixels_of(low)
    if samples.shape[2] == 4:
        return samples[..., :3], eight_bits(samples[..., 3])
    return samples, None if colour.clear is None else _without(samples, colour.clear)


def _png_to_srgb(picture: Image.Image, data: bytes, where: str) -> tuple[ByteArray, ByteArray | None, list[Finding]]:
    """Return (sRGB, coverage or None, what was noticed) of the PNG `data`; `picture` is it upright."""
    from PIL import Image

    colour = read_colour(data, where)
    samples, coverage = _samples(picture, data, colour, where)
    profile = picture.info.get("icc_profile")
    if colour.profile:
        srgb, findings = _to_srgb(Image.fromarray(eight_bits(samples)), profile or b"unreadable", where)
        return pixels_of(srgb), coverage, findings
    findings = [Finding(colour.fault, inert(where), "warning")] if colour.fault else []
    return to_srgb8(samples, colour), coverage, findings


def read_artwork(path: Path) -> tuple[Artwork, tuple[Finding, ...]]:
    """Return the artwork at `path` (PNG, JPEG, TIFF or WebP), with what was noticed while reading.

    Colour profiles are followed to sRGB, and so are the gamma and the primaries of a PNG; orientation is applied,
    16 bits become 8 (more than yarn can show), alpha becomes coverage.

    Raises
    ------
    ArtworkError
        If the file cannot be read for certain: damaged, several frames, larger than the limit, unknown
        pixels.
    """
    return artwork_of(artwork_bytes(path), path)


def artwork_bytes(path: Path) -> bytes:
    """Return the content of the artwork file at `path`.

    Raises
    ------
    ArtworkError
        If it is not a regular file, is larger than the limit, or cannot be read.
    """
    return read_whole(path, MOST_BYTES, ArtworkError, say("artwork"))


def artwork_of(data: bytes, path: Path) -> tuple[Artwork, tuple[Finding, ...]]:
    """Return the artwork that the content `data` of the file at `path` holds: as `read_artwork`.

    What was noticed names the file without its folder, which is nobody's business but the maker's.
    """
    where = inert(path)
    picture = decode(data, FORMATS, ArtworkError, say("artwork"), where)
    turn_upright(picture, ArtworkError, "artwork", where)
    if picture.format == "PNG":
        srgb, coverage, findings = _png_to_srgb(picture, data, where)
    else:
        profile = picture.info.get("icc_profile")
        said = None if profile else colours_said(picture)
        colours, coverage = _split(picture, where)
        converted, findings = _to_srgb(colours, profile if isinstance(profile, bytes) else None, where)
        if said:
            advice = "The artwork's colours are said to be {said}, but were taken as sRGB; save it as sRGB."
            findings.append(Finding(later(advice, said=said), inert(where), "warning"))
        srgb = pixels_of(converted)
    if coverage is not None and not coverage.any():
        raise ArtworkError(say("the artwork is transparent everywhere"), where=where)
    if coverage is not None and coverage.min() == 255:
        coverage = None
    return Artwork(srgb, coverage), tuple(replace(finding, about=inert(path.name)) for finding in findings)
