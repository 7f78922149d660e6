"""The loom page: the row script one call at a time, in one HTML file that needs no network and keeps its place."""

from __future__ import annotations

from collections.abc import Iterator

from chartmaker.figures.reckoning import Figures
from chartmaker.ground.language import say
from chartmaker.pages.frames import framed
from chartmaker.pages.loom.loomdata import data_elements
from chartmaker.pages.loom.parts import Part, whole
from chartmaker.pages.loom.words import SENTENCES


def loom_page(figures: Figures, part: Part | None = None) -> Iterator[str]:
    """Yield the text of the loom page, piece by piece; joined and written as UTF-8 it is the file.

    Parameters
    ----------
    figures : Figures
        Of the rug, with its map.
    part : Part, optional
        The part of the rug that the page holds; without it, all of the rug.
    """
    knot_map = figures.knot_map
    code = say("map {code}", code=knot_map.map_code)
    data = data_elements(figures, part or whole(knot_map))
    yield from framed("loom", knot_map.rug.name, SENTENCES, data, paper=False, code=code)
