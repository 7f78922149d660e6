"""Which symbol a yarn of a card bears: more ink the darker the yarn, and far in shape from yarns of about its tone.

On a grey copy two dark yarns are told apart by their symbols alone. The darkest yarn first gets the heaviest symbol,
and so on; then two yarns exchange their symbols wherever that parts the small pictures of yarns near in tone, as long
as no symbol goes far from where its ink belongs. On a card of more yarns than there are symbols, yarns that are near in
colour, which few rugs have both, bear one symbol together. All sums are of whole numbers, and neither the order of the
card's lines nor what a rug uses of it has a say, so that one card gives one yarn the same symbol in every rug.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache, lru_cache

import numpy as np
from numpy.typing import NDArray

from chartmaker.paper.symbols.copies import CLOSE_BY, FROM_AFAR, TURNED_APART, centred, pictures, ways
from chartmaker.paper.symbols.table import APART, INK, LOOKS
from chartmaker.yarns.yarn import Yarn

#: No symbol goes more places than this from where its ink belongs: the yarns' order of tones stays to be seen.
MOST_PLACES = 10
#: Yarns that differ by so much lightness (CIELAB, in hundredths) are told apart by their tone alone.
TONE = 1500
#: Exchanging ends by itself long before; so many rounds bound its time.
MOST_ROUNDS = 30
#: What the picture from afar weighs beside that from close by.
AFAR_WEIGHT = 8
#: Symbols whose edges run the same way count as so much nearer (of a course of 1000) than those of another way.
SAME_WAY, OTHER_WAY = 130, 330
_LIKE, _MOST_LIKE = 10**18, 10**14


@cache
def shape_likeness() -> NDArray[np.int64]:
    """Return how alike the small pictures of any two symbols are, shape (symbols, symbols): the nearest weigh most.

    They count as seen close by and from afar, where a pair of bars and a ring are one grey blot of the same size, and
    by the way their edges run: a bar and a pair of bars make the same stripes of a field.
    """
    near, far = ways(pictures(LOOKS), CLOSE_BY), ways(pictures(LOOKS), FROM_AFAR)
    blurred_more = 16 ** (FROM_AFAR - CLOSE_BY)  # each blur multiplies the ink by 16
    both = [one + AFAR_WEIGHT * other // blurred_more for one, other in zip(near, far, strict=True)]
    apart = np.minimum(*both) * (SAME_WAY + _courses()) // OTHER_WAY
    likeness: NDArray[np.int64] = np.minimum(_LIKE // np.maximum(apart, 1) ** 3, _MOST_LIKE)
    return likeness


def _courses() -> NDArray[np.int64]:
    """Return how differently the edges of any two symbols run: across, along and both diagonals, in thousandths."""
    ink = np.pad(pictures(LOOKS), ((0, 0), (1, 1), (1, 1)))
    steps = (
        *(ink[:, :, 1:] - ink[:, :, :-1], ink[:, 1:] - ink[:, :-1]),
        *(ink[:, 1:, 1:] - ink[:, :-1, :-1], ink[:, 1:, :-1] - ink[:, :-1, 1:]),
    )
    edges = np.array([np.abs(step).sum(axis=(1, 2)) for step in steps])
    shares = edges * 1000 // np.maximum(edges.sum(axis=0), 1)
    courses: NDArray[np.int64] = np.abs(shares[:, :, None] - shares[:, None]).sum(axis=0)
    return courses


@cache
def shape_distances() -> NDArray[np.int64]:
    """Return how far the small pictures of any two symbols are apart, shape (symbols, symbols), either way up.

    A sheet may lie on the loom with its head towards the weaver, so that two symbols are as near as one is to the other
    turned by half.
    """
    nearest: NDArray[np.int64] = np.minimum(*ways(pictures(LOOKS), CLOSE_BY))
    return nearest


@cache
def by_preference() -> tuple[int, ...]:
    """Return all symbols: first those that stay apart on a poor copy, then those that do on a turned sheet.

    Of the first, those that hug an edge of their cell come last.
    """
    in_the_middle = set(centred(LOOKS))
    apart = sorted(APART, key=lambda glyph: glyph not in in_the_middle)
    distances = shape_distances()
    for glyph in range(1, len(INK) + 1):
        if glyph not in APART and (distances[glyph - 1, [other - 1 for other in apart]] >= TURNED_APART).all():
            apart.append(glyph)
    return (*apart, *sorted(set(range(1, len(INK) + 1)) - set(apart)))


def assigned(yarns: Sequence[Yarn], kept: Sequence[int | None]) -> list[int]:
    """Return the symbol of each yarn, all different: its own where `kept` has one, else the one that suits it best.

    Parameters
    ----------
    yarns : sequence of Yarn
        At most as many as there are symbols.
    kept : sequence of int or None
        The symbols that are settled, from 1, all different.
    """
    return _suited([round(yarn.lab[0] * 100) for yarn in yarns], [yarn.code for yarn in yarns], kept)


def _suited(tones_: Sequence[int], codes: Sequence[str], kept: Sequence[int | None]) -> list[int]:
    """Return the symbols as `assigned` does, of what has these tones, in hundredths of CIELAB lightness, and codes."""
    tones = np.array(tones_, dtype=np.int64)
    settled = {glyph for glyph in kept if glyph is not None}
    order = sorted((i for i, glyph in enumerate(kept) if glyph is None), key=lambda i: (tones[i], codes[i]))
    free = [glyph for glyph in by_preference() if glyph not in settled][: len(order)]
    free.sort(key=lambda glyph: (-INK[glyph - 1], glyph))
    glyphs = np.array([glyph or 0 for glyph in kept], dtype=np.int64)
    glyphs[order] = free
    belongs = {glyph: place for place, glyph in enumerate(free)}
    near = np.maximum(0, TONE - np.abs(tones[:, None] - tones[None])) ** 2 // TONE  # the nearest tones count most
    np.fill_diagonal(near, 0)
    for _ in range(MOST_ROUNDS):
        if not _exchanged(order, glyphs, belongs, near):
            break
    return [int(glyph) for glyph in glyphs]


def _exchanged(
    order: Sequence[int], glyphs: NDArray[np.int64], belongs: Mapping[int, int], near: NDArray[np.int64]
) -> bool:
    """Exchange the symbols of two yarns wherever that is better, in place; return whether any were exchanged."""
    alike, changed = shape_likeness(), False
    for place, first in enumerate(order):
        for other in range(place + 1, min(place + 2 * MOST_PLACES, len(order) - 1) + 1):
            second = order[other]
            one, two = int(glyphs[first]), int(glyphs[second])
            if max(abs(belongs[two] - place), abs(belongs[one] - other)) > MOST_PLACES:
                continue
            weight = near[first] - near[second]
            weight[[first, second]] = 0  # what the two are to each other stays as it is
            if int((weight * (alike[two - 1, glyphs - 1] - alike[one - 1, glyphs - 1])).sum()) < 0:
                glyphs[first], glyphs[second] = two, one
                changed = True
    return changed


def _families(yarns: Sequence[Yarn], most: int) -> list[list[int]]:
    """Return the places of `yarns` in `most` families of yarns near in colour, all of about as many yarns.

    The box of colours is halved where it is longest, and so on (the median cut of Heckbert, 1982).
    """
    colours = [tuple(round(value * 100) for value in yarn.lab) for yarn in yarns]

    def halved(members: list[int], families: int) -> list[list[int]]:
        if families == 1:
            return [members]
        sides = [[colours[i][axis] for i in members] for axis in range(3)]
        axis = max(range(3), key=lambda at: max(sides[at]) - min(sides[at]))
        members = sorted(members, key=lambda i: (colours[i][axis], yarns[i].code))
        some = families // 2
        at = len(members) * some // families
        return halved(members[:at], some) + halved(members[at:], families - some)

    return halved(list(range(len(yarns))), most)


def _shared(yarns: Sequence[Yarn]) -> list[int | None]:
    """Return the symbol of each yarn of a card of more yarns than there are symbols, one for each family of colours.

    Symbols that the card gives outright are no family's. Where it leaves none, the other yarns have none either.
    """
    symbols = [yarn.symbol for yarn in yarns]
    own = [i for i, symbol in enumerate(symbols) if symbol is not None]
    others = [i for i, symbol in enumerate(symbols) if symbol is None]
    free = len(INK) - len(own)
    if free:
        families = [[others[i] for i in family] for family in _families([yarns[i] for i in others], free)]
        tones = [sum(round(yarns[i].lab[0] * 100) for i in family) // len(family) for family in families]
        tones += [round(yarns[i].lab[0] * 100) for i in own]
        codes = [min(yarns[i].code for i in family) for family in families] + [yarns[i].code for i in own]
        found = _suited(tones, codes, [*([None] * len(families)), *(symbols[i] for i in own)])
        for family, glyph in zip(families, found, strict=False):
            for i in family:
                symbols[i] = glyph
    return symbols


@lru_cache(maxsize=8)
def with_symbols(yarns: tuple[Yarn, ...]) -> tuple[Yarn, ...]:
    """Return the yarns of a card, each with its symbol.

    On a card of more yarns than there are symbols, yarns near in colour bear one symbol; in a rug that has two of them,
    `symbols_of` gives the second another.

    Parameters
    ----------
    yarns : tuple of Yarn
        All yarns of the card. Those that have a symbol keep it.

    Returns
    -------
    tuple of Yarn
        In the same order.

    Examples
    --------
    >>> len({yarn.symbol for yarn in with_symbols(read_card("wool.csv"))}) == len(read_card("wool.csv"))
    True
    """
    if all(yarn.symbol is not None for yarn in yarns):
        return yarns
    kept = [yarn.symbol for yarn in yarns]
    glyphs = _shared(yarns) if len(yarns) > len(INK) else assigned(yarns, kept)
    return tuple(replace(yarn, symbol=glyph) for yarn, glyph in zip(yarns, glyphs, strict=True))
