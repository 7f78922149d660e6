"""The tufter's full-size pattern as a PDF, with outlines, numbers, and all that a sheet needs to be laid true."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.language import phrase, say
from chartmaker.ground.progress import SILENT, Progress
from chartmaker.order.workshop import Workshop
from chartmaker.outlines.numbers import Place
from chartmaker.paper import operators as op
from chartmaker.paper.drawing import BLACK, Book, Sheet
from chartmaker.reports.pileheights import marked
from chartmaker.sheets.pattern.drawing import Drawing, edges_once
from chartmaker.sheets.pattern.fieldnumbers import (
    HIGHER,
    LOOP,
    LOWER,
    draw_height_marks,
    draw_leaders,
    draw_numbers,
    further_numbers,
)
from chartmaker.sheets.pattern.fullsize import tiling_of, write_full_size
from chartmaker.sheets.pattern.tiling import Tile

#: Everything but the edges of fields has full blue, so the blue of a rendered sheet shows only the edges.
NUMBERS, MIDDLES = (0.0, 0.2, 1.0), (0.9, 0.0, 1.0)
#: The width of a field's edge in millimetres, which a marker can follow.
EDGE_MM = 0.4
#: Lines are drawn in pieces of this many points.
_PIECE = 200
#: The middle of a thin line by its width in tuft rows: the dashes tell it.
DASHES_MM = {1: (0.6, 1.4), 2: (2.5, 1.4), 3: (7.0, 1.4)}
_THIN_WORDS = phrase(
    "Violet lines are the middles of thin lines: dots are 1 tuft row wide, short dashes 2, long dashes 3."
)
_INLAID_WORDS = phrase("Tufted into the woven rug, in its size off the loom: outside the lines its bands show.")
#: The lower left and upper right corners of the box round a line, and the operators that draw it.
Edge = tuple[NDArray[np.float64], NDArray[np.float64], op.Operator]

_SIDE_WORDS = {
    "back": (
        "MIRRORED, FOR THE BACK OF THE CLOTH. If you can read this line, the printed side faces you, as it must: the "
        "blank side of the paper goes to the cloth, which is worked from the back."
    ),
    "front": (
        "AS THE PILE IS SEEN. To trace it through from behind, lay this side to the cloth, so that this line cannot "
        "be read while tracing. To project on to the back of the cloth, print the other side."
    ),
}


@dataclass(frozen=True)
class ToolHeights:
    """At which height the tufter's tool is set for most of a rug, for each yarn of a drawing, and for which loops.

    That of most of the rug is `assumed` if nobody gave it.
    """

    base_mm: float
    yarn_mm: tuple[float, ...]
    loops: tuple[bool, ...]
    assumed: bool = False

    @property
    def differ(self) -> bool:
        return any(self.loops) or any(mm != self.base_mm for mm in self.yarn_mm)

    def marks_at(self, drawing: Drawing, place: Place) -> frozenset[str]:
        """Return the marks at the number of a place."""
        label = drawing.outlines.rings[place.field][0]
        found = {LOOP} if self.loops[label] else set()
        if self.yarn_mm[label] != self.base_mm:
            found.add(HIGHER if self.yarn_mm[label] > self.base_mm else LOWER)
        return frozenset(found)

    def words(self, drawing: Drawing) -> str:
        """Return what the sheets say of the heights."""
        labels = range(len(self.yarn_mm))
        higher = [label for label in labels if self.yarn_mm[label] > self.base_mm]
        lower = [label for label in labels if self.yarn_mm[label] < self.base_mm]
        base = marked(say("{height:.4g} mm", height=self.base_mm), self.assumed)
        parts = [say("Tool at {height}.", height=base)]
        if higher:
            parts.append(say("A bar over the number, higher: {each}.", each=self._each(drawing, higher)))
        if lower:
            parts.append(say("A bar under it, lower: {each}.", each=self._each(drawing, lower)))
        looped = ", ".join(drawing.number(label) for label in labels if self.loops[label])
        if looped:
            parts.append(say("A ring beside it, loops: {numbers}.", numbers=looped))
        return " ".join(parts)

    def _each(self, drawing: Drawing, labels: list[int]) -> str:
        return ", ".join(
            say("{number} at {height:.4g} mm", number=drawing.number(label), height=self.yarn_mm[label])
            for label in labels
        )


def write_pattern_pdf(
    stream: BinaryIO,
    drawing: Drawing,
    workshop: Workshop,
    *,
    tool: ToolHeights | None = None,
    font_bytes: bytes | None = None,
    progress: Progress = SILENT,
) -> int:
    """Write the pattern in full size and return the number of its pages.

    The page plan comes first where there is more than one sheet. `tool` says at which heights the tool is set; where
    they differ, the numbers of fields are marked.
    """
    tiling = tiling_of(drawing, workshop)
    title = say("{name}: full-size pattern", name=drawing.name)
    edges = _boxed(edges_once(drawing.outlines))
    middles = [(line.tuft_rows, _boxed([line.points_mm])) for line in drawing.outlines.lines]
    told = f"{say(_SIDE_WORDS[drawing.side])} {say(_THIN_WORDS) if drawing.outlines.lines else ''}"
    if drawing.inlaid:
        told = f"{told} {say(_INLAID_WORDS)}"
    if tool is not None:
        told = f"{told} {tool.words(drawing)}"
    further = further_numbers(drawing, tiling.tiles, lambda field: drawing.number(drawing.outlines.rings[field][0]))

    def window(sheet: Sheet, tile: Tile) -> None:
        _window(sheet, drawing, tile, edges, middles)

    def words(sheet: Sheet, tile: Tile) -> None:
        places = (*drawing.outlines.numbers, *further[tile])
        draw_numbers(sheet, tile, places, drawing.number_of, NUMBERS, "field-number")
        if tool is not None:
            marked = partial(tool.marks_at, drawing)
            draw_height_marks(sheet, tile, places, drawing.number_of, marked, NUMBERS)

    with Book(stream, title=title, font_bytes=font_bytes) as book:
        write_full_size(book, drawing, tiling, say("pattern"), told, window, words, progress)
        return book.document.pages


def _boxed(lines: Iterable[Sequence[tuple[float, float]]]) -> list[Edge]:
    """Return lines in pieces short enough to leave out what lies beyond a sheet, each with the box round it."""
    pieces = [line[start : start + _PIECE + 1] for line in lines for start in range(0, len(line) - 1, _PIECE)]
    arrays = [np.array(piece) for piece in pieces]
    return [
        (array.min(axis=0), array.max(axis=0), op.outline(piece)) for array, piece in zip(arrays, pieces, strict=True)
    ]


def _window(
    sheet: Sheet, drawing: Drawing, tile: Tile, edges: list[Edge], middles: list[tuple[int, list[Edge]]]
) -> None:
    """Draw the part of the drawing that the tile shows."""
    sheet.add(op.line_width(0.25), op.stroke_colour(MIDDLES))
    for tuft_rows, lines in middles:
        shown = [drawn for least, most, drawn in lines if tile.meets(least, most)]
        if shown:
            sheet.add(op.dashes(DASHES_MM[min(tuft_rows, 3)]))
            sheet.add(*(op.line(drawn, op.STROKE) for drawn in shown))
    sheet.add(op.dashes(()))
    draw_leaders(sheet, tile, drawing.outlines.numbers, drawing.number_of, NUMBERS)
    sheet.add(op.line_width(EDGE_MM), op.stroke_colour(BLACK))
    for least, most, drawn in edges:
        if tile.meets(least, most):
            sheet.add(drawn, op.STROKE)
