"""The picture of a design taken apart: its frames, ends, repeats and pieces drawn over the pale artwork, measured."""

from __future__ import annotations

from collections.abc import Iterator
from io import BytesIO

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from chartmaker.artwork.artwork import Artwork
from chartmaker.relay.parts import SIDES, Parts

#: The long side of the picture in pixels.
LONG_SIDE_PX = 1600
#: How far each width of a band stands below the last, as a share of the field's height.
LINE_SHARE = 0.025
_FRAME, _END, _REPEAT, _PIECE = (20, 20, 20), (200, 40, 30), (20, 90, 200), (10, 120, 60)


def parts_picture(artwork: Artwork, parts: Parts, mm_per_px: tuple[float, float]) -> bytes:
    """Return a PNG of the parts over the artwork.

    Frames are black, lines between repeats blue, those where the ends of a side begin red, pieces of the field green.
    Beside them stand the widths of the bands and the lengths of the repeats in centimetres.

    Parameters
    ----------
    artwork : Artwork
        As it is drawn, turned as the design says.
    parts : Parts
    mm_per_px : (float, float)
        Millimetres of a pixel down and across, in the size that it is drawn for.
    """
    pale = (255 - (255 - artwork.srgb.astype(np.uint16)) * 2 // 5).astype(np.uint8)
    image = Image.fromarray(pale)
    scale = LONG_SIDE_PX / max(image.size)
    image = image.resize((round(image.width * scale), round(image.height * scale)), Image.Resampling.BOX)
    pen, font = ImageDraw.Draw(image), ImageFont.load_default(size=15)
    for band in parts.bands:
        box = band.inner
        pen.rectangle([box.left * scale, box.top * scale, box.right * scale, box.bottom * scale], outline=_FRAME)
    for colour, line in _lines(parts):
        pen.line([each * scale for each in line], fill=colour, width=2 if colour == _END else 1)
    field = parts.field
    for piece in parts.pieces.pieces if parts.pieces is not None else ():
        box_px = (field.left + piece.left, field.top + piece.top, field.left + piece.right, field.top + piece.bottom)
        pen.rectangle([each * scale for each in box_px], outline=_PIECE, width=3)
    for (x, y), words in _measures(parts, mm_per_px):
        at = (x * scale + 3, y * scale + 2)
        pen.rectangle(pen.textbbox(at, words, font=font), fill=(255, 255, 255))
        pen.text(at, words, fill=_FRAME, font=font)
    stream = BytesIO()
    image.save(stream, "PNG")
    return stream.getvalue()


def _lines(parts: Parts) -> Iterator[tuple[tuple[int, int, int], tuple[float, float, float, float]]]:
    """Yield the lines between repeats, with their colours, in pixels of the artwork."""
    for band in parts.bands:
        for side in SIDES:
            drawn = band.sides[side]
            if drawn.repeating is None:
                continue
            box, own = drawn.run.box, drawn.repeating
            for number in range(own.times + 1):
                at = own.end + number * own.period
                colour = _END if number in (0, own.times) else _REPEAT
                if drawn.run.across:
                    yield colour, (box.left + at, box.top, box.left + at, box.bottom)
                else:
                    yield colour, (box.left, box.top + at, box.right, box.top + at)
    if parts.lattice is None:
        return
    field, lattice = parts.field, parts.lattice.lattice
    y = (field.top + field.bottom) / 2 % lattice.height
    for number in range(int(field.bottom / lattice.height) + 1):
        if field.top <= y + number * lattice.height <= field.bottom:
            yield _REPEAT, (field.left, y + number * lattice.height, field.right, y + number * lattice.height)
    x = (field.left + field.right) / 2 % lattice.width
    for number in range(int(field.right / lattice.width) + 1):
        if field.left <= x + number * lattice.width <= field.right:
            yield _REPEAT, (x + number * lattice.width, field.top, x + number * lattice.width, field.bottom)


def _measures(parts: Parts, mm_per_px: tuple[float, float]) -> Iterator[tuple[tuple[float, float], str]]:
    """Yield what is written, numbers alone, with its place: the width of each band, the repeat of its sides, the field
    and what stands in it."""
    for number, band in enumerate(parts.bands, start=1):
        if band.width("left") * mm_per_px[1] >= 10:
            below = LINE_SHARE * number * parts.field.height  # each lower than the last, so that none hides another
            middle = (band.inner.top + band.inner.bottom) / 2 + below
            yield (band.outer.left, middle), f"{number}: {band.width('left') * mm_per_px[1] / 10:.1f}"
        for side in ("top", "left"):
            drawn = band.sides[side]
            if drawn.repeating is not None and drawn.repeating.period * mm_per_px[1] >= 60:
                own, box = drawn.repeating, drawn.run.box
                along = own.period * mm_per_px[1 if drawn.run.across else 0] / 10
                place = (box.left + own.end, box.top) if drawn.run.across else (box.left, box.top + own.end)
                yield place, f"{along:.1f}"
    field, (down, across) = parts.field, (each / 10 for each in mm_per_px)
    yield (field.left, field.top), f"{field.width * across:.1f} x {field.height * down:.1f}"
    for piece in parts.pieces.pieces if parts.pieces is not None else ():
        size = f"{(piece.right - piece.left) * across:.1f} x {(piece.bottom - piece.top) * down:.1f}"
        middle = (piece.top + piece.bottom) / 2
        yield (field.left + piece.left, field.top + middle), size
