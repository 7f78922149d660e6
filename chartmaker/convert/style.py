"""Whether an artwork is flat or shaded."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from chartmaker.convert.fitting import Frame
from chartmaker.convert.palette import MOST_COLOURS, Palette, packed
from chartmaker.design import Style
from chartmaker.picture import Artwork
from chartmaker.yarn import Yarn, srgb_of

#: Flat artwork has at least this share of its pixels in even blocks of 2 x 2; photographs hardly have any.
LEAST_EVEN = 0.5
#: In flat artwork that compression has roughened, still this share is even, and so much lies near a real colour.
LEAST_EVEN_ROUGH, LEAST_NEAR = 0.2, 0.75
#: The real colours of flat artwork explain this share of the even blocks; a gradient needs too many colours.
LEAST_EXPLAINED = 0.95


@dataclass(frozen=True)
class StyleChoice:
    """`flat` or `shaded`, with the reason in one sentence."""

    style: Literal["flat", "shaded"]
    reason: str


#: The style of artwork that needs no conversion.
KNOT_GRID = StyleChoice("flat", "Each pixel is one knot in a colour of the card, so every knot is taken as it is.")


def is_knot_grid(artwork: Artwork, frame: Frame, yarns: tuple[Yarn, ...]) -> bool:
    """Return whether the artwork has one pixel a knot, all of them in the yarns' own colours."""
    whole = (frame.top, frame.left, frame.height, frame.width) == (0, 0, frame.rows, frame.columns)
    if not whole or (artwork.height, artwork.width) != (frame.rows, frame.columns):
        return False
    return set(np.unique(packed(artwork.srgb)).tolist()) <= set(packed(srgb_of(yarns)).tolist())


def choose_style(asked: Style, palette: Palette) -> StyleChoice:
    """Return the style of an artwork whose real colours are known."""
    even, colours = f"{100 * palette.even_share:.0f} %", len(palette.srgb)
    if asked == "shaded":
        return StyleChoice("shaded", "The rug file says that the artwork is shaded.")
    if asked == "flat":
        return StyleChoice("flat", f"The rug file says that the artwork is flat; it has {colours} real colours.")
    rough = palette.even_share >= LEAST_EVEN_ROUGH and palette.near_share >= LEAST_NEAR
    if palette.even_share < LEAST_EVEN and not rough:
        return StyleChoice("shaded", f"Only {even} of the artwork lies in even areas, so it is taken as shaded.")
    if colours > MOST_COLOURS or palette.explained < LEAST_EXPLAINED:
        return StyleChoice("shaded", f"Its even areas have over {MOST_COLOURS} colours, so it is taken as shaded.")
    return StyleChoice(
        "flat", f"{even} of the artwork lies in even areas of {colours} colours, so it is taken as flat."
    )
