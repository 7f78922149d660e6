"""The legend on the front of a chart has a line for each yarn, with a place to tie a tuft of the yarn itself."""

from __future__ import annotations

from collections.abc import Sequence

from chartmaker.ground.language import say
from chartmaker.knots.knotmap import KnotMap
from chartmaker.paper.document import POINTS_PER_MM
from chartmaker.paper.drawing import GREY, PALE, Align, Sheet
from chartmaker.reports.coverfacts import CoverFacts
from chartmaker.sheets.chart.cells import Palette
from chartmaker.sheets.chart.frame import Box
from chartmaker.sheets.chart.legend import base_line, draw_shade, draw_swatch

#: The height and the width of a line; these and all that follow are before scaling.
ENTRY_MM, LEGEND_WIDTH_MM = 7.2, 90.0
#: Where the columns begin, from the left, and where the columns of figures end, from the right.
TUFT_AT_MM, CODE_AT_MM, NAME_GAP_MM = 7.4, 13.0, 2.0
KNOTS_AT_MM, SHARE_AT_MM = 24.0, 11.0
#: A ring of this size is the place to tie a tuft of the yarn itself.
TUFT_MM = 4.4


def draw_cover_legend(
    sheet: Sheet,
    knot_map: KnotMap,
    scale: float,
    palette: Palette,
    facts: CoverFacts,
    box: Box,
    yarns: Sequence[int],
    shape: tuple[int, int],
) -> None:
    """Draw the legend's entries in columns of equal height; `shape` says how many rows and columns `box` holds."""
    rows, columns = min(shape[0], -(-len(yarns) // shape[1])), shape[1]
    k = scale
    width = box.width_mm / columns
    step = ENTRY_MM * k
    name_at = _name_at_mm(sheet, knot_map, k)
    for start in range(0, len(yarns), max(1, rows)):
        x = box.x_mm + start // max(1, rows) * width
        end = width - 4 * k
        titles: tuple[tuple[float, str, Align], ...] = (
            (TUFT_AT_MM * k, say("tuft"), "left"),
            (CODE_AT_MM * k, say("code"), "left"),
            (name_at, say("yarn, its colour"), "left"),
            (end - KNOTS_AT_MM * k, say("knots"), "right"),
            (end - SHARE_AT_MM * k, say("share"), "right"),
            (end, say("grams"), "right"),
        )
        y = box.top_mm - step
        for shift, words, align in titles:
            sheet.text(x + shift, y + 1.4 * k, words, 6 * k, colour=GREY, align=align)
        sheet.line(x, y, x + width - 4 * k, y, 0.3)
        for yarn in yarns[start : start + rows]:
            y -= step
            with sheet.tagged("legend"):
                _draw_yarn(sheet, knot_map, palette, facts, yarn, Box(x, y, width, step), k, name_at)
            sheet.line(x, y, x + width - 4 * k, y, 0.06, colour=PALE)


def _name_at_mm(sheet: Sheet, knot_map: KnotMap, k: float) -> float:
    """Return where names begin, which is behind the widest code, because codes are never cut."""
    widest = max(sheet.book.lettering.width(yarn.code, bold=True) for yarn in knot_map.yarns)
    return (CODE_AT_MM + max(8.0, widest * 7.6 / POINTS_PER_MM) + NAME_GAP_MM) * k


def _draw_yarn(
    sheet: Sheet, knot_map: KnotMap, palette: Palette, facts: CoverFacts, index: int, box: Box, k: float, name_at: float
) -> None:
    """Draw a line of the legend: swatch, ring, code, name, knots, share and grams, and below them colour and height."""
    yarn, width = knot_map.yarns[index], box.width_mm
    middle = box.y_mm + box.height_mm / 2
    upper, lower = base_line(middle + 1.4 * k, 7.2 * k), base_line(middle - 1.8 * k, 5.8 * k)
    side, grams = box.height_mm - 1.6 * k, facts.grams[index] if facts.grams else None
    knots, share = f"{knot_map.counts[index]:,}", f"{knot_map.percents[index]:.2f} %"
    draw_swatch(sheet, box.x_mm + 0.8, middle - side / 2, side, index, palette)
    sheet.ring(box.x_mm + TUFT_AT_MM * k + TUFT_MM * k / 2, middle, TUFT_MM * k / 2, colour=GREY)
    sheet.text(box.x_mm + CODE_AT_MM * k, base_line(middle, 7.6 * k), yarn.code, 7.6 * k, bold=True, tag="code")
    x, end = box.x_mm + name_at, box.x_mm + width - 4 * k
    figures = sheet.book.lettering.width(knots) * 7.2 * k / POINTS_PER_MM
    room = end - KNOTS_AT_MM * k - figures - 1.5 * k - x
    sheet.text(x, upper, yarn.name, 7.2 * k, most_mm=room, tag="name")
    used = draw_shade(sheet, x, lower, knot_map.yarns, index, 5.8 * k, end - x) + 1.5 * k
    if facts.heights:
        sheet.text(x + used, lower, facts.heights[index], 5.8 * k, most_mm=end - x - used, tag="height")
    told_grams = "–" if grams is None else f"{grams:,.0f}"
    for words, from_end, tag in (
        (knots, KNOTS_AT_MM, "knots"),
        (share, SHARE_AT_MM, "share"),
        (told_grams, 0, "grams"),
    ):
        sheet.text(end - from_end * k, upper, words, 7.2 * k, align="right", tag=tag)
