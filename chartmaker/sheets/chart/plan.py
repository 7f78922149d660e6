"""The plan of the sheets on the cover: where each lies on the rug, with its number, its strip and its weaver."""

from __future__ import annotations

from chartmaker.ground.language import field, say, told
from chartmaker.paper.drawing import GREY, WASH, WHITE, Sheet
from chartmaker.sheets.chart.frame import Box
from chartmaker.sheets.chart.layout import Layout
from chartmaker.sheets.chart.legend import base_line


def fitted(box: Box, ratio: float) -> Box:
    """Return the largest box within `box`, at its upper left, whose width over height is `ratio`."""
    width = min(box.width_mm, box.height_mm * ratio)
    return Box(box.x_mm, box.top_mm - width / ratio, width, width / ratio)


def draw_plan(sheet: Sheet, layout: Layout, box: Box, k: float) -> None:
    """Draw where each sheet lies on the rug, with its number."""
    frame = layout.frame
    ratio = layout.columns * frame.cell_width_mm / (layout.rows * frame.cell_height_mm)
    over = 4 * k if len(layout.seats) > 1 else 0.0
    inner = fitted(Box(box.x_mm + 6 * k, box.y_mm + 4 * k, box.width_mm - 6 * k, box.height_mm - 4 * k - over), ratio)
    column, row = inner.width_mm / layout.columns, inner.height_mm / layout.rows
    sheet.box(inner.x_mm, inner.y_mm, inner.width_mm, inner.height_mm, fill=WASH, edge=GREY, edge_mm=0.12)
    numbers: dict[float, list[tuple[float, float, str]]] = {}
    with sheet.tagged("sheet-map", {"Rug": (inner.x_mm, inner.y_mm, inner.width_mm, inner.height_mm)}):
        for page in layout.pages:
            x, y = inner.x_mm + page.columns.start * column, inner.y_mm + page.rows.start * row
            width, height = len(page.columns) * column, len(page.rows) * row
            sheet.box(x, y, width, height, fill=WHITE, edge=GREY, edge_mm=0.12)
            digits = len(str(page.number))
            size = min(8 * k, height * 2, width * 3.1 / digits)
            if size >= 3.2:
                size = round(size * 2) / 2
                numbers.setdefault(size, []).append((x + width / 2, base_line(y + height / 2, size), str(page.number)))
        for size, places in numbers.items():
            sheet.labels(places, size, bold=True, align="centre", tag="sheet")
    for strip, columns in enumerate(layout.strips):
        x = inner.x_mm + columns.start * column
        sheet.line(x, inner.y_mm, x, inner.top_mm, 0.3)
        wide = len(columns) * column > 12 * k
        shown = told("strip {strip}", strip=strip + 1) if wide else field("strip", strip + 1)
        middle = x + len(columns) * column / 2
        sheet.text(middle, inner.y_mm - 3.2 * k, shown, 6 * k, colour=GREY, align="centre", tag="strip-name")
    _draw_seats(sheet, layout, inner, k)
    foot = inner.y_mm + 1
    if inner.height_mm > 21 * k:  # a low rug has room for the arrow only
        foot += sheet.text(inner.x_mm - 2.4 * k, foot, say("weave upwards"), 6 * k, colour=GREY, upright=False) + 2 * k
    x = inner.x_mm - 2.5 * k
    sheet.polygon([(x - 0.7 * k, foot), (x + 0.7 * k, foot), (x, foot + 2 * k)], fill=GREY)


def _draw_seats(sheet: Sheet, layout: Layout, inner: Box, k: float) -> None:
    """Draw above the map of the sheets who ties which columns, with a heavy line between two weavers' columns."""
    if len(layout.seats) < 2:
        return
    column = inner.width_mm / layout.columns
    for number, seat in enumerate(layout.seats, start=1):
        left, right = inner.x_mm + seat.start * column, inner.x_mm + seat.stop * column
        if number > 1:
            sheet.line(left, inner.y_mm, left, inner.top_mm + 3.4 * k, 1.0)
        wide = right - left > 13 * k
        words = told("weaver {weaver}", weaver=number) if wide else field("weaver", number)
        y = inner.top_mm + 1.2 * k
        sheet.text((left + right) / 2, y, words, 6 * k, align="centre", most_mm=right - left, tag="weaver-name")
