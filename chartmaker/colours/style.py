"""Whether an artwork is flat or shaded."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from chartmaker.colours.palette import MOST_COLOURS, Palette
from chartmaker.ground.language import phrase, say, say_n
from chartmaker.order.design import Style

#: Flat artwork has at least this share of its pixels in even blocks of 2 x 2; photographs have hardly any.
LEAST_EVEN = 0.5
#: Even in flat artwork that compression has roughened, this share is even and this share lies near a real colour.
LEAST_EVEN_ROUGH, LEAST_NEAR = 0.2, 0.75
#: The real colours of flat artwork explain this share of the even blocks; a gradient needs too many colours.
LEAST_EXPLAINED = 0.95

_ASKED_FLAT = (
    phrase("The artwork is taken as flat, as asked; it has {n} real colour."),
    phrase("The artwork is taken as flat, as asked; it has {n} real colours."),
)


@dataclass(frozen=True)
class StyleChoice:
    """Whether an artwork is flat, shaded or mixed of both, with the reason in one sentence."""

    style: Literal["flat", "shaded", "mixed"]
    reason: str


def choose_style(asked: Style, palette: Palette, *, pixel_a_knot: bool = False) -> StyleChoice:
    """Return the style of an artwork whose real colours are known.

    `pixel_a_knot` says that the artwork already has the rug's grid, so that no pixel of it is a blurred edge.
    """
    even, colours = 100 * palette.even_share, len(palette.srgb)
    if asked == "shaded":
        return StyleChoice("shaded", say("The artwork is taken as shaded, as asked."))
    if asked == "flat":
        one, many = _ASKED_FLAT
        return StyleChoice("flat", say_n(one, many, colours))
    if pixel_a_knot:
        return StyleChoice(
            "shaded", say("The artwork has one pixel for each knot, so each knot takes the colour of its pixel.")
        )
    rough = palette.even_share >= LEAST_EVEN_ROUGH and palette.near_share >= LEAST_NEAR
    if palette.even_share < LEAST_EVEN and not rough:
        reason = "Only {even:.0f} % of the artwork lies in even areas, so it is taken as shaded."
        return StyleChoice("shaded", say(reason, even=even))
    if colours > MOST_COLOURS or palette.explained < LEAST_EXPLAINED:
        reason = "The artwork's even areas have over {most} colours, so it is taken as shaded."
        return StyleChoice("shaded", say(reason, most=MOST_COLOURS))
    one = "{even:.0f} % of the artwork lies in even areas of {n} colour, so it is taken as flat."
    many = "{even:.0f} % of the artwork lies in even areas of {n} colours, so it is taken as flat."
    return StyleChoice("flat", say_n(one, many, colours, even=even))
