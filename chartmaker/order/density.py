"""The ways in which the trade writes knot density, read exactly as the trade reckons them."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from chartmaker.ground.errors import RugError
from chartmaker.ground.language import say
from chartmaker.ground.units import INCH_MM, parse_length_mm, plain

INCHES_PER_DM = 100 / INCH_MM
SQUARE_INCHES_PER_DM2 = INCHES_PER_DM**2

#: An Indian quality a/b: a knots in 0.9 inch across, b knots in 4.5 inch along. Published as 40a and 8b
#: knots a yard (carpetandrugs.blogspot.com, April 2009).
INDIAN_ACROSS_INCH = Fraction(9, 10)
INDIAN_ALONG_INCH = Fraction(9, 2)

#: Nominal Tibetan qualities in knots per square metre (nepalcarpet.org, quality of carpets).
TIBETAN_PER_M2 = {60: 56_000, 80: 80_000, 100: 125_000}

#: No hand-knotted or hand-tufted rug is made outside these (common practice, with room to spare).
LEAST_PER_DM, MOST_PER_DM = 4, 400

#: A knot is at most about twice as long one way as the other (common practice); the limit leaves room to spare.
MOST_OBLONG = 3.0
#: A density whose knots are more oblong than this is a slip of the pen: its two numbers have changed places, say.
NEVER_OBLONG = 30.0

NOTATIONS = (
    "100 kpsi, 10x12 per inch, 40x45 per dm, 8x8 per cm, 9/60 indian, 16/18 pakistani, 120 line, "
    "50 raj (7 cm), 100 knot tibetan, 256 pitch 9 wires"
)


@dataclass(frozen=True)
class Density:
    """Knots per decimetre, `across_per_dm` along the weft and `along_per_dm` along the warp, exact.

    `notation` is how it was written; `assumption` says what was assumed where the notation left something open.
    """

    across_per_dm: Fraction
    along_per_dm: Fraction
    notation: str
    assumption: str

    @property
    def across_per_inch(self) -> Fraction:
        return self.across_per_dm / INCHES_PER_DM

    @property
    def along_per_inch(self) -> Fraction:
        return self.along_per_dm / INCHES_PER_DM

    @property
    def per_dm2(self) -> Fraction:
        return self.across_per_dm * self.along_per_dm

    @property
    def per_m2(self) -> Fraction:
        return self.per_dm2 * 100

    @property
    def per_square_inch(self) -> Fraction:
        return self.per_dm2 / SQUARE_INCHES_PER_DM2

    @property
    def knot_width_mm(self) -> Fraction:
        """The width of one knot, across the rug, in millimetres."""
        return 100 / self.across_per_dm

    @property
    def knot_height_mm(self) -> Fraction:
        """The height of one knot along the rug, its wefts included, in millimetres."""
        return 100 / self.along_per_dm


def _root(value: Fraction) -> Fraction:
    """Return the square root, exact where it is rational and otherwise to twelve decimals."""
    numerator, denominator = math.isqrt(value.numerator), math.isqrt(value.denominator)
    if numerator**2 == value.numerator and denominator**2 == value.denominator:
        return Fraction(numerator, denominator)
    return Fraction(math.isqrt(value.numerator * 10**24 // value.denominator), 10**12)


def indian_trade_figure(a: Fraction, b: Fraction) -> Fraction:
    """Return a*b/4, the trade's quick knots per square inch of an Indian quality, which is 1.25 % too high."""
    return a * b / 4


def _kpsi(found: re.Match[str]) -> tuple[Fraction, Fraction, str]:
    side = _root(Fraction(found[1]) * SQUARE_INCHES_PER_DM2)
    return side, side, say("taken as the same number of knots across and along")


def _pair(found: re.Match[str]) -> tuple[Fraction, Fraction, str]:
    per_dm = {"inch": INCHES_PER_DM, "in": INCHES_PER_DM, "dm": Fraction(1), "cm": Fraction(10)}[found[3].lower()]
    return Fraction(found[1]) * per_dm, Fraction(found[2]) * per_dm, ""


def _indian(found: re.Match[str]) -> tuple[Fraction, Fraction, str]:
    a, b = Fraction(found[1]), Fraction(found[2])
    return a / INDIAN_ACROSS_INCH * INCHES_PER_DM, b / INDIAN_ALONG_INCH * INCHES_PER_DM, ""


def _pakistani(found: re.Match[str]) -> tuple[Fraction, Fraction, str]:
    return Fraction(found[1]) * INCHES_PER_DM, Fraction(found[2]) * INCHES_PER_DM, ""


def _line(found: re.Match[str]) -> tuple[Fraction, Fraction, str]:
    side = Fraction(found[1]) / 12 * INCHES_PER_DM
    return side, side, say("a line counts knots per foot across; taken as the same number along")


def _raj(found: re.Match[str]) -> tuple[Fraction, Fraction, str]:
    side = Fraction(found[1]) * 100 / parse_length_mm(found[2])
    return side, side, ""


def _tibetan(found: re.Match[str]) -> tuple[Fraction, Fraction, str]:
    number = Fraction(found[1])
    if number not in TIBETAN_PER_M2:
        known = ", ".join(map(str, TIBETAN_PER_M2))
        message = (
            "{text!r} is a nominal quality that is not in any table; only {known} knot are known. Count the knots "
            "over 10 cm both ways and write, say, 28x28 per dm"
        )
        raise RugError(say(message, text=found[0], known=known))
    per_m2 = TIBETAN_PER_M2[int(number)]
    side = _root(Fraction(per_m2, 100))
    assumption = "a nominal quality, taken as {per_m2:,} knots per square metre; prefer a true count"
    return side, side, say(assumption, per_m2=per_m2)


