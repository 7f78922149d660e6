"""The chart of a set read back: every cell's colour, every symbol, the words at the head of each sheet."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.language import counted
from chartmaker.knots.knotmap import KnotMap
from chartmaker.order.workshop import Chart, Workshop
from chartmaker.paper.symbols import FIRST_CODE, symbols_of
from chartmaker.reports.coverfacts import CoverFacts
from chartmaker.sheets.chart.chart import plan_chart
from chartmaker.sheets.chart.layout import Frame, GridPage, Layout
from chartmaker.verify.difference import cells_words
from chartmaker.verify.pdfpages import SheetReader, Symbols, sheets_of
from chartmaker.yarns.yarn import srgb_of

#: A cell is at least so many pixels wide where its colour is looked at.
CELL_PX = 5
#: What rounding may shift a painted colour.
MOST_OFF = 2


def chart_differences(data: bytes, knot_map: KnotMap, workshop: Workshop, facts: CoverFacts) -> Iterator[str]:
    """Yield how chart.pdf differs from the map, in sentences that name the sheet.

    Raises
    ------
    ValueError
        If it is no PDF.
    """
    _, layout = plan_chart(knot_map, workshop, facts)
    pages: dict[int, GridPage | None] = dict.fromkeys(range(1, layout.sheets + 1))
    pages |= {page.number: page for page in layout.pages}
    front: list[str] = []
    read = 0
    for number, sheet in zip(itertools.count(1), sheets_of(data), strict=False):
        read = number
        if number > layout.sheets:
            continue
        texts = sheet.texts
        if number <= layout.front_sheets:
            front += texts
        yield from (f"sheet {number}: {words}" for words in _heads(texts, knot_map, layout, number, pages[number]))
        if (page := pages[number]) is not None:
            yield from (
                f"sheet {number}: {words}" for words in _cells(sheet, knot_map, workshop.chart, layout.frame, page)
            )
    if read != layout.sheets:
        yield f"has {counted(read, 'sheet')}, the map's chart {layout.sheets}"
    yield from _legend(front, knot_map)


def _heads(texts: list[str], knot_map: KnotMap, layout: Layout, number: int, page: GridPage | None) -> Iterator[str]:
    said = [text.strip() for text in texts]
    wanted = [knot_map.map_code]
    if page is not None:
        wanted.append(
            f"rows {page.rows.start + 1}–{page.rows.stop} · columns {page.columns.start + 1}–{page.columns.stop}"
        )
    yield from (f"does not say {words!r}" for words in wanted if words not in said)
    if not any(f"sheet {number} of {layout.sheets}" in words for words in said):
        yield f"does not say that it is sheet {number} of {layout.sheets}"


def _legend(texts: list[str], knot_map: KnotMap) -> Iterator[str]:
    """Yield which yarns the legend lacks, or gives other knots."""
    said = [text.strip() for text in texts]
    codes = {yarn.code for yarn in knot_map.yarns}
    for yarn, knots in zip(knot_map.yarns, knot_map.counts.tolist(), strict=True):
        entries = [index for index, text in enumerate(said) if text == yarn.code]
        if not entries:
            yield f"the legend lacks {yarn.code}"
            continue
        entry = itertools.takewhile(lambda text: text not in codes, said[entries[-1] + 1 :])
        if f"{knots:,}" not in entry:
            yield f"the legend does not give {yarn.code} its {counted(knots, 'knot')}"


def _cells(sheet: SheetReader, knot_map: KnotMap, chart: Chart, frame: Frame, page: GridPage) -> Iterator[str]:
    cells = knot_map.knots[page.rows.start : page.rows.stop, page.columns.start : page.columns.stop]
    marks = chart.marks
    corner = page.rows.start, page.columns.start
    if marks != "colour":
        codes = np.append(symbols_of(knot_map.yarns).astype(np.int64) + FIRST_CODE, 0)
        wanted = codes[np.minimum(cells, len(knot_map.yarns))]
        found = _placed(sheet.symbols, frame, wanted.shape)
        wrong = found != wanted
        if chart.counts:  # of a counted run only the first cell bears its symbol
            wrong[:, 1:] &= ~((found[:, 1:] == 0) & (cells[:, 1:] == cells[:, :-1]))
        if words := cells_words(wrong, "without their yarn's symbol", *corner):
            yield words
    if marks != "symbol":
        colours = np.vstack([srgb_of(knot_map.yarns), [[255, 255, 255]]]).astype(np.int16)
        wanted = colours[np.minimum(cells, len(knot_map.yarns))]
        off = np.abs(_colours(sheet, frame, cells.shape).astype(np.int16) - wanted).max(axis=-1) > MOST_OFF
        if words := cells_words(off, "painted in another colour than their yarn's", *corner):
            yield words


def _placed(symbols: Symbols, frame: Frame, shape: tuple[int, ...]) -> NDArray[np.int64]:
    """Return the code of the symbol in each cell, 0 where there is none, -1 where there are several."""
    row = np.floor((symbols.y_mm - frame.grid.y_mm) / frame.cell_height_mm + 1e-6).astype(np.int64)
    column = np.floor((symbols.x_mm - frame.grid.x_mm) / frame.cell_width_mm + 1e-6).astype(np.int64)
    inside = (row >= 0) & (row < shape[0]) & (column >= 0) & (column < shape[1])
    found = np.zeros(shape, dtype=np.int64)
    found[row[inside], column[inside]] = symbols.code[inside]
    several = np.zeros(shape, dtype=np.int64)
    np.add.at(several, (row[inside], column[inside]), 1)
    found[several > 1] = -1
    return found


def _colours(sheet: SheetReader, frame: Frame, shape: tuple[int, ...]) -> NDArray[np.uint8]:
    """Return the colour painted at the middle of each cell, row 0 lowest, shape (rows, columns, 3)."""
    px_per_mm = CELL_PX / min(frame.cell_width_mm, frame.cell_height_mm)
    picture = sheet.painted(px_per_mm)
    scale_y, scale_x = picture.shape[0] / frame.paper.height_mm, picture.shape[1] / frame.paper.width_mm
    x = (frame.grid.x_mm + (np.arange(shape[1]) + 0.5) * frame.cell_width_mm) * scale_x
    y = picture.shape[0] - (frame.grid.y_mm + (np.arange(shape[0]) + 0.5) * frame.cell_height_mm) * scale_y
    return np.asarray(picture[np.ix_(y.astype(np.intp), x.astype(np.intp))])
