"""Draws the guide's picture of places of the example, each knot by itself above, fitted and with equal motifs below.

python examples/draw_equal_picture.py
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from PIL import Image

from chartmaker.jobs import convert_order, read_order

HERE = Path(__file__).parent
#: The first row and column of each place, its rows with columns, in knots from the top left of the rug.
PLACES, ROWS, COLUMNS = ((346, 182), (145, 138), (284, 168)), 46, 50
#: Pixels of a knot across and along, and between two pictures.
WIDE, HIGH, APART = 8, 6, 12
PAPER = (0xE9, 0xE4, 0xDA)


def woven(drawn: bool) -> np.ndarray:
    """Return the colour of each knot of the example, the last woven row first."""
    over = {"design": {"fitted": drawn, "motifs": drawn}}
    knot_map = convert_order(read_order(HERE / "quince_garden.toml", over)).conversion.knot_map
    return np.array([yarn.srgb for yarn in knot_map.yarns], dtype=np.uint8)[knot_map.knots[::-1]]


if __name__ == "__main__":
    across, along = COLUMNS * WIDE + APART, ROWS * HIGH + APART
    sheet = Image.new("RGB", (APART + len(PLACES) * across, APART + 2 * along), PAPER)
    for number, colours in enumerate((woven(False), woven(True))):
        for place, (row, column) in enumerate(PLACES):
            part = colours[row : row + ROWS, column : column + COLUMNS].repeat(HIGH, axis=0).repeat(WIDE, axis=1)
            sheet.paste(Image.fromarray(part), (APART + place * across, APART + number * along))
    sheet.quantize(64, dither=Image.Dither.NONE).save(HERE / "pictures" / "equal.png", optimize=True)
