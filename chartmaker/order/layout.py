"""What the rug file says of a design in other sizes, in its tables [layout] and [sizes]."""

from __future__ import annotations

from fractions import Fraction
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field

from chartmaker.ground.errors import RugError
from chartmaker.ground.language import say
from chartmaker.order.fields import LengthMm, Line, Share, Table, shown
from chartmaker.order.rug import parse_size_mm

Corner = Literal["as drawn", "turned", "blocks"]
Field_ = Literal["auto", "repeat", "extend", "scale"]
Medallion = Literal["keep", "scale"]


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


class Sizes(Table):
    """[sizes]: the sizes that one design, or each of a collection, is made in."""

    of: tuple[Line, ...] = Field(
        default=(), description="sizes, width x length; left out, that of [rug]", examples=['["5x8 ft", "6 ft round"]']
    )
