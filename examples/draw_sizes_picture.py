"""Draws the guide's picture of one design in four sizes: laid anew above, stretched below, all to one scale.

python examples/draw_sizes_picture.py
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from PIL import Image

from chartmaker.jobs import convert_order, read_order

HERE = Path(__file__).parent
SIZES = ("40x60 cm", "60x90 cm", "30x90 cm", "60x60 cm")
#: Pixels of a centimetre, and between two rugs.
PX_PER_CM, APART = 5, 26
PAPER = (0xE9, 0xE4, 0xDA)


def woven(size: str, fit: str) -> Image.Image:
    """Return the knots of the example in a size, in their yarns' colours."""
    over = {"rug": {"size": size}, "design": {"fit": fit}, "layout": {"drawn": "40x60 cm"}}
    knot_map = convert_order(read_order(HERE / "hazel_trellis.toml", over)).conversion.knot_map
    colours = np.array([yarn.srgb for yarn in knot_map.yarns], dtype=np.uint8)
    image = Image.fromarray(colours[knot_map.knots[::-1]])
    rug = knot_map.rug
    shown = (round(float(side) / 10 * PX_PER_CM) for side in (rug.woven_width_mm, rug.woven_length_mm))
    return image.resize(tuple(shown), Image.Resampling.BOX)  # type: ignore[arg-type]


if __name__ == "__main__":
    rows = [[woven(size, fit) for size in SIZES] for fit in ("relay", "stretch")]
    width = APART + sum(max(pair[0].width, pair[1].width) + APART for pair in zip(*rows, strict=True))
    height = APART + sum(max(image.height for image in row) + APART for row in rows)
    sheet = Image.new("RGB", (width, height), PAPER)
    y = APART
    for row in rows:
        x, deep = APART, max(image.height for image in row)
        for image, pair in zip(row, zip(*rows, strict=True), strict=True):
            sheet.paste(image, (x, y + deep - image.height))
            x += max(each.width for each in pair) + APART
        y += deep + APART
    sheet.quantize(64, dither=Image.Dither.NONE).save(HERE / "pictures" / "sizes.png", optimize=True)
