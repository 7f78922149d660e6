"""The head of a sheet: which rug and map, where the sheet belongs, and how it is read and turned."""

from __future__ import annotations

from dataclasses import dataclass

from chartmaker.ground.language import Told, field, joined, phrase, say, told
from chartmaker.ground.lengths import cm_number
from chartmaker.knots.knotmap import KnotMap
from chartmaker.knots.mirrors import again
from chartmaker.knots.strips import seats_on
from chartmaker.order.workshop import Reading
from chartmaker.paper.document import POINTS_PER_MM
from chartmaker.paper.drawing import GREY, NARROWEST, Book, Sheet
from chartmaker.reports.coverfacts import CoverFacts
from chartmaker.reports.lotwords import lots_among
from chartmaker.reports.words import SAME_KNOT, one_handed
from chartmaker.sheets.chart.cells import Palette
from chartmaker.sheets.chart.counting import explained
from chartmaker.sheets.chart.frame import FOOT_LINE_MM, TURNING_MM, Box
from chartmaker.sheets.chart.greys import greys_of, sheet_words, short_words
from chartmaker.sheets.chart.layout import GridPage, Layout
from chartmaker.sheets.chart.legend import base_line

#: How a sheet says which way its rows are read.
READING: dict[Reading, str] = {
    "left to right": phrase("read left to right"),
    "right to left": phrase("read right to left"),
}
#: How the sheet is used again for the columns or rows that mirror it.
COLUMNS_BACK = phrase("Columns {first}–{last}: each row goes on back over this sheet ({again} is like {like}).")
COLUMNS_OTHER = phrase(
    "Columns {first}–{last} (strip {other}): leave the sheet as it hangs, and read each row the other way ({again} is "
    "like {like})."
)
COLUMNS_NEXT = phrase(
    "Columns {first}–{last} (strip {other}, weaver {other_weaver}): leave the sheet as it hangs, and read each row the "
    "other way ({again} is like {like})."
)
ROWS_AGAIN = phrase(
    "Rows {first}–{last}, on the way back: leave the sheet as it hangs, and read it from its top row down ({again} is "
    "like {like})"
)
CENTRE_COLUMN = phrase("Column {centre} is the centre, tied once.")
CENTRE_ROW = phrase("Row {centre} is the centre, tied once.")
#: The room for the code of an order's amounts.
AMOUNTS_MM = 30.0
#: What lies outside the outline of a shaped rug, and what is done there.
OUTSIDE = {
    "ellipse": phrase("Ellipse: plain ground without knots outside its outline, {picks}."),
    "octagon": phrase("Octagon: plain ground without knots outside its outline, {picks}."),
    "artwork": phrase("Plain ground without knots outside the artwork's outline, {picks}."),
}
EXTRA_PICKS = phrase("with enough extra picks to keep it level with the knots")


@dataclass(frozen=True)
class Chart:
    """What all grid sheets of one chart share.

    `counted` says whether runs show how many knots they have. `revises` is the map code of the chart whose sheets these
    sheets replace, or empty if they are a whole chart. `facts` are what the figures tell the sheets.
    """

    book: Book
    knot_map: KnotMap
    layout: Layout
    palette: Palette
    facts: CoverFacts
    counted: bool
    revises: str = ""


