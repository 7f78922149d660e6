"""What the rug file says of a design in other sizes, in its tables [layout] and [sizes]."""

from __future__ import annotations

from fractions import Fraction
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field

from chartmaker.ground.errors import RugError
from chartmaker.ground.language import say
from chartmaker.ground.units import parse_length_mm
from chartmaker.order.fields import Box, LengthMm, Line, Share, Table, shown
from chartmaker.order.rug import parse_size_mm

Corner = Literal["as drawn", "turned", "blocks"]
Field_ = Literal["auto", "repeat", "extend", "scale"]
Medallion = Literal["keep", "scale"]
Gives = Literal["ground", "repeats", "borders"]


def _size(value: Any) -> Any:
    if isinstance(value, tuple):
        return value
    if not isinstance(value, str):
        raise ValueError(say("{given} is not in quotes; write a size such as '170x240 cm'", given=shown(value)))
    try:
        return parse_size_mm(value)
    except RugError as error:
        raise ValueError(error.message) from error


SizeMm = Annotated[tuple[Fraction, Fraction], BeforeValidator(_size)]


def _repeat(value: Any) -> Any:
    if isinstance(value, Fraction) or value in ("found", "none"):
        return value
    try:
        return parse_length_mm(value)
    except (RugError, TypeError, AttributeError) as error:
        message = "{given} is no repeat; write 'found', 'none', or its length, such as '6 cm'"
        raise ValueError(say(message, given=shown(value))) from error


def _repeat_size(value: Any) -> Any:
    return value if value == "none" else _size(value)


RepeatMm = Annotated[Fraction | Literal["found", "none"], BeforeValidator(_repeat)]
RepeatSizeMm = Annotated[tuple[Fraction, Fraction] | Literal["none"], BeforeValidator(_repeat_size)]


class Layouting(Table):
    """[layout]: how a drawing is laid anew in another size, with fit = "relay"; what is left out is found."""

    drawn_mm: SizeMm | None = Field(
        default=None,
        alias="drawn",
        description="the size that the artwork is drawn for; left out, the largest of its proportions that goes into "
        "the rug",
        examples=['"170x240 cm"'],
    )
    borders_mm: tuple[LengthMm, ...] = Field(
        default=(),
        alias="borders",
        description="widths of the bands of the border from the rim inward, in the size that it is drawn for; left "
        "out, they are found from straight frames",
        examples=['["4 cm", "16 cm", "4 cm"]'],
    )
    repeats: tuple[RepeatMm, ...] = Field(
        default=(),
        description='for each of these bands the length of its repeat, "none" if nothing repeats in it, or "found"',
        examples=['["none", "7.2 cm"]'],
    )
    field_box: Box | None = Field(
        default=None,
        description="left, top, right and bottom of the field in pixels of the artwork; left out, what the borders "
        "leave",
        examples=["[310, 312, 1578, 2523]"],
    )
    field_repeat: RepeatSizeMm | None = Field(
        default=None,
        description='width x length of the field\'s repeat, or "none"; left out, it is found',
        examples=['"8x12 cm"'],
    )
    pieces: tuple[Box, ...] | None = Field(
        default=None,
        description="boxes, in pixels of the artwork, of what stands in the field: medallion, pendants, corner pieces; "
        "[] if nothing does, left out, they are found",
        examples=["[[606, 917, 1282, 1918]]"],
    )
    corner: Corner = Field(
        default="as drawn",
        description="each corner as it is drawn, all four turned from the one at the foot on the left, or blocks at "
        "which repeats begin at once",
    )
    field: Field_ = Field(
        default="auto",
        description="let the pattern of the field go on, under its medallion and corner pieces if it has some; let "
        "plain ground grow between them; or pull all of it; auto takes the first that the drawing allows",
    )
    medallion: Medallion = Field(
        default="keep",
        description="medallion, pendants and corner pieces of the field stay as large as they are drawn, or grow and "
        "shrink with it in proportion",
    )
    module: bool = Field(default=False, description="use the border of the foot, turned, at the sides and the top too")
    tolerance: Share = Field(default=0.02, description="how far the size may differ so that repeats come out whole")
    give: tuple[Gives, ...] = Field(
        default=("ground", "repeats"),
        description="what may give where repeats do not come out in a size: a knot of plain ground between motifs, the "
        "length of the repeats by up to 4 %, the width of one border by a knot",
        examples=['["ground", "repeats", "borders"]'],
    )


class Sizes(Table):
    """[sizes]: the sizes that one design, or each of a collection, is made in."""

    of: tuple[Line, ...] = Field(
        default=(), description="sizes, width x length; left out, that of [rug]", examples=['["5x8 ft", "6 ft round"]']
    )
