"""A block of the row script is drawn: boxes and numbers of its rows, runs in columns, the column reached, the total."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from chartmaker.ground.language import phrase, say, told
from chartmaker.knots.knotmap import NO_KNOT, KnotMap
from chartmaker.paper.document import POINTS_PER_MM
from chartmaker.paper.drawing import Align, Sheet
from chartmaker.sheets.chart.cells import Palette
from chartmaker.sheets.chart.legend import base_line, draw_swatch
from chartmaker.sheets.rows.blocks import BOXES_MM, RowBlock
from chartmaker.sheets.rows.folding import Span
from chartmaker.sheets.rows.rowlayout import BACK_MM, NUMBER_MM, TOTAL_MM, RowLayout, RowPage
from chartmaker.sheets.rows.setting import CLOSING_MM, JUMP_ROOMS, SWATCH_MM, Mark, RunSetting

#: Where the next run begins after places without knots, in full or short for narrow columns; the second pair is for two
#: strips that are told together.
JUMPS = (phrase("from column {from_column}"), phrase("from {from_column}"))
TWIN_JUMPS = (phrase("from column {from_column}, {twin_column}"), phrase("from {from_column}, {twin_column}"))
#: How far that column is from where the row below begins.
SIDEWAYS = {
    "left": phrase("{jump}, {left} left of row {below}"),
    "right": phrase("{jump}, {right} right of row {below}"),
    "before": phrase("{jump}, {before} before row {below}"),
    "after": phrase("{jump}, {after} after row {below}"),
}
#: The size of these words, and how far they may be narrowed before shorter words are taken.
JUMP_PT, NARROWED = 7.0, 0.84
#: The words for a row that has no knot in this strip.
BARE = phrase("no knots in {places} places")
ROW_PT, TOTAL_PT, REACHED_PT, LIKE_PT = 12.0, 8.0, 7.5, 9.0
#: The air between a row's total and the column that its line reaches.
TOTAL_GAP_MM = 2.0
#: The side of a box to tick, and the air between it and its number.
BOX_MM, BOX_AIR_MM = 4.2, 1.2


def block_mm(layout: RowLayout, block: RowBlock) -> float:
    """Return the height of a block."""
    lines = 1 if block.like is not None else block.text.lines
    return layout.setting.height_mm(lines) + BOXES_MM * -(-(len(block.rows) - 1) // layout.boxes)


def draw_block(
    sheet: Sheet, knot_map: KnotMap, layout: RowLayout, palette: Palette, page: RowPage, block: RowBlock, top_mm: float
) -> None:
    """Draw a block below `top_mm`: its first row's number, its runs and its total, then the numbers of other rows."""
    setting = layout.setting
    middle = top_mm - setting.air_mm / 2 - setting.line_mm / 2
    for each, number in enumerate(layout.numbers(block.rows.start)):
        _draw_number(sheet, layout, number, each * NUMBER_MM, middle)
    last = middle
    if block.like is None:
        for mark in block.text.marks:
            height = middle - mark.line * setting.line_mm
            if mark.span is not None and mark.span.yarn == NO_KNOT:
                _draw_jump(sheet, knot_map, layout, page, block, mark, height)
            else:
                _draw_mark(sheet, knot_map, layout, palette, mark, height)
        last = middle - (max(block.text.lines, 1) - 1) * setting.line_mm
    else:
        _draw_like(sheet, layout, block.like, middle)
    _draw_reached(sheet, layout, page, block, middle)
    tied = sum(run.knots * times for run, times in _told(block.text.marks) if run.yarn != NO_KNOT)
    _draw_total(sheet, layout, tied, len(block.rows) > 1, last)
    for first in range(1, len(block.rows), layout.boxes):
        last -= BOXES_MM
        middle = last - (setting.line_mm - BOXES_MM) / 2
        _draw_further(sheet, layout, block.rows[first : first + layout.boxes], middle)


def _told(marks: tuple[Mark, ...]) -> list[tuple[Span, int]]:
    """Return each run with the number of times that it is tied."""
    found: list[tuple[Span, int]] = []
    times = 1
    for mark in marks:
        if mark.span is not None:
            found.append((mark.span, times))
        else:
            times = mark.times or 1
    return found


def _edges(layout: RowLayout) -> tuple[float, float, bool]:
    """Return the left and right edges of what is printed, and whether rows are read from the right."""
    margin = layout.paper.margin_mm
    return margin, layout.paper.width_mm - margin, layout.reading == "right to left"