def draw_header(chart: Chart, sheet: Sheet, page: GridPage, *, legend: bool = False) -> None:
    """Draw the head of a grid sheet, or of the sheet with its legend: the rug, the map code, where it belongs."""
    layout, knot_map = chart.layout, chart.knot_map
    box = layout.frame.header
    own_number = page.number if not legend or page.legend_number is None else page.legend_number
    code_width = draw_identity(sheet, box, knot_map, own_number, layout.sheets)
    free = box.width_mm - code_width - 4
    name: str = field("name", knot_map.rug.name)
    if chart.revises:
        name = told("Replaces sheet {sheet} of map {map} · {name}", sheet=own_number, map=chart.revises, name=name)
    sheet.text(box.x_mm, box.top_mm - 4, name, 11, bold=True, most_mm=free, tag="heading")
    where = [
        told("Strip {strip} of {strips}", strip=page.strip + 1, strips=len(layout.strips)),
        told("step {step} of {steps}", step=page.step + 1, steps=layout.steps),
    ]
    if len(layout.seats) > 1:
        where.insert(1, _seat_words(layout, page.columns))
    if page.parts > 1:
        where.append(told("part {part} of {parts}", part=page.part + 1, parts=page.parts))
    length = sheet.text(box.x_mm, box.top_mm - 9, joined(" · ", where), 8.5, bold=True, most_mm=free, tag="strip")
    cells = extent_words(page.rows, page.columns)
    if legend:
        words = told("Yarns of sheet {sheet}: {cells}", sheet=page.number, cells=cells)
        sheet.text(box.x_mm, box.top_mm - 12.8, words, 8, most_mm=box.width_mm, tag="extent")
        return
    measure = _measure(chart)
    natural_mm = chart.book.lettering.width(measure) * 6.2 / POINTS_PER_MM + 4
    one_line = box.width_mm - length > 75 + natural_mm
    room_mm = box.width_mm / 2 if one_line else box.width_mm - chart.book.lettering.width(cells) * 8 / POINTS_PER_MM - 1
    measure_mm = min(natural_mm, room_mm)
    y = box.top_mm - (9 if one_line else 12.8)
    size_pt = 6.2 * min(1.0, max(0.8, measure_mm / natural_mm))
    sheet.text(box.right_mm, y, measure, size_pt, align="right", most_mm=measure_mm, tag="measure")
    if one_line:
        sheet.text(box.x_mm + length + 5, box.top_mm - 9, cells, 8.5, most_mm=70, tag="extent")
        y = box.top_mm - 12.8
    else:
        sheet.text(box.x_mm, box.top_mm - 12.8, cells, 8, most_mm=box.width_mm - measure_mm, tag="extent")
        y = box.top_mm - 15.8
    _draw_use(chart, sheet, page, y)


def _seat_words(layout: Layout, columns: range) -> Told:
    """Return whose columns these are: one weaver's, with that weaver's strips, or several weavers'."""
    own = seats_on(layout.seats, columns)
    weavers = len(layout.seats)
    if len(own) > 1:
        words = "weavers {weaver} to {last_weaver} of {weavers}"
        return told(words, weaver=own[0] + 1, last_weaver=own[-1] + 1, weavers=weavers)
    seat = layout.seats[own[0]]
    strips = [number for number, strip in enumerate(layout.strips, 1) if strip.start in seat and strip[-1] in seat]
    if len(strips) < 2:
        return told("weaver {weaver} of {weavers}", weaver=own[0] + 1, weavers=weavers)
    words = "weaver {weaver} of {weavers} (strips {own_first} to {own_last})"
    return told(words, weaver=own[0] + 1, weavers=weavers, own_first=strips[0], own_last=strips[-1])


def extent_words(rows: range, columns: range) -> Told:
    """Return ``rows 1–60 · columns 61–120`` for rows and columns counted from 0."""
    return told(
        "rows {first_row}–{last_row} · columns {first_column}–{last_column}",
        first_row=rows.start + 1,
        last_row=rows.stop,
        first_column=columns.start + 1,
        last_column=columns.stop,
    )


