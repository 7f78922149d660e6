"""The row script as a PDF, which tells every row in numbers of knots, to be read or called aloud."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import accumulate, pairwise
from typing import BinaryIO

from chartmaker.ground.language import field, joined, say, told
from chartmaker.ground.progress import SILENT, Progress
from chartmaker.knots.knotmap import KnotMap
from chartmaker.knots.mapfile import MapFile
from chartmaker.order.workshop import Workshop
from chartmaker.paper.document import POINTS_PER_MM
from chartmaker.paper.drawing import BLACK, GREY, NARROWEST, PALE, WASH, Book, Sheet
from chartmaker.reports.lotwords import NewLot, lots_among
from chartmaker.reports.pileheights import pile_paragraph
from chartmaker.reports.words import SAME_KNOT, one_handed
from chartmaker.sheets.chart.cells import Palette, palette_of
from chartmaker.sheets.chart.frame import ENTRY_HEIGHT_MM, FULL_ENTRY_MM, SHORT_ENTRY_MM, Box
from chartmaker.sheets.chart.heads import READING
from chartmaker.sheets.chart.legend import Setting, draw_entries
from chartmaker.sheets.rows.revisedrows import draw_revised_rows, revised_rows, with_rows
from chartmaker.sheets.rows.rowdrawing import block_mm, draw_block, jumps_to
from chartmaker.sheets.rows.rowlayout import FOOT_MM, HEAD_MM, RowLayout, RowPage, behind, row_layout

#: The size of the letters of the introduction, the height of its lines, and the air below a paragraph.
WORDS_PT, WORDS_MM, PARAGRAPH_MM = 8.5, 4.2, 1.2
#: The size of what is said of new lots of yarn, in the gap between the head and the rows.
LOTS_PT = 5.8
#: A letter's width over its height, a little above the average, by which the room for the introduction is estimated.
LETTER_EM = 0.58
#: The legend in front is this much larger if it has few yarns.
LARGE = 1.6


def write_rows_pdf(
    stream: BinaryIO,
    knot_map: KnotMap,
    workshop: Workshop,
    *,
    font_bytes: bytes | None = None,
    progress: Progress = SILENT,
    revises: MapFile | None = None,
    lots: tuple[NewLot, ...] = (),
) -> int:
    """Write the row script of `knot_map` as a PDF and return the number of its sheets.

    Parameters
    ----------
    stream : binary file object
    knot_map : KnotMap
    workshop : Workshop
        Its table `chart` gives the paper, the strips and the direction of reading.
    font_bytes : bytes, optional
        The font file for letters that the built-in font lacks.
    progress : Progress, optional
        It counts the sheets.
    revises : MapFile, optional
        The map of a script in use. Only the rows that differ from it are told, after a sheet that says which rows to
        strike out.
    lots : tuple of NewLot, optional
        Where new lots of yarn begin.

    Raises
    ------
    SheetError
        If the paper is unknown, a letter is in no font, or nothing differs from the map that is revised.
    RugError
        If the strips do not fit the rug.
    """
    layout = plan_rows(knot_map, workshop, lots)
    revised = None
    if revises is not None:
        revised = revised_rows(revises, MapFile(knot_map, workshop), layout.strips)
        layout = with_rows(layout, revised, layout.sheets - len(layout.pages))
    paper = layout.paper
    palette = palette_of(knot_map.yarns, workshop.chart.marks)
    subject = say("Row script of map {map}", map=knot_map.map_code)
    with Book(
        stream, title=say("{name}: rows", name=knot_map.rug.name), subject=subject, font_bytes=font_bytes
    ) as book:
        book.use_symbols(palette.glyphs.tolist())
        if revised is not None:
            draw_revised_rows(book, knot_map, layout, revised)
        _draw_front(book, knot_map, layout, palette, "" if revised is None else revised.old_code)
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
    return layout.sheets + (revised is not None)


def plan_rows(knot_map: KnotMap, workshop: Workshop, lots: tuple[NewLot, ...] = ()) -> RowLayout:
    """Return the layout of the row script of `knot_map`, counting its sheets in front.

    Raises
    ------
    SheetError, RugError
        As `write_rows_pdf`.
    """
    words = pile_paragraph(knot_map.yarns, knot_map.rug, workshop)
    layout = replace(row_layout(knot_map, workshop, lots), pile=words, one_handed=one_handed(knot_map.rug))
    return behind(layout, -(-len(knot_map.yarns) // _legend_room(layout)))


def _introduction_mm(layout: RowLayout) -> float:
    """Return the height of the introduction, estimated by the number of its letters."""
    width = layout.paper.width_mm - 2 * layout.paper.margin_mm
    a_line = width / (LETTER_EM * WORDS_PT / POINTS_PER_MM)
    heights = (-(-len(words) // int(a_line)) * WORDS_MM + PARAGRAPH_MM for words in _introduction(layout))
    return sum(heights) + 4


def _legend_box(layout: RowLayout) -> Box:
    paper = layout.paper
    margin = paper.margin_mm
    height = paper.height_mm - 2 * margin - HEAD_MM - _introduction_mm(layout) - FOOT_MM
    return Box(margin, margin + FOOT_MM, paper.width_mm - 2 * margin, height)


def _legend_room(layout: RowLayout) -> int:
    box = _legend_box(layout)
    return max(1, int(box.height_mm / ENTRY_HEIGHT_MM)) * max(1, int(box.width_mm / SHORT_ENTRY_MM))


def _draw_head(sheet: Sheet, margin: float, knot_map: KnotMap, words: Sequence[str], number: int, sheets: int) -> None:
    """Draw the head: the rug, the map and the sheet's number, then `words` on one line, or two on narrow paper."""
    top, right = sheet.height_mm - margin, sheet.width_mm - margin
    name, code = field("name", knot_map.rug.name), field("map", knot_map.map_code)
    sheet.text(margin, top - 4.2, name, 11, bold=True, most_mm=right - margin - 62, tag="heading")
    sheet.text(right, top - 4.2, code, 11, bold=True, align="right", tag="identity")
    where = told("sheet {sheet} of {sheets}", sheet=number, sheets=sheets)
    sheet.text(right - 26, top - 4.2, where, 7, colour=GREY, align="right", tag="identity")
    whole = joined(" · ", words)
    if sheet.book.lettering.width(whole, bold=True) * 9 / POINTS_PER_MM <= right - margin:
        lines, size = [whole], 9.0
    else:
        half = (len(words) + 1) // 2
        lines, size = [joined(" · ", words[:half]), joined(" · ", words[half:])], 7.5
    for line, part in enumerate(lines):
        y = top - 9.6 if len(lines) == 1 else top - 8.6 - 3.6 * line
        sheet.text(margin, y, part, size, bold=True, most_mm=right - margin, tag="extent")
    rule = top - (12 if len(lines) == 1 else 13.6)
    sheet.line(margin, rule, right, rule, 0.4)


