"""A pattern's picture for a projector, held against the knot map: its edges, its numbers, and how it lies.

The file says where each number stands, how high it is and which field it is meant for. Whether it stands there is
looked up in the pixels, figure by figure, and nothing may shine that the file does not name. Then the fields are filled
by their numbers like those of a printed pattern. Its words are not read.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO
from typing import Any

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.raster import decode
from chartmaker.ground.errors import KnotFileError
from chartmaker.ground.language import say
from chartmaker.ground.textsafe import inert
from chartmaker.paper.lettering import base_font
from chartmaker.verify.drawnyarns import UNTOLD, Drawn
from chartmaker.verify.patterns import ExpectedPattern, filled_by_numbers, grown, yarn_differences

#: What a picture begins with, and where in it is told how it was drawn.
SIGNATURE, KEY = b"\x89PNG\r\n\x1a\n", "pattern"
#: The heights of figures in the base font, in em, and the parts of a number that may be hidden by edges.
_CAPITAL_EM, _LEAST_SEEN = 0.73, 0.6
#: A field of so many pixels has a number.
_UNNUMBERED_PX = 220
#: So many pixels may shine beyond the numbers and leaders that are named, and this share of the frame may be hidden.
_MOST_STRAY, _HIDDEN = 12, 0.05
#: The rug's sides may be off by so many pixels.
_OFF_PX = 1.5

Bits = NDArray[np.bool_]
Bytes = NDArray[np.uint8]


@dataclass(frozen=True)
class _Number:
    """A number as the file names it: its figures, its middle and its height, and a point of its field, in pixels."""

    words: str
    x: float
    y: float
    height: float
    at_x: float
    at_y: float


@dataclass(frozen=True, eq=False)
class _Thrown(ExpectedPattern):
    """What a pattern must show, looked at in the pixels of the projector."""

    px: float = 1.0

    @property
    def scale(self) -> float:
        return self.px


def projection_differences(data: bytes, expected: ExpectedPattern, map_code: str) -> Iterator[str]:
    """Yield how a projector's picture differs from the map that has this code.

    Raises
    ------
    ValueError
        If the file does not say how it was drawn.
    KnotFileError
        If it is not a picture that can be read.
    """
    opened = decode(data, ("PNG",), KnotFileError, say("picture"), say("projector's picture"))
    picture = np.asarray(opened.convert("RGB"))
    side, code, (left, top, width, height), numbers = _told(str(opened.info.get(KEY, "")))
    if code != map_code:
        yield say("it is the picture of map {found}, not {wanted}", found=inert(code), wanted=map_code)
    thrown = _Thrown(
        *(expected.knot_map, expected.width_mm, expected.height_mm, side == "back"), px=width / expected.width_mm
    )
    inside = left >= 0 and top >= 0 and left + width <= picture.shape[1] and top + height <= picture.shape[0]
    if not inside or abs(width / expected.width_mm * expected.height_mm - height) > _OFF_PX:
        yield say("it shows a rug of other proportions")
        return
    marks = _near(picture, (0, 200, 255))
    if not _framed(marks, left, top, width, height):
        yield say("its frame is not drawn where the rug ends")
    yield from _number_differences(picture, marks, numbers)
    row, column = min(round(top), len(picture) - thrown.shape[0]), min(round(left), picture.shape[1] - thrown.shape[1])
    part = np.s_[row : row + thrown.shape[0], column : column + thrown.shape[1]]
    edges = (picture[part].min(axis=2) > 128) | marks[part]
    edges[[0, 1, -2, -1]] = True  # the frame, and what a pixel of rounding leaves beyond it
    edges[:, [0, 1, -2, -1]] = True
    foot = row + thrown.height_mm * thrown.px
    placed = [
        ((each.at_x - column) / thrown.px, (foot - each.at_y) / thrown.px, thrown.yarn(each.words)) for each in numbers
    ]
    crossed = grown(marks[part])  # marks in the middle of the rug may cut off a piece of a field
    crossed[[0, 1, 2, -3, -2, -1]] = False
    crossed[:, [0, 1, 2, -3, -2, -1]] = False
    drawn, wrong = filled_by_numbers(edges, placed, thrown, _UNNUMBERED_PX / thrown.px**2, crossed)
    yield from wrong
    clear = np.where(grown(edges), UNTOLD, drawn.yarns)
    yield from yarn_differences(Drawn(clear, drawn.fields, drawn.scale), thrown)


def _told(words: str) -> tuple[str, str, tuple[float, float, float, float], list[_Number]]:
    """Return the side, the map's code, the place of the rug, and the numbers, as the file names them."""
    try:
        record = json.loads(words)
        left, top, width, height = (float(each) for each in record["rug"])
        numbers = [_Number(words, *map(float, rest)) for words, *rest in map(str.split, record["numbers"])]
        places = [value for each in numbers for value in (each.x, each.y, each.at_x, each.at_y)]
        plain = [left, top, width, height, *places]
        right = all(map(math.isfinite, plain)) and min(width, height) >= 1
        right &= all(1 <= each.height < 1e4 and each.words.isascii() and each.words.isdecimal() for each in numbers)
        if not right or max(map(abs, plain)) > 1e6 or any(len(each.words) > 5 for each in numbers):
            raise ValueError
        return str(record["side"]), str(record["map"]), (left, top, width, height), numbers
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        raise ValueError(say("it does not say how it was drawn")) from error