def _draw_use(chart: Chart, sheet: Sheet, page: GridPage, y: float) -> None:
    """Write how the sheet is read, what lies beside it, and how it is turned."""
    box = chart.layout.frame.header
    words: list[str] = [say("Weave upwards"), field("reading", say(READING[chart.layout.reading]))]
    if page.below is not None:
        words.append(told("below: sheet {below}", below=page.below))
    if page.above is not None:
        words.append(told("above: sheet {above}", above=page.above))
    elif chart.layout.mirrors.along and page.rows.stop == chart.layout.told_rows.stop:
        words.append(say("above: back over this sheet"))
    if page.left is not None:
        words.append(told("left: sheet {left}", left=page.left))
    if page.right is not None:
        words.append(told("right: sheet {right}", right=page.right))
    sheet.text(box.x_mm, y, joined(" · ", words), 6.2, colour=GREY, most_mm=box.width_mm, tag="beside")
    turning = turning_words(chart, page)
    if turning:
        gap = 3.0
        together = joined("   ", turning)
        fits = chart.book.lettering.width(together, bold=True) * 6.2 / POINTS_PER_MM <= box.width_mm
        most_mm = box.width_mm / NARROWEST  # a line too long for that is cut, and these must not be
        broken = [line for sentence in turning for line in sheet.wrapped(sentence, 6.2, most_mm, bold=True)]
        lines: list[str] = [together] if fits else broken
        for line in _unmirrored(chart, lines, box.width_mm):
            sheet.text(box.x_mm, y - gap, line, 6.2, bold=True, most_mm=box.width_mm, tag="turning")
            gap += TURNING_MM
    y = box.y_mm + FOOT_LINE_MM - 2.2
    if chart.counted:
        most_mm = box.width_mm / NARROWEST
        for line in reversed(sheet.wrapped(explained(chart.palette.marks), 6.2, most_mm)):
            sheet.text(box.x_mm, y, line, 6.2, most_mm=box.width_mm, tag="counted")
            y += FOOT_LINE_MM
    y = _draw_greys_and_lots(chart, sheet, page, y)
    if chart.knot_map.empty:
        sheet.text(box.x_mm, y, outside_words(chart.knot_map), 6.2, bold=True, most_mm=box.width_mm, tag="outside")


def _unmirrored(chart: Chart, lines: list[str], width_mm: float) -> list[str]:
    """Return the lines on the mirrored half, one of them with a word on the knot: the shortest, if none has room."""
    if not one_handed(chart.knot_map.rug):
        return lines
    long_mm = [chart.book.lettering.width(joined("   ", [line, say(SAME_KNOT)]), bold=True) for line in lines]
    room = (place for place, wide in enumerate(long_mm) if wide * 6.2 / POINTS_PER_MM <= width_mm)
    place = next(room, min(range(len(lines)), key=lambda place: long_mm[place]))
    return [*lines[:place], joined("   ", [lines[place], say(SAME_KNOT)]), *lines[place + 1 :]]


def _draw_greys_and_lots(chart: Chart, sheet: Sheet, page: GridPage, y: float) -> float:
    """Write which yarns of the sheet a copy without colour shows alike and which new lots begin on it, on one line.

    Yarns are counted where there is no room to name them. Return where the next line stands.
    """
    knot_map, layout, box = chart.knot_map, chart.layout, chart.layout.frame.header
    cells = knot_map.knots[page.rows.start : page.rows.stop, page.columns.start : page.columns.stop]
    groups = greys_of(knot_map, chart.palette.marks, cells)
    rows = range(page.rows.start + 1, page.rows.stop + 1)
    mirrored = again(page.rows, knot_map.rows) if layout.mirrors.along else range(0)
    back = range(mirrored.start + 1, mirrored.stop + 1)
    greys = [sheet_words(groups), short_words(groups)] if groups else [joined("", ())]
    lots = lots_among(chart.facts.lots, rows, back) or (joined("", ()),)
    if not any((*greys, *lots)):
        return y
    most = box.width_mm / NARROWEST * POINTS_PER_MM / 6.2
    each = [(grey, lot) for grey in greys for lot in lots]
    grey, lot = next((both for both in each if chart.book.lettering.width(_beside(*both), bold=True) <= most), each[-1])
    sheet.text(box.x_mm, y, _beside(grey, lot), 6.2, bold=True, most_mm=box.width_mm, tag="grey")
    return y + FOOT_LINE_MM


def _beside(*sentences: str) -> Told:
    return joined("   ", [sentence for sentence in sentences if sentence])


def outside_words(knot_map: KnotMap) -> str:
    """Return what shape the rug has, and what is woven outside it."""
    return say(OUTSIDE.get(knot_map.rug.shape, OUTSIDE["artwork"]), picks=say(EXTRA_PICKS))


