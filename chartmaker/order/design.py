"""What the rug file asks of the conversion in its tables [design], [[region]], [[repeat]] and [yarns]."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from chartmaker.ground.language import say
from chartmaker.order.fields import Box, Line, Number, PathText, Table, TableError, Whole

Style = Literal["auto", "flat", "shaded"]
Fit = Literal["stretch", "crop", "pad", "relay"]
Mirror = Literal["none", "across", "along", "both"]
Tidy = Annotated[Whole, Field(ge=0, le=50)]
Detail = Annotated[Number, Field(ge=0, le=1)]
#: More regions nobody tells apart.
MOST_REGIONS = 64


class Design(Table):
    """[design]: the artwork, and how to read it.

    `turn` rotates the artwork clockwise by that many degrees before anything else. `tidy` is the largest island of
    knots, in knots, that counts as a speck. `detail` is how strongly shaded artwork keeps small things.
    `stipple` mixes shades knot by knot in shaded artwork, from calm (0, with long runs of one yarn) to fine (1); left
    out, each knot takes the yarn nearest to its own colour.
    """

    artwork: PathText | None = Field(default=None, description="the picture; needed to convert")
    style: Style = Field(
        default="auto",
        description="flat is drawn in clean colours, shaded is painted or photographed; auto finds out, part by part, "
        "and says why",
    )
    fit: Fit | None = Field(
        default=None,
        description="what to do with artwork whose proportions are off by over 2 %, for which one must be chosen; "
        "relay lays the design anew for the size, so that borders keep their width and repeats stay whole",
    )
    mirror: Mirror = Field(
        default="none",
        description="make the rug symmetric to the knot; the left or the lower half of the artwork counts, or the "
        "lower left quarter",
    )
    turn: Literal[0, 90, 180, 270] = Field(default=0, description="degrees clockwise, for a rug woven sideways")
    tidy: Tidy = Field(
        default=1,
        description="islands of up to this many knots are specks and take the colour around them, unless the artwork "
        "has them",
    )
    lines: bool = Field(default=True, description="keep strokes thinner than a knot as whole lines, one knot wide")
    fitted: bool = Field(
        default=True,
        description="let the lines of the grid follow the straight edges of a flat drawing, by less than a knot, or by "
        "up to three where repeats become whole; if not, all knots are of one size",
    )
    motifs: bool = Field(
        default=True,
        description="draw motifs equal to the knot that are equal in a flat drawing, and mirrored ones mirrored; if "
        "not, each as its place on the grid has it",
    )
    repeats: bool = Field(
        default=True,
        description="where a flat drawing or the field within its frames repeats, give every repeat the same whole "
        "number of knots and one drawing, as far as hardly anything is lost by it; if not, each lies as it falls",
    )
    detail: Detail = Field(
        default=0.75,
        description="let small things that stand out count for more in shaded artwork, so that eyes and highlights "
        "stay and edges are clean, at the price of up to a tenth more runs; 0 takes plain averages",
    )
    ground: Line | None = Field(
        default=None,
        description="the code of the yarn for transparent places of the artwork; left out, no knot is tied there",
    )
    stipple: Annotated[Number, Field(ge=0, le=1)] | None = Field(
        default=None,
        description="mix shades knot by knot in shaded artwork, from 0 (calm, long runs) to 1 (fine); left out, each "
        "knot takes its nearest yarn",
    )


class Region(Table):
    """[[region]]: a part of the artwork that is converted by keys of its own, a box or what is white on a mask.

    What is left out is as [design] has it. Where regions overlap, the later one counts.
    """

    box: Box | None = Field(
        default=None,
        description="left, top, right and bottom of the region in pixels of the artwork, counted from its top left "
        "corner",
        examples=["[120, 120, 680, 1080]"],
    )
    mask: PathText | None = Field(
        default=None,
        description="a PNG with the artwork's proportions, white where the region is and black elsewhere; in place of "
        "a box",
        examples=['"field.png"'],
    )
    style: Style | None = Field(default=None, description="as in [design]")
    tidy: Tidy | None = Field(default=None, description="as in [design]")
    detail: Detail | None = Field(default=None, description="as in [design]")
    mirror: Mirror | None = Field(
        default=None,
        description="make the region symmetric on its own middle; none leaves it out of what [design] mirrors",
    )
    ground: Line | None = Field(default=None, description="the code of the yarn for transparent places of the region")

    @model_validator(mode="after")
    def _lies_somewhere(self) -> Region:
        if (self.box is None) == (self.mask is None):
            raise TableError(say("give either box or mask, which say where the region lies"), "box", "mask")
        return self


class Repeat(Table):
    """[[repeat]]: one repeat of a drawing or of a side of its border, where it is to be said and not found.

    It holds in the side of a border, or in the field, in which most of its box lies.
    """

    box: Box = Field(
        description="left, top, right and bottom of one repeat in pixels of the artwork, to within two pixels",
        examples=["[0, 0, 120, 160]"],
    )


class YarnChoice(Table):
    """[yarns]: the card, how many of its yarns to use, which to keep in and which to leave out."""

    card: PathText | None = Field(
        default=None, description="the yarn card; without one, `colours` shades to dye are worked out"
    )
    colours: Annotated[Whole, Field(ge=1, le=250)] | None = Field(
        default=None, description="use only this many yarns of the card, the best ones; left out, all"
    )
    keep: tuple[Line, ...] = Field(
        default=(), description="codes of yarns that must be used", examples=['["M-11", "I-31"]']
    )
    skip: tuple[Line, ...] = Field(default=(), description="codes of yarns that must not be used")
