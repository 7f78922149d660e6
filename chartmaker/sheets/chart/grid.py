"""The ruling of a grid sheet, with its thin and heavy lines and its boxes to tick."""

from __future__ import annotations

from typing import NamedTuple

from chartmaker.paper import operators as op
from chartmaker.paper.drawing import GREY, Sheet
from chartmaker.paper.operators import Operator
from chartmaker.sheets.chart.frame import TICKS_MM
from chartmaker.sheets.chart.layout import GridPage, Layout, sides_mm

THIN_MM, HEAVY_MM, EDGE_MM, SEAT_MM = 0.1, 0.5, 0.8, 1.2
#: Heavy lines have a white edge, so that they are seen on dark yarns too.
HALO = 1.7

#: The left, bottom, right and top edges in millimetres.
Bounds = tuple[float, float, float, float]


def _edges(layout: Layout, page: GridPage) -> tuple[bool, bool, bool, bool]:
    """Return which sides of the sheet (foot, top, left, right) are edges of its strip."""
    strip = layout.strips[page.strip]
    return (
        page.rows.start == 0,
        page.rows.stop == layout.rows,
        page.columns.start == strip.start,
        page.columns.stop == strip.stop,
    )


class Ruling(NamedTuple):
    """The key of a sheet's ruling, which sheets share if and only if they are ruled alike."""

    rows: int
    columns: int
    first_row: int  #: within the bold lines
    first_column: int
    edges: tuple[bool, bool, bool, bool]
    sides_mm: tuple[float, float]  #: what the neighbours' columns take at the left and at the right
    seats: tuple[int, ...]  #: the columns, from the sheet's first, at whose left edge another weaver begins
    centre: int  #: the row that has one box where the others have two; -1 if there is none

    @property
    def name(self) -> str:
        sides = "".join(str(int(edge)) for edge in self.edges)
        beside = "".join(f"{side:g}." for side in self.sides_mm) + "".join(f"w{seat}" for seat in self.seats)
        return f"G{self.rows}x{self.columns}at{self.first_row}.{self.first_column}e{sides}s{beside}c{self.centre + 1}"


def ruling_of(layout: Layout, page: GridPage) -> Ruling:
    """Return the key of the sheet's ruling."""
    every = layout.bold_every
    begins = page.rows.start % every, page.columns.start % every
    middle = layout.rows // 2 if layout.mirrors.along and layout.rows % 2 else -1
    centre = middle - page.rows.start if middle in page.rows else -1
    edges, beside, seats = _edges(layout, page), sides_mm(page, layout), tuple(seat_edges(layout, page))
    return Ruling(len(page.rows), len(page.columns), *begins, edges, beside, seats, centre)


def seat_edges(layout: Layout, page: GridPage) -> list[int]:
    """Return where one weaver's columns end and the next one's begin, counted from the sheet's first column."""
    begins = (seat.start for seat in layout.seats[1:])
    return [begin - page.columns.start for begin in begins if page.columns.start <= begin <= page.columns.stop]


def _lines(layout: Layout, page: GridPage, heavy: bool) -> Operator:
    """Return the path of the heavy lines, or of the thin ones."""
    frame, every = layout.frame, layout.bold_every
    rows, columns = len(page.rows), len(page.columns)
    width, height = columns * frame.cell_width_mm, rows * frame.cell_height_mm
    across = [r * frame.cell_height_mm for r in range(rows + 1) if ((page.rows.start + r) % every == 0) == heavy]
    along = [c * frame.cell_width_mm for c in range(columns + 1) if ((page.columns.start + c) % every == 0) == heavy]
    return op.segments([*((0, y, width, y) for y in across), *((x, 0, x, height) for x in along)])


def ruling_bounds(layout: Layout, page: GridPage) -> Bounds:
    """Return the bounds of the ruling and its boxes to tick, from the lower left corner of the sheet's cells."""
    frame = layout.frame
    width, height = len(page.columns) * frame.cell_width_mm, len(page.rows) * frame.cell_height_mm
    places = ticks_mm(layout, page)
    return min(*places, 0) - 1, -1, max(width, max(places) + TICKS_MM) + 1, height + 1


def draw_ruling(sheet: Sheet, layout: Layout, page: GridPage) -> None:
    """Draw the sheet's ruling and its boxes to tick, from the lower left corner of its cells."""
    frame = layout.frame
    width, height = len(page.columns) * frame.cell_width_mm, len(page.rows) * frame.cell_height_mm
    thin, heavy, edge = map(frame.line_mm, (THIN_MM, HEAVY_MM, EDGE_MM))
    lines = _lines(layout, page, True)
    for thick, grey, path in ((thin, 0.25, _lines(layout, page, False)), (heavy * HALO, 1, lines), (heavy, 0, lines)):
        sheet.add(op.line(op.line_width(thick), op.stroke_colour((grey, grey, grey)), path, op.STROKE))
    sides = ((0, 0, width, 0), (0, height, width, height), (0, 0, 0, height), (width, 0, width, height))
    for of_strip, side in zip(_edges(layout, page), sides, strict=True):
        thick = edge if of_strip else heavy
        sheet.add(op.line(op.line_width(thick), op.SQUARE_ENDS, op.segments([side]), op.STROKE))
    seats = op.segments(
        [(at * frame.cell_width_mm, 0, at * frame.cell_width_mm, height) for at in seat_edges(layout, page)]
    )
    sheet.add(op.line(op.line_width(frame.line_mm(SEAT_MM)), seats, op.STROKE))
    high = frame.cell_height_mm
    boxes = [
        op.rectangle(left, row * high, TICKS_MM - 1, high)
        for number, left in enumerate(ticks_mm(layout, page))
        for row in range(len(page.rows))
        if not number or 2 * (page.rows.start + row) + 1 != layout.rows  # the centre row is tied once
    ]
    sheet.add(op.line(op.line_width(THIN_MM), op.stroke_colour(GREY), *boxes, op.STROKE))


def draw_heavy_outside(sheet: Sheet, layout: Layout, page: GridPage, x_mm: float, y_mm: float) -> None:
    """Draw the heavy lines thinly over what lies outside the outline, so that the first knot can be found by them."""
    path = _lines(layout, page, True)
    begin = op.line(op.SAVE, op.moved(x_mm, y_mm), op.line_width(layout.frame.line_mm(THIN_MM * 2)))
    sheet.add(op.line(begin, op.stroke_colour(GREY), path, op.STROKE, op.RESTORE))


def ticks_mm(layout: Layout, page: GridPage) -> tuple[float, ...]:
    """Return where the boxes to tick begin, from the left edge of the sheet's cells.

    The first boxes are on the side that is read first, beside the rows' numbers. The boxes of mirrored rows, if there
    are any, are on the other side, beside the numbers of those rows.
    """
    frame = layout.frame
    before, behind = sides_mm(page, layout)
    end = len(page.columns) * frame.cell_width_mm + behind
    turned = frame.number_width_mm + frame.turn_width_mm
    if layout.reading == "right to left":
        near, far = end + frame.number_width_mm + 1, -before - turned - TICKS_MM
    else:
        near, far = -before - frame.number_width_mm - TICKS_MM, end + turned + 1
    return (near, far) if layout.mirrors.along else (near,)
