"""The tufter's colour guide, read back: what is to be settled, the tufters, and the yarn and turn of each number."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence

from chartmaker.ground.language import say
from chartmaker.ground.textsafe import inert
from chartmaker.readback.printed import Block
from chartmaker.verify.fields import near, said_in
from chartmaker.verify.patterns import ExpectedPattern
from chartmaker.verify.remarked import settle_faults
from chartmaker.verify.sheets import Paper

#: Shares and grams are rounded so that their columns add up, and so they may be off by this much.
_SHARE_OFF, _GRAMS_OFF = 0.011, 1.01
#: A yarn with at least so many per cent of the rug is a ground, which is tufted last or first.
_GROUND = 25.0
_HEIGHTS = ("tufted-height", "finished-height")
_PLAIN = re.compile(r"\d{1,9}(\.\d{1,4})?")


def guide_differences(data: bytes, expected: ExpectedPattern) -> Iterator[str]:
    """Yield how a colour guide differs from the map.

    Each number must stand once, in the order of work, with the code of its yarn, its share, its grams, the heights at
    which it is tufted and finished, and how its tufts end. Shares and grams are those of the figures, whose columns
    add up.
    """
    roots = [sheet.root for sheet in Paper(data, expected.knot_map.knots.size).sheets()]
    named = said_in(span for root in roots for span in root.find("identity")).get("map", [])
    if set(named) != {expected.code}:
        yield say("the guide is not that of map {map}", map=expected.code)
    yield from settle_faults((span for root in roots for span in root.find("settle")), expected.settle)
    yield from _hands([span for root in roots for span in root.find("hand")], expected)
    found: dict[str, Mapping[str, str]] = {}
    marked: dict[str, tuple[bool, ...]] = {}
    for line in (block for root in roots for block in root.find("guide-line")):
        said = {span.tag: "".join(next(iter(span.fields().values()), [span.words])) for span in line.blocks()}
        number = said.get("number", "")
        if number in found:
            yield say("number {number} stands twice", number=inert(number))
        found[number] = said
        heights = [span.fields() for name in _HEIGHTS for span in line.find(name)]
        marked[said.get("code", "")] = tuple("assumed" in each for each in heights)
    if [(said.get("code"), said.get("turn")) for said in found.values()] != _turns(expected):
        yield say("the guide does not have the yarns in the order of work")
    yield from _sums(list(found.values()), expected)
    for place, yarn in enumerate(expected.knot_map.yarns, start=1):
        own = found.pop(str(place), {})
        if own.get("code") != yarn.code:
            shown = inert(own.get("code", "")) or say("nothing")
            yield say("number {number} is {shown}, not {code}", number=place, shown=shown, code=yarn.code)
        yield from _line(own, yarn.code, expected)
    if marked != dict(expected.ungiven):
        yield say("the guide does not mark the heights that nobody gave")
    if found:
        yield say("the guide has the number {number}, which no yarn has", number=inert(min(found)))


def _hands(spans: Sequence[Block], expected: ExpectedPattern) -> Iterator[str]:
    """Yield a fault unless the tufters stand in their order below the back and, the other way round, the front."""
    middles = [sum(text.x_mm + text.length_mm / 2 for text in span.texts()) for span in spans]
    placed = sorted(zip(middles, ("".join(said_in([span]).get("number", [])) for span in spans), strict=True))
    up = [str(number + 1) for number in range(expected.hands)] if expected.hands > 1 else []
    if [number for _, number in placed] != (up + up[::-1] if expected.mirrored else up[::-1] + up):
        yield say("the guide does not say where each tufter works")


def _turns(expected: ExpectedPattern) -> list[tuple[str, str]]:
    """Return the codes with their turns: rare before common, and the grounds after the rest, or before it."""
    shares = [expected.amounts[yarn.code][0] for yarn in expected.knot_map.yarns]
    order = sorted(range(len(shares)), key=lambda i: ((shares[i] >= _GROUND) is expected.ground_last, shares[i], i))
    return [(expected.knot_map.yarns[i].code, str(turn)) for turn, i in enumerate(order, start=1)]


def _sums(lines: Sequence[Mapping[str, str]], expected: ExpectedPattern) -> Iterator[str]:
    """Yield whether the shares or the grams of all yarns do not add up."""
    for name, due, off in (("share", 100.0, 0.006), ("grams", sum(g for _, g in expected.amounts.values()), 0.51)):
        shown = [said.get(name, "").removesuffix(" %").replace(",", "") for said in lines]
        if all(map(_PLAIN.fullmatch, shown)) and abs(sum(map(float, shown)) - due) > off:
            yield say("the {what} of the guide do not add up", what=say("shares") if name == "share" else say("grams"))


def _line(said: Mapping[str, str], code: str, expected: ExpectedPattern) -> Iterator[str]:
    """Yield how the line of a yarn differs from what the yarn takes, and from how it is tufted and finished."""
    due_share, due_g = expected.amounts[code]
    share, grams = said.get("share", ""), said.get("grams", "")
    if not near(share.removesuffix(" %"), due_share, _SHARE_OFF):
        yield say("the guide gives {code} a share of {shown}", code=code, shown=inert(share) or "–")
    if not near(grams.replace(",", ""), due_g, _GRAMS_OFF):
        yield say("the guide gives {code} {shown} g, not {due:,.0f}", code=code, shown=inert(grams) or "–", due=due_g)
    for name, due in zip(_HEIGHTS, expected.heights_mm[code], strict=True):
        height = said.get(name, "")
        if not near(height, due, 0):
            words = "the guide gives {code} a height of {shown} mm, not {due:.4g}"
            yield say(words, code=code, shown=inert(height) or "–", due=due)
    if ("loop-pile" in said, "cut-pile" in said) != (code in expected.loops, code not in expected.loops):
        yield say("the guide does not say of {code} whether its pile is cut or in loops", code=code)
