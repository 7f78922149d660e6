"""The grid sheets of a chart are drawn as the layout says."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from typing import NamedTuple

import numpy as np

from chartmaker.ground.language import told
from chartmaker.ground.lengths import cm_words
from chartmaker.ground.tags import Values
from chartmaker.knots.knotmap import NO_KNOT, KnotArray
from chartmaker.paper.document import POINTS_PER_MM
from chartmaker.paper.drawing import BLACK, GREY, PALE, WASH, WHITE, Sheet
from chartmaker.sheets.chart.cells import Place, blank_operators, colour_operators, symbol_operators
from chartmaker.sheets.chart.counting import CountedRun, counted_runs
from chartmaker.sheets.chart.frame import GAP_MM, SIDE_GAP_MM, TICKS_MM, Box
from chartmaker.sheets.chart.grid import (
    HEAVY_MM,
    THIN_MM,
    draw_heavy_outside,
    draw_ruling,
    ruling_bounds,
    ruling_of,
    seat_edges,
)
from chartmaker.sheets.chart.heads import Chart, draw_header
from chartmaker.sheets.chart.layout import (
    GridPage,
    columns_beside,
    number_step,
    numbered,
    rows_above,
    rows_below,
    sides_mm,
    yarns_on,
)
from chartmaker.sheets.chart.legend import base_line, draw_sheet_legend, draw_uses

CENTRE_MM = 0.6
#: How much white the repeated rows are toned down with.
TONED = 0.62
#: Kept free at the ends of the upright ruler for its figures.
RULER_END_MM = 5.0
#: The distance from a length on the loom to the length that holds when the sheet is turned.
LENGTH_LINE_MM = 2.0


class FootRuling(NamedTuple):
    """The key of the lines round cells that are shown again, which are rows below or above, or columns beside."""

    rows: int
    columns: int

    @property
    def name(self) -> str:
        return f"Foot{self.rows}x{self.columns}"


class MapOfSheets(NamedTuple):
    """The key of the small rug with its strips on which each sheet marks its place; a chart has one."""

    @property
    def name(self) -> str:
        return "Map"


def draw_grid_page(chart: Chart, page: GridPage, outline: list[tuple[int, str]]) -> None:
    """Draw one sheet of cells."""
    frame, knot_map = chart.layout.frame, chart.knot_map
    cells = knot_map.knots[page.rows.start : page.rows.stop, page.columns.start : page.columns.stop]
    sheet = chart.book.sheet(frame.paper.width_mm, frame.paper.height_mm, str(page.number), outline=outline)
    place = Place(frame.grid.x_mm, frame.grid.y_mm, frame.cell_width_mm, frame.cell_height_mm)
    draw_header(chart, sheet, page)
    counted = _counted(chart, page, cells, place)
    bare = [(run.row, first, last) for run in counted for first, last in run.bare]
    with sheet.tagged("cells", _cells_values(page.rows, page.columns, place)):
        sheet.add(*colour_operators(cells, place, chart.palette))
        sheet.place(_grid_form(chart, page), place.x_mm, place.y_mm)
        sheet.add(*blank_operators(cells, place))
        if (cells == NO_KNOT).any():
            draw_heavy_outside(sheet, chart.layout, page, place.x_mm, place.y_mm)
        sheet.add(*symbol_operators(cells, place, chart.palette, bare=bare))
        _draw_counts(chart, sheet, page, place, counted)
    _draw_joins(chart, sheet, page, place)
    _draw_row_margins(chart, sheet, page, place)
    _draw_column_numbers(chart, sheet, page, place)
    _draw_centres(chart, sheet, page, place)
    on_sheet = yarns_on(cells, len(knot_map.yarns))
    if page.legend_number is None:
        draw_uses(sheet, frame.legend, chart.layout.mirrors)
        draw_sheet_legend(sheet, frame, knot_map, chart.palette, on_sheet, chart.facts.heights)
    else:
        y = base_line(frame.legend.top_mm - 3, 8)
        words = told("The {yarns} yarns of this sheet: sheet {sheet}", yarns=len(on_sheet), sheet=page.legend_number)
        sheet.text(frame.legend.x_mm, y, words, 8, tag="legend-at")
    draw_page_map(chart, sheet, frame.page_map, page)
    draw_rulers(sheet, frame.paper.margin_mm, frame.header.y_mm)
    sheet.done()


def _cells_values(rows: range, columns: range, place: Place) -> Values:
    """Return the values in the tag of a block of cells, which say what cells they are and in what box they lie."""
    width, height = len(columns) * place.cell_width_mm, len(rows) * place.cell_height_mm
    return {
        "Rows": (rows.start + 1, rows.stop),
        "Columns": (columns.start + 1, columns.stop),
        "Box": (place.x_mm, place.y_mm, width, height),
    }


def draw_rulers(sheet: Sheet, margin_mm: float, below_mm: float = math.inf) -> None:
    """Draw a ruler across the foot and one up the left side, `below_mm`, 100 mm where the paper holds it."""
    across = 100 if sheet.width_mm > 140 else 50
    upward = 100 if sheet.height_mm > 140 else 50
    sheet.across_ruler(margin_mm + 3, margin_mm, across, colour=GREY)
    low = min(sheet.height_mm / 2 - upward / 2, below_mm - RULER_END_MM - upward)
    if low < margin_mm + RULER_END_MM:
        upward, low = 50, sheet.height_mm / 2 - 25
    sheet.upward_ruler(margin_mm + 2.4, low, upward, colour=GREY)


def _grid_form(chart: Chart, page: GridPage) -> str:
    """Return the name of the form with the sheet's ruling, which all sheets that are ruled alike share."""

    def draw(sheet: Sheet) -> None:
        draw_ruling(sheet, chart.layout, page)

    return chart.book.form(ruling_of(chart.layout, page), ruling_bounds(chart.layout, page), draw)


