"""The tufter's full-size pattern as a PDF: outlines, numbers, and what a sheet needs to lie right and true."""

from __future__ import annotations

from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.language import say
from chartmaker.ground.lengths import both_sizes
from chartmaker.ground.progress import SILENT, Progress
from chartmaker.order.workshop import Workshop
from chartmaker.paper import operators as op
from chartmaker.paper.document import POINTS_PER_MM
from chartmaker.paper.drawing import BLACK, MIDDLE_EM, PALE, Book, Sheet
from chartmaker.paper.papers import paper_of
from chartmaker.sheets.pattern.drawing import CROSS_MM, Drawing, edges_once
from chartmaker.sheets.pattern.tiling import FOOT_MM, LEFT_MM, OVERLAP_MM, Tile, Tiling, on_roll, on_sheets

#: All that is no edge of a field has full blue, so that the blue of a rendered sheet shows the edges alone.
NUMBERS, MIDDLES, GUIDES = (0.0, 0.2, 1.0), (0.9, 0.0, 1.0), (0.35, 0.75, 1.0)
#: The edge of a field, in millimetres: what a marker can follow.
EDGE_MM = 0.4
#: A capital is so high, in em of the base font.
_CAPITAL_EM = 2 * MIDDLE_EM
_RULER_MM = 100
#: Wider sheets are read from further off, so that their words are larger.
WIDE_MM = 600.0
#: The lower left and the upper right corner round a line, and what draws it.
Edge = tuple[NDArray[np.float64], NDArray[np.float64], op.Operator]

_SIDE_WORDS = {
    "back": (
        "MIRRORED, FOR THE BACK OF THE CLOTH. Who can read this line has the printed side before the eyes, as it must "
        "be: the blank side of the paper goes to the cloth, which is worked from the back."
    ),
    "front": (
        "AS THE PILE IS SEEN. To be traced through from behind: this side to the cloth, so that nobody can read this "
        "line while tracing. To be projected on to the back of the cloth, print the other side."
    ),
}


def tiling_of(drawing: Drawing, workshop: Workshop) -> Tiling:
    """Return how the pattern lies on the workshop's roll or on its sheets.

    Raises
    ------
    SheetError
        If there is no such paper.
    """
    asked = workshop.pattern
    if asked.roll_mm is not None:
        return on_roll(drawing.width_mm, drawing.height_mm, float(asked.roll_mm))
    paper = paper_of(asked.paper)
    return on_sheets(drawing.width_mm, drawing.height_mm, (paper.width_mm, paper.height_mm))


def write_pattern_pdf(
    stream: BinaryIO,
    drawing: Drawing,
    workshop: Workshop,
    *,
    font_bytes: bytes | None = None,
    progress: Progress = SILENT,
) -> int:
    """Write the pattern in full size; return the number of pages.

    The page plan comes first where there is more than one sheet.
    """
    tiling = tiling_of(drawing, workshop)
    title = say("{name}: full-size pattern", name=drawing.name)
    lines = [(np.array(line), op.outline(line)) for line in edges_once(drawing.outlines)]
    edges = [(line.min(axis=0), line.max(axis=0), drawn) for line, drawn in lines]
    with Book(stream, title=title, font_bytes=font_bytes) as book:
        if len(tiling.tiles) > 1:
            _plan(book, drawing, tiling)
        for done, tile in enumerate(tiling.tiles, start=1):
            sheet = book.sheet(tile.page_width_mm, tile.page_height_mm, tile.name, outline=[(0, tile.name)])
            _window(sheet, drawing, tile, edges)
            _furniture(sheet, drawing, tile, tiling)
            sheet.done()
            progress.done(done, of=len(tiling.tiles))
        return book.document.pages


