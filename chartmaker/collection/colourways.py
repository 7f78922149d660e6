"""A knot map in another colourway: the same knots, tied in other yarns of the card."""

from __future__ import annotations

from dataclasses import replace

from chartmaker.convert.conversion import Conversion
from chartmaker.convert.report import YarnMatch
from chartmaker.ground.errors import CardError
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import say
from chartmaker.ground.sentence import later
from chartmaker.ground.textsafe import guess, inert
from chartmaker.knots.knotmap import KnotMap
from chartmaker.knots.swaps import recoloured
from chartmaker.yarns.yarn import Yarn


def in_colourway(
    knot_map: KnotMap, swaps: tuple[tuple[str, str], ...], card: tuple[Yarn, ...]
) -> tuple[KnotMap, list[Finding]]:
    """Return the map with the yarns of a colourway, and the remarks on that.

    Yarns that the map does not tie are passed over, because one colourway serves many designs.

    Raises
    ------
    CardError
        If the card lacks a yarn that the colourway names.
    """
    tied = {yarn.code for yarn in knot_map.yarns}
    codes = [(_code_of(before, card), _code_of(after, card)) for before, after in swaps]
    pairs = [(before, after) for before, after in codes if before in tied]
    after_all = recoloured(knot_map, pairs, card)
    became: dict[str, list[str]] = {}
    renamed = dict(pairs)
    for yarn in knot_map.yarns:
        became.setdefault(renamed.get(yarn.code, yarn.code), []).append(yarn.code)
    found = [
        Finding(
            later("In this colourway the yarns {codes} become one, {code}.", codes=", ".join(merged), code=code),
            later("yarn {code}", code=code),
            "warning",
        )
        for code, merged in became.items()
        if len(merged) > 1
    ]
    return after_all, found


def _code_of(word: str, card: tuple[Yarn, ...]) -> str:
    """Return the code of a yarn that is named by its code or by its name."""
    codes = [yarn.code for yarn in card]
    if word in codes:
        return word
    named = [yarn.code for yarn in card if yarn.name.casefold() == word.casefold()]
    if len(named) == 1:
        return named[0]
    if named:
        message = "the colourway names {word}, but the card has several yarns of that name: {codes}; write the code"
        raise CardError(say(message, word=inert(word), codes=", ".join(named)))
    near, word = guess(word, codes + [yarn.name for yarn in card]), inert(word)
    if near:
        message = "the colourway names {word}, which the card does not have; did you mean {near}?"
        raise CardError(say(message, word=word, near=near))
    raise CardError(say("the colourway names {word}, which the card does not have", word=word))


def recast_in(
    conversion: Conversion, knot_map: KnotMap, swaps: tuple[tuple[str, str], ...], card: tuple[Yarn, ...]
) -> Conversion:
    """Return the conversion with the map of a colourway, each yarn's match under the code of the yarn that it became.

    The match stays that of the yarns as drawn, because a colourway is meant to differ from the artwork. Where two yarns
    became one, its 95 % figure is the larger of the two.
    """
    became = {_code_of(before, card): _code_of(after, card) for before, after in swaps}
    matches: dict[str, YarnMatch] = {}
    for match in conversion.report.yarns:
        code = became.get(match.code, match.code)
        other = matches.get(code)
        matches[code] = replace(match, code=code) if other is None else _joined(other, match)
    report = replace(conversion.report, yarns=tuple(matches.values()))
    drawn = tuple((yarn, became.get(yarn.code, yarn.code)) for yarn in conversion.knot_map.yarns)
    return replace(conversion, knot_map=knot_map, report=report, drawn=drawn)


def _joined(one: YarnMatch, other: YarnMatch) -> YarnMatch:
    knots = one.knots + other.knots
    mean = (one.mean_de00 * one.knots + other.mean_de00 * other.knots) / max(knots, 1)
    worst = max(one.p95_de00, other.p95_de00), max(one.max_de00, other.max_de00)
    return YarnMatch(one.code, knots, mean, *worst, one.mixed + other.mixed)
