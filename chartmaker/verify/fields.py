"""Whether the numbers and names in the fields of a sheet are what they should be."""

from __future__ import annotations

import math
import re
import unicodedata
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from fractions import Fraction

from chartmaker.ground.language import say
from chartmaker.readback.printed import Block

_WHOLE = re.compile(r"\d{1,3}(?:,\d{3})+|\d{1,12}")


def whole(words: str) -> int:
    """Return the whole number that is printed, ``1,234`` or ``1234``, or -1 if it is not one."""
    return int(words.replace(",", "")) if _WHOLE.fullmatch(words) else -1


def same_name(printed: str, name: str) -> bool:
    """Return whether `printed` is the name, perhaps cut short with an ellipsis.

    Names that are written from right to left, or whose letters are shaped, are compared by their letters and not by
    the order of the letters on the line.
    """
    cut = printed.endswith("…") and not name.endswith("…")
    shown, wanted = (printed[:-1].rstrip(), name) if cut else (printed, name)
    if all(unicodedata.bidirectional(letter) not in ("R", "AL", "AN", "NSM", "BN") for letter in name):
        return wanted.startswith(shown) if cut else shown == wanted
    missing = _letters(shown) - _letters(wanted)
    return not missing and (cut or not _letters(wanted) - _letters(shown))


def _letters(words: str) -> Counter[str]:
    plain = unicodedata.normalize("NFKC", words)
    return Counter(letter for letter in plain if unicodedata.category(letter) not in ("Cf", "Mn") and letter != " ")


def said_in(spans: Iterable[Block]) -> dict[str, list[str]]:
    """Return what the fields within some spans together print, by name."""
    found: dict[str, list[str]] = {}
    for span in spans:
        for name, words in span.fields().items():
            found.setdefault(name, []).extend(words)
    return found


def head_faults(root: Block, name: str, **wanted: int | str) -> Iterator[str]:
    """Yield how the head of a sheet differs from the rug's name and from the codes and numbers that it must bear."""
    yield from wrong_fields(root.find("identity"), wanted)
    names = said_in(root.find("heading")).get("name", [])
    if len(names) != 1 or not same_name(names[0], name):
        yield say("it does not name the rug")


def wrong_fields(spans: Iterator[Block], wanted: Mapping[str, int | str]) -> Iterator[str]:
    """Yield how the fields within some spans together differ from those `wanted`, each of which must stand there once.

    Numbers are compared as numbers, and texts must be the same letter for letter.
    """
    found = said_in(spans)
    for name, value in wanted.items():
        printed = found.pop(name, [])
        right = [whole(words) == value if isinstance(value, int) else words == value for words in printed]
        if right != [True]:
            shown = ", ".join(map(repr, printed[:3])) or say("nothing")
            yield say("for {name} it prints {words}, not {wanted}", name=name, words=shown, wanted=value)
    for name, others in found.items():
        yield say("it prints a {name} that should not be there: {words!r}", name=name, words=others[0])


#: The two ways of reading, in English: they and the kinds of knots are the only words on paper that verify reads,
#: because no number says the same.
READINGS = ("left to right", "right to left")


def wrong_words(words: str, wanted: str, every: Sequence[str]) -> bool:
    """Return whether `words` are English and name another of `every` kind than the one that is wanted."""
    named = [each for each in every if each in words]
    return bool(named) and max(named, key=len) != wanted


def wrong_reading(words: str, reading: str) -> bool:
    """Return whether `words` are English and name the other way of reading."""
    return any(way in words for way in READINGS if way != reading)


def near(words: str, value: float, off: float) -> bool:
    """Return whether a number is printed within `off` of `value`, or, if `off` is 0, with its first four figures."""
    if not re.fullmatch(r"\d{1,9}(\.\d{1,6})?(e[+-]\d\d)?", words):
        return False
    return math.isclose(float(words), value, rel_tol=0 if off else 6e-4, abs_tol=off + 1e-6)


def feet(mm: Fraction) -> str:
    """Return a length in feet and inches, to the nearest eighth of an inch, as ``7'6 1/2"``."""
    eighths = round(mm * 8 / Fraction(254, 10))
    words = f"{eighths // 96}'{eighths % 96 // 8}"
    return f'{words} {Fraction(eighths % 8, 8)}"' if eighths % 8 else f'{words}"'
