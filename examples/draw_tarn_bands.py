"""Draws the artwork of the hand-loom example: a runner in bands, which repeat between two broad ends.

    python examples/draw_tarn_bands.py

writes `tarn_bands.png` beside this script: a pixel is a rod high, so that every band is as many rods as are given here.
"""

from __future__ import annotations

from pathlib import Path

from PIL import Image, ImageDraw

WIDTH = 216
DARK, BLUE, PALE, OAT, RUST = (
    (0x16, 0x20, 0x3A),
    (0x2B, 0x43, 0x72),
    (0xB9, 0xD0, 0xD3),
    (0xF4, 0xF0, 0xE4),
    (0xB4, 0x3B, 0x27),
)
#: (colour, rods) from the foot up: an end, a repeat, the middle, the repeat again, an end.
END = ((DARK, 36), (OAT, 4), (DARK, 8))
REPEAT = ((BLUE, 18), (OAT, 3), (PALE, 12), (OAT, 3))
MIDDLE = ((RUST, 24), (DARK, 8), (RUST, 24))
BANDS = (*END, *REPEAT * 8, *MIDDLE, *REPEAT[::-1] * 8, *END[::-1])


def bands() -> Image.Image:
    """Return the artwork."""
    picture = Image.new("RGB", (WIDTH, sum(rods for _, rods in BANDS)))
    draw = ImageDraw.Draw(picture)
    foot = picture.height
    for colour, rods in BANDS:
        draw.rectangle((0, foot - rods, WIDTH, foot - 1), fill=colour)
        foot -= rods
    return picture


if __name__ == "__main__":
    bands().save(Path(__file__).with_name("tarn_bands.png"), optimize=True)
