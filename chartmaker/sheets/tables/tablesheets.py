"""Tables are drawn on sheets that all have the same head."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import BinaryIO

from chartmaker.ground.language import field, joined, say, told, told_n
from chartmaker.ground.lengths import both_sizes
from chartmaker.knots.knotmap import KnotMap
from chartmaker.order.workshop import Chart
from chartmaker.paper.document import POINTS_PER_MM
from chartmaker.paper.drawing import BLACK, GREY, PALE, WASH, Book, Sheet, colour_of
from chartmaker.paper.papers import Paper, paper_of
from chartmaker.sheets.chart.cells import Palette, palette_of
from chartmaker.sheets.chart.cover import grid_words
from chartmaker.sheets.chart.frame import Box
from chartmaker.sheets.chart.heads import draw_identity
from chartmaker.sheets.chart.legend import base_line, draw_swatch
from chartmaker.sheets.tables.tablelayout import (
    ABREAST_MM,
    NOTE_MM,
    NOTE_PT,
    PAD_MM,
    TICK,
    TITLE_MM,
    TITLE_PT,
    Portion,
    SetRow,
    SetTable,
    Setter,
    paginate,
    set_abreast,
)
from chartmaker.techniques.crafts import craft_of

HEAD_MM, FOOT_MM = 17.0, 8.0
BOX_PT, BOX_LINE_MM = 7.6, 4.0


@dataclass(frozen=True, slots=True)
class SheetWords:
    """What all sheets of the PDF share: what they are, the words in a box on the first, and the words at each foot.

    Readers tell by the `tag` what kind of sheets they are, and also whether they are `imperial`; by the code of their
    `amounts` they tell one order of a map from another.
    """

    words: str
    tag: str
    imperial: bool
    amounts: str
    boxed: tuple[str, ...] = ()
    foot: tuple[str, ...] = ()


def write_tables_pdf(
    stream: BinaryIO,
    knot_map: KnotMap,
    chart: Chart,
    said: SheetWords,
    setter: Setter,
    *,
    font_bytes: bytes | None = None,
) -> int:
    """Write tables as a PDF and return the number of its sheets.

    Parameters
    ----------
    stream : binary file object
    knot_map : KnotMap
    chart : Chart
        The settings of the printed sheets.
    said : SheetWords
    setter : callable
        It takes the lettering and the width in millimetres, and returns the tables.
    font_bytes : bytes, optional
        The font file for letters that the built-in font lacks.

    Raises
    ------
    SheetError
        If the paper is unknown, or a letter is in no font.
    """
    paper = _desk_paper(chart)
    palette = palette_of(knot_map.yarns, chart.marks) if craft_of(knot_map.rug).by_rows else None
    subject = say("{words} of map {map}", words=said.words, map=knot_map.map_code)
    title = say("{name}: {words}", name=knot_map.rug.name, words=said.words)
    with Book(stream, title=title, subject=subject, font_bytes=font_bytes) as book:
        if palette is not None:
            book.use_symbols(palette.glyphs.tolist())
        width_mm = paper.width_mm - 2 * paper.margin_mm
        boxed = _boxed_lines(book, said, width_mm)
        foot = [line for words in said.foot for line in _note_lines(book, words, width_mm)]
        room_mm = paper.height_mm - 2 * paper.margin_mm - HEAD_MM - max(FOOT_MM, len(foot) * NOTE_MM + 3)
        box_mm = len(boxed) * BOX_LINE_MM + 6 if boxed else 0.0
        tables, abreast = set_abreast(setter, book.lettering, width_mm)
        columns = paginate(tables, room_mm - box_mm, room_mm, abreast)
        sheets = [columns[first : first + abreast] for first in range(0, len(columns), abreast)]
        step_mm = (width_mm + ABREAST_MM) / abreast
        for number, beside in enumerate(sheets, start=1):
            portions = [portion for column in beside for portion in column]
            outline = [(0, portion.table.title) for portion in portions if not portion.continued]
            sheet = book.sheet(paper.width_mm, paper.height_mm, str(number), outline=outline)
            _draw_head(sheet, knot_map, paper, said, number, len(sheets))
            _draw_foot(sheet, paper, foot)
            top = paper.height_mm - paper.margin_mm - HEAD_MM
            if number == 1 and boxed:
                _draw_boxed(sheet, paper.margin_mm, top, width_mm, boxed)
                top -= box_mm
            for place, column in enumerate(beside):
                for portion in column:
                    x, y = paper.margin_mm + place * step_mm, top - portion.top_mm
                    with sheet.tagged(f"table-{portion.table.key}"):
                        _draw_portion(sheet, portion, x, y, palette, knot_map)
            sheet.done()
    return len(sheets)


def _desk_paper(chart: Chart) -> Paper:
    """Return the paper for the desk, which is A4, or Letter if the chart is on a paper measured in inches."""
    paper = paper_of(chart.paper)
    return paper_of("A4" if paper.name.startswith("A") else "Letter")


def _note_lines(book: Book, words: str, width_mm: float) -> list[str]:
    return book.lettering.lines(words, width_mm * POINTS_PER_MM / NOTE_PT)


def _boxed_lines(book: Book, said: SheetWords, width_mm: float) -> list[str]:
    most_em = (width_mm - 6) * POINTS_PER_MM / BOX_PT
    return [line for words in said.boxed for line in book.lettering.lines(words, most_em)]


def _draw_head(sheet: Sheet, knot_map: KnotMap, paper: Paper, said: SheetWords, number: int, sheets: int) -> None:
    margin = paper.margin_mm
    box = Box(margin, sheet.height_mm - margin - HEAD_MM, sheet.width_mm - 2 * margin, HEAD_MM)
    taken = draw_identity(sheet, box, knot_map, number, sheets, said.amounts)
    free = box.width_mm - taken - 4
    with sheet.tagged(said.tag, {"Imperial": (float(said.imperial),)}):
        heading = told("{words}: {name}", words=said.words, name=knot_map.rug.name)
        sheet.text(margin, box.top_mm - 4.6, heading, 12, bold=True, most_mm=free, tag="heading")
    rug = knot_map.rug
    size = both_sizes(rug.woven_width_mm, rug.woven_length_mm)
    knots = told_n("{knots:,} knot", "{knots:,} knots", knot_map.tied, knots=knot_map.tied)
    line = joined(" · ", (size, field("density", rug.density.notation), grid_words(knot_map), knots))
    sheet.text(margin, box.top_mm - 10, line, 7.4, colour=GREY, most_mm=box.width_mm, tag="fact")
    sheet.line(margin, box.top_mm - 12.2, box.right_mm, box.top_mm - 12.2, 0.4)


def _draw_foot(sheet: Sheet, paper: Paper, lines: Sequence[str]) -> None:
    y = paper.margin_mm + (len(lines) - 1) * NOTE_MM + 0.6
    for line in lines:
        sheet.text(paper.margin_mm, y, line, NOTE_PT)
        y -= NOTE_MM


def _draw_boxed(sheet: Sheet, x_mm: float, top_mm: float, width_mm: float, lines: Sequence[str]) -> None:
    height = len(lines) * BOX_LINE_MM + 2.4
    sheet.box(x_mm, top_mm - height, width_mm, height, edge_mm=0.4)
    for number, line in enumerate(lines):
        sheet.text(x_mm + 3, base_line(top_mm - 1.2 - (number + 0.5) * BOX_LINE_MM, BOX_PT), line, BOX_PT, tag="boxed")


def _draw_portion(
    sheet: Sheet, portion: Portion, x_mm: float, top_mm: float, palette: Palette | None, knot_map: KnotMap
) -> None:
    table = portion.table
    title = told("{title} (continued)", title=table.title) if portion.continued else table.title
    sheet.text(x_mm, base_line(top_mm - TITLE_MM / 2, TITLE_PT), title, TITLE_PT, bold=True, tag="title")
    rows = [table.header, *(table.rows[row] for row in portion.rows)]
    y = top_mm - TITLE_MM
    _shade(sheet, table, x_mm, y, sum(row.height_mm for row in rows))
    for row in rows:
        y -= row.height_mm
        with sheet.tagged(row.name):
            _draw_row(sheet, table, row, x_mm, y)
            if row.yarn is not None and table.look.swatch_mm:
                index = knot_map.yarns.index(row.yarn)
                _draw_yarn(sheet, table, row, x_mm, y, palette, index)
    y -= 1.5
    for note in table.notes if portion.with_notes else ():
        y -= NOTE_MM
        sheet.text(x_mm, base_line(y + NOTE_MM / 2, NOTE_PT), note, NOTE_PT, tag="note")


def _shade(sheet: Sheet, table: SetTable, x_mm: float, top_mm: float, height_mm: float) -> None:
    x = x_mm + table.look.swatch_mm
    for column, width in enumerate(table.widths_mm):
        if column in table.look.shaded:
            sheet.box(x, top_mm - height_mm, width, height_mm, fill=WASH, edge=None)
        x += width


def _draw_yarn(
    sheet: Sheet, table: SetTable, row: SetRow, x_mm: float, y_mm: float, palette: Palette | None, index: int
) -> None:
    """Draw the yarn of a row as the chart prints it, or as a plain patch of its colour."""
    if table.look.symbols and palette is not None:
        side = min(row.height_mm - 0.8, table.look.swatch_mm - 1)
        draw_swatch(sheet, x_mm, y_mm + (row.height_mm - side) / 2, side, index, palette)
        return
    assert row.yarn is not None
    width, height = table.look.swatch_mm - 1.5, row.height_mm - 0.8
    sheet.box(x_mm, y_mm + 0.4, width, height, fill=colour_of(row.yarn.srgb), edge=BLACK, edge_mm=0.1)


def _draw_row(sheet: Sheet, table: SetTable, row: SetRow, x_mm: float, y_mm: float) -> None:
    look = table.look
    header = row.kind == "header"
    size = look.size_pt * (0.86 if header else 1)
    x = x_mm + look.swatch_mm
    for column, (lines, width) in enumerate(zip(row.cells, table.widths_mm, strict=True)):
        right = column in table.right
        place = x + width - PAD_MM if right else x + PAD_MM
        middle = y_mm + row.height_mm / 2 + (len(lines) - 1) * look.line_mm / 2
        for line in lines:
            if line == TICK:
                sheet.box(x + width / 2 - 1.7, y_mm + row.height_mm / 2 - 1.7, 3.4, 3.4, edge_mm=0.2)
            elif line:
                sheet.text(
                    place,
                    base_line(middle, size),
                    line,
                    size,
                    bold=row.kind != "body",
                    colour=GREY if header else BLACK,
                    align="right" if right else "left",
                    most_mm=width - 2 * PAD_MM + 0.1,
                )
            middle -= look.line_mm
        x += width
    strong = header or row.kind == "total"
    line_y = y_mm if row.kind != "total" else y_mm + row.height_mm
    sheet.line(x_mm, line_y, x_mm + table.width_mm, line_y, 0.25 if strong else 0.08, colour=BLACK if strong else PALE)
