"""How much more of a yarn the fields take as they are drawn than the map has tufts of it."""

from __future__ import annotations

from dataclasses import dataclass

from chartmaker.figures.pile import YarnPile
from chartmaker.figures.reckoning import Figures
from chartmaker.ground.language import say
from chartmaker.sheets.pattern.drawing import Drawing

#: A difference that nobody weighs out: less than this share of a yarn, or fewer grams.
LEAST_SHARE, LEAST_G = 0.02, 5.0


@dataclass(frozen=True)
class More:
    """What the fields of a yarn take beyond its tufts in the map: its number, a share of its grams, and grams."""

    number: str
    pile: YarnPile
    share: float
    more_g: float

    @property
    def words(self) -> str:
        """The yarn with what it takes more, as ``1 (W-01) 4 %, 33 g``."""
        return say(
            "{number} ({code}) {percent:.0f} %, {grams:,.0f} g",
            number=self.number,
            code=self.pile.yarn.code,
            percent=self.share * 100,
            grams=self.more_g,
        )


def drawn_more(drawing: Drawing, figures: Figures) -> tuple[More, ...]:
    """Return the yarns whose fields take more as they are drawn than the figures say, those that take most first.

    The map gives each tuft one yarn, and the drawing follows the artwork's own edges: a line of half a tuft's width is
    drawn whole, though few tufts of it are counted. Shares of the drawn area, those of the map and grams go together.
    """
    areas_mm2 = drawing.outlines.areas_mm2
    by_code = {line.yarn.code: line for line in figures.pile.yarns}
    found = []
    for label, yarn in enumerate(drawing.yarns):
        pile = by_code[yarn.code]
        if not pile.share:
            continue
        share = float(areas_mm2[label] / areas_mm2.sum()) / pile.share - 1
        if share >= LEAST_SHARE and share * pile.mass_g.best >= LEAST_G:
            found.append(More(drawing.number(label), pile, share, share * pile.mass_g.best))
    return tuple(sorted(found, key=lambda more: -more.more_g))
