"""The carver's guide as a PDF: a sheet that says what is cut and what is not, then the rug in full size."""

from __future__ import annotations

from typing import BinaryIO

import numpy as np

from chartmaker.ground.language import phrase, say
from chartmaker.ground.progress import SILENT, Progress
from chartmaker.order.workshop import Workshop
from chartmaker.outlines.borders import Border
from chartmaker.paper import operators as op
from chartmaker.paper.drawing import BLACK, Book, Sheet
from chartmaker.paper.operators import Operator
from chartmaker.sheets.carving.carvedlines import (
    GROOVE,
    GROOVE_MM,
    QUIET,
    QUIET_MM,
    STEP,
    STEP_MM,
    TICK_MM,
    CarvedDrawing,
    dash_of,
    field_words,
)
from chartmaker.sheets.carving.carvingguide import RING_AT, RING_SIZE, ring, write_guide
from chartmaker.sheets.pattern.fieldnumbers import draw_leaders, draw_numbers, further_numbers
from chartmaker.sheets.pattern.fullsize import tiling_of, write_full_size
from chartmaker.sheets.pattern.tiling import Tile

#: What the foot of a sheet says of each kind of line and mark, if the rug has it.
_SEEN = phrase("AS THE PILE IS SEEN, in the size of the rug when it is carved.")
_GROOVED = phrase("Heavy dashes: a groove.")
_TICKED = phrase("Ticks: lower the side of the ticks to the number there ({example}).")
_BOTH = phrase("Both on one line: lower first, then the groove.")
_RINGED = phrase("Rings, and L: loop pile, never cut.")
_LOOPED = phrase("L: loop pile, never cut.")
_QUIET = phrase("At thin plain lines nothing is cut.")
_NUMBERED = phrase("Numbers are heights of the finished pile in mm.")
#: Leaders are finer than every line that is cut.
_LEADER, _LEADER_MM = (0.3, 0.3, 0.3), 0.12
_Drawn = tuple[np.ndarray[tuple[int], np.dtype[np.float64]], np.ndarray[tuple[int], np.dtype[np.float64]], Operator]


def write_carving_pdf(
    stream: BinaryIO,
    carved: CarvedDrawing,
    workshop: Workshop,
    *,
    font_bytes: bytes | None = None,
    progress: Progress = SILENT,
) -> int:
    """Write the carver's guide and return the number of its pages."""
    drawing = carved.drawing
    quiet, steps = _drawn(carved.quiet), _drawn(carved.bare_steps)
    grooves = [_drawn(borders) for borders in carved.grooves]
    tiling = tiling_of(drawing, workshop)
    told = carved.carving.uneven
    further = further_numbers(drawing, tiling.tiles, carved.field_words) if told else {}

    def window(sheet: Sheet, tile: Tile) -> None:
        draw_leaders(sheet, tile, drawing.outlines.numbers, carved.words_at, _LEADER, _LEADER_MM)
        _show(sheet, tile, quiet, QUIET_MM, QUIET)
        _show(sheet, tile, steps, STEP_MM, STEP)
        _show_marks(sheet, tile, carved)
        for number, lines in enumerate(grooves):
            sheet.add(op.dashes(dash_of(number)))
            _show(sheet, tile, lines, GROOVE_MM, GROOVE)
        sheet.add(op.dashes(()))

    def words(sheet: Sheet, tile: Tile) -> None:
        if told:
            places = (*drawing.outlines.numbers, *further[tile])
            draw_numbers(sheet, tile, places, carved.words_at, BLACK, "field-height")

    title = say("{name}: carving", name=drawing.name)
    with Book(stream, title=title, font_bytes=font_bytes) as book:
        write_guide(book, carved)
        about, foot = say("carving"), _foot(carved)  # the centre lines have no dashes, since what is dashed is cut
        write_full_size(book, drawing, tiling, about, foot, window, words, progress, middle_dash_mm=())
        return book.document.pages


def _foot(carved: CarvedDrawing) -> str:
    """Return what the lines and marks of this rug mean, and of no others."""
    carving = carved.carving
    lowered = next((yarn for yarn, lower in enumerate(carving.lowered) if lower), None)
    parts = [say(_SEEN)]
    parts += [say(_GROOVED)] if any(carved.grooves) else []
    parts += [say(_TICKED, example=field_words(carving, lowered))] if carved.ticks and lowered is not None else []
    parts += [say(_BOTH)] if carved.grooved_steps else []
    if any(carving.loops):
        parts += [say(_RINGED)] if carved.rings else [say(_LOOPED)] if carving.uneven else []
    parts += [say(_QUIET)] if carved.quiet else []
    parts += [say(_NUMBERED)] if carving.uneven else []
    return " ".join(parts)


def _drawn(borders: tuple[Border, ...]) -> list[_Drawn]:
    """Return the lines as they are drawn, each with its lower left and upper right corner."""
    found = []
    for border in borders:
        at = np.array(border.points_mm)
        found.append((at.min(axis=0), at.max(axis=0), op.outline(border.points_mm)))
    return found


def _show(sheet: Sheet, tile: Tile, lines: list[_Drawn], width_mm: float, colour: tuple[float, float, float]) -> None:
    sheet.add(op.line_width(width_mm), op.stroke_colour(colour))
    for least, most, drawn in lines:
        if tile.meets(least, most):
            sheet.add(drawn, op.STROKE)


def _show_marks(sheet: Sheet, tile: Tile, carved: CarvedDrawing) -> None:
    """Draw the ticks on lowered sides and the rings on loops."""
    ticks = [mark for mark in carved.ticks if tile.shows(mark.x_mm, mark.y_mm)]
    if ticks:
        with sheet.tagged("carve-ticks"):
            sheet.lines([(*mark.at(0), *mark.at(1)) for mark in ticks], TICK_MM, colour=STEP)
    for mark in carved.rings:
        if tile.shows(mark.x_mm, mark.y_mm):
            with sheet.tagged("carve-ring"):
                ring(sheet, mark.at(RING_AT), mark.reach_mm * RING_SIZE)