def _draw_number(sheet: Sheet, layout: RowLayout, number: int, away_mm: float, middle_mm: float) -> None:
    """Draw a row's number so far behind the edge at which rows begin, close behind a box of its own."""
    left, right, leftward = _edges(layout)
    edge = right - away_mm if leftward else left + away_mm
    sheet.box(edge - BOX_MM if leftward else edge, middle_mm - BOX_MM / 2, BOX_MM, BOX_MM, edge_mm=0.2)
    x = edge - BOX_MM - BOX_AIR_MM if leftward else edge + BOX_MM + BOX_AIR_MM
    align: Align = "right" if leftward else "left"
    sheet.text(x, base_line(middle_mm, ROW_PT), str(number), ROW_PT, bold=True, align=align, tag="row")


def _draw_further(sheet: Sheet, layout: RowLayout, rows: range, middle_mm: float) -> None:
    """Draw the numbers of further rows that are tied alike: those of the way up, then those of the way back."""
    _draw_aside(sheet, layout, say("likewise rows"), 0.0, layout.row_mm - 2, middle_mm)
    away = layout.row_mm
    for row in rows:
        _draw_number(sheet, layout, row + 1, away, middle_mm)
        away += NUMBER_MM
    back = sorted(number for row in rows for number in layout.numbers(row)[1:])
    if back:
        _draw_aside(sheet, layout, say("back"), away, BACK_MM - 1, middle_mm)
        away += BACK_MM
    for number in back:
        _draw_number(sheet, layout, number, away, middle_mm)
        away += NUMBER_MM


def _draw_aside(sheet: Sheet, layout: RowLayout, words: str, away_mm: float, most_mm: float, middle_mm: float) -> None:
    left, right, leftward = _edges(layout)
    x = right - away_mm if leftward else left + away_mm
    align: Align = "right" if leftward else "left"
    sheet.text(x, base_line(middle_mm, 7), words, 7, align=align, most_mm=most_mm)


def _draw_like(sheet: Sheet, layout: RowLayout, row: int, middle_mm: float) -> None:
    left, right, leftward = _edges(layout)
    x = right - layout.row_mm if leftward else left + layout.row_mm
    align: Align = "right" if leftward else "left"
    words = told("as row {like}", like=row + 1)
    sheet.text(x, base_line(middle_mm, LIKE_PT), words, LIKE_PT, bold=True, align=align, tag="as-row")


def _draw_reached(sheet: Sheet, layout: RowLayout, page: RowPage, block: RowBlock, middle_mm: float) -> None:
    """Draw at the end of each line the column that it reaches, and the column that the strip's twin reaches."""
    left, right, leftward = _edges(layout)
    strip, twin = layout.strips[page.strip], layout.twin(page.strip)
    columns = layout.strips[-1].stop
    reached = block.text.reached if block.like is None else block.text.reached[-1:]
    x = left + TOTAL_MM if leftward else right - TOTAL_MM
    for line, places in enumerate(reached):
        column = strip.stop - places + 1 if leftward else strip.start + places
        words = (
            told("to {reached}", reached=column)
            if twin is None
            else told("to {reached}, {twin_reached}", reached=column, twin_reached=columns + 1 - column)
        )
        y = base_line(middle_mm - line * layout.setting.line_mm, REACHED_PT)
        most = layout.reached_mm - TOTAL_MM - 0.5
        sheet.text(x, y, words, REACHED_PT, align="left" if leftward else "right", most_mm=most, tag="column-reached")


def _draw_total(sheet: Sheet, layout: RowLayout, tied: int, several: bool, middle_mm: float) -> None:
    left, right, leftward = _edges(layout)
    words = told("= {total:,} each", total=tied) if several else told("= {total:,}", total=tied)
    x = left if leftward else right
    align: Align = "left" if leftward else "right"
    y = base_line(middle_mm, TOTAL_PT)
    sheet.text(x, y, words, TOTAL_PT, bold=True, align=align, most_mm=TOTAL_MM - TOTAL_GAP_MM, tag="total")


def _draw_mark(
    sheet: Sheet, knot_map: KnotMap, layout: RowLayout, palette: Palette, mark: Mark, middle_mm: float
) -> None:
    setting = layout.setting
    left, right, leftward = _edges(layout)
    away = layout.row_mm + mark.place * setting.run_mm
    x = right - away - setting.run_mm if leftward else left + away
    base = base_line(middle_mm, setting.knots_pt)
    if mark.span is not None:
        _draw_run(sheet, knot_map, palette, setting, x, middle_mm, mark)
    elif mark.times:
        words = told(") × {times}", times=mark.times) if leftward else told("{times} × (", times=mark.times)
        align: Align = "left" if leftward else "right"
        edge = x + 0.3 if leftward else x + setting.run_mm - 0.3
        sheet.text(edge, base, words, setting.knots_pt, bold=True, align=align, tag="times")
    elif leftward:
        sheet.text(x - 0.3, base, "(", setting.knots_pt, bold=True, align="right", tag="close")
    else:
        sheet.text(x + setting.run_mm - CLOSING_MM, base, ")", setting.knots_pt, bold=True, tag="close")


