"""Draws the artwork of the example in many sizes: hazel leaves on a trellis, in a border of nuts; in clean colours.

    python examples/draw_hazel_trellis.py

writes `hazel_trellis.png` beside this script. All of it repeats, as a drawing must that is to be laid anew in any size.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path

from PIL import Image, ImageDraw

Place, Colour = tuple[float, float], tuple[int, int, int]

#: Pixels of a knot; the drawing is for 160 x 240 knots.
KNOT = 6
COLUMNS, ROWS = 160, 240
RED, BLUE, CREAM, OCHRE, GREEN, BROWN = (
    (0x8F, 0x2A, 0x26),
    (0x1D, 0x2E, 0x55),
    (0xEC, 0xE0, 0xC8),
    (0xC8, 0x98, 0x3E),
    (0x6E, 0x7B, 0x4E),
    (0x4A, 0x33, 0x26),
)
#: Knots: the rim, a guard with its lozenges, the broad border, a guard; then the field.
RIM, GUARD, BORDER = 4, 6, 20
GUARD_REPEAT, NUT_REPEAT, TRELLIS = 10, 20, 20


class Sheet:
    """Ruled paper: places are knots from its top left corner."""

    def __init__(self) -> None:
        self.image = Image.new("RGB", (COLUMNS * KNOT, ROWS * KNOT), BROWN)
        self.pen = ImageDraw.Draw(self.image)

    def box(self, inset: int, colour: Colour) -> None:
        self.pen.rectangle(
            (inset * KNOT, inset * KNOT, (COLUMNS - inset) * KNOT - 1, (ROWS - inset) * KNOT - 1), fill=colour
        )

    def shape(
        self, middle: tuple[float, float], points: list[tuple[float, float]], colour: tuple[int, int, int]
    ) -> None:
        x, y = middle
        self.pen.polygon([((x + dx) * KNOT - 0.5, (y + dy) * KNOT - 0.5) for dx, dy in points], fill=colour)

    def disc(self, middle: Place, radius: float, colour: Colour) -> None:
        x, y, reach = middle[0] * KNOT - 0.5, middle[1] * KNOT - 0.5, radius * KNOT
        self.pen.ellipse((x - reach, y - reach, x + reach, y + reach), fill=colour)


def leaf(angle: float, start: float, length: float, width: float) -> list[tuple[float, float]]:
    """Return the outline of a leaf that points away from the middle."""
    points = []
    for step in range(41):
        share = step / 20 if step <= 20 else (40 - step) / 20
        beside = width / 2 * math.sin(math.pi * share) ** 0.8 * (1 if step <= 20 else -1)
        along = start + share * length
        points.append(
            (along * math.cos(angle) - beside * math.sin(angle), along * math.sin(angle) + beside * math.cos(angle))
        )
    return points


def nut(sheet: Sheet, middle: tuple[float, float]) -> None:
    """Draw a nut between four leaves."""
    for quarter in range(4):
        sheet.shape(middle, leaf(math.pi / 4 + quarter * math.pi / 2, 2.5, 6.5, 3.8), GREEN)
    sheet.disc(middle, 4.6, OCHRE)
    sheet.disc(middle, 2.2, RED)


def all_round(inset: float, repeat: int) -> Iterator[Place]:
    """Yield the middle of every repeat of a border whose middle line is so many knots from the rim."""
    wide, high = COLUMNS - 2 * inset, ROWS - 2 * inset
    for number in range(round(wide / repeat) + 1):
        for y in (inset, ROWS - inset):
            yield inset + number * wide / round(wide / repeat), y
    for number in range(1, round(high / repeat)):
        for x in (inset, COLUMNS - inset):
            yield x, inset + number * high / round(high / repeat)


def trellis() -> Image.Image:
    """Return the artwork."""
    sheet = Sheet()
    inset = RIM
    for width, ground in ((GUARD, CREAM), (BORDER, BLUE), (GUARD, CREAM)):
        sheet.box(inset, ground)
        for middle in all_round(inset + width / 2, NUT_REPEAT if width == BORDER else GUARD_REPEAT):
            if width == BORDER:
                nut(sheet, middle)
            else:
                sheet.shape(middle, [(-2.5, 0), (0, -2), (2.5, 0), (0, 2)], RED)
        inset += width
        sheet.box(inset, BROWN)
        inset += 1
    sheet.box(inset, RED)
    wide, high = COLUMNS - 2 * inset, ROWS - 2 * inset
    field = Sheet()
    field.box(0, RED)
    for row in range(-1, high // (TRELLIS // 2) + 2):
        for column in range(-1, wide // TRELLIS + 2):
            x = COLUMNS / 2 + (column - wide // TRELLIS // 2) * TRELLIS + (row % 2) * TRELLIS / 2
            y = ROWS / 2 + (row - high // TRELLIS) * TRELLIS / 2
            for side in range(4):
                field.shape((x, y), leaf(side * math.pi / 2 + math.pi / 4, 2.2, 4.4, 2.6), GREEN)
            field.disc((x, y), 2.6, CREAM)
            field.disc((x, y), 1.3, BLUE)
            for side in (-1, 1):
                field.disc((x, y + side * TRELLIS / 4), 1.0, OCHRE)
                field.disc((x + side * TRELLIS / 2, y), 1.0, OCHRE)
    box = (inset * KNOT, inset * KNOT, (COLUMNS - inset) * KNOT, (ROWS - inset) * KNOT)
    sheet.image.paste(field.image.crop(box), box)
    return sheet.image


if __name__ == "__main__":
    trellis().save(Path(__file__).with_name("hazel_trellis.png"), optimize=True)
