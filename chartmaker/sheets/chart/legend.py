"""The legend: which yarn each symbol and its colour stand for."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

from chartmaker.ground.colourwords import colour_words
from chartmaker.ground.errors import SheetError
from chartmaker.ground.language import say
from chartmaker.knots.knotmap import KnotMap
from chartmaker.paper import operators as op
from chartmaker.paper.document import POINTS_PER_MM
from chartmaker.paper.drawing import BLACK, GREY, MIDDLE_EM, WHITE, Sheet
from chartmaker.paper.operators import Colour
from chartmaker.paper.symbols import SYMBOL_FONT
from chartmaker.sheets.chart.cells import SYMBOL_SHARE, Palette
from chartmaker.sheets.chart.frame import ENTRY_HEIGHT_MM, FULL_ENTRY_MM, SHORT_ENTRY_MM, Box, Frame
from chartmaker.yarns.yarn import Yarn

SWATCH_MM = 3.8
#: An entry set close: swatch, code of six letters, knots.
CLOSE_ENTRY_MM, CLOSE_HEIGHT_MM = 17.7, 3.9
#: No entry is wider: what belongs to one yarn stands together.
MOST_ENTRY_MM = 70.0
#: The plain word for a colour beside the yarn's name, and the height of its pile.
SHADE_PT, SHADE_GAP_MM = 5.4, 2.0
#: How wide a figure is, in em (measured on the base font).
DIGIT_EM = 0.64


class Swatch(NamedTuple):
    """The key of a yarn's cell as it is drawn for a legend: by its place in the map, on a card by its code."""

    yarn: int | str
    side_mm: float

    @property
    def name(self) -> str:
        return f"Y{self.yarn}x{self.side_mm:g}"


def draw_symbol(sheet: Sheet, x_mm: float, y_mm: float, side_mm: float, glyph: int, colour: Colour = BLACK) -> None:
    """Draw one symbol of the book's font, from the lower left corner of its square."""
    ink = op.fill_colour(colour)
    begin = op.line(op.BEGIN_TEXT, ink, op.font(SYMBOL_FONT, side_mm), op.text_moved(x_mm, y_mm))
    sheet.add(op.line(begin, op.shown(op.glyph_string([glyph])), op.END_TEXT))


def draw_swatch(
    sheet: Sheet, x_mm: float, y_mm: float, side_mm: float, yarn: int, palette: Palette, *, key: str = ""
) -> None:
    """Draw a yarn's cell, as the chart prints it, from its lower left corner."""

    def draw(inner: Sheet) -> None:
        fill = palette.colours[yarn] if palette.coloured else WHITE
        inner.box(0, 0, side_mm, side_mm, fill=fill, edge=BLACK, edge_mm=0.12)
        if palette.marked:
            size = side_mm * SYMBOL_SHARE[palette.marks]
            shift = (side_mm - size) / 2
            draw_symbol(inner, shift, shift, size, int(palette.glyphs[yarn]), WHITE if palette.dark[yarn] else BLACK)

    sheet.form(Swatch(key or yarn, side_mm), x_mm, y_mm, side_mm + 1, side_mm + 1, draw)


def base_line(middle_mm: float, size_pt: float) -> float:
    """Return the base line of text whose capitals are to be centred at the height `middle_mm`."""
    return middle_mm - MIDDLE_EM * size_pt / POINTS_PER_MM


@lru_cache(maxsize=4)
def words_of(yarns: tuple[Yarn, ...]) -> tuple[str, ...]:
    """Return the plain word for the colour of each yarn, as legends have it beside the yarn's own name."""
    return colour_words([yarn.lab for yarn in yarns])


def draw_sheet_legend(
    sheet: Sheet,
    frame: Frame,
    knot_map: KnotMap,
    palette: Palette,
    on_sheet: Sequence[tuple[int, int]],
    heights: Sequence[str] = (),
) -> None:
    """Draw the legend of a grid sheet: its yarns with their knots on this sheet, by name as long as there is room."""
    named = len(on_sheet) <= frame.legend_room(FULL_ENTRY_MM)
    draw_entries(sheet, frame.legend, knot_map, palette, on_sheet, frame.legend_rows, named=named, heights=heights)