def _draw_front(book: Book, knot_map: KnotMap, layout: RowLayout, palette: Palette, revises: str) -> None:
    """Draw the sheets that say how to read the script and what its codes mean.

    `revises` is the map code of the script whose sheets in front they replace, or empty.
    """
    paper = layout.paper
    box, room = _legend_box(layout), _legend_room(layout)
    rows = max(1, int(box.height_mm / ENTRY_HEIGHT_MM))
    words = _introduction(layout)
    title = told("Row script · replaces that sheet of map {map}", map=revises) if revises else say("Row script")
    entries = [(yarn, int(knots)) for yarn, knots in enumerate(knot_map.counts)]
    for number, start in enumerate(range(0, len(entries), room), start=1):
        sheet = book.sheet(paper.width_mm, paper.height_mm, str(number), outline=[(0, say("How to read, yarns"))])
        _draw_head(sheet, paper.margin_mm, knot_map, [title], number, layout.sheets)
        _draw_introduction(sheet, book, box, paper.height_mm - paper.margin_mm - HEAD_MM - 3, words)
        chosen = entries[start : start + room]
        if len(chosen) * LARGE <= rows:
            setting = Setting(rows, FULL_ENTRY_MM * LARGE, ENTRY_HEIGHT_MM * LARGE)
        elif len(chosen) * 2 <= room:
            setting = Setting(rows, FULL_ENTRY_MM)
        else:
            setting = Setting(rows, SHORT_ENTRY_MM, named=False)
        draw_entries(sheet, box, knot_map, palette, chosen, setting)
        sheet.done()


def _draw_introduction(sheet: Sheet, book: Book, box: Box, top_mm: float, words: Sequence[str]) -> None:
    """Write the introduction above the legend, in smaller letters if it would otherwise run into the legend."""
    size_pt = WORDS_PT
    room_mm = top_mm - box.y_mm - box.height_mm
    while True:
        set_ = [book.lettering.lines(paragraph, box.width_mm * POINTS_PER_MM / size_pt) for paragraph in words]
        line_mm = size_pt * WORDS_MM / WORDS_PT
        if sum(map(len, set_)) * line_mm + len(set_) * PARAGRAPH_MM <= room_mm or size_pt <= 5:
            break
        size_pt -= 0.5
    y = top_mm
    for lines in set_:
        for line in lines:
            sheet.text(box.x_mm, y, line, size_pt, tag="fact")
            y -= line_mm
        y -= PARAGRAPH_MM


