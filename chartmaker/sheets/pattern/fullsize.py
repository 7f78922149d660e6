"""A drawing in full size on a roll or on sheets, which have marks, rulers and words round what they show of it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from chartmaker.ground.language import phrase, say
from chartmaker.ground.lengths import both_sizes, cm_words
from chartmaker.ground.progress import SILENT, Progress
from chartmaker.order.workshop import Workshop
from chartmaker.paper import operators as op
from chartmaker.paper.drawing import BLACK, PALE, Book, Sheet
from chartmaker.paper.papers import paper_of
from chartmaker.sheets.pattern.drawing import CROSS_MM, Drawing, edges_once
from chartmaker.sheets.pattern.tiling import FOOT_MM, LEFT_MM, OVERLAP_MM, Tile, Tiling, on_roll, on_sheets

#: The colour of lines that help to lay the sheets.
GUIDES = (0.35, 0.75, 1.0)
#: The dashes of the centre lines, in millimetres.
MIDDLE_DASH_MM = (12.0, 3.0, 3.0, 3.0)
#: How long a ruler is, and how high the one at the foot stands, clear of the words below it.
_RULER_MM, _RULER_AT_MM = 100, 22.8
#: The words at the foot of a sheet have this height, or else they are set smaller, down to these letters, which are
#: read at arm's length: an x-height of 1.3 mm is 7 minutes of arc at 650 mm. Figures of rulers are as large.
_TOLD_MM, _LEAST_PT = 10.8, 7.0
#: The room for the code of a map and before it, in millimetres for each point of its letters.
_CODE_MM, _GAP_MM = 2.4, 0.12
#: Sheets wider than this are read from further off, so their words are larger.
WIDE_MM = 600.0
#: Which side a drawing shows, in a few words for the plan of its sheets, and in fewer for their titles.
_SIDES = {"back": phrase("From the back, mirrored"), "front": phrase("As the pile is seen")}
_SIDE = {"back": phrase("back side"), "front": phrase("pile side")}
#: The plan is on paper no larger than this.
_LARGEST_PLAN = "A3"
#: It draws what a tile shows, cut off at its edges; the origin is the drawing's lower left corner.
Window = Callable[[Sheet, Tile], None]


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


def write_full_size(
    book: Book,
    drawing: Drawing,
    tiling: Tiling,
    what: str,
    told: str,
    window: Window,
    words: Window,
    progress: Progress = SILENT,
    *,
    middle_dash_mm: tuple[float, ...] = MIDDLE_DASH_MM,
) -> None:
    """Write the sheets of a drawing, with the page plan first if there is more than one.

    Parameters
    ----------
    what : str
        What the drawing is: a pattern, or what is carved.
    told : str
        The words at the foot of every sheet, which say which side it shows and how it is laid.
    window, words : callable
        They draw what a tile shows. What the first draws is cut off at the edges of the window; the second draws words
        that must not be cut. Words lie under the lines, so that a field stays closed wherever they stand.
    middle_dash_mm : tuple of float
        The dashes of the centre lines; none where dashes mean something else.
    """
    if len(tiling.tiles) > 1:
        _plan(book, drawing, tiling, what)
    for done, tile in enumerate(tiling.tiles, start=1):
        sheet = book.sheet(tile.page_width_mm, tile.page_height_mm, tile.name, outline=[(0, tile.name)])
        left, low, wide, high = tile.left_mm, tile.low_mm, tile.right_mm - tile.left_mm, tile.high_mm - tile.low_mm
        with sheet.tagged("pattern", {"Window": (left, low, wide, high), "Box": (LEFT_MM, FOOT_MM, wide, high)}):
            with _cut_off(sheet, tile):
                _guides(sheet, drawing, tile, middle_dash_mm)
            words(sheet, tile)
            with _cut_off(sheet, tile):
                window(sheet, tile)
        _furniture(sheet, drawing, tile, tiling, what, told)
        sheet.done()
        progress.done(done, of=len(tiling.tiles))


@contextmanager
def _cut_off(sheet: Sheet, tile: Tile) -> Iterator[None]:
    """Draw within the window of a tile alone, from the drawing's lower left corner."""
    wide, high = tile.right_mm - tile.left_mm, tile.high_mm - tile.low_mm
    sheet.add(op.SAVE, op.rectangle(LEFT_MM - 0.3, FOOT_MM - 0.3, wide + 0.6, high + 0.6), op.CLIP)
    sheet.add(op.moved(*tile.origin_mm), op.ROUND_ENDS)
    yield
    sheet.add(op.RESTORE)


