"""The carver's guide as a PDF: a sheet that says what is cut and what is not, then the rug in full size."""

from __future__ import annotations

from typing import BinaryIO

import numpy as np

from chartmaker.ground.language import phrase, say
from chartmaker.ground.progress import SILENT, Progress
from chartmaker.order.workshop import Workshop
from chartmaker.outlines.borders import Border
from chartmaker.paper import operators as op
from chartmaker.paper.document import POINTS_PER_MM
from chartmaker.paper.drawing import MIDDLE_EM, Book, Sheet
from chartmaker.paper.operators import Operator
from chartmaker.sheets.carving.carvedlines import CarvedDrawing, dash_of
from chartmaker.sheets.carving.carvingguide import GROOVE, STEP, write_guide
from chartmaker.sheets.pattern.fullsize import tiling_of, write_full_size
from chartmaker.sheets.pattern.tiling import Tile

#: The colour of edges along which nothing is cut, which only help to find the way.
_QUIET = (0.82, 0.82, 0.82)
_GROOVE_MM, _STEP_MM, _QUIET_MM = 0.7, 0.5, 0.15
_TOLD = phrase(
    "AS THE PILE IS SEEN, in the size of the rug when it is carved. Red dashed lines are grooves, each with its own "
    "dash; blue lines are where the height of the pile changes; the number in a field is its finished height in mm. "
    "Along grey lines nothing is cut."
)
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
    quiet = _drawn(carved.borders)
    steps = _drawn(carved.steps)
    grooves = [_drawn(borders) for borders in carved.grooves]

    def window(sheet: Sheet, tile: Tile) -> None:
        _show(sheet, tile, quiet, _QUIET_MM, _QUIET)
        _show(sheet, tile, steps, _STEP_MM, STEP)
        for number, lines in enumerate(grooves):
            sheet.add(op.dashes(dash_of(number)))
            _show(sheet, tile, lines, _GROOVE_MM, GROOVE)
        sheet.add(op.dashes(()))

    def words(sheet: Sheet, tile: Tile) -> None:
        if carved.carving.uneven:
            _heights(sheet, carved, tile)

    title = say("{name}: carving", name=drawing.name)
    with Book(stream, title=title, font_bytes=font_bytes) as book:
        write_guide(book, carved)
        write_full_size(book, drawing, tiling_of(drawing, workshop), say(_TOLD), window, words, progress)
        return book.document.pages


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


def _heights(sheet: Sheet, carved: CarvedDrawing, tile: Tile) -> None:
    """Print in each field the height at which its pile is left."""
    x, y = tile.origin_mm
    for place in carved.drawing.outlines.numbers:
        if not tile.shows(place.x_mm, place.y_mm):
            continue
        if place.has_leader:
            sheet.line(x + place.x_mm, y + place.y_mm, x + place.at_x_mm, y + place.at_y_mm, 0.15, colour=STEP)
        size_pt = place.height_mm / (2 * MIDDLE_EM) * POINTS_PER_MM
        with sheet.tagged("field-height", {"At": (place.at_x_mm, place.at_y_mm)}):
            low = y + place.y_mm - place.height_mm / 2
            sheet.text(x + place.x_mm, low, carved.height_at(place), size_pt, colour=STEP, align="centre")
