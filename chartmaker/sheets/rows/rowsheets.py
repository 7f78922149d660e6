"""The row script as a PDF: every row as numbers of knots, to be read or called aloud."""

from __future__ import annotations

from collections.abc import Sequence
from typing import BinaryIO, NamedTuple

import numpy as np

from chartmaker.ground.language import field, joined, phrase, say, told
from chartmaker.ground.progress import SILENT, Progress
from chartmaker.knots.knotmap import NO_KNOT, KnotMap
from chartmaker.order.workshop import Workshop
from chartmaker.paper.document import POINTS_PER_MM
from chartmaker.paper.drawing import BLACK, GREY, PALE, WASH, Align, Book, Sheet
from chartmaker.paper.papers import Paper, paper_of
from chartmaker.sheets.chart.cells import Palette, palette_of
from chartmaker.sheets.chart.heads import READING
from chartmaker.sheets.chart.layout import ENTRY_HEIGHT_MM, FULL_ENTRY_MM, SHORT_ENTRY_MM, Box
from chartmaker.sheets.chart.legend import base_line, draw_entries, draw_swatch
from chartmaker.sheets.rows.rowlayout import (
    AIR_MM,
    CLOSING_MM,
    FOOT_MM,
    HEAD_MM,
    LINE_MM,
    NUMBER_MM,
    RUN_MM,
    Mark,
    RowLayout,
    RowPage,
    height_mm,
    opening_mm,
    row_layout,
)

#: Places that lie outside the rug's outline.
SKIP = phrase("skip {places}")
KNOTS_PT, CODE_PT, ROW_PT = 11.0, 8.0, 12.0
INTRODUCTION_MM = 34.0
#: How much larger few yarns are named in front.
LARGE = 1.6


def write_rows_pdf(
    stream: BinaryIO,
    knot_map: KnotMap,
    workshop: Workshop,
    *,
    font_bytes: bytes | None = None,
    progress: Progress = SILENT,
) -> int:
    """Write the row script of `knot_map` as a PDF; return the number of its sheets.

    Parameters
    ----------
    stream : binary file object
    knot_map : KnotMap
    workshop : Workshop
        Its table `chart` gives paper, strips, and the direction of reading.
    font_bytes : bytes, optional
        The font file for letters that the built-in font lacks.
    progress : Progress, optional
        Counts the sheets.

    Raises
    ------
    SheetError
        If the paper is unknown, or a letter is in no font.
    RugError
        If the strips do not fit the rug.
    """
    layout = plan_rows(knot_map, workshop)
    paper, room = layout.paper, _legend_room(layout.paper)
    palette = palette_of(knot_map.yarns, workshop.chart.marks)
    subject = say("Row script of map {map}", map=knot_map.map_code)
    with Book(
        stream, title=say("{name}: rows", name=knot_map.rug.name), subject=subject, font_bytes=font_bytes
    ) as book:
        book.use_symbols(palette.glyphs.tolist())
        _draw_front(book, knot_map, layout, palette, room)
        strip = None
        for page in layout.pages:
            outline = [] if page.strip == strip else [(0, layout.strip_words(page.strip))]
            strip = page.strip
            outline.append(
                (1, say("Rows {first_row} to {last_row}", first_row=page.rows.start + 1, last_row=page.rows.stop))
            )
            sheet = book.sheet(paper.width_mm, paper.height_mm, str(page.number), outline=outline)
            _draw_page(sheet, knot_map, layout, page, palette)
            sheet.done()
            progress.done(page.number, of=layout.sheets)
    return layout.sheets


