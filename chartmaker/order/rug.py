"""The rug as ordered, and the arithmetic of its knot grid."""

from __future__ import annotations

import math
import re
from fractions import Fraction
from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from chartmaker.ground.errors import RugError
from chartmaker.ground.language import say
from chartmaker.ground.lengths import cm_words
from chartmaker.ground.units import parse_length_mm, plain
from chartmaker.order.bounds import Within
from chartmaker.order.fields import DensityField, LengthMm, Line, Table, TableError

Knot = Literal["asymmetric", "asymmetric, open left", "asymmetric, open right", "symmetric", "looped"]
Shape = Literal["rectangle", "ellipse", "octagon", "artwork"]
Technique = Literal["knotted", "tufted", "hand-loomed"]

#: A size outside these limits is taken for a slip of the pen (common practice).
LEAST_SIDE_MM, MOST_SIDE_MM = Fraction(10), Fraction(50_000)
#: The largest map that is made (a 12 x 24 m rug at 12/60 has 79 million knots).
MOST_KNOTS = 150_000_000

#: Artwork whose proportions differ from the rug's by more than this needs `fit`; below, nobody sees the stretch.
MOST_PROPORTION_ERROR = 0.02

#: The keys that the grid follows from.
_GRID = ("density", "size", "width", "length")

#: Words after a size that give the rug's shape, and those after which one side is enough.
_SHAPE_OF: dict[str, Shape] = {"round": "ellipse", "octagon": "octagon"}
_ONE_SIDE = ("round", "square", "octagon")

_BARE_NUMBER = re.compile(r"\d+\.?\d*|\.\d+")


class Rug(Table):
    """A rug: its finished size, density and knot; `width_mm` is along the weft, and `length_mm` along the warp."""

    name: Line = Field(default="Untitled rug", description="the rug's name, printed on every sheet")
    width_mm: Annotated[LengthMm, Within("mm", 0, 10, 15000, 1e9)] = Field(
        alias="width",
        description="finished width, along the weft; give it with `length`, or give `size` in place of both",
        examples=['"170 cm"'],
    )
    length_mm: Annotated[LengthMm, Within("mm", 0, 10, 25000, 1e9)] = Field(
        alias="length", description="finished length, along the warp"
    )
    density: DensityField = Field(
        description="knots, across then along, as the trade writes it", examples=['"9/60 indian"']
    )
    knot: Knot = Field(default="asymmetric", description="how a knot is tied, which decides how much yarn it takes")
    pile_mm: Annotated[LengthMm, Within("mm", 0.5, 2, 40, 80)] | None = Field(
        default=None,
        alias="pile",
        description="height of the finished pile, after shearing; [pile] cut is the height before",
    )
    shape: Shape = Field(
        default="rectangle",
        description="outline of the rug, outside which no knots are tied (artwork: where the artwork is not "
        "transparent)",
    )
    technique: Technique = Field(
        default="knotted",
        description="how the rug is made: tied, tufted through a cloth, or woven over rods on a hand loom",
    )

    @model_validator(mode="before")
    @classmethod
    def _size_as_one_key(cls, table: Any) -> Any:
        """Take `size = "5x8ft"`, ``"6 ft round"`` or ``"2.5x10 ft runner"``, in place of `width` and `length`.

        A square or an octagon may be given by one side as well, as a round rug is.
        """
        if not isinstance(table, dict) or "size" not in table:
            return table
        rest = {key: value for key, value in table.items() if key != "size"}
        if "width" in rest or "length" in rest:
            raise TableError(say("give either size, or width and length"), "size", "width", "length")
        words, kind = _kind_of(str(table["size"]))
        if kind in _SHAPE_OF:
            shape = _SHAPE_OF[kind]
            if rest.get("shape", shape) != shape:
                message = say(
                    "a size with the word {kind} already has the shape {shape}; leave the shape out",
                    kind=kind,
                    shape=shape,
                )
                raise TableError(message, "shape", "size")
            rest["shape"] = shape
        if kind in _ONE_SIDE and (kind == "round" or "x" not in words.lower()):
            words = f"{words} x {words}"
        try:
            width_mm, length_mm = parse_size_mm(words)
        except RugError as error:
            raise TableError(error.message, "size") from error
        return rest | {"width": width_mm, "length": length_mm}

    @model_validator(mode="after")
    def _sensible(self) -> Rug:
        for side, key in ((self.width_mm, "width"), (self.length_mm, "length")):
            if not LEAST_SIDE_MM <= side <= MOST_SIDE_MM:
                message = say(
                    "{key} {side} cannot be right for a rug; it must lie between {least} and {most}",
                    key=key,
                    side=cm_words(side),
                    least=cm_words(LEAST_SIDE_MM),
                    most=say("{metres:g} m", metres=float(MOST_SIDE_MM) / 1000),
                )
                raise TableError(message, "size", key)
        if self.columns < 2 or self.rows < 2:
            message = say(
                "at this density the rug has {columns} x {rows} knots, which is too small to weave",
                columns=self.columns,
                rows=self.rows,
            )
            raise TableError(message, *_GRID)
        if self.knots > MOST_KNOTS:
            message = say("this rug has {knots:,} knots, but the most is {most:,}", knots=self.knots, most=MOST_KNOTS)
            raise TableError(message, *_GRID)
        return self

    @property
    def knot_kind(self) -> str:
        """How the knot is tied, which decides its yarn; the side to which it opens makes no difference."""
        return self.knot.partition(",")[0]

    @property
    def columns(self) -> int:
        """Knots across, rounded to whole knots (halves up)."""
        return math.floor(self.width_mm * self.density.across_per_dm / 100 + Fraction(1, 2))

    @property
    def rows(self) -> int:
        """Rows of knots along, rounded to whole knots (halves up)."""
        return math.floor(self.length_mm * self.density.along_per_dm / 100 + Fraction(1, 2))

    @property
    def knots(self) -> int:
        """The number of cells of the grid; an outline other than the rectangle leaves some of them empty."""
        return self.columns * self.rows

    @property
    def woven_width_mm(self) -> Fraction:
        """The width that whole knots really give, in millimetres."""
        return self.columns * self.density.knot_width_mm

    @property
    def woven_length_mm(self) -> Fraction:
        """The length that whole rows really give, in millimetres."""
        return self.rows * self.density.knot_height_mm


