"""The outlines of the charts' symbols, for screens that draw them without the font."""

from __future__ import annotations

from collections.abc import Iterable

import uharfbuzz as hb

from chartmaker.paper.symbols import symbol_font


class _Pen:
    """Writes an outline down as the path of an SVG: y runs down, and the square of a cell is 1000 by 1000."""

    def __init__(self) -> None:
        self.steps: list[str] = []

    def _put(self, letter: str, *points: tuple[float, float]) -> None:
        self.steps.append(letter + " ".join(f"{x:g} {1000 - y:g}" for x, y in points))

    def moveTo(self, to: tuple[float, float]) -> None:  # noqa: N802  (the names are the library's)
        self._put("M", to)

    def lineTo(self, to: tuple[float, float]) -> None:  # noqa: N802
        self._put("L", to)

    def qCurveTo(self, by: tuple[float, float], to: tuple[float, float]) -> None:  # noqa: N802
        self._put("Q", by, to)

    def curveTo(self, first: tuple[float, float], second: tuple[float, float], to: tuple[float, float]) -> None:  # noqa: N802
        self._put("C", first, second, to)

    def closePath(self) -> None:  # noqa: N802
        self.steps.append("Z")


def symbol_paths(glyphs: Iterable[int]) -> tuple[str, ...]:
    """Return the outline of each glyph of the symbol font as the path data of an SVG (SVG 2, 9.3).

    The cell is 1000 units wide and high, with its top left corner at 0, 0.
    """
    font = hb.Font(hb.Face(symbol_font()))
    paths = []
    for glyph in glyphs:
        pen = _Pen()
        font.draw_glyph_with_pen(glyph, pen)
        paths.append("".join(pen.steps))
    return tuple(paths)