def _introduction(layout: RowLayout) -> list[str]:
    """Return the paragraphs that say how the script is read."""
    leftward, called = layout.reading == "right to left", layout.setting.call_pt > 0
    begins = (
        say("Row 1 is the first that is woven. A row is read from the right:")
        if leftward
        else say("Row 1 is the first that is woven. A row is read from the left:")
    )
    runs = (
        say("a number of knots, the name called for the yarn, and in small letters its code.")
        if called
        else say("a number of knots, then the yarn's code.")
    )
    first = joined(" ", [begins, runs])
    words = [
        joined(" ", [first, say("A swatch shows the yarn as the chart prints it.")])
        if layout.setting.swatch
        else first,
        say(
            "{group} says that the runs within the brackets are tied four times in all.",
            group="( ... ) × 4" if layout.reading == "right to left" else "4 × ( ... )",
        ),
        say(
            "Every line ends with the column that it reaches, every row with its total: count the knots against both, "
            "then tick the box beside the row's number. Rows that are tied alike are printed once, with a box for each."
        ),
        layout.pile,
        *(lot.words for lot in layout.lots),
    ]
    if (jump := layout.jump()) is not None:
        strip, row, column = jump
        words.append(
            told(
                'Where places lie outside the outline, it says at which column the next run begins, as "{jump}" in row '
                "{example:,}: plain ground is woven before it.",
                jump=jumps_to(layout, strip, column + 1)[0],
                example=row + 1,
            )
        )
    if layout.mirrored_across:
        words.append(
            say(
                "The rug mirrors across its width, so one call serves a strip and the one that mirrors it: the weaver "
                "of the second ties from its far edge, the other way. Of the two columns at the end of a line the "
                "second is the one that this weaver reaches."
            )
        )
    if layout.mirrored:
        half = layout.rows - layout.rows // 2
        words.append(
            told(
                "The rug mirrors along its length, so one half tells it all. Rows 1 to {half:,} are read from the "
                "first sheet of a strip to its last; then rows {after:,} to {rows:,} back from the last sheet to the "
                "first, upwards from row to row. The second number of a row, with its own box, is for the way back; "
                "where several rows are tied alike, the boxes of the way back stand behind the word back.",
                half=half,
                after=half + 1,
                rows=layout.rows,
            )
        )
    if layout.one_handed and (layout.mirrored_across or layout.mirrored):
        words.append(say(SAME_KNOT))
    return words


def _rows_words(layout: RowLayout, page: RowPage) -> str:
    first, last = page.rows.start + 1, page.rows.stop
    if page.picked:
        words = "rows {first_row}–{last_row}, those that changed"
        return told(words, first_row=first, last_row=last)
    back = layout.back(page.rows)
    if not back:
        return told("rows {first_row}–{last_row}", first_row=first, last_row=last)
    words = "rows {first_row}–{last_row}, back {first_back}–{last_back}"
    return told(words, first_row=first, last_row=last, first_back=back[0], last_back=back[-1])


def _columns_words(layout: RowLayout, page: RowPage) -> str:
    strip, twin = layout.strips[page.strip], layout.twin(page.strip)
    if twin is None:
        return told("columns {first_column}–{last_column}", first_column=strip.start + 1, last_column=strip.stop)
    return told(
        "columns {first_column}–{last_column} and, the other way, {twin_first}–{twin_last}",
        first_column=strip.start + 1,
        last_column=strip.stop,
        twin_first=twin.start + 1,
        twin_last=twin.stop,
    )


def _draw_lots(sheet: Sheet, layout: RowLayout, page: RowPage, top_mm: float) -> None:
    """Write below the head which new lots of yarn begin on a sheet; yarns are counted where they have no room."""
    rows, width_mm = range(page.rows.start + 1, page.rows.stop + 1), layout.paper.width_mm - 2 * layout.paper.margin_mm
    ways, most = lots_among(layout.lots, rows, layout.back(page.rows)), width_mm / NARROWEST * POINTS_PER_MM / LOTS_PT
    if ways:
        words = next((each for each in ways if sheet.book.lettering.width(each, bold=True) <= most), ways[-1])
        sheet.text(layout.paper.margin_mm, top_mm + 0.4, words, LOTS_PT, bold=True, most_mm=width_mm, tag="lot")


def _draw_page(sheet: Sheet, knot_map: KnotMap, layout: RowLayout, page: RowPage, palette: Palette) -> None:
    margin = layout.paper.margin_mm
    reading = field("reading", say(READING[layout.reading]))
    words = [layout.strip_words(page.strip), _rows_words(layout, page), _columns_words(layout, page), reading]
    _draw_head(sheet, margin, knot_map, words, page.number, layout.sheets)
    top = layout.paper.height_mm - margin - HEAD_MM
    _draw_lots(sheet, layout, page, top)
    every = layout.bold_every
    blocks = layout.blocks(page)
    edges = [top - below for below in accumulate((block_mm(layout, block) for block in blocks), initial=0.0)]
    for upper, lower in list(pairwise(edges))[1::2]:  # all before any line, which the next would hide half of
        sheet.box(margin, lower, sheet.width_mm - 2 * margin, upper - lower, fill=WASH, edge=None)
    for block, (top, lower) in zip(blocks, pairwise(edges), strict=True):
        with sheet.tagged("script-row"):
            draw_block(sheet, knot_map, layout, palette, page, block, top)
        heavy = block.rows.stop // every > block.rows.start // every or block.rows.stop in layout.begins
        sheet.line(
            margin, lower, sheet.width_mm - margin, lower, 0.5 if heavy else 0.1, colour=BLACK if heavy else PALE
        )
