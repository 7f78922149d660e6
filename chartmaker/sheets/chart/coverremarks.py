"""What the cover of a chart warns of in a box, and what it has settled before weaving."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from chartmaker.ground.language import say, wrapped_words
from chartmaker.knots.knotmap import KnotMap
from chartmaker.order.workshop import Chart
from chartmaker.paper.drawing import Sheet
from chartmaker.reports.coverfacts import CoverFacts
from chartmaker.reports.settled import settled_lines
from chartmaker.sheets.chart.frame import Box
from chartmaker.sheets.chart.greys import cover_words, greys_of

#: The height of a line of warnings, and what a letter of them takes at most on average.
WARNED_MM, WARNED_LETTER_MM = 3.9, 1.75
#: What is to be settled leaves at least this share of their height to the pictures, and has at least so many lines.
PICTURES_LEFT, LEAST_SETTLED = 0.5, 3


def warnings_of(knot_map: KnotMap, chart: Chart, facts: CoverFacts) -> tuple[str, ...]:
    """Return what the box on the cover warns of: what changes a weight, and what a copy without colour hides."""
    groups = greys_of(knot_map, chart.marks)
    return (*facts.warnings, *(lot.words for lot in facts.lots), *([cover_words(groups)] if groups else []))


def warned_lines(warnings: Sequence[str], width_mm: float, scale: float) -> list[str]:
    """Return the warnings in lines that are as long as the box for them holds."""
    letters = int((width_mm - 6 * scale) / (WARNED_LETTER_MM * scale))
    return [line for warning in warnings for line in wrapped_words(warning, letters)]


def draw_warnings(sheet: Sheet, box: Box, warnings: Sequence[str], k: float) -> None:
    """Draw, in a box, what must be looked at before yarn is weighed out or dyed."""
    if not warnings:
        return
    sheet.box(box.x_mm, box.y_mm + 1.2 * k, box.width_mm, box.height_mm - 1.5 * k, edge_mm=0.5)
    y = box.top_mm - 0.8 * k
    for line in warned_lines(warnings, box.width_mm, k):
        y -= WARNED_MM * k
        sheet.text(box.x_mm + 3 * k, y + 0.6 * k, line, 7.6 * k, most_mm=box.width_mm - 6 * k, tag="warned")


def draw_settled(sheet: Sheet, settle: Sequence[str], picture: Box, page_map: Box, k: float) -> tuple[Box, Box]:
    """Draw what is to be settled before weaving above the pictures, and return what is left for the two.

    The pictures give the room, so that the number of sheets never depends on remarks that only the artwork can tell.
    What does not fit is counted, and none is cut.
    """
    if not settle:
        return picture, page_map
    line_mm, width = WARNED_MM * k, page_map.right_mm - picture.x_mm
    most = max(LEAST_SETTLED, int((picture.height_mm * (1 - PICTURES_LEFT) - 2 * k) / line_mm))
    printed = settled_lines(settle, most, lambda words: warned_lines([words], width + 6 * k, k))
    y = picture.top_mm - line_mm + 0.6 * k
    sheet.text(picture.x_mm, y, say("To settle before weaving"), 7.6 * k, bold=True, most_mm=width, tag="settle")
    for line in printed:
        y -= line_mm
        sheet.text(picture.x_mm, y, line, 7.6 * k, most_mm=width, tag="settle")
    taken = (len(printed) + 1) * line_mm + 2 * k
    less, less_map = (replace(box, height_mm=box.height_mm - taken) for box in (picture, page_map))
    return less, less_map