def _kind_of(size: str) -> tuple[str, str]:
    """Return a size without the word, such as ``round``, that the trade puts after it, and that word."""
    words, _, kind = size.strip().rpartition(" ")
    kind = kind.lower()
    return (words, kind) if words and kind in (*_ONE_SIDE, "runner") else (size, "")


def parse_size_mm(text: str) -> tuple[Fraction, Fraction]:
    """Return (width, length) in millimetres of a rug size.

    Parameters
    ----------
    text : str
        ``5x8ft``, ``5'3" x 7'10"``, ``170x240 cm``, ``1.7 x 2.4 m``; width first. A unit at the end
        counts for both.

    Raises
    ------
    RugError
        If it is not a size, is ambiguous, or has a side that is not above zero.

    Examples
    --------
    >>> parse_size_mm("170x240 cm")
    (Fraction(1700, 1), Fraction(2400, 1))
    """
    words = plain(text)
    parts = [part.strip() for part in words.lower().split("x")]
    if len(parts) != 2 or not all(parts):
        raise RugError(
            say("{text!r} is not a size; write width x length, like 5x8ft, 5'3\" x 7'10\" or 170x240 cm", text=text)
        )
    first, second = parts
    bare = [_BARE_NUMBER.fullmatch(part) is not None for part in parts]
    if all(bare):
        raise RugError(
            say(
                "{text!r} needs its unit: {first}x{second}ft, {first}x{second} cm or {first}x{second} m",
                text=text,
                first=first,
                second=second,
            )
        )
    unit = second.lstrip("0123456789. ") if bare[0] else None
    if unit is not None and "'" in unit and '"' in unit:
        raise RugError(say("{text!r} has feet and inches; give the width its own unit, like 5' x 7'10\"", text=text))
    try:
        return parse_length_mm(first, unit), parse_length_mm(second)
    except RugError as error:
        raise RugError(say("size {text!r}: {fault}", text=text, fault=error.message)) from error


def proportion_error(width: float, height: float, rug: Rug) -> float:
    """Return the share by which a picture of `width` x `height` pixels differs from the rug's proportions.

    0.02 means that it must be stretched by 2 % in one direction to fit.
    """
    ratio = (width / height) / float(rug.woven_width_mm / rug.woven_length_mm)
    return max(ratio, 1 / ratio) - 1