def _pitch(found: re.Match[str]) -> tuple[Fraction, Fraction, str]:
    """A hand loom's points: ends on 27 inches across, wires (rods) on an inch along (Brinton, Carpets, 1919)."""
    return Fraction(found[1]) / 27 * INCHES_PER_DM, Fraction(found[2]) * INCHES_PER_DM, ""


_N = r"(\d+(?:\.\d+)?)"


_READERS: tuple[tuple[re.Pattern[str], Callable[[re.Match[str]], tuple[Fraction, Fraction, str]]], ...] = tuple(
    (re.compile(pattern + "$", re.IGNORECASE), reader)
    for pattern, reader in (
        (rf"{_N}\s*kpsi", _kpsi),
        (rf"{_N}\s*x\s*{_N}\s*(?:per\s+|/\s*)(inch|in|dm|cm)", _pair),
        (rf"{_N}\s*/\s*{_N}\s*indian", _indian),
        (rf"{_N}\s*/\s*{_N}\s*pakistani", _pakistani),
        (rf"{_N}\s*lines?", _line),
        (rf"{_N}\s*raj\s*\(([^()]+)\)", _raj),
        (rf"{_N}\s*knots?\s+tibetan", _tibetan),
        (rf"{_N}\s*pitch\s+{_N}\s*wires?", _pitch),
    )
)


def _numbers(density: Density) -> str:
    return say(
        "{across:.4g} x {along:.4g} knots per inch, {area:.4g} per square inch",
        across=float(density.across_per_inch),
        along=float(density.along_per_inch),
        area=float(density.per_square_inch),
    )


def _reading(notation: str) -> str:
    """Return one reading of a notation and what it comes to."""
    return say("'{notation}' = {density}", notation=notation, density=_numbers(parse_density(notation)))


def _likely(words: str) -> str | None:
    """Return what `words` leave open where only one reading makes a rug: the other's knots would be too oblong."""
    names = ("indian", "pakistani")
    try:
        read = {name: parse_density(f"{words} {name}") for name in names}
    except RugError:
        return None
    fits = [name for name in names if _oblong(read[name]) <= MOST_OBLONG]
    if len(fits) != 1:
        return None
    (name,) = fits
    other = names[1 - names.index(name)]
    return say(
        "{words!r} can be read two ways: {likely}, or {absurd}, whose knots are {times:.1f} times as long one way as "
        "the other, which nobody weaves; write '{words} {name}'",
        words=words,
        likely=_reading(f"{words} {name}"),
        name=name,
        absurd=_reading(f"{words} {other}"),
        times=_oblong(read[other]),
    )


def _oblong(density: Density) -> float:
    """Return how many times as long a knot is one way as the other."""
    across, along = float(density.across_per_dm), float(density.along_per_dm)
    return max(across, along) / min(across, along)


def _ambiguous(words: str) -> str | None:
    """Return what `words` leave open, with each reading and its numbers, or None if they leave nothing open."""
    if re.match(rf"{_N}\s*/\s*{_N}$", words):
        if likely := _likely(words):
            return likely
        first, second = (_reading(f"{words} {name}") for name in ("indian", "pakistani"))
        return say(
            "{words!r} can be read two ways: {first} or {second}; write which one you mean",
            words=words,
            first=first,
            second=second,
        )
    if re.match(rf"{_N}\s*raj$", words):
        first, second = (_reading(f"{words} ({gereh} cm)") for gereh in ("6.5", "7"))
        message = (
            "{words!r} needs its gereh, which is 6.5 to 7 cm by province: {first} or {second}; write which one you mean"
        )
        return say(message, words=words, first=first, second=second)
    if re.match(rf"{_N}\s*x\s*{_N}$", words):
        return say("{words!r} needs its unit: '{words} per inch', '{words} per dm' or '{words} per cm'", words=words)
    return None


def parse_density(text: str) -> Density:
    """Return the density that `text` says, in any of the notations of `NOTATIONS`.

    Raises
    ------
    RugError
        If it is not a density, could be read in more than one way, or is beyond what can be knotted.

    Examples
    --------
    >>> float(parse_density("9/60 indian").along_per_inch)
    13.333333333333334
    """
    words = plain(text)
    for pattern, reader in _READERS:
        if found := pattern.match(words):
            if any(set(number) <= {"0", "."} for number in re.findall(r"\d+(?:\.\d+)?", words)):
                raise RugError(say("{text!r} cannot be right; a density must be above zero", text=text))
            across, along, assumption = reader(found)
            break
    else:
        message = "{text!r} is not a knot density; known notations: {notations}"
        raise RugError(_ambiguous(words) or say(message, text=text, notations=NOTATIONS))
    for side in (across, along):
        if not LEAST_PER_DM <= side <= MOST_PER_DM:
            message = "{text!r} gives {side:.4g} knots per dm, but rugs have {least} to {most} per dm"
            raise RugError(say(message, text=text, side=float(side), least=LEAST_PER_DM, most=MOST_PER_DM))
    density = Density(across, along, words, assumption)
    if _oblong(density) > NEVER_OBLONG:
        message = (
            "{text!r} gives knots {times:.0f} times as long one way as the other, which nobody weaves: have its two "
            "numbers changed places?"
        )
        raise RugError(say(message, text=text, times=_oblong(density)))
    return density