def _measure(chart: Chart) -> Told:
    """Return what the rug should measure on the loom: its width, the rows in 10 cm, and where lengths count from."""
    facts = chart.facts
    along = float(chart.knot_map.rug.density.along_per_dm) / facts.loom_length_factor
    if facts.loom_width_mm is None:
        words = "10 cm on the loom = {loom_rows_per_dm:.1f} rows, counted from the first row of knots"
        return told(words, loom_rows_per_dm=along)
    words = (
        "on the loom {loom_width} cm wide, 10 cm along = {loom_rows_per_dm:.1f} rows; lengths count from the first row "
        "of knots"
    )
    return told(words, loom_width=cm_number(facts.loom_width_mm), loom_rows_per_dm=along)


def draw_identity(sheet: Sheet, box: Box, knot_map: KnotMap, number_: int, sheets: int, amounts: str = "") -> float:
    """Draw the map code and the sheet's number at the upper right of `box`, and return the width that they take.

    Sheets of an order bear the code of its `amounts` between the two.
    """
    words = told("sheet {sheet} of {sheets}", sheet=number_, sheets=sheets)
    width = 36.0 + (AMOUNTS_MM if amounts else 0.0)
    x, y = box.right_mm - width, box.top_mm - 6.2
    sheet.box(x, y, width, 6.2, edge_mm=0.25)
    if amounts:
        order = told("amounts {amounts}", amounts=amounts)
        sheet.text(x + 21, base_line(y + 3.1, 8), order, 8, bold=True, most_mm=AMOUNTS_MM - 3, tag="identity")
    sheet.text(x + 1.5, base_line(y + 3.1, 8), field("map", knot_map.map_code), 8, bold=True, tag="identity")
    x = box.right_mm - 1.2
    sheet.text(x, base_line(y + 3.1, 6.5), words, 6.5, align="right", most_mm=16, tag="identity")
    return width


def turning_words(chart: Chart, page: GridPage) -> list[str]:
    """Return how the sheet is used again for the mirrored half, a line for each direction."""
    layout = chart.layout
    words: list[str] = []
    if layout.mirrors.across:
        words.append(_columns_again(layout, page))
    if layout.mirrors.along:
        words.append(_rows_again(layout, page))
    return words


def _again(part: range, size: int) -> tuple[range, int | None]:
    """Return the rows or columns that mirror `part`, and its centre if it has one, which has no mirror image."""
    centre = size // 2 if size % 2 and size // 2 in part else None
    if centre is not None:  # at the end of the half that is printed
        part = range(part.start, centre) if centre != part.start else range(centre + 1, part.stop)
    return again(part, size), centre


def _columns_again(layout: Layout, page: GridPage) -> str:
    """Return which other columns the sheet serves, and whose they are."""
    other, centre = _again(page.columns, layout.columns)
    said: list[str] = []
    if other:
        first, last = other.start + 1, other.stop
        strip = next(number for number, columns in enumerate(layout.strips) if other.start in columns)
        like = layout.columns - other.start
        if strip == page.strip:
            said.append(told(COLUMNS_BACK, first=first, last=last, again=first, like=like))
        else:
            seats = seats_on(layout.seats, other)
            way = COLUMNS_OTHER if seats == seats_on(layout.seats, page.columns) else COLUMNS_NEXT
            fields = {"first": first, "last": last, "other": strip + 1, "again": first, "like": like}
            said.append(told(way, **fields, other_weaver=seats[0] + 1))
    if centre is not None:
        said.append(told(CENTRE_COLUMN, centre=centre + 1))
    return joined(" ", said)


def _rows_again(layout: Layout, page: GridPage) -> str:
    """Return which rows the sheet serves on the way back, and which sheet follows then."""
    other, centre = _again(page.rows, layout.rows)
    said: list[str] = []
    if other:
        like = layout.rows - other.start
        back = told(ROWS_AGAIN, first=other.start + 1, last=other.stop, again=other.start + 1, like=like)
        if page.below is not None:
            said.append(told("{back}, then sheet {then}.", back=back, then=page.below))
        else:
            said.append(told("{back}; it is the last.", back=back))
    if centre is not None:
        said.append(told(CENTRE_ROW, centre=centre + 1))
    return joined(" ", said)