def _guides(sheet: Sheet, drawing: Drawing, tile: Tile, middle_dash_mm: tuple[float, ...]) -> None:
    """Draw the frame line, the centre lines, and crosses in all directions from the middle outward."""
    wide, high = drawing.width_mm, drawing.height_mm
    sheet.box(0, 0, wide, high, edge=GUIDES, edge_mm=0.9)
    middles = [(wide / 2, 0, wide / 2, high), (0, high / 2, wide, high / 2)]
    sheet.lines(middles, 0.25, colour=GUIDES, dash_mm=middle_dash_mm)
    places = [
        [middle + CROSS_MM * step for step in range(-int(middle // CROSS_MM), int(middle // CROSS_MM) + 1)]
        for middle in (wide / 2, high / 2)
    ]
    marks = [(x, y) for x in places[0] for y in places[1] if tile.shows(x, y)]
    sheet.lines([(x - 6, y, x + 6, y) for x, y in marks] + [(x, y - 6, x, y + 6) for x, y in marks], 0.2, colour=GUIDES)


def _furniture(sheet: Sheet, drawing: Drawing, tile: Tile, tiling: Tiling, what: str, told: str) -> None:
    """Print what lies round the window, which is crop and join marks, rulers, the arrow and the words."""
    left, low = LEFT_MM, FOOT_MM
    right, high = left + tile.right_mm - tile.left_mm, low + tile.high_mm - tile.low_mm
    ticks = [(x, y, x + dx, y) for x, dx in ((left - 1, -5), (right + 1, 5)) for y in (low, high)]
    ticks += [(x, y, x, y + dy) for x in (left, right) for y, dy in ((low - 1, -5), (high + 1, 5))]
    sheet.lines(ticks, 0.2)
    _joins(sheet, tile, tiling, (left, low, right, high))
    sheet.across_ruler(left + 2, _RULER_AT_MM, _RULER_MM, size_pt=_LEAST_PT)
    sheet.upward_ruler(left - 8, low + 2, _RULER_MM, size_pt=_LEAST_PT)
    middle = (left + right) / 2
    with sheet.tagged("top"):
        sheet.polygon([(middle - 3, high + 4), (middle + 3, high + 4), (middle, high + 9.5)])
    sheet.text(middle + 6, high + 5, say("TOP of the design"), 9, bold=True)
    room = sheet.width_mm - left - 8
    about = say(
        "{name}, {what}, {side}: {where}; rug {size}, full size, 1 : 1; map",
        name=drawing.name,
        what=what,
        side=say(_SIDE[drawing.side]),
        where=_where(tile, tiling),
        size=both_sizes(drawing.width_mm, drawing.height_mm),
    )
    near = sheet.width_mm < WIDE_MM
    y_mm, about_pt = (17.6, 8.0) if near else (16.5, 13.0)
    _with_code(sheet, (left, y_mm), about, drawing.code, about_pt, room)
    size_pt = 7.5 if near else 12.0
    while len(sheet.wrapped(told, size_pt, room)) * size_pt * 0.45 > _TOLD_MM and size_pt > _LEAST_PT:
        size_pt -= 0.5
    for line, part in enumerate(sheet.wrapped(told, size_pt, room)):
        sheet.text(left, (13.6 if near else 11.5) - size_pt * 0.45 * line, part, size_pt)


def _with_code(sheet: Sheet, at: tuple[float, float], about: str, code: str, size_pt: float, most_mm: float) -> None:
    """Write what a sheet is about and, behind it, the code of its map, which is never cut."""
    code_mm = size_pt * _CODE_MM
    taken = sheet.text(*at, about, size_pt, bold=True, most_mm=most_mm - code_mm)
    sheet.text(at[0] + taken + size_pt * _GAP_MM, at[1], code, size_pt, bold=True, most_mm=code_mm, tag="pattern-map")


def _where(tile: Tile, tiling: Tiling) -> str:
    """Return which of the sheets a tile is, and of what roll."""
    among = {"sheet": tile.name, "number": tiling.tiles.index(tile) + 1, "sheets": len(tiling.tiles)}
    roll = "" if tiling.roll_mm is None else cm_words(tiling.roll_mm)
    if len(tiling.tiles) == 1:
        return say("in one piece on a roll {roll} wide", roll=roll) if roll else say("on one sheet")
    if roll:
        return say("piece {sheet} ({number} of {sheets}), on a roll {roll} wide", **among, roll=roll)
    return say("sheet {sheet} ({number} of {sheets})", **among)


def _joins(sheet: Sheet, tile: Tile, tiling: Tiling, box: tuple[float, float, float, float]) -> None:
    """Mark where the neighbouring sheets begin, each with its name."""
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


def _plan(book: Book, drawing: Drawing, tiling: Tiling, what: str) -> None:
    """Print the plan of all sheets over the rug's outlines drawn small, on paper that a desk printer has."""
    across_mm, along_mm = _plan_page_mm(tiling.tiles[0], drawing)
    sheet = book.sheet(across_mm, along_mm, "plan", outline=[(0, say("Plan"))])
    wide = sheet.width_mm - LEFT_MM - 8
    title = say("{name}, {what}: plan of the sheets", name=drawing.name, what=what)
    sheet.text(LEFT_MM, sheet.height_mm - 14, title, 13, bold=True, most_mm=wide)
    about = say(
        "{side}; rug {size}; map", side=say(_SIDES[drawing.side]), size=both_sizes(drawing.width_mm, drawing.height_mm)
    )
    _with_code(sheet, (LEFT_MM, sheet.height_mm - 20), about, drawing.code, 9, wide)
    n = len(tiling.tiles)
    words = say(
        "{n} sheets, {columns} across and {rows} down. Neighbours overlap by {overlap:g} mm: cut one along its crop "
        "marks, lay it on the other until the lines meet, check 100 mm on both rulers, then join.",
        n=n,
        columns=tiling.columns,
        rows=tiling.rows,
        overlap=OVERLAP_MM,
    )
    for line, part in enumerate(sheet.wrapped(words, 8.5, wide)):
        sheet.text(LEFT_MM, sheet.height_mm - 25 - 4 * line, part, 8.5)
    room = sheet.width_mm - LEFT_MM - 10, sheet.height_mm - 55
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


def _plan_page_mm(tile: Tile, drawing: Drawing) -> tuple[float, float]:
    """Return the page of the plan: a sheet's own up to A3, or else A3 the way in which the rug is drawn larger."""
    page, largest = (tile.page_width_mm, tile.page_height_mm), paper_of(_LARGEST_PLAN)
    upright = largest.width_mm, largest.height_mm
    if min(page) <= min(upright) and max(page) <= max(upright):
        return page
    return upright[::-1] if drawing.width_mm > drawing.height_mm else upright
