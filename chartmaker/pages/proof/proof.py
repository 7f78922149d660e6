"""The proof picture: the rug as it will lie on the floor, beside its artwork."""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from chartmaker.artwork.artwork import Artwork
from chartmaker.figures.carving import Carving
from chartmaker.ground.colour import FloatArray, srgb8_from_linear
from chartmaker.ground.language import say
from chartmaker.ground.units import INCH_MM
from chartmaker.knots.knotmap import KnotArray, KnotMap
from chartmaker.pages.proof.area import artwork_bands
from chartmaker.pages.proof.pile import grain, woven_bands
from chartmaker.pages.proof.prooflayout import LONG_SIDE_PX, Box, Detail, ProofLayout, proof_layout
from chartmaker.pages.proof.relief import lit
from chartmaker.reports.words import code_words, density_words, knots_words, size_words

if TYPE_CHECKING:
    from PIL import Image, ImageDraw, ImageFont

    _Font = ImageFont.FreeTypeFont | ImageFont.ImageFont

#: The key of the text in the file that says where the rug lies: left, top, width, height in pixels.
PLACE_KEY = "rug"
_GROUND = (232, 227, 217)
_INK = (58, 52, 46)
_QUIET_INK = (122, 113, 102)
_WARP = (241, 234, 218)


def proof_picture(
    knot_map: KnotMap,
    artwork: Artwork | None = None,
    carving: Carving | None = None,
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
    carving : Carving, optional
        What is cut into the pile; where it shows, light from one side does too.
    long_side_px : int
        What the picture's longer side may be.
    """
    from PIL import Image
    from PIL.PngImagePlugin import PngInfo

    layout = proof_layout(knot_map, artwork=artwork is not None, long_side_px=long_side_px)
    picture = Image.new("RGB", (layout.width, layout.height), _GROUND)
    relief = carving if carving is not None and carving.shows and carving.lit else None
    _lay_down(picture, _woven(knot_map.knots, knot_map, layout.woven, relief, layout.px_per_mm), layout)
    if artwork is not None and layout.artwork is not None:
        box = layout.artwork
        bands = artwork_bands(artwork, box.height, box.width)
        art = _assembled(bands, box)
        picture.paste(art, (box.left, box.top), art.getchannel("A"))
    if layout.detail is not None:
        detail, box = layout.detail, layout.detail.box
        knots = knot_map.knots[detail.rows.start : detail.rows.stop, detail.columns.start : detail.columns.stop]
        closer = _woven(knots, knot_map, box, relief, layout.px_per_mm * detail.enlarged)
        picture.paste(closer, (box.left, box.top), closer.getchannel("A"))
    _letter(picture, knot_map, layout)
    out = io.BytesIO()
    place = layout.woven.left, layout.woven.top, layout.woven.width, layout.woven.height
    told = PngInfo()
    told.add_text(PLACE_KEY, " ".join(map(str, place)))  # for programs: where the rug lies in the picture
    picture.save(
        out, "PNG", pnginfo=told, compress_level=2
    )  # the grain of the pile hardly packs: more is three times slower for 4 %
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
    picture.save(out, "PNG", compress_level=3)  # more takes half as long again for 4 %
    if out.tell() <= most_bytes:
        return out.getvalue(), "image/png"
    out = io.BytesIO()
    picture.save(out, "WEBP", quality=88, method=4)
    return out.getvalue(), "image/webp"


def _woven(knots: KnotArray, knot_map: KnotMap, box: Box, relief: Carving | None, px_per_mm: float) -> Image.Image:
    """Return the picture of some knots of a map, as large as `box`, in relief where something is carved."""
    bands = woven_bands(knots, knot_map.yarns, box.height, box.width)
    light = None if relief is None else lit(knots, relief, box.height, box.width, px_per_mm)
    return _assembled(bands, box, light)


def _assembled(
    bands: Iterator[tuple[int, FloatArray, FloatArray]], box: Box, lit_by: FloatArray | None = None
) -> Image.Image:
    """Return a picture with transparency of (first row, linear light, cover) bands, the light times `lit_by`."""
    from PIL import Image

    pixels = np.empty((box.height, box.width, 4), dtype=np.uint8)
    for start, light, cover in bands:
        if lit_by is not None:
            light = np.minimum(light * lit_by[start : start + len(light), :, None], 1.0)
        pixels[start : start + len(light), :, :3] = srgb8_from_linear(light)
        pixels[start : start + len(light), :, 3] = np.floor(cover * 255 + 0.5)
    return Image.fromarray(pixels, "RGBA")


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
    jitter = grain(np.arange(seed * 64, seed * 64 + 4), np.arange(width // step + 1))
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
    """Write below each panel what it is, then the rug's name, size and density, and the scale bar."""
    from PIL import ImageDraw, ImageFont

    pen = ImageDraw.Draw(picture)
    text = layout.text
    small, large = ImageFont.load_default(text), ImageFont.load_default(round(1.9 * text))
    labels = [(layout.woven, say("As woven"))]
    if layout.artwork is not None:
        labels.append((layout.artwork, say("Artwork")))
    for box, words in labels:
        at = (box.left + box.width / 2, layout.labels_top + 0.9 * text)
        pen.text(at, words, fill=_QUIET_INK, font=small, anchor="ma")
    if layout.detail is not None:
        box = layout.detail.box
        at = (box.left + box.width / 2, box.top + box.height + 0.9 * text)
        pen.text(at, _detail_words(layout.detail), fill=_QUIET_INK, font=small, anchor="ma")
    left, y = layout.caption_left, layout.caption_top
    bar_left = _scale_bar(pen, layout, small, layout.width - left, y + round(1.7 * text))
    name = knot_map.rug.name if _is_lettered(large, knot_map.rug.name) else f"Map {knot_map.map_code}"
    pen.text((left, y), _shortened(pen, name, large, bar_left - left - 2 * text), fill=_INK, font=large)
    lines = (
        (f"{size_words(knot_map.rug)}   ·   {code_words(knot_map)}", _INK),
        (density_words(knot_map.rug), _QUIET_INK),
        (knots_words(knot_map), _QUIET_INK),
    )
    for number, (words, ink) in enumerate(lines):
        pen.text((left, y + round((2.9 + 1.6 * number) * text)), words, fill=ink, font=small)


def _detail_words(detail: Detail) -> str:
    rows, columns = detail.rows, detail.columns
    return say(
        "Detail, {times:.2g} times as large: rows {first_row} to {last_row}, columns {first_column} to {last_column}",
        times=detail.enlarged,
        first_row=rows.start + 1,
        last_row=rows.stop,
        first_column=columns.start + 1,
        last_column=columns.stop,
    )


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
