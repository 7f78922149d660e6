"""Foreign text made harmless for a terminal line."""

from __future__ import annotations

import unicodedata

_LONGEST = 300
#: Control, format (which holds the bidirectional overrides), surrogate, private, line and paragraph separators.
_UNSAFE = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}


def inert(text: object, longest: int = _LONGEST) -> str:
    """Return `text` on one line, with unprintable characters as escapes, cut when very long."""
    words = "".join(
        c if unicodedata.category(c) not in _UNSAFE else c.encode("unicode_escape").decode("ascii") for c in str(text)
    )
    return words if len(words) <= longest else words[: longest - 1] + "…"


def guess(word: str, known: list[str]) -> str:
    """Return ``; did you mean X?`` for the nearest of `known`, or nothing."""
    import difflib

    near = difflib.get_close_matches(word, known, n=1, cutoff=0.6)
    return f"; did you mean {near[0]}?" if near else ""