def _window(sheet: Sheet, drawing: Drawing, tile: Tile, edges: list[Edge]) -> None:
    """Draw what the tile shows of the drawing, cut off at its window."""
    x, y = tile.origin_mm
    left, low, wide, high = tile.left_mm, tile.low_mm, tile.right_mm - tile.left_mm, tile.high_mm - tile.low_mm
    with sheet.tagged("pattern", {"Window": (left, low, wide, high), "Box": (LEFT_MM, FOOT_MM, wide, high)}):
        sheet.add(op.SAVE, op.rectangle(LEFT_MM - 0.3, FOOT_MM - 0.3, wide + 0.6, high + 0.6), op.CLIP)
        sheet.add(op.moved(x, y), op.ROUND_ENDS)
        _guides(sheet, drawing, tile)
        for line in drawing.outlines.lines:
            sheet.add(op.line_width(0.25), op.stroke_colour(MIDDLES), op.dashes((2.0, 1.2)))
            sheet.add(op.outline(line.points_mm), op.STROKE, op.dashes(()))
        _leaders(sheet, drawing, tile)
        sheet.add(op.line_width(EDGE_MM), op.stroke_colour(BLACK))
        for least, most, drawn in edges:
            if least[0] <= tile.right_mm and most[0] >= tile.left_mm and least[1] <= tile.high_mm and most[1] >= low:
                sheet.add(drawn, op.STROKE)
        sheet.add(op.RESTORE)
        _numbers(sheet, drawing, tile)


