"""The order in which mixed left-to-right text stands on a line."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from itertools import groupby

_STRONG = {"L": "L", "R": "R", "AL": "R"}
_NEUTRAL = {"B", "S", "WS", "ON"}
#: Opening brackets, each followed by its closing one (BidiBrackets.txt of Unicode 15).
_BRACKETS = (
    "()[]{}\u0f3a\u0f3b\u0f3c\u0f3d\u169b\u169c\u2045\u2046\u207d\u207e\u208d\u208e\u2308\u2309\u230a\u230b\u2329\u232a"
    "\u2768\u2769\u276a\u276b\u276c\u276d\u276e\u276f\u2770\u2771\u2772\u2773\u2774\u2775\u27c5\u27c6\u27e6\u27e7\u27e8\u27e9"
    "\u27ea\u27eb\u27ec\u27ed\u27ee\u27ef\u2983\u2984\u2985\u2986\u2987\u2988\u2989\u298a\u298b\u298c\u298d\u2990\u298f\u298e"
    "\u2991\u2992\u2993\u2994\u2995\u2996\u2997\u2998\u29d8\u29d9\u29da\u29db\u29fc\u29fd\u2e22\u2e23\u2e24\u2e25\u2e26\u2e27"
    "\u2e28\u2e29\u2e55\u2e56\u2e57\u2e58\u2e59\u2e5a\u2e5b\u2e5c\u3008\u3009\u300a\u300b\u300c\u300d\u300e\u300f\u3010\u3011"
    "\u3014\u3015\u3016\u3017\u3018\u3019\u301a\u301b\ufe59\ufe5a\ufe5b\ufe5c\ufe5d\ufe5e\uff08\uff09\uff3b\uff3d\uff5b\uff5d"
    "\uff5f\uff60\uff62\uff63"
)
_CLOSING_OF = dict(zip(_BRACKETS[::2], _BRACKETS[1::2], strict=True))
#: Brackets that Unicode holds for the same as others.
_SAME = str.maketrans("\u2329\u232a", "\u3008\u3009")
#: Brackets that may be open at a time (BD16).
_MOST_OPEN = 63


@dataclass(frozen=True, slots=True)
class Piece:
    """Letters of one direction, in reading order; `start` is where they stand in the text."""

    text: str
    rightward: bool
    start: int


def base_level(text: str) -> int:
    """Return 1 if the first strong letter of `text` is written right to left, else 0 (UAX 9, P2 and P3)."""
    for letter in text:
        kind = _STRONG.get(unicodedata.bidirectional(letter))
        if kind is not None:
            return int(kind == "R")
    return 0


def _weak(kinds: list[str], base: str) -> list[str]:
    """Resolve the weak types (UAX 9, W1 to W7) of one paragraph."""
    kinds = list(kinds)
    previous, strong = base, base
    for i, kind in enumerate(kinds):  # W1, W2, W3
        if kind in ("NSM", "BN"):
            kinds[i] = previous
        elif kind == "EN" and strong == "AL":
            kinds[i] = "AN"
        if kind in ("L", "R", "AL"):
            strong = kind
        previous = kinds[i]
    kinds = ["R" if kind == "AL" else kind for kind in kinds]
    for i in range(1, len(kinds) - 1):  # W4
        before, here, after = kinds[i - 1 : i + 2]
        if before == after and (here, before) in (("CS", "EN"), ("CS", "AN"), ("ES", "EN")):
            kinds[i] = before
    place = 0
    for kind, group in groupby(list(kinds)):  # W5
        size = len(list(group))
        beside = {kinds[place - 1] if place else "", kinds[place + size] if place + size < len(kinds) else ""}
        if kind == "ET" and "EN" in beside:
            kinds[place : place + size] = ["EN"] * size
        place += size
    strong = base
    for i, kind in enumerate(kinds):  # W6, W7
        if kind in ("ES", "ET", "CS"):
            kinds[i] = "ON"
        elif kind == "EN" and strong == "L":
            kinds[i] = "L"
        if kind in ("L", "R"):
            strong = kind
    return kinds


def _bracket_pairs(text: str, kinds: list[str]) -> list[tuple[int, int]]:
    """Return where each pair of brackets opens and closes, in the order of the opening ones (UAX 9, BD16)."""
    pairs: list[tuple[int, int]] = []
    open_: list[tuple[str, int]] = []
    for place, letter in enumerate(text.translate(_SAME)):
        if kinds[place] != "ON":
            continue
        if letter in _CLOSING_OF:
            if len(open_) == _MOST_OPEN:
                break
            open_.append((_CLOSING_OF[letter], place))
        elif (at := next((i for i in reversed(range(len(open_))) if open_[i][0] == letter), None)) is not None:
            pairs.append((open_[at][1], place))
            del open_[at:]
    return sorted(pairs)


def _bracketed(text: str, kinds: list[str], base: str) -> list[str]:
    """Give both brackets of a pair the direction of what they hold, or of what stands before (UAX 9, N0)."""
    kinds = list(kinds)
    strong = {"L": "L", "R": "R", "EN": "R", "AN": "R"}
    for opening, closing in _bracket_pairs(text, kinds):
        within = {strong[kind] for kind in kinds[opening + 1 : closing] if kind in strong}
        if not within:
            continue
        kind = base
        if base not in within:  # all of it runs against the line: so do the brackets, if what stands before does too
            kind = next((strong[kind] for kind in reversed(kinds[:opening]) if kind in strong), base)
        for bracket in (opening, closing):
            kinds[bracket] = kind
            for place in range(bracket + 1, len(text)):  # marks on a bracket go with it
                if unicodedata.bidirectional(text[place]) != "NSM":
                    break
                kinds[place] = kind
    return kinds


def levels(text: str) -> list[int]:
    """Return the embedding level of each letter of `text` (Unicode Standard Annex 9 without explicit codes).

    Explicit embedding codes are not printable, so that no name that reaches a sheet holds any.
    """
    level = base_level(text)
    base = "R" if level else "L"
    kinds = _weak([unicodedata.bidirectional(letter) or "L" for letter in text], base)
    kinds = _bracketed(text, kinds, base)
    place = 0
    for neutral, group in groupby(list(kinds), key=lambda kind: kind in _NEUTRAL or kind == "BN"):  # N1, N2
        size = len(list(group))
        if neutral:
            sides = [kinds[place - 1] if place else base, kinds[place + size] if place + size < len(kinds) else base]
            sides = ["R" if side in ("EN", "AN") else side for side in sides]
            kinds[place : place + size] = [sides[0] if sides[0] == sides[1] else base] * size
        place += size
    if level == 0:  # I1
        return [{"L": 0, "R": 1}.get(kind, 2) for kind in kinds]
    return [1 if kind == "R" else 2 for kind in kinds]  # I2


def visual_pieces(text: str) -> list[Piece]:
    """Return the pieces of `text` from left to right as they stand on the line (UAX 9, L2)."""
    if text.isascii():
        return [Piece(text, True, 0)] if text else []
    pieces: list[tuple[int, Piece]] = []
    place = 0
    for level, group in groupby(levels(text)):
        size = len(list(group))
        pieces.append((level, Piece(text[place : place + size], level % 2 == 0, place)))
        place += size
    for lowest in range(max((level for level, _ in pieces), default=0), 0, -1):
        ordered: list[tuple[int, Piece]] = []
        for turned, block in groupby(pieces, key=lambda entry: entry[0] >= lowest):
            entries = list(block)
            ordered.extend(reversed(entries) if turned else entries)
        pieces = ordered
    return [piece for _, piece in pieces]
