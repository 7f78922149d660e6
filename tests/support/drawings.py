"""Rugs, cards and drawings that the tests of the conversion share."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from chartmaker.artwork.artwork import Artwork
from chartmaker.convert.conversion import Conversion, convert
from chartmaker.order.design import Design, YarnChoice
from chartmaker.order.rug import Rug
from chartmaker.yarns.yarn import Yarn
from support.making import make_yarn

DRAWINGS = Path(__file__).parents[2] / "fixtures" / "drawings"

TAN = [(240, 160, 74), (213, 138, 43), (209, 136, 54), (245, 161, 59)]
#: How many columns each drawing is woven in, and its colours.
COLOURS = {
    "celtic_panel": (120, [(255, 255, 255), (0, 0, 0)]),
    "rosette_panel": (90, [(255, 255, 255), (0, 0, 0)]),
    "arches": (100, [(255, 0, 0), (0, 255, 0), (255, 255, 0), (0, 0, 255)]),
    "crosses": (60, [(128, 0, 128), (255, 255, 0), (255, 0, 0), (0, 255, 255), (0, 255, 0), (0, 128, 255)]),
    "harlequin": (100, [(255, 0, 0), (255, 255, 0), (0, 255, 0), (0, 0, 255), (0, 0, 0)]),
    "solomons_knot": (
        100,
        [
            (240, 160, 74),
            (127, 192, 219),
            (28, 122, 181),
            (213, 138, 43),
            (209, 136, 54),
            (255, 255, 255),
            (245, 161, 59),
        ],
    ),
}


def drawing(name: str) -> NDArray[np.uint8]:
    with Image.open(DRAWINGS / f"{name}.png") as image:
        return np.asarray(image.convert("RGB"))


def card_of(colours: NDArray[np.uint8] | list[tuple[int, int, int]]) -> tuple[Yarn, ...]:
    """Return a card with one yarn for each colour, with codes from Y000 upwards."""
    return tuple(make_yarn(number, (int(r), int(g), int(b))) for number, (r, g, b) in enumerate(np.asarray(colours)))


def rows_for(srgb: NDArray[np.uint8], columns: int) -> int:
    return round(columns * srgb.shape[0] / srgb.shape[1])


def converted(
    srgb: NDArray[np.uint8], rug: Rug, card: tuple[Yarn, ...], choice: YarnChoice | None = None, **design: object
) -> Conversion:
    return convert(Artwork(srgb), rug, card, Design.model_validate(design), choice or YarnChoice())


def picked(conversion: Conversion) -> NDArray[np.intp]:
    """Return the number of each knot's yarn on the card of `card_of`, in raster order."""
    numbers = np.array([int(yarn.code[1:]) for yarn in conversion.knot_map.yarns])
    return numbers[conversion.knot_map.knots[::-1]]