def draw_legend_sheet(
    sheet: Sheet,
    box: Box,
    knot_map: KnotMap,
    palette: Palette,
    entries: Sequence[tuple[int, int]],
    heights: Sequence[str] = (),
) -> None:
    """Draw (yarn, knots) entries into `box`, by name if there is room, else without, else close together.

    Set close, the smallest paper holds the most yarns that a map may have.
    """
    for pitch, height, named in (
        (FULL_ENTRY_MM, ENTRY_HEIGHT_MM, True),
        (SHORT_ENTRY_MM, ENTRY_HEIGHT_MM, False),
        (CLOSE_ENTRY_MM, CLOSE_HEIGHT_MM, False),
    ):
        rows = int(box.height_mm / height)
        if len(entries) <= rows * int(box.width_mm / pitch + 1e-6):
            measures = {"pitch_mm": pitch, "height_mm": height}
            draw_entries(sheet, box, knot_map, palette, entries, rows, named=named, heights=heights, **measures)
            return
    raise SheetError(
        say("the legend of {yarns} yarns does not fit a sheet; choose a larger [chart] paper", yarns=len(entries))
    )


def draw_entries(
    sheet: Sheet,
    box: Box,
    knot_map: KnotMap,
    palette: Palette,
    entries: Sequence[tuple[int, int]],
    rows: int,
    *,
    named: bool,
    heights: Sequence[str] = (),
    pitch_mm: float | None = None,
    height_mm: float = ENTRY_HEIGHT_MM,
) -> None:
    """Draw (yarn, knots) entries column by column from the upper left corner of `box`, `rows` to a column.

    `pitch_mm` is the least width of a column; the columns that are needed share what the box has more, so that names
    are whole where there is room. Entries that are given more height than usual are larger in all.
    """
    with sheet.tagged("legend"):
        _draw_entries(sheet, box, knot_map, palette, entries, rows, named, heights, pitch_mm, height_mm)


def _draw_entries(
    sheet: Sheet,
    box: Box,
    knot_map: KnotMap,
    palette: Palette,
    entries: Sequence[tuple[int, int]],
    rows: int,
    named: bool,
    heights: Sequence[str],
    pitch_mm: float | None,
    height_mm: float,
) -> None:
    scale = max(1.0, height_mm / ENTRY_HEIGHT_MM)
    least = pitch_mm if pitch_mm is not None else FULL_ENTRY_MM if named else SHORT_ENTRY_MM
    needed = max(1, min(int(box.width_mm / least + 1e-6), -(-len(entries) // rows)))
    pitch = min(box.width_mm / needed, MOST_ENTRY_MM * scale)
    swatch = min(SWATCH_MM * scale, height_mm - 0.5)
    size_pt, gap = (6.5 * scale, 2.5 * scale) if least > CLOSE_ENTRY_MM else (5.4, 1.2)
    widest = max((sheet.book.lettering.width(knot_map.yarns[yarn].code, bold=True) for yarn, _ in entries), default=0)
    before = swatch + max(12.4 * scale, gap * 0.4 + widest * size_pt / POINTS_PER_MM + 1.2)
    codes, names, knots = [], [], []
    for place, (yarn, tally) in enumerate(entries):
        column, row = divmod(place, rows)
        x = box.x_mm + column * pitch
        middle = box.top_mm - (row + 0.5) * height_mm
        words = f"{tally:,}"
        draw_swatch(sheet, x, middle - swatch / 2, swatch, yarn, palette)
        codes.append((x + swatch + gap * 0.4, base_line(middle, size_pt), knot_map.yarns[yarn].code))
        room = pitch - before - gap - (len(words) * DIGIT_EM * size_pt + size_pt / 2) / POINTS_PER_MM
        names.append((x + before, base_line(middle, 6 * scale), knot_map.yarns[yarn].name, room))
        knots.append((x + pitch - gap, base_line(middle, size_pt), words))
    sheet.labels(codes, size_pt, bold=True, tag="code")
    sheet.labels(knots, size_pt, align="right", tag="knots")
    if not named:
        return
    shades = words_of(knot_map.yarns)
    for (x, y, name, room), (yarn, _) in zip(names, entries, strict=True):
        used = sheet.text(x, y, name, 6 * scale, colour=GREY, most_mm=room, tag="name")
        for tag, words in (("shade", shades[yarn]), ("height", heights[yarn] if heights else "")):
            wide = sheet.book.lettering.width(words) * SHADE_PT * scale / POINTS_PER_MM
            if words and used + SHADE_GAP_MM + wide <= room:
                used += SHADE_GAP_MM
                used += sheet.text(x + used, y, words, SHADE_PT * scale, tag=tag)