def _guides(sheet: Sheet, drawing: Drawing, tile: Tile) -> None:
    """Draw the frame line, the centre lines, and crosses in both directions from the middle out."""
    wide, high = drawing.width_mm, drawing.height_mm
    sheet.box(0, 0, wide, high, edge=GUIDES, edge_mm=0.9)
    middles = [(wide / 2, 0, wide / 2, high), (0, high / 2, wide, high / 2)]
    sheet.lines(middles, 0.25, colour=GUIDES, dash_mm=(12, 3, 3, 3))
    places = [
        [middle + CROSS_MM * step for step in range(-int(middle // CROSS_MM), int(middle // CROSS_MM) + 1)]
        for middle in (wide / 2, high / 2)
    ]
    marks = [(x, y) for x in places[0] for y in places[1] if tile.shows(x, y)]
    sheet.lines([(x - 6, y, x + 6, y) for x, y in marks] + [(x, y - 6, x, y + 6) for x, y in marks], 0.2, colour=GUIDES)


def _leaders(sheet: Sheet, drawing: Drawing, tile: Tile) -> None:
    """Draw a line from each number that stands beside its field to a point within; edges are drawn over it."""
    for place in drawing.outlines.numbers:
        if place.has_leader and tile.shows(place.x_mm, place.y_mm):
            dx, dy = place.at_x_mm - place.x_mm, place.at_y_mm - place.y_mm
            share = min(1.0, place.height_mm * 0.75 / float(np.hypot(dx, dy)))
            begin = (place.x_mm + dx * share, place.y_mm + dy * share)
            sheet.line(*begin, place.at_x_mm, place.at_y_mm, 0.2, colour=NUMBERS)
            sheet.box(place.at_x_mm - 0.4, place.at_y_mm - 0.4, 0.8, 0.8, fill=NUMBERS, edge=None)


def _numbers(sheet: Sheet, drawing: Drawing, tile: Tile) -> None:
    """Print the number of each field that has it on this sheet."""
    x, y = tile.origin_mm
    for place in drawing.outlines.numbers:
        if not tile.shows(place.x_mm, place.y_mm):
            continue
        size_pt = place.height_mm / _CAPITAL_EM * POINTS_PER_MM
        with sheet.tagged("field-number", {"At": (place.at_x_mm, place.at_y_mm)}):
            low = y + place.y_mm - place.height_mm / 2
            sheet.text(x + place.x_mm, low, drawing.number_of(place), size_pt, colour=NUMBERS, align="centre")


def _furniture(sheet: Sheet, drawing: Drawing, tile: Tile, tiling: Tiling) -> None:
    """Print what lies round the window: crop and join marks, rulers, the arrow, and the words."""
    left, low = LEFT_MM, FOOT_MM
    right, high = left + tile.right_mm - tile.left_mm, low + tile.high_mm - tile.low_mm
    ticks = [(x, y, x + dx, y) for x, dx in ((left - 1, -5), (right + 1, 5)) for y in (low, high)]
    ticks += [(x, y, x, y + dy) for x in (left, right) for y, dy in ((low - 1, -5), (high + 1, 5))]
    sheet.lines(ticks, 0.2)
    _joins(sheet, tile, tiling, (left, low, right, high))
    sheet.across_ruler(left + 2, 21, _RULER_MM)
    sheet.upward_ruler(left - 8, low + 2, _RULER_MM)
    middle = (left + right) / 2
    sheet.polygon([(middle - 3, high + 4), (middle + 3, high + 4), (middle, high + 9.5)])
    sheet.text(middle + 6, high + 5, say("TOP: the end that is finished last"), 9, bold=True)
    room = sheet.width_mm - left - 8
    number = tiling.tiles.index(tile) + 1
    about = say(
        "{name}, sheet {sheet} ({number} of {sheets}); rug {size}, full size, 1 : 1; map {code}",
        name=drawing.name,
        sheet=tile.name,
        number=number,
        sheets=len(tiling.tiles),
        size=both_sizes(drawing.width_mm, drawing.height_mm),
        code=drawing.code,
    )
    sheet.text(left, 16.5, about, 8 if sheet.width_mm < WIDE_MM else 13, bold=True, most_mm=room)
    words = say(_SIDE_WORDS[drawing.side])
    size_pt = 7.5 if sheet.width_mm < WIDE_MM else 12.0
    for line, part in enumerate(sheet.wrapped(words, size_pt, room)):
        sheet.text(left, 11.5 - size_pt * 0.45 * line, part, size_pt)


def _joins(sheet: Sheet, tile: Tile, tiling: Tiling, box: tuple[float, float, float, float]) -> None:
    """Mark where the neighbours begin, each with its name."""
    left, low, right, high = box
    by_place = {(each.column, each.row): each for each in tiling.tiles}
    for column, row in ((-1, 0), (1, 0), (0, -1), (0, 1)):
        other = by_place.get((tile.column + column, tile.row + row))
        if other is None:
            continue
        if column:
            x = left + OVERLAP_MM if column < 0 else right - OVERLAP_MM
            sheet.lines([(x, low, x, low + 4), (x, high - 4, x, high)], 0.25, colour=GUIDES)
            at, words = (left - 3 if column < 0 else right + 5, (low + high) / 2), say("join {name}", name=other.name)
            sheet.text(*at, words, 8, bold=True, align="centre", upright=False)
        else:
            y = low + OVERLAP_MM if row > 0 else high - OVERLAP_MM
            sheet.lines([(left, y, left + 4, y), (right - 4, y, right, y)], 0.25, colour=GUIDES)
            at = (right - 4, low - 4.5 if row > 0 else high + 2)
            sheet.text(*at, say("join {name}", name=other.name), 8, bold=True, align="right")


def _plan(book: Book, drawing: Drawing, tiling: Tiling) -> None:
    """Print the plan of all sheets, with the rug's outlines small."""
    first = tiling.tiles[0]
    sheet = book.sheet(first.page_width_mm, min(first.page_height_mm, 600.0), "plan", outline=[(0, say("Plan"))])
    sheet.text(LEFT_MM, sheet.height_mm - 14, say("{name}: plan of the sheets", name=drawing.name), 13, bold=True)
    n = len(tiling.tiles)
    words = say(
        "{n} sheets in {columns} columns and {rows} rows. Neighbours overlap by {overlap:g} mm: cut one along its crop "
        "marks, lay it on the other until the lines meet, check 100 mm on both rulers, then join.",
        n=n,
        columns=tiling.columns,
        rows=tiling.rows,
        overlap=OVERLAP_MM,
    )
    for line, part in enumerate(sheet.wrapped(words, 8.5, sheet.width_mm - LEFT_MM - 8)):
        sheet.text(LEFT_MM, sheet.height_mm - 20 - 4 * line, part, 8.5)
    room = sheet.width_mm - LEFT_MM - 10, sheet.height_mm - 50
    scale = min(room[0] / drawing.width_mm, room[1] / drawing.height_mm)
    with sheet.tagged("pattern-plan"):
        sheet.add(op.SAVE, op.scaled(scale, scale, LEFT_MM, 14), op.line_width(0.15 / scale), op.stroke_colour(PALE))
        sheet.add(*(op.line(op.outline(line), op.STROKE) for line in edges_once(drawing.outlines)), op.RESTORE)
        for tile in tiling.tiles:
            x, y = LEFT_MM + tile.left_mm * scale, 14 + tile.low_mm * scale
            wide, high = (tile.right_mm - tile.left_mm) * scale, (tile.high_mm - tile.low_mm) * scale
            sheet.box(x, y, wide, high, edge=BLACK, edge_mm=0.25)
            size = min(12.0, wide * 1.2, high * 1.8)
            sheet.text(x + wide / 2, y + high / 2 - size / 8, tile.name, size, bold=True, align="centre")
    sheet.done()
