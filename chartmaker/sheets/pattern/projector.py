"""The pattern as a picture for a projector: bright lines and numbers on black, with marks by which it is set to size.

Where the picture is black no light falls, so the cloth is seen as it is, and a line that was traced is told at once
from one that was not. A projector stands askew more often than not, so the frame says how long its sides and its
diagonals must be on the cloth.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO
from math import hypot

from PIL import Image, ImageDraw, ImageFont
from PIL.PngImagePlugin import PngInfo

from chartmaker.ground.language import say
from chartmaker.ground.lengths import both_sizes, cm_words
from chartmaker.ground.plaintext import json_text
from chartmaker.outlines.numbers import SMALLEST_MM
from chartmaker.outlines.reducing import reduced
from chartmaker.outlines.tracing import Outlines
from chartmaker.paper.drawing import MIDDLE_EM
from chartmaker.paper.lettering import base_font
from chartmaker.sheets.pattern.drawing import Drawing, edges_once

#: The colours of light: edges of fields, numbers with their leaders, middles of thin lines, and marks.
EDGES, NUMBERS, MIDDLES, MARKS = (255, 255, 255), (255, 220, 0), (255, 0, 255), (0, 200, 255)
#: The name of the text in the file that says where the rug and each number lies, so that both can be found again.
TOLD_KEY = "pattern"
#: The height of the smallest number in pixels; the picture is like a sheet whose pixels are small enough for that.
_SMALLEST_PX = 12
#: The share of the picture's shorter side that is left round the rug for marks and words.
_MARGIN = 0.06
#: How far the marks along the frame are apart, in millimetres; the second are longer.
_TICK_MM, _LONG_TICK_MM = 100, 500

Point = tuple[float, float]


@dataclass(frozen=True)
class Laid:
    """How a rug lies on the picture: the upper left corner in pixels, and the pixels of a millimetre of cloth."""

    left: float
    top: float
    width: float
    height: float
    px_per_mm: float


def laid(drawing: Drawing, resolution: tuple[int, int]) -> Laid:
    """Return how the drawing lies in the middle of a picture, as large as the margin lets it be."""
    wide, high = resolution
    margin = _MARGIN * min(resolution)
    scale = min((wide - 2 * margin) / drawing.width_mm, (high - 2 * margin) / drawing.height_mm)
    width, height = drawing.width_mm * scale, drawing.height_mm * scale
    return Laid((wide - width) / 2, (high - height) / 2, width, height, scale)


def projector_picture(drawing: Drawing, resolution: tuple[int, int], *, font_bytes: bytes | None = None) -> bytes:
    """Return a PNG with one pixel for each of the projector's.

    Parameters
    ----------
    drawing : Drawing
        From the side that it is thrown on.
    resolution : (int, int)
        Of the projector: pixels across and down.
    font_bytes : bytes, optional
        The font of the words; left out, the base font.
    """
    at = laid(drawing, resolution)
    pixel_mm = SMALLEST_MM / _SMALLEST_PX  # of the sheet that the picture is drawn like
    scale = at.px_per_mm * pixel_mm
    small = reduced(drawing.outlines, (scale, scale), drawing.number)
    picture = Image.new("RGB", resolution)
    pen = ImageDraw.Draw(picture)
    stroke = max(1, round(min(resolution) / 1000))

    def px(x_mm: float, y_mm: float) -> Point:
        return at.left + x_mm / pixel_mm - 0.5, at.top + at.height - y_mm / pixel_mm - 0.5

    def line(points: list[Point], colour: tuple[int, int, int], width: int) -> None:
        pen.line([px(x, y) for x, y in points], fill=colour, width=width, joint="curve" if width > 1 else None)

    for middle in small.lines:
        line(list(middle.points_mm), MIDDLES, 1)
    base = base_font("Vera.ttf")
    for place in small.numbers:
        if place.has_leader:
            line([(place.x_mm, place.y_mm), (place.at_x_mm, place.at_y_mm)], NUMBERS, 1)
    for place in small.numbers:
        number, x, y = drawing.number(small.rings[place.field][0]), *px(place.x_mm, place.y_mm)
        font = ImageFont.truetype(BytesIO(base), place.height_mm / pixel_mm / (2 * MIDDLE_EM))
        if place.has_leader:
            pen.rectangle(pen.textbbox((x, y), number, font=font, anchor="mm"), fill=(0, 0, 0))
        pen.text((x, y), number, font=font, fill=NUMBERS, anchor="mm")
    for edge in edges_once(small):
        line(edge, EDGES, stroke)
    _marks(pen, drawing, at, stroke, font_bytes or base)
    stream, said = BytesIO(), PngInfo()
    said.add_text(TOLD_KEY, json_text(_told(drawing, small, at, pixel_mm)))
    picture.save(stream, "PNG", pnginfo=said)
    return stream.getvalue()


def _told(drawing: Drawing, small: Outlines, at: Laid, pixel_mm: float) -> dict[str, object]:
    """Return what the file says of its picture: side and map, the rug's place, and each number with its field, in px.

    Of a number there are its figures, its middle, its height, and a point of its field.
    """
    foot = at.top + at.height
    numbers = [
        f"{drawing.number(small.rings[place.field][0])} {at.left + place.x_mm / pixel_mm:.2f} "
        f"{foot - place.y_mm / pixel_mm:.2f} {place.height_mm / pixel_mm:.3f} "
        f"{at.left + place.at_x_mm / pixel_mm:.2f} {foot - place.at_y_mm / pixel_mm:.2f}"
        for place in small.numbers
    ]
    rug = [round(value, 2) for value in (at.left, at.top, at.width, at.height)]
    return {"side": drawing.side, "map": drawing.code, "rug": rug, "numbers": numbers}


def _marks(pen: ImageDraw.ImageDraw, drawing: Drawing, at: Laid, stroke: int, font_bytes: bytes) -> None:
    """Draw the frame with its marks, the middle, and the words that say how large it must be on the cloth."""
    left, top, right, foot = at.left - 0.5, at.top - 0.5, at.left + at.width - 0.5, at.top + at.height - 0.5
    pen.rectangle((left, top, right, foot), outline=MARKS, width=stroke)
    room = max(at.top, at.left) if at.top < 20 else at.top
    font = ImageFont.truetype(BytesIO(font_bytes), max(room * 0.26, 8))
    for mm, share in _ticks(drawing.width_mm):
        x, long = left + mm * at.px_per_mm, share * room
        pen.line((x, foot, x, foot + long), fill=MARKS, width=stroke)
        pen.line((x, top, x, top - long), fill=MARKS, width=stroke)
    for mm, share in _ticks(drawing.height_mm):
        y, long = foot - mm * at.px_per_mm, share * room
        pen.line((left, y, left - long, y), fill=MARKS, width=stroke)
        pen.line((right, y, right + long, y), fill=MARKS, width=stroke)
    x, y, arm = (left + right) / 2, (top + foot) / 2, room * 0.3
    pen.line((x - arm, y, x + arm, y), fill=MARKS, width=stroke)
    pen.line((x, y - arm, x, y + arm), fill=MARKS, width=stroke)
    pen.polygon(((x, top - room * 0.5), (x - arm / 2, top - room * 0.15), (x + arm / 2, top - room * 0.15)), fill=MARKS)
    for base, words in zip((top - room * 0.75, foot + room * 0.75), _words(drawing, at), strict=True):
        pen.text((x, base), words, font=_fitting(pen, font, words, pen.im.size[0]), fill=MARKS, anchor="mm")


def _ticks(length_mm: float) -> Iterator[tuple[float, float]]:
    """Yield where marks stand along a side, from its middle outward, and how long each is as a share of the room."""
    middle = length_mm / 2
    for step in range(-int(middle // _TICK_MM), int(middle // _TICK_MM) + 1):
        yield middle + step * _TICK_MM, 0.4 if step * _TICK_MM % _LONG_TICK_MM == 0 else 0.2


def _words(drawing: Drawing, at: Laid) -> tuple[str, str]:
    """Return the words above the frame and below it."""
    side = (
        say("MIRRORED, for the back of the cloth: it is right if you can read this from where you tuft")
        if drawing.side == "back"
        else say("AS THE PILE IS SEEN: to be thrown through the cloth, from the side of the pile")
    )
    size = say(
        "on the cloth the frame measures {size}, both diagonals {diagonal}; marks every 10 cm; a pixel is {pixel:.2f} "
        "mm; map {code}",
        size=both_sizes(drawing.width_mm, drawing.height_mm),
        diagonal=cm_words(hypot(drawing.width_mm, drawing.height_mm)),
        pixel=1 / at.px_per_mm,
        code=drawing.code,
    )
    return side, size


def _fitting(
    pen: ImageDraw.ImageDraw, font: ImageFont.FreeTypeFont, words: str, most_px: int
) -> ImageFont.FreeTypeFont:
    """Return the font, or the same one smaller, in which the words are no wider than the picture."""
    wide = pen.textlength(words, font=font)
    return font if wide <= 0.96 * most_px else font.font_variant(size=font.size * 0.96 * most_px / wide)
