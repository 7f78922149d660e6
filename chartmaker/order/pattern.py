"""The rug file's table for the tufter: how the pattern is laid out, drawn and thrown on the cloth."""

from __future__ import annotations

import re
from typing import Annotated, Literal

from pydantic import AfterValidator, Field, model_validator

from chartmaker.ground.language import say
from chartmaker.order.bounds import Within
from chartmaker.order.fields import LengthMm, Line, Number, Table, TableError

Side = Literal["back", "front"]
When = Literal["first", "last"]
#: The least and the most pixels of a side of a projector's picture.
_LEAST_PX, _MOST_PX = 320, 16_384
#: A roll outside these widths, in mm, is taken for a slip of the pen (common practice: 24 to 160 inch).
_LEAST_ROLL_MM, _MOST_ROLL_MM = 300, 5000


def _resolution(text: str) -> str:
    found = re.fullmatch(r"(\d{3,5}) *[x×] *(\d{3,5})", text)
    if found is None or not all(_LEAST_PX <= int(side) <= _MOST_PX for side in found.groups()):
        raise ValueError(
            say(
                "{given!r} is no resolution; write pixels across x down, as 1920x1080, each {least} to {most:,}",
                given=text,
                least=_LEAST_PX,
                most=_MOST_PX,
            )
        )
    return f"{int(found[1])}x{int(found[2])}"


#: The pixels of a projector across and down, as ``1920x1080``.
Resolution = Annotated[Line, AfterValidator(_resolution)]


class Pattern(Table):
    """[pattern]: the full-size drawing that a tufter works from.

    `roll_mm` is the width of a roll of paper; without it the drawing is laid out in sheets of `paper`.
    `tolerance_mm` is how far a smooth edge may depart from the
    steps of the artwork's pixels; left out, half a tuft row, but at most 1.5 mm.
    """

    roll_mm: LengthMm | None = Field(
        default=None,
        alias="roll",
        description="width of the roll that the pattern is printed on; left out, it is laid out in sheets",
        examples=['"36 in"'],
    )
    paper: Line = Field(default="A3", description="the sheets of a pattern without a roll, as for [chart] paper")
    side: Side = Field(
        default="back",
        description="mirrored for the back of the cloth, or as seen from the pile side, to project or trace",
    )
    tolerance_mm: Annotated[LengthMm, Within("mm", 0.01, 0.1, 3, 50)] | None = Field(
        default=None,
        alias="tolerance",
        description="how far a smooth edge may depart from the artwork's pixels; left out, half a tuft row, at most "
        "1.5 mm",
    )
    smallest_tufts: Annotated[Number, Field(ge=0, le=10_000)] = Field(
        default=3.0, alias="smallest", description="fields of fewer tufts are merged into the field around them"
    )
    loops: tuple[Line, ...] = Field(
        default=(),
        description="codes of yarns whose pile is left in loops, neither cut nor shorn; they are tufted at the "
        "finished height, unless [pile] heights gives another",
    )
    ground: When = Field(default="last", description="when large grounds are tufted in the order of work")
    resolution: Resolution = Field(
        default="1920x1080",
        description="pixels of the projector, across x down; it has a picture of the pattern if --out ends in .png",
        examples=['"3840x2160"'],
    )

    @property
    def projector_px(self) -> tuple[int, int]:
        """The pixels of the projector across and down."""
        across, down = self.resolution.split("x")
        return int(across), int(down)

    @model_validator(mode="after")
    def _sensible(self) -> Pattern:
        if self.roll_mm is not None and not _LEAST_ROLL_MM <= self.roll_mm <= _MOST_ROLL_MM:
            raise TableError(say("a roll is 30 cm to 5 m wide; common ones are 24 to 160 inch"), "roll")
        return self
