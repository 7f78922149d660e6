"""The proof picture: the rug as it will lie on the floor, beside its artwork."""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from chartmaker.colour import LINEAR_OF_BYTE, FloatArray, srgb8_from_linear
from chartmaker.knotmap import KnotMap
from chartmaker.picture import Artwork
from chartmaker.screens.area import artwork_bands, averaged_bands
from chartmaker.screens.facts import density_words, map_words, size_words
from chartmaker.units import INCH_MM
from chartmaker.yarn import srgb_of

if TYPE_CHECKING:
    from PIL import Image, ImageDraw, ImageFont

    _Font = ImageFont.FreeTypeFont | ImageFont.ImageFont

LONG_SIDE_PX = 3000
#: A small sample is not enlarged beyond this.
MOST_PX_PER_KNOT = 32.0

_GROUND = (232, 227, 217)
_INK = (58, 52, 46)
_QUIET_INK = (122, 113, 102)
_WARP = (241, 234, 218)

# How much lighter the middle of a tuft is than its mean, across with along; the seams are darker in turn.
_ROUND_ACROSS, _ROUND_ALONG = 0.15, 0.22
# The tips lean towards the first row, so that the seam seen is a little nearer the row below; no two alike.
_LEAN, _UNEVEN = 0.07, 0.09
_FIBRE = 0.09


@dataclass(frozen=True)
class Box:
    """A rectangle of pixels."""

    left: int
    top: int
    width: int
    height: int


@dataclass(frozen=True)
class ProofLayout:
    """Where everything of the proof picture goes, in pixels. `artwork` is None without one."""

    width: int
    height: int
    px_per_mm: float
    margin: int
    fringe: int
    woven: Box
    artwork: Box | None
    caption_top: int
    text: int


def proof_layout(knot_map: KnotMap, *, artwork: bool, long_side_px: int = LONG_SIDE_PX) -> ProofLayout:
    """Return where the panels go: the artwork to the right of the rug, the words below, at most `long_side_px` wide
    and high.
    """
    rug = knot_map.rug
    wide_mm, long_mm = float(rug.woven_width_mm), float(rug.woven_length_mm)
    unit = long_side_px / 100
    margin, gap, text = round(4.5 * unit), round(4 * unit), max(8, round(1.15 * unit))
    caption = round(8.5 * text)
    fringed = knot_map.empty == 0
    fringe = round(1.6 * unit) if fringed else 0
    panels = 2 if artwork else 1
    px_per_mm = min(
        (long_side_px - 2 * margin - (panels - 1) * gap) / (panels * wide_mm),
        (long_side_px - 2 * margin - 2 * fringe - caption) / long_mm,
        MOST_PX_PER_KNOT / float(max(rug.density.knot_width_mm, rug.density.knot_height_mm)),
    )
    wide, long = max(1, round(wide_mm * px_per_mm)), max(1, round(long_mm * px_per_mm))
    inner = panels * wide + (panels - 1) * gap
    width = max(inner + 2 * margin, min(long_side_px, round(34 * text) + 2 * margin))
    left = (width - inner) // 2
    top = margin + fringe
    woven = Box(left, top, wide, long)
    beside = Box(left + wide + gap, top, wide, long) if artwork else None
    height = top + long + fringe + caption + margin
    return ProofLayout(width, height, px_per_mm, margin, fringe, woven, beside, top + long + fringe, text)


def proof_picture(
    knot_map: KnotMap,
    artwork: Artwork | None = None,
    *,
    long_side_px: int = LONG_SIDE_PX,
) -> bytes:
    """Return the proof picture as the bytes of a PNG file.

    Every knot has its true proportion; the pile is shaded so that the mean over a knot, in linear light, is its
    yarn's colour. Where a pixel covers several knots it takes their mean in linear light. The same map gives
    the same bytes.

    Parameters
    ----------
    knot_map : KnotMap
    artwork : Artwork, optional
        As fitted to the rug: it covers the rug's rectangle, at any resolution.
    long_side_px : int
        What the picture's longer side may be.
    """
    from PIL import Image

    layout = proof_layout(knot_map, artwork=artwork is not None, long_side_px=long_side_px)
    picture = Image.new("RGB", (layout.width, layout.height), _GROUND)
    rug = _assembled(_woven_bands(knot_map, layout.woven), layout.woven)
    _lay_down(picture, rug, layout)
    if artwork is not None and layout.artwork is not None:
        box = layout.artwork
        bands = artwork_bands(artwork, box.height, box.width)
        art = _assembled(bands, box)
        picture.paste(art, (box.left, box.top), art.getchannel("A"))
    _letter(picture, knot_map, layout)
    out = io.BytesIO()
    picture.save(out, "PNG", compress_level=6)
    return out.getvalue()


