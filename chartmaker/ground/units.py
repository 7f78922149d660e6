"""How lengths, masses, shares and yarn counts are read, with every conversion factor of the project.

Lengths are exact (`fractions.Fraction`, in millimetres), so that a knot grid never depends on rounding.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from fractions import Fraction

from chartmaker.ground.errors import RugError
from chartmaker.ground.language import say, say_n

INCH_MM = Fraction(254, 10)  # exact since the international yard agreement of 1959
FOOT_MM = 12 * INCH_MM
YARD_MM = 36 * INCH_MM
METRE_MM = Fraction(1000)
POUND_G = Fraction(45359237, 100000)  # international avoirdupois pound, exact
OUNCE_G = POUND_G / 16

LENGTH_UNITS_MM: dict[str, Fraction] = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "dm": Fraction(100),
    "m": METRE_MM,
    "in": INCH_MM,
    "inch": INCH_MM,
    "inches": INCH_MM,
    '"': INCH_MM,
    "ft": FOOT_MM,
    "foot": FOOT_MM,
    "feet": FOOT_MM,
    "'": FOOT_MM,
    "yd": YARD_MM,
}

MASS_UNITS_G: dict[str, Fraction] = {
    "g": Fraction(1),
    "kg": Fraction(1000),
    "lb": POUND_G,
    "oz": OUNCE_G,
}

#: tex = factor / count (ASTM D2260 for the indirect systems; ISO 1144 defines tex).
INDIRECT_COUNTS_TEX: dict[str, Fraction] = {
    "Nm": Fraction(1000),
    "Ne": Fraction(590541, 1000),
    "Worsted": Fraction(885812, 1000),
}

#: tex = factor * count, for the systems that give a mass per length.
DIRECT_COUNTS_TEX: dict[str, Fraction] = {
    "tex": Fraction(1),
    "dtex": Fraction(1, 10),
    "ktex": Fraction(1000),
    "den": Fraction(1, 9),
}

_MOST_LETTERS = 200
_NUMBER = r"\d+(?:\.\d+)?|\.\d+"
_PRIMES = str.maketrans({"′": "'", "’": "'", "″": '"', "”": '"', "“": '"', "×": "x"})
_QUANTITY = re.compile(rf"(?:({_NUMBER})\s+)?({_NUMBER})(?:/(\d+))?\s*([A-Za-z]+|['\"])?$")
_FEET_INCHES = re.compile(rf"({_NUMBER})\s*(?:'|ft|feet|foot)\s*(.+)$")


def plain(text: str) -> str:
    """Return `text` on one line, with plain characters for primes, multiplication signs and digits of any script.

    Its words are then separated by single spaces.

    Raises
    ------
    RugError
        If it is longer than any size, density or count can be; Python refuses to read numbers of thousands of digits.
    """
    if len(text) > _MOST_LETTERS:
        raise RugError(
            say_n(
                "{start!r}... is too long for a size, a density, a mass or a count: it has {n:,} letter",
                "{start!r}... is too long for a size, a density, a mass or a count: it has {n:,} letters",
                len(text),
                start=text[:20],
            )
        )
    digits = {ord(letter): str(unicodedata.decimal(letter)) for letter in text if letter.isdecimal()}
    return " ".join(text.translate(digits).translate(_PRIMES).replace("''", '"').split())


def _quantity(text: str, units: dict[str, Fraction], default: str | None) -> Fraction | None:
    found = _QUANTITY.match(text)
    if found is None:
        return None
    whole, number, denominator, unit = found.groups()
    if whole is not None and denominator is None:
        return None
    unit = unit if unit is not None else default
    if unit is None or unit.lower() not in units or (denominator is not None and int(denominator) == 0):
        return None
    value = Fraction(number)
    if denominator is not None:
        value /= int(denominator)
    return (value + Fraction(whole or 0)) * units[unit.lower()]


def parse_length_mm(text: str, default_unit: str | None = None) -> Fraction:
    """Return the length that `text` says, in millimetres, exactly.

    Parameters
    ----------
    text : str
        ``170 cm``, ``1.7 m``, ``5ft``, ``5'3"``, ``5'3 1/2"``, ``7/8 in``.
    default_unit : str, optional
        The unit of a bare number; without one a bare number is an error.

    Raises
    ------
    RugError
        If it is not a length, or not above zero.

    Examples
    --------
    >>> parse_length_mm("5'3\\"")
    Fraction(8001, 5)
    """
    words = plain(text)
    value = _quantity(words, LENGTH_UNITS_MM, default_unit)
    if value is None and (feet := _FEET_INCHES.match(words)):
        inches = _quantity(feet[2], {k: v for k, v in LENGTH_UNITS_MM.items() if v == INCH_MM}, '"')
        if inches is not None:
            value = Fraction(feet[1]) * FOOT_MM + inches
    if value is None:
        raise RugError(say("{text!r} is not a length; write it like 170 cm, 1.7 m, 25 mm, 5ft or 5'3\"", text=text))
    if value <= 0:
        raise RugError(say("{text!r} is not a length above zero", text=text))
    return value


def parse_mass_g(text: str, default_unit: str | None = None) -> Fraction:
    """Return the mass that `text` says (``250 g``, ``1.5 kg``, ``2 lb``, ``8 oz``), in grams.

    Raises
    ------
    RugError
        If it is not a mass, or not above zero.
    """
    value = _quantity(plain(text), MASS_UNITS_G, default_unit)
    if value is None or value <= 0:
        raise RugError(say("{text!r} is not a mass above zero; write it like 250 g, 1.5 kg or 2 lb", text=text))
    return value


def parse_share(text: str | float) -> float:
    """Return a share: ``15 %`` or ``0.15`` gives 0.15.

    Raises
    ------
    RugError
        If it is not a share from 0 up to (not including) 1.
    """
    words = plain(str(text))
    try:
        share = float(words[:-1]) / 100 if words.endswith("%") else float(words)
    except ValueError:
        share = -1.0
    if not 0 <= share < 1:
        raise RugError(say("{text!r} is not a share; write it like 15% or 0.15, from 0 to below 1", text=text))
    return share


@dataclass(frozen=True)
class YarnCount:
    """How heavy a yarn is: `single_tex` grams per kilometre for each of its `ply` singles.

    `notation` is how it was written.
    """

    single_tex: Fraction
    ply: int
    notation: str

    @property
    def tex(self) -> Fraction:
        """Grams per kilometre of the plied yarn, without the take-up in plying."""
        return self.single_tex * self.ply

    @property
    def nm(self) -> Fraction:
        """Metres per gram of the plied yarn."""
        return 1000 / self.tex

    def mass_g(self, length_m: float) -> float:
        """Return the mass of `length_m` metres, in grams."""
        return float(self.tex) * length_m / 1000

    def length_m(self, mass_g: float) -> float:
        """Return the length of `mass_g` grams, in metres."""
        return mass_g * 1000 / float(self.tex)


_COUNT = re.compile(rf"([A-Za-z]+)\s*({_NUMBER})(?:\s*x\s*(\d+)(?:\s*-?ply)?)?$", re.IGNORECASE)
_COUNT_TRAILING = re.compile(rf"({_NUMBER})\s*(d?tex|ktex|denier|den)(?:\s*x\s*(\d+)(?:\s*-?ply)?)?$", re.IGNORECASE)
_COUNT_NAMES = {name.lower(): name for name in (*INDIRECT_COUNTS_TEX, *DIRECT_COUNTS_TEX)} | {
    "denier": "den",
    "nec": "Ne",
    "new": "Worsted",
}


def single_tex(system: str, number: Fraction) -> Fraction:
    """Return the tex of one single of count `number` in `system` (a key of the two count tables).

    Source: ASTM D2260 (cotton 590.541/Ne, worsted 885.812/Ne, metric 1000/Nm, denier/9).
    """
    if system in INDIRECT_COUNTS_TEX:
        return INDIRECT_COUNTS_TEX[system] / number
    return DIRECT_COUNTS_TEX[system] * number


def parse_yarn_count(text: str) -> YarnCount:
    """Return the yarn count that `text` says.

    The notation is ``SYSTEM NUMBER xPLY``, the number being that of each single: ``Nm 8 x3`` is three
    singles of Nm 8 plied together; ``Ne 10 x12``, ``Worsted 6 x2``, ``tex 300``, ``den 1200``.

    Raises
    ------
    RugError
        If it is not a count, or is written ``6/10``, which some trades read as count/ply and others as
        ply/count.
    """
    words = plain(text)
    if stroke := re.search(rf"({_NUMBER})\s*/\s*({_NUMBER})", words):
        first, second = stroke.groups()
        named = [name for name in re.findall(r"[A-Za-z]+", words) if name.lower() in _COUNT_NAMES]
        system = _COUNT_NAMES[named[0].lower()] if named else "Nm"
        message = (
            "{text!r} can be read two ways, as count/ply and as ply/count; write '{system} {first} x{second}' for "
            "{second} plies of {system} {first}, or '{system} {second} x{first}' for {first} plies of {system} {second}"
        )
        if not named:
            message = (
                "{text!r} can be read two ways, as count/ply and as ply/count; write '{system} {first} x{second}' for "
                "{second} plies of {system} {first}, or '{system} {second} x{first}' for {first} plies of {system} "
                "{second}, and Ne, Worsted, tex or den in the same way"
            )
        raise RugError(say(message, text=text, system=system, first=first, second=second))
    name = number = ply = None
    if found := _COUNT.match(words):
        name, number, ply = found.groups()
    elif found := _COUNT_TRAILING.match(words):
        number, name, ply = found.groups()
    if name is None or number is None or name.lower() not in _COUNT_NAMES:
        message = (
            "{text!r} is not a yarn count; write it like 'Nm 8 x3', 'Ne 10 x12', 'Worsted 6 x2', 'tex 300' or "
            "'den 1200' (the number is that of each single, and x the plies)"
        )
        raise RugError(say(message, text=text))
    value, plies = Fraction(number), int(ply or 1)
    if value <= 0 or plies <= 0:
        raise RugError(say("{text!r} cannot be right; the count and the plies of a yarn must be above zero", text=text))
    return YarnCount(single_tex(_COUNT_NAMES[name.lower()], value), plies, words)
