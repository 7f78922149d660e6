"""The field types of the rug file: text such as `170 cm` in the file becomes an exact value."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, time
from fractions import Fraction
from typing import Annotated, Any, TypeVar

from pydantic import BaseModel, BeforeValidator, ConfigDict, PlainSerializer

from chartmaker.ground.errors import RugError
from chartmaker.ground.language import say
from chartmaker.ground.textsafe import inert, printable
from chartmaker.ground.units import YarnCount, parse_length_mm, parse_mass_g, parse_share, parse_yarn_count
from chartmaker.order.density import Density, parse_density

Value = TypeVar("Value")

#: No number of a rug file has more.
_MOST_BITS = 1024
#: What Linux takes (limits.h).
_LONGEST_PATH = 4096
#: Nobody hangs more strips side by side.
_MOST_STRIPS = 60
#: No artwork is longer, in pixels.
_MOST_PIXELS = 1_000_000
#: No name and no other words of the rug file are longer.
_LONGEST_LINE = 200


class Table(BaseModel):
    """One table of the rug file: frozen, without unknown keys, and with finite numbers."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", allow_inf_nan=False, populate_by_name=True, arbitrary_types_allowed=True
    )


class TableError(ValueError):
    """Raised where a table contradicts itself or asks the impossible; `keys` are the keys concerned."""

    def __init__(self, message: str, *keys: str) -> None:
        self.keys = keys
        super().__init__(message)


def shown(value: Any) -> str:
    """Return a value as it would be written in a rug file, on one line."""
    match value:
        case bool():
            return str(value).lower()
        case dict():
            return say("a table")
        case list() | tuple():
            return inert("[" + ", ".join(map(shown, value)) + "]")
        case date() | time():
            return value.isoformat()
        case None:
            return say("nothing")
        case int() if _endless(value):
            return say("a number of thousands of digits")
        case _:
            return inert(repr(value))


def _endless(value: Any) -> bool:
    """Return whether a whole number has so many digits that Python refuses to write it."""
    return isinstance(value, int) and value.bit_length() > _MOST_BITS


def _parsed(value: Any, what: str, parse: Callable[[str], Value]) -> Value:
    """Return what `parse` makes of a text; where it is not text, `what` says how to write it."""
    if not isinstance(value, str):
        raise ValueError(say("{given} is not in quotes; write {what}", given=shown(value), what=what))
    try:
        return parse(value)
    except RugError as error:
        raise ValueError(error.message) from error


def _length(value: Any) -> Fraction:
    if isinstance(value, Fraction):
        return value
    return _parsed(value, say("a length with its unit, such as '12 mm'"), parse_length_mm)


def _length_from_zero(value: Any) -> Fraction:
    if isinstance(value, str) and re.fullmatch(r"0+(\.0+)?\s*[A-Za-z]+", value.strip()):
        return Fraction(0)
    return _length(value)


def _mass(value: Any) -> Fraction:
    if isinstance(value, Fraction):
        return value
    return _parsed(value, say("a mass with its unit, such as '100 g'"), parse_mass_g)


def _mass_from_zero(value: Any) -> Fraction:
    if isinstance(value, str) and re.fullmatch(r"0+(\.0+)?\s*(g|kg)", value.strip()):
        return Fraction(0)
    return _mass(value)


def _count(value: Any) -> YarnCount:
    if isinstance(value, YarnCount):
        return value
    return _parsed(value, say("a yarn count, such as 'Nm 8 x3'"), parse_yarn_count)


def _density(value: Any) -> Density:
    if isinstance(value, Density):
        return value
    return _parsed(value, say("a density, such as '9/60 indian'"), parse_density)


def _share(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, str | int | float) or _endless(value):
        raise ValueError(say("{given} is not a share; write it like '15%' or 0.15", given=shown(value)))
    try:
        return parse_share(value)
    except RugError as error:
        raise ValueError(error.message) from error


def _shrinkage(value: Any) -> float:
    negative = isinstance(value, str | float | int) and not _endless(value) and str(value).strip().startswith("-")
    share = -_share(str(value).strip()[1:]) if negative else _share(value)
    if not -0.5 < share < 0.5:
        raise ValueError(say("{given} is too much; shrinkage lies between -50% and 50%", given=shown(value)))
    return share


def _number(value: Any) -> Any:
    """Refuse true and false, which would be taken for 1 and 0."""
    if isinstance(value, bool):
        raise ValueError(say("{given} is not a number", given=shown(value)))
    return value