def _count_mm(place: Place) -> float:
    """Return the height of the figures of counts."""
    return min(place.cell_height_mm * 0.8, place.cell_width_mm * 1.1)


def _counted(chart: Chart, page: GridPage, cells: KnotArray, place: Place) -> list[CountedRun]:
    """Return the runs of the sheet that show their count, which stands clear of heavy lines and of centre lines."""
    if not chart.counted:
        return []
    layout, start = chart.layout, page.columns.start
    size_mm, lettering = _count_mm(place), chart.book.lettering

    @cache
    def wide(words: str) -> float:
        return lettering.width(words, bold=True) * size_mm / place.cell_width_mm

    seats = seat_edges(layout, page)
    centre = {layout.columns // 2, -(-layout.columns // 2)}
    heavy = {column for column in page.columns if column % layout.bold_every == 0}
    lines = sorted({line - start for line in heavy | centre} | set(seats))
    knots, none = chart.knot_map.knots[page.rows.start : page.rows.stop], np.full(len(cells), NO_KNOT, cells.dtype)
    before = knots[:, start - 1] if start else none
    behind = knots[:, page.columns.stop] if page.columns.stop < layout.columns else none
    coloured, cuts = chart.palette.coloured, [*seats]
    if layout.mirrors.across and layout.columns % 2:  # the other half is read up to the centre column
        cuts += [layout.columns // 2 - start, layout.columns // 2 + 1 - start]
    return counted_runs(cells, wide, coloured=coloured, heavy=lines, cuts=cuts, beside=(before, behind))


def _draw_counts(chart: Chart, sheet: Sheet, page: GridPage, place: Place, counted: list[CountedRun]) -> None:
    """Write the counts of each counted run, in the ink of its yarn."""
    size_pt = _count_mm(place) * POINTS_PER_MM
    entries: dict[bool, list[tuple[float, float, str]]] = {False: [], True: []}
    for run in counted:
        yarn = chart.knot_map.knots[page.rows.start + run.row, page.columns.start + run.column]
        y = base_line(place.y_mm + (run.row + 0.5) * place.cell_height_mm, size_pt)
        places = [(place.x_mm + middle * place.cell_width_mm, y, run.words) for middle in run.middles]
        entries[bool(chart.palette.dark[yarn])] += places
    for dark, labels in entries.items():
        if labels:
            ink = WHITE if dark else BLACK
            sheet.labels(labels, size_pt, bold=True, colour=ink, align="centre", tag="count")


def _draw_joins(chart: Chart, sheet: Sheet, page: GridPage, place: Place) -> None:
    """Draw, toned down, the rows below the sheet, those above it on the way back, and the columns beside it."""
    below, above = rows_below(page), rows_above(page, chart.layout)
    high = place.cell_height_mm
    if below:
        foot = replace(place, y_mm=place.y_mm - GAP_MM - len(below) * high)
        _draw_join(chart, sheet, below, page.columns, foot)
    if above:
        head = replace(place, y_mm=place.y_mm + len(page.rows) * high + GAP_MM)
        _draw_join(chart, sheet, above, page.columns, head)
    left, right = columns_beside(page, chart.layout)
    if left:
        _draw_join(chart, sheet, page.rows, left, replace(place, x_mm=place.x_mm - sides_mm(page, chart.layout)[0]))
    if right:
        end = place.x_mm + len(page.columns) * place.cell_width_mm + SIDE_GAP_MM
        _draw_join(chart, sheet, page.rows, right, replace(place, x_mm=end))


def _draw_join(chart: Chart, sheet: Sheet, rows: range, columns: range, foot: Place) -> None:
    """Draw the cells of some rows and columns from `foot` on, toned down."""
    place = foot
    cells = chart.knot_map.knots[rows.start : rows.stop, columns.start : columns.stop]
    width, height = cells.shape[1] * place.cell_width_mm, len(rows) * place.cell_height_mm

    def lines(inner: Sheet) -> None:
        across = [(0, r * place.cell_height_mm, width, r * place.cell_height_mm) for r in range(len(rows) + 1)]
        along = [(c * place.cell_width_mm, 0, c * place.cell_width_mm, height) for c in range(cells.shape[1] + 1)]
        inner.lines([*across, *along], THIN_MM, colour=PALE)

    with sheet.tagged("join", _cells_values(rows, columns, foot)):
        sheet.add(*colour_operators(cells, foot, chart.palette, toned=TONED))
        sheet.form(FootRuling(len(rows), cells.shape[1]), foot.x_mm, foot.y_mm, width + 1, height + 1, lines)
        sheet.add(*blank_operators(cells, foot), *symbol_operators(cells, foot, chart.palette, grey=0.5))


def _row_labels(page: GridPage, chart: Chart) -> tuple[list[int], float]:
    """Return which rows have their number, and the size of the figures in points."""
    height = chart.layout.frame.cell_height_mm
    size_pt = min(6.0, max(4.2, height * 0.78 * POINTS_PER_MM))
    every = number_step(height, size_pt / POINTS_PER_MM * 0.82)
    return numbered(page.rows, every, chart.layout.bold_every), size_pt


def _draw_row_margins(chart: Chart, sheet: Sheet, page: GridPage, place: Place) -> None:
    """Draw the row numbers on both sides, the boxes to tick, and the lengths on the loom."""
    layout, frame = chart.layout, chart.layout.frame
    rows, size_pt = _row_labels(page, chart)
    before, behind = sides_mm(page, layout)
    left, right = place.x_mm - before, place.x_mm + len(page.columns) * place.cell_width_mm + behind
    height = place.cell_height_mm

    def middle(row: int) -> float:
        return place.y_mm + (row - page.rows.start + 0.5) * height

    for bold in (False, True):
        chosen = [row for row in rows if ((row + 1) % layout.bold_every == 0) == bold]
        numbers = [(left - 1, base_line(middle(row), size_pt), str(row + 1)) for row in chosen]
        across = right + frame.number_width_mm - left + 1
        sheet.labels(numbers, size_pt, bold=bold, align="right", also_mm=[(across, 0)], tag="row")
    leftward = layout.reading == "right to left"
    if layout.mirrors.along:
        away = frame.number_width_mm + frame.turn_width_mm
        x = left - frame.number_width_mm - 1 if leftward else right + away
        turned = [
            (x, base_line(middle(row), size_pt), str(layout.rows - row))
            for row in rows
            if row != layout.rows - 1 - row  # the centre row is woven once
        ]
        sheet.labels(turned, size_pt, align="right", tag="turned-row")
    turn = 0.0 if leftward else frame.turn_width_mm
    ticks = TICKS_MM if leftward or layout.mirrors.along else 0.0
    _draw_lengths(chart, sheet, page, place, right + frame.number_width_mm + turn + ticks)


def _draw_lengths(chart: Chart, sheet: Sheet, page: GridPage, place: Place, x: float) -> None:
    """Draw what the rug should measure on the loom at each heavy line, with the turned sheet's lengths below."""
    layout = chart.layout
    row_mm = float(chart.knot_map.rug.density.knot_height_mm) * chart.facts.loom_length_factor
    marks = [row for row in range(page.rows.start + 1, page.rows.stop + 1) if row % layout.bold_every == 0]
    if not marks:
        return
    heights = [place.y_mm + (row - page.rows.start) * place.cell_height_mm for row in marks]
    sheet.lines([(x + 0.6, y, x + 2, y) for y in heights], HEAVY_MM)
    figures = list(zip(marks, heights, strict=True))
    lengths = [(x + 2.5, base_line(y, 5), cm_words(row * row_mm)) for row, y in figures]
    sheet.labels(lengths, 5, tag="length")
    if layout.mirrors.along and layout.bold_every * place.cell_height_mm >= 2 * LENGTH_LINE_MM:
        turned = [
            (x + 2.5, base_line(y - LENGTH_LINE_MM, 5), cm_words((layout.rows - row) * row_mm))
            for row, y in figures
            if 2 * row < layout.rows
        ]
        sheet.labels(turned, 5, tag="turned-length")


def _draw_column_numbers(chart: Chart, sheet: Sheet, page: GridPage, place: Place) -> None:
    """Draw the column numbers at both ends, with those of the mirrored half above."""
    layout = chart.layout
    size_pt = 5.6
    digits = len(str(layout.columns)) * 0.64 * size_pt / POINTS_PER_MM + 0.5
    every = number_step(place.cell_width_mm, digits)
    columns = numbered(page.columns, every, layout.bold_every)
    below, above = (
        len(rows) * place.cell_height_mm + GAP_MM if rows else 0.0
        for rows in (rows_below(page), rows_above(page, layout))
    )
    top = place.y_mm + len(page.rows) * place.cell_height_mm + above + 1
    foot = place.y_mm - below - 2.6

    def middle(column: int) -> float:
        return place.x_mm + (column - page.columns.start + 0.5) * place.cell_width_mm

    for bold in (False, True):
        chosen = [column for column in columns if ((column + 1) % layout.bold_every == 0) == bold]
        numbers = [(middle(c), top, str(c + 1)) for c in chosen]
        sheet.labels(numbers, size_pt, bold=bold, align="centre", also_mm=[(0, foot - top)], tag="column")
    if layout.mirrors.across:
        y = top + layout.frame.turn_height_mm
        turned = [(middle(c), y, str(layout.columns - c)) for c in columns if c != layout.columns - 1 - c]
        sheet.labels(turned, size_pt, align="centre", tag="turned-column")


def _draw_centres(chart: Chart, sheet: Sheet, page: GridPage, place: Place) -> None:
    """Mark the rug's centre lines, between two cells if the count is even and round the centre cell if it is odd."""
    layout = chart.layout
    width, height = len(page.columns) * place.cell_width_mm, len(page.rows) * place.cell_height_mm
    for size, cells, across in ((layout.columns, page.columns, True), (layout.rows, page.rows, False)):
        edges = [size // 2] if size % 2 == 0 else [size // 2, size // 2 + 1]
        shown = [edge for edge in edges if cells.start <= edge <= cells.stop]
        cell = place.cell_width_mm if across else place.cell_height_mm
        for edge in shown:
            shift = (edge - cells.start) * cell
            if across:
                segment = (place.x_mm + shift, place.y_mm, place.x_mm + shift, place.y_mm + height)
            else:
                segment = (place.x_mm, place.y_mm + shift, place.x_mm + width, place.y_mm + shift)
            thick = layout.frame.line_mm(CENTRE_MM)
            sheet.lines([segment], thick, colour=WHITE)
            sheet.lines([segment], thick, dash_mm=(2.4, 0.8, 0.6, 0.8))
        if shown and cells.start <= size / 2 <= cells.stop:
            before, behind = sides_mm(page, layout)
            outer = (place, width) if across else (replace(place, x_mm=place.x_mm - before), before + width + behind)
            _draw_centre_marks(sheet, *outer, height, (size / 2 - cells.start) * cell, across)


def _draw_centre_marks(sheet: Sheet, place: Place, width: float, height: float, shift: float, across: bool) -> None:
    """Draw a triangle at both ends of a centre line of the cells at `place`."""
    r, air = 0.5, 0.05  # the numbers of rows and columns stand a millimetre off
    if across:
        x, y = place.x_mm + shift, place.y_mm + height + air
        sheet.polygon([(x, y), (x - r, y + r), (x + r, y + r)])
    else:
        y, x = place.y_mm + shift, place.x_mm - air
        sheet.polygon([(x, y), (x - r, y - r), (x - r, y + r)])
        x = place.x_mm + width + air
        sheet.polygon([(x, y), (x + r, y - r), (x + r, y + r)])


def draw_page_map(chart: Chart, sheet: Sheet, box: Box, page: GridPage) -> None:
    """Draw the rug small with its strips, and mark the place of `page`."""
    layout, frame = chart.layout, chart.layout.frame
    rug_width, rug_height = layout.columns * frame.cell_width_mm, layout.rows * frame.cell_height_mm
    scale = min((box.width_mm - 1) / rug_width, (box.height_mm - 1) / rug_height)
    width, height = rug_width * scale, rug_height * scale
    column, row = width / layout.columns, height / layout.rows

    def draw(inner: Sheet) -> None:
        inner.box(0, 0, width, height, edge=GREY, edge_mm=0.15, fill=WHITE)
        told_rows, told_columns = layout.told_rows, layout.told_columns
        left, low = told_columns.start * column, told_rows.start * row
        inner.box(left, low, len(told_columns) * column, len(told_rows) * row, fill=WASH, edge=GREY, edge_mm=0.1)
        inner.lines([(s.start * column, 0, s.start * column, height) for s in layout.strips], 0.2, colour=GREY)
        inner.lines([(s.start * column, 0, s.start * column, height) for s in layout.seats[1:]], 0.5)

    x0, y0 = box.right_mm - width - 0.4, box.y_mm + 0.4
    left, low = x0 + page.columns.start * column, y0 + page.rows.start * row
    wide, high = max(0.8, len(page.columns) * column), max(0.8, len(page.rows) * row)
    with sheet.tagged("place", {"Rug": (x0, y0, width, height)}):
        sheet.form(MapOfSheets(), x0, y0, width + 1, height + 1, draw)
        sheet.box(left, low, wide, high, fill=BLACK, edge=None)
