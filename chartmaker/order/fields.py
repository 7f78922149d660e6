"""The field types of the rug file: text such as `170 cm` on the outside, exact values on the inside."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, PlainSerializer

from chartmaker.ground.errors import RugError
from chartmaker.ground.textsafe import printable
from chartmaker.ground.units import YarnCount, parse_length_mm, parse_mass_g, parse_share, parse_yarn_count
from chartmaker.order.density import Density, parse_density

#: What Linux takes (limits.h).
_LONGEST_PATH = 4096


class Table(BaseModel):
    """One table of the rug file: frozen, no unknown keys, numbers finite."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", allow_inf_nan=False, populate_by_name=True, arbitrary_types_allowed=True
    )


def _text(value: Any, what: str) -> str:
    if not isinstance(value, str):
        raise ValueError(f"write {what} as text in quotes")
    return value


def _length(value: Any) -> Fraction:
    if isinstance(value, Fraction):
        return value
    try:
        return parse_length_mm(_text(value, "a length with its unit, such as '12 mm',"))
    except RugError as error:
        raise ValueError(error.message) from error


def _length_from_zero(value: Any) -> Fraction:
    if isinstance(value, str) and re.fullmatch(r"0+(\.0+)?\s*[A-Za-z]+", value.strip()):
        return Fraction(0)
    return _length(value)


def _mass(value: Any) -> Fraction:
    if isinstance(value, Fraction):
        return value
    try:
        return parse_mass_g(_text(value, "a mass with its unit, such as '100 g',"))
    except RugError as error:
        raise ValueError(error.message) from error


def _share(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise ValueError("write a share like '15%' or 0.15")
    try:
        return parse_share(value)
    except RugError as error:
        raise ValueError(error.message) from error


def _shrinkage(value: Any) -> float:
    negative = isinstance(value, str | float) and str(value).strip().startswith("-")
    share = -_share(str(value).strip()[1:]) if negative else _share(value)
    if not -0.5 < share < 0.5:
        raise ValueError("shrinkage must lie between -50% and 50%")
    return share


def _count(value: Any) -> YarnCount:
    if isinstance(value, YarnCount):
        return value
    try:
        return parse_yarn_count(_text(value, "a yarn count, such as 'Nm 8 x3',"))
    except RugError as error:
        raise ValueError(error.message) from error


def _density(value: Any) -> Density:
    if isinstance(value, Density):
        return value
    try:
        return parse_density(_text(value, "a density, such as '9/60 indian',"))
    except RugError as error:
        raise ValueError(error.message) from error


def _clean(value: Any) -> str:
    text = _text(value, "a name")
    if not text.strip() or not printable(text):
        raise ValueError("must be printable text on one line, not empty")
    if len(text) > 200:
        raise ValueError("must not be longer than 200 letters")
    return text.strip()


def _path(value: Any) -> str:
    text = _text(value, "a file's name")
    if not text.strip() or "\0" in text or len(text) > _LONGEST_PATH:
        raise ValueError(f"must be a file's name, not empty, of at most {_LONGEST_PATH:,} letters")
    return text


#: A length in millimetres, exact.
LengthMm = Annotated[Fraction, BeforeValidator(_length), PlainSerializer(lambda v: f"{v} mm", return_type=str)]
#: A length in millimetres, exact, that may be zero.
LengthFromZeroMm = Annotated[
    Fraction, BeforeValidator(_length_from_zero), PlainSerializer(lambda v: f"{v} mm", return_type=str)
]
#: A mass in grams, exact.
MassG = Annotated[Fraction, BeforeValidator(_mass), PlainSerializer(lambda v: f"{v} g", return_type=str)]
#: A share, 0 up to 1.
Share = Annotated[float, BeforeValidator(_share)]
#: A share lost, or gained if below zero.
Shrinkage = Annotated[float, BeforeValidator(_shrinkage)]
#: A yarn count.
Count = Annotated[YarnCount, BeforeValidator(_count), PlainSerializer(lambda v: v.notation, return_type=str)]
#: A knot density.
DensityField = Annotated[Density, BeforeValidator(_density), PlainSerializer(lambda v: v.notation, return_type=str)]
#: A file's name, as the system takes it: it is never printed as it is, so that any letter may be in it.
PathText = Annotated[str, BeforeValidator(_path)]
#: One line of printable text.
Line = Annotated[str, BeforeValidator(_clean)]