def _strips(value: Any) -> Any:
    """Return a number of strips or the columns where they begin, checked here so that only one fault is reported."""
    listed = isinstance(value, list | tuple)
    numbers = list(value) if listed else [value]
    if not all(isinstance(number, int) and not isinstance(number, bool) for number in numbers):
        message = "{given} is neither a number of strips nor a list of columns; write it like 3 or [1, 60]"
        raise ValueError(say(message, given=shown(value)))
    if any(number < 1 for number in numbers):
        raise ValueError(say("{given} is too small; strips and columns are counted from 1", given=shown(value)))
    if not listed and value > _MOST_STRIPS:
        raise ValueError(say("{given} is too large; the most is {most} strips", given=value, most=_MOST_STRIPS))
    return tuple(numbers) if listed else value


def _box(value: Any) -> Any:
    """Return the left, top, right and bottom of a box, checked here so that one complaint comes of it."""
    sides = list(value) if isinstance(value, list | tuple) else []
    if len(sides) != 4 or not all(isinstance(side, int) and not isinstance(side, bool) for side in sides):
        message = "{given} is no box; write left, top, right, bottom in whole pixels, such as [0, 0, 400, 300]"
        raise ValueError(say(message, given=shown(value)))
    left, top, right, bottom = sides
    if not 0 <= left < right <= _MOST_PIXELS or not 0 <= top < bottom <= _MOST_PIXELS:
        message = "{given} is an empty box; write left, top, right, bottom in pixels from the artwork's top left corner"
        raise ValueError(say(message, given=shown(value)))
    return left, top, right, bottom


def _line(value: Any) -> str:
    if not isinstance(value, str):
        raise ValueError(say("{given} is not in quotes; write it as text", given=shown(value)))
    if not value.strip() or not printable(value):
        raise ValueError(say("{given} must be printable text on one line, and not empty", given=shown(value)))
    if len(value) > _LONGEST_LINE:
        raise ValueError(say("the text is too long; it may have at most {most} letters", most=_LONGEST_LINE))
    return value.strip()


def _path(value: Any) -> str:
    if not isinstance(value, str):
        raise ValueError(say("{given} is not in quotes; write the name of a file", given=shown(value)))
    if not value.strip() or "\0" in value or len(value) > _LONGEST_PATH:
        raise ValueError(
            say(
                "this cannot be the name of a file; give one that is not empty and has at most {most:,} letters",
                most=_LONGEST_PATH,
            )
        )
    return value


#: A length in millimetres, exact.
LengthMm = Annotated[Fraction, BeforeValidator(_length), PlainSerializer(lambda v: f"{v} mm", return_type=str)]
#: A length in millimetres, exact, that may be zero.
LengthFromZeroMm = Annotated[
    Fraction, BeforeValidator(_length_from_zero), PlainSerializer(lambda v: f"{v} mm", return_type=str)
]
#: A mass in grams, exact.
MassG = Annotated[Fraction, BeforeValidator(_mass), PlainSerializer(lambda v: f"{v} g", return_type=str)]
#: A mass in grams, exact, that may be zero.
MassFromZeroG = Annotated[
    Fraction, BeforeValidator(_mass_from_zero), PlainSerializer(lambda v: f"{v} g", return_type=str)
]
#: A whole number.
Whole = Annotated[int, BeforeValidator(_number)]
#: A number, perhaps with decimals.
Number = Annotated[float, BeforeValidator(_number)]
#: The number of strips side by side, or the columns, counted from 1, at which they begin.
Strips = Annotated[int | tuple[int, ...], BeforeValidator(_strips)]
#: The left, top, right and bottom of a box, in pixels of the artwork.
Box = Annotated[tuple[int, int, int, int], BeforeValidator(_box)]
#: A share, from 0 to below 1.
Share = Annotated[float, BeforeValidator(_share)]
#: A share lost, or gained if below zero.
Shrinkage = Annotated[float, BeforeValidator(_shrinkage)]
#: A yarn count.
Count = Annotated[YarnCount, BeforeValidator(_count), PlainSerializer(lambda v: v.notation, return_type=str)]
#: A knot density.
DensityField = Annotated[Density, BeforeValidator(_density), PlainSerializer(lambda v: v.notation, return_type=str)]
#: A file's name as the system accepts it. It is never printed as it is, so it may contain any letter.
PathText = Annotated[str, BeforeValidator(_path)]
#: One line of printable text.
Line = Annotated[str, BeforeValidator(_line)]