def artwork_file(artwork: Artwork, *, long_side_px: int, most_bytes: int) -> tuple[bytes, str]:
    """Return (bytes, media type) of the artwork as a picture for a browser: PNG, or lossy WebP beyond `most_bytes`.

    Parameters
    ----------
    long_side_px : int
        A larger artwork is averaged down to this, in linear light.
    """
    from PIL import Image

    shrink = long_side_px / max(artwork.height, artwork.width)
    if shrink < 1:
        box = Box(0, 0, max(1, round(artwork.width * shrink)), max(1, round(artwork.height * shrink)))
        picture = _assembled(artwork_bands(artwork, box.height, box.width), box)
        if artwork.coverage is None:
            picture = picture.convert("RGB")
    else:
        picture = Image.fromarray(artwork.srgb)
        if artwork.coverage is not None:
            picture.putalpha(Image.fromarray(artwork.coverage))
    out = io.BytesIO()
    picture.save(out, "PNG", compress_level=6)
    if out.tell() <= most_bytes:
        return out.getvalue(), "image/png"
    out = io.BytesIO()
    picture.save(out, "WEBP", quality=88, method=4)
    return out.getvalue(), "image/webp"


def _assembled(bands: Iterator[tuple[int, FloatArray, FloatArray]], box: Box) -> Image.Image:
    """Return a picture with transparency of (first row, linear light, cover) bands."""
    from PIL import Image

    pixels = np.empty((box.height, box.width, 4), dtype=np.uint8)
    for start, light, cover in bands:
        pixels[start : start + len(light), :, :3] = srgb8_from_linear(light)
        pixels[start : start + len(light), :, 3] = np.floor(cover * 255 + 0.5)
    return Image.fromarray(pixels, "RGBA")


def _woven_bands(knot_map: KnotMap, box: Box) -> Iterator[tuple[int, FloatArray, FloatArray]]:
    """Yield (first row, linear light, cover) of the rug seen from above, top row first."""
    light = LINEAR_OF_BYTE[srgb_of(knot_map.yarns)].reshape(-1, 3)
    brightest = (1 + 0.72 * _ROUND_ACROSS) * (1 + 0.72 * _ROUND_ALONG) * (1 + _FIBRE)
    # A yarn near white has no room for lighter tips: it is shaded less, never clipped.
    room = np.clip((1 / np.maximum(light.max(axis=1, initial=0), 1e-6) - 1) / (brightest - 1), 0, 1)
    of_yarn = np.zeros((len(light) + 1, 5))
    of_yarn[:-1] = np.column_stack([light, np.ones(len(light)), room])
    upwards = knot_map.knots[::-1]

    def read(first: int, last: int) -> FloatArray:
        return np.asarray(of_yarn[np.minimum(upwards[first:last], len(light))])

    for start, cells in averaged_bands(read, (*knot_map.knots.shape, 5), box.height, box.width):
        shade = _pile(np.arange(start, start + len(cells)), box, knot_map.rows, knot_map.columns)
        cover = np.maximum(cells[..., 3], 1e-9)[..., None]
        yield start, cells[..., :3] / cover * (1 + cells[..., 4:] / cover * (shade[..., None] - 1)), cells[..., 3]


