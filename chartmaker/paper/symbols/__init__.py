"""The symbol of each yarn: heavier ink for a darker yarn."""

from __future__ import annotations

from importlib import resources

import numpy as np
from numpy.typing import NDArray

from chartmaker.paper.symbols.assigning import assigned
from chartmaker.paper.symbols.table import INK
from chartmaker.yarns.yarn import Yarn, lab_of

#: What the pages call the font of the symbols.
SYMBOL_FONT = "S"
#: Code point of the symbol that is glyph 0 of the font (a blank); glyph n stands at FIRST_CODE + n.
FIRST_CODE = 0xE000


def symbol_font() -> bytes:
    """Return the font file of the symbols."""
    return (resources.files("chartmaker.paper.symbols") / "knots.ttf").read_bytes()


def symbols_of(yarns: tuple[Yarn, ...]) -> NDArray[np.uint16]:
    """Return the glyph number of each yarn's symbol, shape (yarns,), all different.

    A yarn keeps its own symbol; where two come with the same one, as yarns of two cards may, the first keeps it, and
    the other gets one that is free. A map of n yarns that have none, as maps were written once, uses the first n
    symbols of the font by ink: so were its charts printed.
    """
    if any(yarn.symbol is not None for yarn in yarns):
        kept: list[int | None] = []
        for yarn in yarns:
            kept.append(None if yarn.symbol in kept else yarn.symbol)
        return np.array(assigned(yarns, kept), dtype=np.uint16)
    count = len(yarns)
    by_ink = np.argsort(np.array(INK[:count], dtype=np.int64), kind="stable")
    by_lightness = np.argsort(-lab_of(yarns)[:, 0], kind="stable")
    glyphs = np.zeros(count, dtype=np.uint16)
    glyphs[by_lightness] = by_ink + 1
    return glyphs