def _near(picture: Bytes, colour: tuple[int, int, int]) -> Bits:
    return np.asarray(np.abs(picture.astype(np.int16) - colour).max(axis=2) < 60)


def _framed(marks: Bits, left: float, top: float, width: float, height: float) -> bool:
    """Return whether marks run along all four sides of the rug."""
    wide = grown(marks)
    rows = slice(max(round(top), 0), round(top + height))
    columns = slice(max(round(left), 0), round(left + width))
    sides = [wide[min(round(y), len(wide) - 1), columns] for y in (top, top + height - 1)]
    sides += [wide[rows, min(round(x), wide.shape[1] - 1)] for x in (left, left + width - 1)]
    return all(side.mean() > 1 - _HIDDEN for side in sides)


def _number_differences(picture: Bytes, marks: Bits, numbers: list[_Number]) -> Iterator[str]:
    """Yield which numbers do not shine where the file says, and whether more shines than it names."""
    from PIL import Image, ImageDraw

    red, green, blue = (picture[..., band].astype(np.int32) for band in range(3))
    seen = np.where(blue < 110, np.minimum(red, green * 255 // 220), 0).clip(0, 255).astype(np.uint8)
    hidden = marks | (blue >= 110)
    named = Image.new("1", (picture.shape[1], picture.shape[0]))
    pen = ImageDraw.Draw(named)
    letters = _Letters()
    for each in numbers:
        if (each.x, each.y) != (each.at_x, each.at_y):
            pen.line([(each.x - 0.5, each.y - 0.5), (each.at_x - 0.5, each.at_y - 0.5)], fill=1, width=3)
    leaders = np.array(named)
    for each in numbers:
        box, drawn = letters.drawn(each, each.words)
        left, top, right, foot = box
        if left < 0 or top < 0 or right > picture.shape[1] or foot > picture.shape[0]:
            yield say("the number {number} runs off the picture", number=each.words)
            continue
        part = np.s_[top:foot, left:right]
        if not letters.is_shown(each, seen[part], ~hidden[part]):
            yield say("the number {number} is not seen at {x:.0f} x {y:.0f}", number=each.words, x=each.x, y=each.y)
        leaders[part] |= drawn > 0
    stray = (seen > 140) & ~grown(grown(leaders))
    if stray.sum() > _MOST_STRAY:
        row, column = (int(value) for value in np.argwhere(stray)[0])
        yield say("a number or a line shines at {x} x {y} that it does not name", x=column, y=row)


class _Letters:
    """Numbers drawn in the base font, to be compared with those in a picture."""

    def __init__(self) -> None:
        self._base = base_font("Vera.ttf")
        self._fonts: dict[float, Any] = {}

    def drawn(self, number: _Number, words: str) -> tuple[tuple[int, int, int, int], Bytes]:
        """Return where some words stand in place of a number, with a pixel of air, and how bright they are there."""
        from PIL import Image, ImageDraw, ImageFont

        font = self._fonts.get(number.height)
        if font is None:
            font = self._fonts[number.height] = ImageFont.truetype(BytesIO(self._base), number.height / _CAPITAL_EM)
        middle = number.x - 0.5, number.y - 0.5
        left, top, right, foot = font.getbbox(number.words, anchor="mm")
        box = (
            *(math.floor(middle[0] + left) - 1, math.floor(middle[1] + top) - 1),
            *(math.ceil(middle[0] + right) + 1, math.ceil(middle[1] + foot) + 1),
        )
        picture = Image.new("L", (box[2] - box[0], box[3] - box[1]))
        place = middle[0] - box[0], middle[1] - box[1]
        ImageDraw.Draw(picture).text(place, words, font=font, fill=255, anchor="mm")
        return box, np.asarray(picture)

    def is_shown(self, number: _Number, seen: Bytes, plain: Bits) -> bool:
        """Return whether the pixels show a number, and no other number as well as that one."""
        own = self.drawn(number, number.words)[1].astype(float)
        light, visible = seen.astype(float), plain & (own > 0)
        if own[visible].sum() < 0.25 * own.sum():
            return True  # marks or edges hide nearly all of it
        if (own * light)[visible].sum() < _LEAST_SEEN * (own * own)[visible].sum():
            return False
        off = np.abs(own - light)[plain].sum()
        for place, figure in enumerate(number.words):
            for other in "0123456789".replace(figure, ""):
                words = number.words[:place] + other + number.words[place + 1 :]
                if np.abs(self.drawn(number, words)[1].astype(float) - light)[plain].sum() < off:
                    return False
        return True
