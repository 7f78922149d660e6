"""The knot chart is written as a PDF."""

from __future__ import annotations

from typing import BinaryIO

import numpy as np

from chartmaker.ground.errors import SheetError
from chartmaker.ground.language import say
from chartmaker.ground.progress import SILENT, Progress
from chartmaker.knots.changes import setting_changes
from chartmaker.knots.knotmap import KnotMap
from chartmaker.knots.mapfile import MapFile
from chartmaker.knots.mirrors import Mirrors, mirrors_of
from chartmaker.knots.strips import strips_of
from chartmaker.order.workshop import Workshop
from chartmaker.paper.drawing import Book
from chartmaker.reports.coverfacts import CoverFacts
from chartmaker.sheets.chart.cells import palette_of
from chartmaker.sheets.chart.counting import counted
from chartmaker.sheets.chart.cover import (
    Cover,
    cover_of,
    draw_front,
    reading_lines,
    rug_lines,
    told_strips,
)
from chartmaker.sheets.chart.coverremarks import warnings_of
from chartmaker.sheets.chart.frame import RULER_MM, Box, chosen_frame
from chartmaker.sheets.chart.gridsheets import draw_grid_page, draw_rulers
from chartmaker.sheets.chart.heads import Chart, draw_header
from chartmaker.sheets.chart.layout import GridPage, Layout, layout_of, yarns_on
from chartmaker.sheets.chart.legend import draw_legend_sheet, draw_uses
from chartmaker.sheets.chart.revised import Revised, draw_revision_sheet, looks_of, revised_sheets

#: It is called with the number of sheets done and the number of all sheets.
__all__ = ["CoverFacts", "revision_of", "write_chart"]


def write_chart(
    stream: BinaryIO,
    knot_map: KnotMap,
    workshop: Workshop,
    facts: CoverFacts | None = None,
    *,
    font_bytes: bytes | None = None,
    progress: Progress = SILENT,
    revises: MapFile | None = None,
) -> int:
    """Write the chart of `knot_map` as a PDF and return the number of its sheets.

    Sheets go to `stream` as they are finished, so that memory does not grow with their number.

    Parameters
    ----------
    stream : binary file object
    knot_map : KnotMap
    workshop : Workshop
        Its table `chart` says how the sheets look, and its weavers decide how many strips there are.
    facts : CoverFacts, optional
        The masses and the loom's data that the cover shows.
    font_bytes : bytes, optional
        The font file for letters that the built-in font lacks.
    progress : Progress, optional
        It counts the sheets.
    revises : MapFile, optional
        The map of a chart in use. Only the sheets that differ from it are written, after a sheet that says which ones
        to take out, and each of them has both map codes.

    Raises
    ------
    SheetError
        If the paper is unknown, the cells do not fit or cannot be read, a letter is in no font, or nothing differs
        from the map that is revised.
    RugError
        If the strips do not fit the rug.
    """
    facts = facts if facts is not None else CoverFacts()
    cover, layout = plan_chart(knot_map, workshop, facts)
    revised = None if revises is None else revision_of(revises, MapFile(knot_map, workshop), facts)
    pages = [page for page in layout.pages if revised is None or page.number in revised.numbers]
    palette = palette_of(knot_map.yarns, workshop.chart.marks)
    subject = say("Knot chart of map {map}", map=knot_map.map_code)
    with Book(stream, title=knot_map.rug.name, subject=subject, font_bytes=font_bytes) as book:
        book.use_symbols(palette.glyphs.tolist())
        if revised is not None:
            draw_revision_sheet(book, knot_map, layout, revised)
        old_code = "" if revised is None else revised.old_code
        draw_front(book, knot_map, workshop.chart, layout, cover, palette, facts, old_code)
        chart = Chart(book, knot_map, layout, palette, facts, counted(workshop.chart), old_code)
        strip = None
        for page in pages:
            outline = [] if page.strip == strip else [(0, say("Strip {strip}", strip=page.strip + 1))]
            strip = page.strip
            draw_grid_page(chart, page, [*outline, (1, _outline_words(page))])
            if page.legend_number is not None:
                _draw_legend_sheet(chart, page)
            progress.done(page.legend_number or page.number, of=layout.sheets)
    if revised is None:
        return layout.sheets
    return 1 + layout.front_sheets + sum(1 if page.legend_number is None else 2 for page in pages)


def plan_chart(knot_map: KnotMap, workshop: Workshop, facts: CoverFacts) -> tuple[Cover, Layout]:
    """Return the places on the cover and on the sheets of the chart of `knot_map`.

    Raises
    ------
    SheetError, RugError
        As `write_chart`.
    """
    settings = workshop.chart
    mirrors = Mirrors() if settings.whole else mirrors_of(knot_map.knots)
    paper = chosen_frame(knot_map, workshop, mirrors, lots=bool(facts.lots)).paper
    walks = len(told_strips(strips_of(knot_map.rug, workshop), mirrors, settings.reading))
    lines = len(rug_lines(knot_map, facts)) + len(reading_lines(settings)) + 4 + walks + len(facts.loom)
    ratio = float(knot_map.rug.woven_width_mm / knot_map.rug.woven_length_mm)
    cover = cover_of(paper, len(knot_map.yarns), lines, ratio, warnings_of(knot_map, settings, facts))
    return cover, layout_of(knot_map, workshop, cover.sheets, lots=bool(facts.lots))


def revision_of(old: MapFile, new: MapFile, facts: CoverFacts) -> Revised:
    """Return which sheets of the chart of `new` replace sheets of the chart of `old`.

    Raises
    ------
    SheetError
        If the maps are the same.
    """
    looks = looks_of(old.knot_map, new.knot_map)
    alike = old.knot_map.sha256 == new.knot_map.sha256 and np.array_equal(*looks)
    if alike and not setting_changes(old, new):
        words = "nothing has changed since map {map}, so there is no sheet to print"
        raise SheetError(say(words, map=old.knot_map.map_code))
    layouts = [plan_chart(each.knot_map, each.workshop, facts)[1] for each in (old, new)]
    return revised_sheets(old, new, *layouts)


def _outline_words(page: GridPage) -> str:
    first, last, step = page.rows.start + 1, page.rows.stop, page.step + 1
    if page.parts > 1:
        words = "Step {step}, part {part}: rows {first} to {last}"
        return say(words, step=step, part=page.part + 1, first=first, last=last)
    return say("Step {step}: rows {first} to {last}", step=step, first=first, last=last)


def _draw_legend_sheet(chart: Chart, page: GridPage) -> None:
    """Draw the legend of a grid sheet that has too many yarns to carry it itself."""
    frame, knot_map = chart.layout.frame, chart.knot_map
    assert page.legend_number is not None
    sheet = chart.book.sheet(frame.paper.width_mm, frame.paper.height_mm, str(page.legend_number))
    draw_header(chart, sheet, page, legend=True)
    cells = knot_map.knots[page.rows.start : page.rows.stop, page.columns.start : page.columns.stop]
    margin = frame.paper.margin_mm
    box = Box(
        margin + RULER_MM,
        margin + RULER_MM,
        frame.header.width_mm - RULER_MM,
        frame.header.y_mm - margin - RULER_MM - 2,
    )
    entries = yarns_on(cells, len(knot_map.yarns))
    draw_uses(sheet, box, chart.layout.mirrors)
    draw_legend_sheet(sheet, box, knot_map, chart.palette, entries, chart.facts.heights)
    draw_rulers(sheet, margin, frame.header.y_mm)
    sheet.done()
