"""The order in which mixed left-to-right text stands on a line."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from itertools import groupby

_STRONG = {"L": "L", "R": "R", "AL": "R"}
_NEUTRAL = {"B", "S", "WS", "ON"}


@dataclass(frozen=True, slots=True)
class Piece:
    """Letters of one direction, in reading order; `start` is where they stand in the text."""

    text: str
    rightward: bool
    start: int


def base_level(text: str) -> int:
    """Return 1 if the first strong letter of `text` is written right to left, else 0 (UAX 9, P2 with P3)."""
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


def levels(text: str) -> list[int]:
    """Return the embedding level of each letter of `text` (Unicode Standard Annex 9 without explicit codes).

    Explicit embedding codes are not printable, so that no name that reaches a sheet holds any; paired brackets are
    resolved as other neutrals.
    """
    level = base_level(text)
    base = "R" if level else "L"
    kinds = _weak([unicodedata.bidirectional(letter) or "L" for letter in text], base)
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
