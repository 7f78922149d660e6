"""The legend on the front of a chart: a line a yarn, with the place to tie a tuft of the yarn itself."""

from __future__ import annotations

from collections.abc import Sequence

from chartmaker.ground.language import say
from chartmaker.knots.knotmap import KnotMap
from chartmaker.paper.document import POINTS_PER_MM
from chartmaker.paper.drawing import GREY, PALE, Align, Sheet
from chartmaker.reports.coverfacts import CoverFacts
from chartmaker.sheets.chart.cells import Palette
from chartmaker.sheets.chart.frame import Box
from chartmaker.sheets.chart.legend import base_line, draw_swatch, words_of

#: The height of a line, its width, and where a yarn's name begins, all before scaling.
ENTRY_MM, LEGEND_WIDTH_MM, NAME_MM = 7.2, 90.0, 27.0
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
    """Draw the legend's entries in columns of equal height; `shape` is how many rows and columns `box` holds."""
    rows, columns = min(shape[0], -(-len(yarns) // shape[1])), shape[1]
    k = scale
    width = box.width_mm / columns
    step = ENTRY_MM * k
    for start in range(0, len(yarns), max(1, rows)):
        x = box.x_mm + start // max(1, rows) * width
        titles: tuple[tuple[float, str, Align], ...] = (
            (7.8 * k, say("tuft"), "left"),
            (14.5 * k, say("code"), "left"),
            (NAME_MM * k, say("yarn, its colour"), "left"),
            (width - 33 * k, say("knots"), "right"),
            (width - 17.5 * k, say("share"), "right"),
            (width - 4 * k, say("grams"), "right"),
        )
        y = box.top_mm - step
        for shift, words, align in titles:
            sheet.text(x + shift, y + 1.4 * k, words, 6 * k, colour=GREY, align=align)
        sheet.line(x, y, x + width - 4 * k, y, 0.3)
        for yarn in yarns[start : start + rows]:
            y -= step
            with sheet.tagged("legend"):
                _draw_yarn(sheet, knot_map, palette, facts, yarn, Box(x, y, width, step), k)
            sheet.line(x, y, x + width - 4 * k, y, 0.06, colour=PALE)


def _draw_yarn(
    sheet: Sheet, knot_map: KnotMap, palette: Palette, facts: CoverFacts, index: int, box: Box, k: float
) -> None:
    """Draw a line of the legend: swatch, place for a tuft, code, name over colour and height, knots, share, grams."""
    yarn, width = knot_map.yarns[index], box.width_mm
    middle = box.y_mm + box.height_mm / 2
    base, side = base_line(middle, 7.6 * k), box.height_mm - 1.6 * k
    grams = facts.grams[index] if facts.grams else None
    knots = f"{knot_map.counts[index]:,}"
    draw_swatch(sheet, box.x_mm + 0.8, middle - side / 2, side, index, palette)
    sheet.ring(box.x_mm + 7.8 * k + TUFT_MM * k / 2, middle, TUFT_MM * k / 2, colour=GREY)
    sheet.text(box.x_mm + 14.5 * k, base, yarn.code, 7.6 * k, bold=True, tag="code")
    x, end = box.x_mm + NAME_MM * k, width - 34 * k - sheet.book.lettering.width(knots) * 7.6 * k / POINTS_PER_MM
    room = end - NAME_MM * k
    sheet.text(x, base_line(middle + 1.4 * k, 7.2 * k), yarn.name, 7.2 * k, most_mm=room, tag="name")
    under = base_line(middle - 1.7 * k, 5.8 * k)
    used = sheet.text(x, under, words_of(knot_map.yarns)[index], 5.8 * k, most_mm=room, tag="shade")
    if facts.heights:
        sheet.text(
            x + used + 1.5 * k, under, facts.heights[index], 5.8 * k, most_mm=width - 46 * k - used, tag="height"
        )
    sheet.text(box.x_mm + width - 33 * k, base, knots, 7.6 * k, align="right", tag="knots")
    share = f"{knot_map.percents[index]:.2f} %"
    sheet.text(box.x_mm + width - 17.5 * k, base, share, 7.6 * k, align="right", tag="share")
    told_grams = "–" if grams is None else f"{grams:,.0f}"
    sheet.text(box.x_mm + width - 4 * k, base, told_grams, 7.6 * k, align="right", tag="grams")
