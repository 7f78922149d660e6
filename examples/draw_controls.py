"""Draws the README's picture of what the conversion's controls do.

Run it from the project's folder, with the tests' libraries: python examples/draw_controls.py
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont
from skimage import data

from chartmaker.artwork.artwork import Artwork
from chartmaker.convert.conversion import convert
from chartmaker.order.design import Design, YarnChoice
from chartmaker.order.rug import Rug
from chartmaker.yarns.card import read_card
from chartmaker.yarns.yarn import srgb_of

ROOT = Path(__file__).parent.parent
SIDE, GAP, LINE = 300, 14, 20


def drawing(name: str) -> NDArray[np.uint8]:
    """Return a drawing of the fixtures as sRGB."""
    with Image.open(ROOT / "fixtures" / "drawings" / f"{name}.png") as picture:
        return np.asarray(picture.convert("RGB"))


def woven(srgb: NDArray[np.uint8], columns: int, colours: int | None = None, **design: Any) -> Image.Image:
    """Return the artwork as knots, each a block of its yarn's colour."""
    rows = round(columns * srgb.shape[0] / srgb.shape[1])
    size = {"width": f"{columns * 5} mm", "length": f"{rows * 5} mm"}
    rug = Rug.model_validate({**size, "density": "20x20 per dm"})
    card = read_card(ROOT / "examples" / "osmerfold_wool.csv")
    choice = YarnChoice(colours=colours)
    result = convert(Artwork(srgb), rug, card, Design.model_validate({"fit": "stretch", **design}), choice)
    picture = Image.fromarray(srgb_of(result.knot_map.yarns)[result.knot_map.knots[::-1]])
    block = max(1, SIDE // columns)
    return picture.resize((picture.width * block, picture.height * block), Image.Resampling.NEAREST)


def main() -> None:
    """Draw the picture."""
    panel = drawing("celtic_panel")[300:660, 60:420]
    cat = data.chelsea()[20:270, 90:340]
    cups = data.coffee()[60:360, 120:420]
    tiles = [
        ("artwork, flat", Image.fromarray(panel)),
        ("style shaded: greys at every edge", woven(panel, 50, style="shaded")),
        ("flat, lines off: outlines break", woven(panel, 50, style="flat", lines=False, tidy=0)),
        ("flat, lines on: each one whole", woven(panel, 50, style="flat")),
        ("artwork, shaded", Image.fromarray(cat)),
        ("nearest yarn", woven(cat, 100, style="shaded")),
        ("stipple 0: calm", woven(cat, 100, style="shaded", stipple=0)),
        ("stipple 1: fine", woven(cat, 100, style="shaded", stipple=1)),
        ("artwork, shaded", Image.fromarray(cups)),
        ("colours 6", woven(cups, 100, 6, style="shaded")),
        ("colours 12", woven(cups, 100, 12, style="shaded")),
        ("colours 12, stipple 0.5", woven(cups, 100, 12, style="shaded", stipple=0.5)),
    ]
    across = 4
    down = -(-len(tiles) // across)
    size = (across * (SIDE + GAP) + GAP, down * (SIDE + GAP + LINE) + GAP)
    whole = Image.new("RGB", size, "white")
    pen, font = ImageDraw.Draw(whole), ImageFont.load_default(14)
    for number, (words, picture) in enumerate(tiles):
        x, y = GAP + number % across * (SIDE + GAP), GAP + number // across * (SIDE + GAP + LINE)
        enlarged = Image.Resampling.LANCZOS if words.startswith("artwork") else Image.Resampling.NEAREST
        whole.paste(picture.resize((SIDE, SIDE), enlarged), (x, y))
        pen.text((x, y + SIDE + 2), words, "black", font)
    whole.quantize(200, method=Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE).save(
        ROOT / "examples" / "pictures" / "controls.png", optimize=True
    )


if __name__ == "__main__":
    main()
