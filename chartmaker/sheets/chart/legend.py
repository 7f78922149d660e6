"""The legend says which yarn each symbol and colour stand for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from chartmaker.ground.colourwords import words_apart
from chartmaker.ground.errors import SheetError
from chartmaker.ground.language import say, told
from chartmaker.knots.knotmap import KnotMap
from chartmaker.knots.mirrors import Mirrors
from chartmaker.paper import operators as op
from chartmaker.paper.document import POINTS_PER_MM
from chartmaker.paper.drawing import BLACK, GREY, MIDDLE_EM, NARROWEST, WHITE, Sheet
from chartmaker.paper.operators import Colour
from chartmaker.paper.symbols import SYMBOL_FONT
from chartmaker.sheets.chart.cells import SYMBOL_SHARE, Palette
from chartmaker.sheets.chart.frame import ENTRY_HEIGHT_MM, FULL_ENTRY_MM, Box, Frame, least_entry_mm
from chartmaker.yarns.yarn import Yarn

SWATCH_MM = 3.8
#: An entry set close: swatch, code of six letters, knots; below the colour in a plain word.
CLOSE_ENTRY_MM, CLOSE_HEIGHT_MM = 17.7, 3.9
#: What an entry set close takes more where the heights of the pile stand in it too.
CLOSE_UNEVEN_MM = 19.0
#: No entry is wider than this, so that what belongs to one yarn stands together.
MOST_ENTRY_MM = 70.0
#: So many times larger are the entries of a grid sheet where there is room.
LARGER = (1.3, 1.2, 1.1)
#: The plain word for a colour and the height of its pile stand below code and name; so small is read at arm's length.
SHADE_PT, CLOSE_SHADE_PT, SHADE_GAP_MM = 5.0, 4.4, 1.5
#: The middles of the two lines of an entry, above and below its own, as shares of its height.
UPPER, LOWER = 0.225, -0.25
#: How often a sheet is used stands above its legend, in the gap below the column numbers.
USES_PT, USES_ABOVE_MM = 5.5, 0.4
#: The width of a figure, in em (measured on the base font).
DIGIT_EM = 0.64


class Swatch(NamedTuple):
    """The key of a yarn's cell as it is drawn for a legend, by its place in the map or, on a card, by its code."""

    yarn: int | str
    side_mm: float

    @property
    def name(self) -> str:
        return f"Y{self.yarn}x{self.side_mm:g}"


def draw_symbol(sheet: Sheet, x_mm: float, y_mm: float, side_mm: float, glyph: int, colour: Colour = BLACK) -> None:
    """Draw one symbol of the book's font in a square with the given lower left corner."""
    ink = op.fill_colour(colour)
    begin = op.line(op.BEGIN_TEXT, ink, op.font(SYMBOL_FONT, side_mm), op.text_moved(x_mm, y_mm))
    sheet.add(op.line(begin, op.shown(op.glyph_string([glyph])), op.END_TEXT))


def draw_swatch(
    sheet: Sheet, x_mm: float, y_mm: float, side_mm: float, yarn: int, palette: Palette, *, key: str = ""
) -> None:
    """Draw a yarn's cell as the chart prints it, with the given lower left corner."""

    def draw(inner: Sheet) -> None:
        fill = palette.colours[yarn] if palette.coloured else WHITE
        inner.box(0, 0, side_mm, side_mm, fill=fill, edge=BLACK, edge_mm=0.12)
        if palette.marked:
            size = side_mm * SYMBOL_SHARE[palette.marks]
            shift = (side_mm - size) / 2
            draw_symbol(inner, shift, shift, size, int(palette.glyphs[yarn]), WHITE if palette.dark[yarn] else BLACK)

    sheet.form(Swatch(key or yarn, side_mm), x_mm, y_mm, side_mm + 1, side_mm + 1, draw)


def base_line(middle_mm: float, size_pt: float) -> float:
    """Return the base line that centres the capitals of a text at the height `middle_mm`."""
    return middle_mm - MIDDLE_EM * size_pt / POINTS_PER_MM


def draw_shade(
    sheet: Sheet, x_mm: float, y_mm: float, yarns: Sequence[Yarn], index: int, size_pt: float, most_mm: float
) -> float:
    """Draw the word that tells the colour of one of the rug's `yarns` from the others', and return its width."""
    word = words_apart(tuple(yarn.lab for yarn in yarns))[index]
    with sheet.tagged("shade", {"Word": word.numbers}):
        return sheet.text(x_mm, y_mm, word.told, size_pt, most_mm=most_mm)


def draw_uses(sheet: Sheet, box: Box, mirrors: Mirrors) -> None:
    """Say above the legend in `box` that a sheet which is woven several times counts its knots once."""
    if mirrors.across or mirrors.along:
        words = told(
            "Knots of the first of the {times} uses of this sheet", times=2 ** (mirrors.across + mirrors.along)
        )
        sheet.text(box.x_mm, box.top_mm + USES_ABOVE_MM, words, USES_PT, most_mm=box.width_mm, tag="uses")


def draw_sheet_legend(
    sheet: Sheet,
    frame: Frame,
    knot_map: KnotMap,
    palette: Palette,
    on_sheet: Sequence[tuple[int, int]],
    heights: Sequence[str] = (),
) -> None:
    """Draw the legend of a grid sheet: its yarns with their knots on this sheet, by name as long as there is room.

    Where the sheet leaves more room than that takes, the entries are larger.
    """
    named = len(on_sheet) <= frame.legend_room(FULL_ENTRY_MM)
    least = FULL_ENTRY_MM if named else frame.entry_mm
    setting = Setting(frame.legend_rows, least, named=named)
    for scale in LARGER:
        rows = int(frame.legend.height_mm / (ENTRY_HEIGHT_MM * scale) + 1e-6)
        if len(on_sheet) <= rows * int(frame.legend.width_mm / (least * scale) + 1e-6):
            setting = Setting(rows, least * scale, ENTRY_HEIGHT_MM * scale, named=named)
            break
    draw_entries(sheet, frame.legend, knot_map, palette, on_sheet, setting, heights)


