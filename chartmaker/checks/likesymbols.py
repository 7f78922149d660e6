"""The remark on yarns that bear one symbol on their card, of which one gets another in this rug."""

from __future__ import annotations

from collections.abc import Iterator

from chartmaker.ground.findings import Finding
from chartmaker.ground.sentence import later
from chartmaker.knots.knotmap import KnotMap
from chartmaker.paper.symbols import symbols_of


def moved_symbols(knot_map: KnotMap) -> Iterator[Finding]:
    """Yield a finding for each yarn whose symbol in this rug is not the one that its card gives it.

    A card of more yarns than there are symbols gives yarns near in colour the same, and so may two cards.
    """
    keepers: dict[int, str] = {}
    for yarn, glyph in zip(knot_map.yarns, symbols_of(knot_map.yarns).tolist(), strict=True):
        if yarn.symbol is None:
            continue
        keeper = keepers.setdefault(yarn.symbol, yarn.code)
        if keeper != yarn.code:
            words = (
                "{code} and {keeper} have one symbol on the card, number {symbol}. In this rug {code} has symbol "
                "{glyph}: go by the legend of the chart, not by the card on the wall."
            )
            said = later(words, code=yarn.code, keeper=keeper, symbol=yarn.symbol, glyph=glyph)
            yield Finding(said, yarn.code, "warning")