def _draw_jump(
    sheet: Sheet, knot_map: KnotMap, layout: RowLayout, page: RowPage, block: RowBlock, mark: Mark, middle_mm: float
) -> None:
    """Write at which column the next run begins, in the longest words that fit."""
    assert mark.span is not None
    setting = layout.setting
    left, right, leftward = _edges(layout)
    room = min(JUMP_ROOMS, setting.a_line) * setting.run_mm
    away = layout.row_mm + mark.place * setting.run_mm
    x = right - away - room if leftward else left + away
    words, size = _jumps(knot_map, layout, page, block, mark), min(setting.code_pt, JUMP_PT)
    behind = CLOSING_MM if leftward else 0.0  # of the bracket before it, which stands left of its run
    lettering, most = sheet.book.lettering, room - 1.5 - behind
    narrowed = NARROWED * size / POINTS_PER_MM
    fitting = [each for each in words if lettering.width(each) * narrowed <= most] or words[-1:]
    align: Align = "right" if leftward else "left"
    edge = x + room - 0.5 - behind if leftward else x + 0.5
    sheet.text(edge, base_line(middle_mm, size), fitting[0], size, align=align, most_mm=most, tag="jump")


def jumps_to(layout: RowLayout, strip: int, column: int) -> list[str]:
    """Return the ways to say that the next run of a strip begins at a column, from 1: in full, then short."""
    if layout.twin(strip) is None:
        return [told(words, from_column=column) for words in JUMPS]
    other = layout.strips[-1].stop + 1 - column
    return [told(words, from_column=column, twin_column=other) for words in TWIN_JUMPS]


def _jumps(knot_map: KnotMap, layout: RowLayout, page: RowPage, block: RowBlock, mark: Mark) -> list[str]:
    """Return the ways to say where the next run begins, the fullest first."""
    assert mark.span is not None
    strip, leftward = layout.strips[page.strip], layout.reading == "right to left"
    if mark.span.knots == len(strip):
        return [told(BARE, places=mark.span.knots)]
    behind = mark.told + mark.span.knots
    column = strip.stop - behind if leftward else strip.start + behind + 1
    twin = layout.twin(page.strip)
    jumps = jumps_to(layout, page.strip, column)
    row = block.rows.start
    if mark.told or not row or layout.mirrored:  # on the way back another row was tied last
        return jumps
    below = np.flatnonzero(knot_map.knots[row - 1, strip.start : strip.stop] != NO_KNOT)
    if not below.size:
        return jumps
    began = strip.start + int(below[-1 if leftward else 0]) + 1
    away = began - column
    if not away:
        return jumps
    side = "left" if away > 0 else "right"
    if twin is not None:
        side = "before" if (away > 0) != leftward else "after"
    return [*(told(SIDEWAYS[side], jump=jump, below=row, **{side: abs(away)}) for jump in jumps), *jumps]


class RunStamp(NamedTuple):
    """The key of a run of knots as the row script prints it."""

    yarn: int
    knots: int


def _draw_run(
    sheet: Sheet, knot_map: KnotMap, palette: Palette, setting: RunSetting, x_mm: float, middle_mm: float, mark: Mark
) -> None:
    assert mark.span is not None
    base = base_line(0, setting.knots_pt)
    yarn, knots = mark.span.yarn, mark.span.knots

    def draw(stamp: Sheet) -> None:
        with stamp.tagged("run"):
            if setting.swatch:  # close before its own number, so that nobody takes it for that of the run before
                number_mm = stamp.book.lettering.width(str(knots), bold=True) * setting.knots_pt / POINTS_PER_MM
                draw_swatch(stamp, setting.knots_mm - number_mm - SWATCH_MM + 0.1, -1.7, 3.4, yarn, palette)
            stamp.text(setting.knots_mm, base, str(knots), setting.knots_pt, bold=True, align="right", tag="knots")
            if setting.call_pt and knot_map.yarns[yarn].call:
                call = knot_map.yarns[yarn].call or ""
                most = setting.code_mm - setting.call_mm
                stamp.text(setting.call_mm, base, call, setting.call_pt, bold=True, most_mm=most, tag="call")
            stamp.text(setting.code_mm, base, knot_map.yarns[yarn].code, setting.code_pt, tag="code")

    sheet.stamp(RunStamp(yarn, knots), x_mm, middle_mm, draw)
