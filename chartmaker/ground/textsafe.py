"""Text from outside: what may be printed on a line as it is, and how the rest is made harmless."""

from __future__ import annotations

import unicodedata

_LONGEST = 300
#: Control, format (which holds the bidirectional overrides), surrogate, private, line and paragraph separators.
_UNSAFE = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}

#: Zero-width (non-)joiners: they steer how letters join, which Persian and many scripts of India cannot do without.
_JOINERS = "\u200c\u200d"
#: The combining class of a virama (Unicode Standard Annex 44).
_VIRAMA = 9


def _joins(text: str, place: int) -> bool:
    """Say whether `place` holds a joiner where a script needs one: beside a virama, or after an Arabic-like letter.

    After RFC 5892, appendix A.1 with A.2, but a joiner may also end a word of joined letters (Persian abbreviations),
    or come before a virama (Bengali). Anywhere else a joiner could only hide something.
    """
    if text[place] not in _JOINERS:
        return False
    neighbours = text[max(place - 1, 0) : place] + text[place + 1 : place + 2]
    if any(unicodedata.combining(letter) == _VIRAMA for letter in neighbours):
        return True
    before = text[:place].rstrip("".join(filter(unicodedata.combining, text[:place])))
    return unicodedata.bidirectional(before[-1:] or " ") == "AL"


def printable(text: str) -> bool:
    """Say whether `text` can be printed on one line as it is, without control, unassigned or unseen characters."""
    return all(letter.isprintable() or _joins(text, place) for place, letter in enumerate(text))


def inert(text: object, longest: int = _LONGEST) -> str:
    """Return `text` on one line, with unprintable characters as escapes, cut when very long."""
    given = str(text)
    words = "".join(
        letter
        if unicodedata.category(letter) not in _UNSAFE or _joins(given, place)
        else letter.encode("unicode_escape").decode("ascii")
        for place, letter in enumerate(given)
    )
    return words if len(words) <= longest else words[: longest - 1] + "…"


def guess(word: str, known: list[str]) -> str:
    """Return the nearest of `known`, for a sentence that asks whether it was meant; nothing if none is near."""
    import difflib

    near = difflib.get_close_matches(word, known, n=1, cutoff=0.6)
    return near[0] if near else ""