def draw_legend_sheet(
    sheet: Sheet,
    box: Box,
    knot_map: KnotMap,
    palette: Palette,
    entries: Sequence[tuple[int, int]],
    heights: Sequence[str] = (),
) -> None:
    """Draw (yarn, knots) entries into `box`, by name if there is room, else without, else close together.

    Set close, the smallest paper holds the most yarns that a map may have, if all have one height of pile.
    """
    for pitch, height, named in (
        (FULL_ENTRY_MM, ENTRY_HEIGHT_MM, True),
        (least_entry_mm(uneven=bool(heights)), ENTRY_HEIGHT_MM, False),
        (CLOSE_ENTRY_MM + (CLOSE_UNEVEN_MM if heights else 0), CLOSE_HEIGHT_MM, False),
    ):
        rows = int(box.height_mm / height)
        if len(entries) <= rows * int(box.width_mm / pitch + 1e-6):
            setting = Setting(rows, pitch, height, named=named)
            draw_entries(sheet, box, knot_map, palette, entries, setting, heights)
            return
    raise SheetError(
        say("the legend of {yarns} yarns does not fit a sheet; choose a larger [chart] paper", yarns=len(entries))
    )


@dataclass(frozen=True, slots=True)
class Setting:
    """How the entries of a legend are set: `rows` to a column of at least `pitch_mm`, each `height_mm` high."""

    rows: int
    pitch_mm: float
    height_mm: float = ENTRY_HEIGHT_MM
    named: bool = True

    @property
    def close(self) -> bool:
        return self.height_mm < ENTRY_HEIGHT_MM

    @property
    def scale(self) -> float:
        return max(1.0, self.height_mm / ENTRY_HEIGHT_MM)


def draw_entries(
    sheet: Sheet,
    box: Box,
    knot_map: KnotMap,
    palette: Palette,
    entries: Sequence[tuple[int, int]],
    setting: Setting,
    heights: Sequence[str] = (),
) -> None:
    """Draw (yarn, knots) entries column by column from the upper left corner of `box`.

    The columns that are needed share what the box has more, so that names are whole where there is room. Entries that
    are given more height than usual are larger in all.
    """
    with sheet.tagged("legend"):
        _draw_entries(sheet, box, knot_map, palette, entries, setting, heights)


def _draw_entries(
    sheet: Sheet,
    box: Box,
    knot_map: KnotMap,
    palette: Palette,
    entries: Sequence[tuple[int, int]],
    setting: Setting,
    heights: Sequence[str],
) -> None:
    """Draw each entry in two lines: code, name and knots above; the plain word for the colour and the heights below.

    The word stands below the name, whose column it keeps to. Heights, or an entry without a name, begin below the code.
    """
    rows, high, k = setting.rows, setting.height_mm, setting.scale
    needed = max(1, min(int(box.width_mm / setting.pitch_mm + 1e-6), -(-len(entries) // rows)))
    pitch = min(box.width_mm / needed, MOST_ENTRY_MM * k)
    swatch = min(SWATCH_MM * k, high - 0.5)
    size_pt, shade_pt, gap = (5.4, CLOSE_SHADE_PT, 1.2) if setting.close else (6.5 * k, SHADE_PT * k, 2.5 * k)
    widest = max((sheet.book.lettering.width(knot_map.yarns[yarn].code, bold=True) for yarn, _ in entries), default=0)
    name_at = swatch + max(12.4 * k, gap * 0.4 + widest * size_pt / POINTS_PER_MM + 1.2)
    codes, knots = [], []
    for place, (yarn, tally) in enumerate(entries):
        column, row = divmod(place, rows)
        x, words = box.x_mm + column * pitch, f"{tally:,}"
        middle = box.top_mm - (row + 0.5) * high
        upper, lower = middle + UPPER * high, middle + LOWER * high
        draw_swatch(sheet, x, middle - swatch / 2, swatch, yarn, palette)
        begin, end = x + swatch + gap * 0.4, x + pitch - gap
        codes.append((begin, base_line(upper, size_pt), knot_map.yarns[yarn].code))
        knots.append((end, base_line(upper, size_pt), words))
        if setting.named:
            room = end - x - name_at - (len(words) * DIGIT_EM * size_pt + size_pt / 2) / POINTS_PER_MM
            y = base_line(upper, 6 * k)
            sheet.text(x + name_at, y, knot_map.yarns[yarn].name, 6 * k, colour=GREY, most_mm=room, tag="name")
        tall = heights[yarn] if heights else ""
        begin = x + name_at if setting.named and not tall else begin
        y, room = base_line(lower, shade_pt), end - begin
        share = room - SHADE_GAP_MM - _narrowest_mm(sheet, tall, shade_pt) if tall else room
        used = draw_shade(sheet, begin, y, knot_map.yarns, yarn, shade_pt, share) + SHADE_GAP_MM
        if tall:
            sheet.text(begin + used, y, tall, shade_pt, most_mm=room - used, tag="height")
    sheet.labels(codes, size_pt, bold=True, tag="code")
    sheet.labels(knots, size_pt, align="right", tag="knots")


def _narrowest_mm(sheet: Sheet, words: str, size_pt: float) -> float:
    """Return how little room words take before they are cut."""
    return NARROWEST * sheet.book.lettering.width(words) * size_pt / POINTS_PER_MM