def plan_rows(knot_map: KnotMap, workshop: Workshop) -> RowLayout:
    """Return the layout of the row script of `knot_map`, its sheets in front counted.

    Raises
    ------
    SheetError, RugError
        As `write_rows_pdf`.
    """
    chart = workshop.chart
    room = _legend_room(paper_of(chart.paper, chart.orientation))
    return row_layout(knot_map, workshop, -(-len(knot_map.yarns) // room))


def _legend_box(paper: Paper) -> Box:
    margin = paper.margin_mm
    height = paper.height_mm - 2 * margin - HEAD_MM - INTRODUCTION_MM - FOOT_MM
    return Box(margin, margin + FOOT_MM, paper.width_mm - 2 * margin, height)


def _legend_room(paper: Paper) -> int:
    box = _legend_box(paper)
    return int(box.height_mm / ENTRY_HEIGHT_MM) * int(box.width_mm / SHORT_ENTRY_MM)


def _draw_head(sheet: Sheet, margin: float, knot_map: KnotMap, words: str, number: int, sheets: int) -> None:
    top, right = sheet.height_mm - margin, sheet.width_mm - margin
    name, code = field("name", knot_map.rug.name), field("map", knot_map.map_code)
    sheet.text(margin, top - 4.2, name, 11, bold=True, most_mm=right - margin - 62, tag="heading")
    sheet.text(right, top - 4.2, code, 11, bold=True, align="right", tag="identity")
    where = told("sheet {sheet} of {sheets}", sheet=number, sheets=sheets)
    sheet.text(right - 26, top - 4.2, where, 7, colour=GREY, align="right", tag="identity")
    sheet.text(margin, top - 9.6, words, 9, bold=True, most_mm=right - margin, tag="extent")
    sheet.line(margin, top - 12, right, top - 12, 0.4)


def _draw_front(book: Book, knot_map: KnotMap, layout: RowLayout, palette: Palette, room: int) -> None:
    """Draw the sheets that say how to read the script and what its codes are."""
    paper = layout.paper
    box = _legend_box(paper)
    rows = int(box.height_mm / ENTRY_HEIGHT_MM)
    words = _introduction(layout)
    entries = [(yarn, int(knots)) for yarn, knots in enumerate(knot_map.counts)]
    for number, start in enumerate(range(0, len(entries), room), start=1):
        sheet = book.sheet(paper.width_mm, paper.height_mm, str(number), outline=[(0, say("How to read, yarns"))])
        _draw_head(sheet, paper.margin_mm, knot_map, say("Row script"), number, layout.sheets)
        _draw_introduction(sheet, book, box, paper.height_mm - paper.margin_mm - HEAD_MM - 3, words)
        chosen = entries[start : start + room]
        if len(chosen) * LARGE <= rows:
            draw_entries(
                sheet,
                box,
                knot_map,
                palette,
                chosen,
                rows,
                named=True,
                pitch_mm=FULL_ENTRY_MM * LARGE,
                height_mm=ENTRY_HEIGHT_MM * LARGE,
            )
        else:
            draw_entries(sheet, box, knot_map, palette, chosen, rows, named=len(chosen) * 2 <= room)
        sheet.done()


def _draw_introduction(sheet: Sheet, book: Book, box: Box, top_mm: float, words: Sequence[str]) -> None:
    """Write the paragraphs above the legend, in smaller letters where they would run into it otherwise."""
    size_pt = 8.5
    while True:
        set_ = [book.lettering.lines(paragraph, box.width_mm * POINTS_PER_MM / size_pt) for paragraph in words]
        line_mm = size_pt * 4.2 / 8.5
        if sum(map(len, set_)) * line_mm + len(set_) * 1.2 <= INTRODUCTION_MM - 2 or size_pt <= 5:
            break
        size_pt -= 0.5
    y = top_mm
    for lines in set_:
        for line in lines:
            sheet.text(box.x_mm, y, line, size_pt)
            y -= line_mm
        y -= 1.2


def _introduction(layout: RowLayout) -> list[str]:
    """Return how the script is read, a paragraph each."""
    if layout.reading == "right to left":
        first = say(
            "Row 1 is the first that is woven. A row is read from the right: a number of knots, then the yarn's code. "
            "A swatch shows the yarn as the chart prints it."
        )
    else:
        first = say(
            "Row 1 is the first that is woven. A row is read from the left: a number of knots, then the yarn's code. "
            "A swatch shows the yarn as the chart prints it."
        )
    words = [
        first,
        say(
            "{group} says that the runs within the brackets are tied four times over. {skip} says that twelve places "
            "lie outside the rug's outline.",
            group="( ... ) × 4" if layout.reading == "right to left" else "4 × ( ... )",
            skip=say(SKIP, places=12),
        ),
        say("The figure at the end is the row's total: count the knots against it, then tick the box."),
    ]
    if layout.mirrored:
        half = layout.rows - layout.rows // 2
        words.append(
            say(
                "The rug mirrors along its length, so one half tells it all. Rows 1 to {half:,} are read from the "
                "first sheet of a strip to its last; then rows {after:,} to {rows:,} back from the last sheet to the "
                "first, upwards from row to row. The second number of a row, with its own box, is for the way back.",
                half=half,
                after=half + 1,
                rows=layout.rows,
            )
        )
    return words


def _rows_words(layout: RowLayout, page: RowPage) -> str:
    first, last = page.rows.start + 1, page.rows.stop
    if not layout.mirrored:
        return told("rows {first_row}–{last_row}", first_row=first, last_row=last)
    back = [layout.numbers(row)[-1] for row in page.rows]
    words = "rows {first_row}–{last_row}, back {first_back}–{last_back}"
    return told(words, first_row=first, last_row=last, first_back=back[-1], last_back=back[0])


def _draw_page(sheet: Sheet, knot_map: KnotMap, layout: RowLayout, page: RowPage, palette: Palette) -> None:
    strip = layout.strips[page.strip]
    margin = layout.paper.margin_mm
    columns = told("columns {first_column}–{last_column}", first_column=strip.start + 1, last_column=strip.stop)
    reading = field("reading", say(READING[layout.reading]))
    words = joined(" · ", [layout.strip_words(page.strip), _rows_words(layout, page), columns, reading])
    _draw_head(sheet, margin, knot_map, words, page.number, layout.sheets)
    top = layout.paper.height_mm - margin - HEAD_MM
    every = layout.bold_every
    tied = np.count_nonzero(
        knot_map.knots[page.rows.start : page.rows.stop, strip.start : strip.stop] != NO_KNOT, axis=1
    )
    for row, marks in zip(page.rows, layout.marks.of(strip, page.rows), strict=True):
        height = height_mm(marks)
        if row % 2:
            sheet.box(margin, top - height, sheet.width_mm - 2 * margin, height, fill=WASH, edge=None)
        with sheet.tagged("script-row"):
            _draw_row(sheet, knot_map, layout, palette, row, marks, top, int(tied[row - page.rows.start]))
        top -= height
        heavy = (row + 1) % every == 0
        sheet.line(margin, top, sheet.width_mm - margin, top, 0.5 if heavy else 0.1, colour=BLACK if heavy else PALE)


def _draw_row(
    sheet: Sheet,
    knot_map: KnotMap,
    layout: RowLayout,
    palette: Palette,
    row: int,
    marks: Sequence[Mark],
    top_mm: float,
    tied: int,
) -> None:
    """Draw a row's block below `top_mm`: box to tick, number, runs, total."""
    margin = layout.paper.margin_mm
    leftward = layout.reading == "right to left"
    left, right = margin, layout.paper.width_mm - margin
    middle = top_mm - AIR_MM / 2 - LINE_MM / 2
    for place, number in enumerate(layout.numbers(row)):
        edge = right - place * NUMBER_MM if leftward else left + place * NUMBER_MM
        sheet.box(edge - 4.2 if leftward else edge, middle - 2.1, 4.2, 4.2, edge_mm=0.2)
        x = edge - 6 if leftward else edge + NUMBER_MM - 3
        sheet.text(x, base_line(middle, ROW_PT), str(number), ROW_PT, bold=True, align="right", tag="row")
    origin = right - layout.row_mm if leftward else left + layout.row_mm
    for mark in marks:
        y = middle - mark.line * LINE_MM
        room = RUN_MM if mark.span is not None else opening_mm(mark.times) if mark.times else CLOSING_MM
        x = origin - mark.x_mm - room if leftward else origin + mark.x_mm
        if mark.span is None:
            words = _bracket(mark.times, leftward)
            align: Align = "right" if (mark.times > 0) != leftward else "left"
            edge = x + room - 1 if align == "right" else x + (1 if mark.times else -0.5)
            base, tag = base_line(y, KNOTS_PT), "times" if mark.times else "close"
            sheet.text(edge, base, words, KNOTS_PT, bold=True, align=align, tag=tag)
        else:
            _draw_run(sheet, knot_map, palette, x, y, mark)
    last = middle - (marks[-1].line if marks else 0) * LINE_MM
    end = left if leftward else right
    words = told("= {total:,}", total=tied)
    sheet.text(end, base_line(last, 9), words, 9, bold=True, align="left" if leftward else "right", tag="total")


def _bracket(times: int, leftward: bool) -> str:
    """Return how a group opens (`times` above 0) or closes, so that on paper its brackets embrace it."""
    if not times:
        return "(" if leftward else ")"
    return told(") × {times}", times=times) if leftward else told("{times} × (", times=times)


class RunStamp(NamedTuple):
    """The key of a run of knots as the row script shows it."""

    yarn: int
    knots: int


def _draw_run(sheet: Sheet, knot_map: KnotMap, palette: Palette, x_mm: float, middle_mm: float, mark: Mark) -> None:
    assert mark.span is not None
    if mark.span.yarn == NO_KNOT:
        words = told(SKIP, places=mark.span.knots)
        sheet.text(x_mm + 0.5, base_line(middle_mm, KNOTS_PT), words, CODE_PT, colour=GREY, tag="skip")
        return
    yarn, knots = mark.span.yarn, mark.span.knots

    def draw(stamp: Sheet) -> None:
        words, code = str(knots), knot_map.yarns[yarn].code
        with stamp.tagged("run"):
            draw_swatch(stamp, 0.5, -1.8, 3.6, yarn, palette)
            stamp.text(
                11.8, base_line(0, KNOTS_PT), words, KNOTS_PT, bold=True, align="right", most_mm=6.8, tag="knots"
            )
            stamp.text(12.5, base_line(0, KNOTS_PT), code, CODE_PT, most_mm=11, tag="code")

    sheet.stamp(RunStamp(yarn, knots), x_mm, middle_mm, draw)
