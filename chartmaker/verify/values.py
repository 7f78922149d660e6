"""Values as they must be printed in the fields of a table: numbers that are near enough, names, texts, or any words."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Protocol

from chartmaker.verify.fields import feet, same_name


class Value(Protocol):
    """What one field of a row must print, perhaps in several pieces on several lines."""

    def accepts(self, pieces: Sequence[str]) -> bool:
        """Return whether the pieces print the value."""


def _bare(words: str) -> str:
    return re.sub(r"\s", "", words)


@dataclass(frozen=True)
class Number:
    """A number with its decimals and its unit; rounding may shift its last figure by `off`."""

    value: float
    decimals: int = 0
    unit: str = ""
    off: float = 0.5

    @property
    def pattern(self) -> str:
        """The pattern that finds the number as it is printed, with spaces left out."""
        fraction = rf"\.\d{{{self.decimals}}}" if self.decimals else ""
        return rf"(-?(?:\d{{1,3}}(?:,\d{{3}})+|\d{{1,3}}){fraction}){re.escape(_bare(self.unit))}"

    @property
    def printed(self) -> set[str]:
        """The figures that may be printed: two where what is reckoned twice may fall on either side of a half."""
        last = 1e-9 * abs(self.value) + 1e-12
        return {f"{value:.{self.decimals}f}" for value in (self.value - last, self.value + last)}

    def is_near(self, printed: str) -> bool:
        """Return whether these printed figures are the number."""
        found = float(printed.replace(",", ""))
        return abs(found - self.value) <= self.off * 10.0**-self.decimals + 1e-9 * abs(self.value) + 1e-9

    def accepts(self, pieces: Sequence[str]) -> bool:
        return Numbers((self,)).accepts(pieces)

    def __str__(self) -> str:
        return f"{self.value:,.{self.decimals}f} {self.unit}".strip()


@dataclass(frozen=True)
class Numbers:
    """Numbers that stand one after another, each in a field of the same name."""

    each: tuple[Number, ...]

    def accepts(self, pieces: Sequence[str]) -> bool:
        if not any(number.unit for number in self.each):
            alone = zip(self.each, pieces, strict=False)
            return len(pieces) == len(self.each) and all(_is(number, words) for number, words in alone)
        found = re.fullmatch("".join(number.pattern for number in self.each), _bare("".join(pieces)))
        return found is not None and all(
            number.is_near(words) for number, words in zip(self.each, found.groups(), strict=True)
        )

    def __str__(self) -> str:
        return ", ".join(map(str, self.each))


def _is(number: Number, words: str) -> bool:
    found = re.fullmatch(number.pattern, words)
    return found is not None and number.is_near(found[1])


@dataclass(frozen=True)
class Perhaps:
    """A number that may be left out."""

    number: Number

    def accepts(self, pieces: Sequence[str]) -> bool:
        return not pieces or self.number.accepts(pieces)

    def __str__(self) -> str:
        return str(self.number)


@dataclass(frozen=True)
class Text:
    """Words that must stand as they are, wherever their lines are broken."""

    words: str

    def accepts(self, pieces: Sequence[str]) -> bool:
        return _bare("".join(pieces)) == _bare(self.words)

    def __str__(self) -> str:
        return self.words


@dataclass(frozen=True)
class Name:
    """A name that somebody gave, perhaps cut short with an ellipsis where its line is too short."""

    words: str

    def accepts(self, pieces: Sequence[str]) -> bool:
        shown, wanted = _bare("".join(pieces)), _bare(self.words)
        if "…" not in shown or "…" in wanted:
            return same_name(shown, wanted)
        kept = shown.split("…")
        if re.fullmatch(".*".join(map(re.escape, kept)), wanted):
            return bool(kept[0])
        letters = Counter("".join(kept)) - Counter(wanted)  # letters may be shaped or in reverse order
        return not letters and not wanted.isascii()

    def __str__(self) -> str:
        return self.words


@dataclass(frozen=True)
class Feet:
    """A length in millimetres, told in feet and inches to the eighth; halfway between two, either will do."""

    mm: float

    def accepts(self, pieces: Sequence[str]) -> bool:
        told = {_bare(feet(Fraction(self.mm) + shift)) for shift in (Fraction(-1, 10**6), Fraction(1, 10**6))}
        return _bare("".join(pieces)) in told

    def __str__(self) -> str:
        return feet(Fraction(self.mm))


@dataclass(frozen=True)
class AnyWords:
    """Words of a language, which say nothing that could be checked by counting."""

    def accepts(self, pieces: Sequence[str]) -> bool:
        return bool(pieces)

    def __str__(self) -> str:
        return "…"