def _pile(pixel_rows: NDArray[np.intp], box: Box, rows: int, columns: int) -> FloatArray:
    """Return how light the pile is at each pixel of some rows of the picture; its mean over a whole knot is 1."""
    pixel_columns = np.arange(box.width)
    pitch = min(box.width / columns, box.height / rows)
    stretch = max(1, round(pitch / 4))
    grain = (_grain(pixel_rows // stretch, pixel_columns) + _grain(pixel_rows // stretch + 7919, pixel_columns)) / 2
    shade = 1 + _FIBRE * min(1.0, 0.5 + pitch / 12) * grain
    fade = float(np.clip((pitch - 1.5) / 1.5, 0, 1))
    if fade:
        row, column = (pixel_rows + 0.5) * rows // box.height, (pixel_columns + 0.5) * columns // box.width
        sway, lean = _UNEVEN * _grain(row, column), _LEAN + _UNEVEN * _grain(row + 104729, column)
        shade *= 1 + _ROUND_ACROSS * fade * _rounded(
            pixel_columns[None, :] * columns / box.width, columns / box.width, sway
        )
        shade *= 1 + _ROUND_ALONG * fade * _rounded(pixel_rows[:, None] * rows / box.height, rows / box.height, lean)
    return np.asarray(shade)


def _rounded(position: FloatArray, width: float, shift: FloatArray) -> FloatArray:
    """Return the roundness of a tuft at `position`, averaged over the `width` that a pixel covers, in knots.

    The profile is cos x - 0.3 cos 2x. Its mean over a knot is nought wherever it is shifted to.
    """
    start = 2 * np.pi * (position - 0.5 + shift)
    end = start + 2 * np.pi * width
    total = np.sin(end) - np.sin(start) - 0.15 * (np.sin(2 * end) - np.sin(2 * start))
    return np.asarray(total / (2 * np.pi * width))


def _grain(row: NDArray[Any], column: NDArray[Any]) -> FloatArray:
    """Return a fixed grain of -1 to 1 for whole numbers, shape (len(row), len(column))."""
    mixed = row.astype(np.uint64)[:, None] * np.uint64(668265263) + column.astype(np.uint64) * np.uint64(374761393)
    mixed = (mixed ^ (mixed >> np.uint64(13))) * np.uint64(1274126177) & np.uint64(0xFFFFFFFF)
    return np.asarray((mixed ^ (mixed >> np.uint64(16))) & np.uint64(0xFFFF)) / 32767.5 - 1


def _lay_down(picture: Image.Image, rug: Image.Image, layout: ProofLayout) -> None:
    """Paste the rug with its fringe over the shadow that they cast."""
    from PIL import Image, ImageFilter

    box, fringe = layout.woven, layout.fringe
    laid = Image.new("RGBA", (box.width, box.height + 2 * fringe), (*_WARP, 0))
    if fringe:
        laid.paste(_fringe(box.width, fringe, 1).transpose(Image.Transpose.FLIP_TOP_BOTTOM), (0, 0))
        laid.paste(_fringe(box.width, fringe, 2), (0, fringe + box.height))
    laid.paste(rug, (0, fringe))
    mask = Image.new("L", picture.size, 0)
    mask.paste(laid.getchannel("A"), (box.left, box.top - fringe))
    for blur, drop, strength in ((layout.margin / 4, layout.margin / 9, 0.30), (layout.margin / 28, 2.0, 0.32)):
        small = mask.resize((max(1, mask.width // 4), max(1, mask.height // 4)), Image.Resampling.BOX)
        small = small.filter(ImageFilter.GaussianBlur(blur / 4))
        shadow = small.resize(mask.size, Image.Resampling.BICUBIC).point([round(v * strength) for v in range(256)])
        picture.paste((70, 58, 46), (0, round(drop)), shadow)
    picture.paste(laid, (box.left, box.top - fringe), laid.getchannel("A"))


def _fringe(width: int, height: int, seed: int) -> Image.Image:
    """Return the warp ends that hang out below a rug, transparent between them."""
    from PIL import Image, ImageDraw

    finer = 3
    cloth = Image.new("RGBA", (width * finer, height * finer), (*_WARP, 0))
    pen = ImageDraw.Draw(cloth)
    step = max(5, height // 7)
    jitter = _grain(np.arange(seed * 64, seed * 64 + 4), np.arange(width // step + 1))
    for number, (sway, length, tone, bend) in enumerate(jitter.T):
        x = (number + 0.5) * step * finer
        tip = height * finer * (0.86 + 0.12 * length)
        shade = tuple(round(channel * (0.94 + 0.06 * tone)) for channel in _WARP)
        middle = x + bend * step * 0.5 * finer
        points = [(x, 0), (middle, tip * 0.55), (x + sway * step * 0.8 * finer, tip)]
        pen.line(points, fill=(*shade, 255), width=max(2, round(step * 0.42 * finer)), joint="curve")
    band = max(2, height // 9) * finer
    pen.rectangle((0, 0, width * finer, band), fill=(*_WARP, 255))
    return cloth.resize((width, height), Image.Resampling.BOX)


def _letter(picture: Image.Image, knot_map: KnotMap, layout: ProofLayout) -> None:
    """Write the words below the panels, with the scale bar."""
    from PIL import ImageDraw, ImageFont

    pen = ImageDraw.Draw(picture)
    text, box = layout.text, layout.woven
    small, large = ImageFont.load_default(text), ImageFont.load_default(round(1.9 * text))
    y = layout.caption_top + round(1.1 * text)
    pen.text((box.left + box.width / 2, y), "As woven", fill=_QUIET_INK, font=small, anchor="ma")
    if layout.artwork is not None:
        middle = layout.artwork.left + layout.artwork.width / 2
        pen.text((middle, y), "Artwork", fill=_QUIET_INK, font=small, anchor="ma")
    left = min(box.left, (layout.width - 34 * text) // 2) if layout.artwork is None else box.left
    right = layout.width - left
    y += round(3.1 * text)
    bar_left = _scale_bar(pen, layout, small, right, y + round(1.7 * text))
    known = _is_lettered(large, knot_map.rug.name)
    name = _shortened(
        pen, knot_map.rug.name if known else f"Map {knot_map.map_code}", large, bar_left - left - 2 * text
    )
    pen.text((left, y), name, fill=_INK, font=large)
    pen.text((left, y + round(2.9 * text)), size_words(knot_map.rug), fill=_INK, font=small)
    detail = f"{density_words(knot_map.rug)}   ·   {map_words(knot_map)}"
    pen.text((left, y + round(4.5 * text)), detail, fill=_QUIET_INK, font=small)


def _is_lettered(font: _Font, words: str) -> bool:
    """Return whether `font` has a shape for each letter of `words`."""
    missing = bytes(font.getmask("\U0010ffff"))
    return all(letter.isspace() or bytes(font.getmask(letter)) != missing for letter in words)


def _shortened(pen: ImageDraw.ImageDraw, words: str, font: _Font, width: float) -> str:
    if pen.textlength(words, font=font) <= width:
        return words
    while words and pen.textlength(words + "…", font=font) > width:
        words = words[:-1]
    return words.rstrip() + "…"


def _scale_bar(pen: ImageDraw.ImageDraw, layout: ProofLayout, font: _Font, right: int, y: int) -> int:
    """Draw a rule with centimetres above and inches below, ending at `right`; return its left end."""
    text = layout.text
    room_mm = 16 * text / layout.px_per_mm
    bars = []
    for unit_mm, name in ((10.0, "cm"), (float(INCH_MM), "in")):
        fitting = [n * 10**p for p in range(4) for n in (1, 2, 5) if n * 10**p * unit_mm <= room_mm]
        number = max(fitting, default=1)
        bars.append((number * unit_mm * layout.px_per_mm, f"{number} {name}"))
    left = right - round(max(length for length, _ in bars))
    line = max(2, text // 12)
    pen.rectangle((left, y - line // 2, right - 1, y - line // 2 + line - 1), fill=_INK)
    for (length, words), side, anchor in zip(bars, (-1, 1), ("mb", "mt"), strict=True):
        for x in (left, left + round(length) - line):
            top, bottom = sorted((y, y + side * round(0.45 * text)))
            pen.rectangle((x, top, x + line - 1, bottom), fill=_INK)
        pen.text((left + length / 2, y + side * round(0.55 * text)), words, fill=_INK, font=font, anchor=anchor)
    return left
