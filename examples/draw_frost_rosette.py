"""Draws the artwork of the carved example: a rosette in pale colours, on a ground of its own.

    python examples/draw_frost_rosette.py

writes `frost_rosette.png` beside this script. The rug lives by its relief, so that its colours are near each other.
"""

from __future__ import annotations

import math
from pathlib import Path

from PIL import Image, ImageDraw

SIDE, FINE = 800, 3
GROUND, PETAL, HEART, RING = (0xF4, 0xF0, 0xE4), (0xD3, 0xB9, 0x8A), (0xB8, 0xB0, 0xA2), (0xC3, 0x94, 0x36)
PETALS = 12


def rosette() -> Image.Image:
    """Return the artwork."""
    picture = Image.new("RGB", (SIDE * FINE, SIDE * FINE), GROUND)
    draw = ImageDraw.Draw(picture)
    middle = SIDE * FINE / 2

    def disc(radius: float, colour: tuple[int, int, int]) -> None:
        r = radius * FINE
        draw.ellipse((middle - r, middle - r, middle + r, middle + r), fill=colour)

    disc(360, RING)
    disc(340, GROUND)
    for number in range(PETALS):
        turn = 2 * math.pi * number / PETALS
        outline = []
        for step in range(97):
            along = 2 * math.pi * step / 96
            across, out = 52 * math.sin(along), 205 + 95 * math.cos(along)
            x = out * math.cos(turn) - across * math.sin(turn)
            y = out * math.sin(turn) + across * math.cos(turn)
            outline.append((middle + x * FINE, middle + y * FINE))
        draw.polygon(outline, fill=PETAL)
    disc(92, HEART)
    return picture.resize((SIDE, SIDE), Image.Resampling.NEAREST)


if __name__ == "__main__":
    rosette().save(Path(__file__).with_name("frost_rosette.png"), optimize=True)
