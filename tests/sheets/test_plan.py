"""On the cover's plan every sheet has its number, large enough to be read and under no line."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from support.making import SettledMap, coloured_map

from chartmaker.order.workshop import Workshop
from chartmaker.paper import drawing
from chartmaker.paper.drawing import Book
from chartmaker.readback.printed import Block, Fill, Line, Text, extent_of, flat
from chartmaker.reports.coverfacts import CoverFacts
from chartmaker.sheets.chart import plan
from chartmaker.sheets.chart.cells import palette_of
from chartmaker.sheets.chart.chart import plan_chart
from chartmaker.sheets.chart.cover import draw_front
from chartmaker.sheets.chart.layout import Layout
from chartmaker.verify.expected import expected_of
from chartmaker.verify.plans import plan_differences
from chartmaker.verify.sheets import Paper, Sheet

COLOURS = np.array([[20, 30, 60], [200, 60, 50], [240, 230, 210]])


def _rug(rows: int, columns: int, weavers: int = 3, **chart: object) -> SettledMap:
    """Return a rug of so many weavers whose strips end in narrow parts."""
    workshop = Workshop.model_validate({"chart": {"cell": "3 mm", **chart}, "loom": {"weavers": weavers}})
    knots = np.arange(rows * columns).reshape(rows, columns) % 3
    return replace(coloured_map(knots, COLOURS, density=(40, 50)), workshop=workshop)


def _cover(knot_map: SettledMap) -> tuple[Sheet, Layout]:
    """Return the cover alone, and the layout of the sheets that it plans."""
    cover, layout = plan_chart(knot_map, knot_map.workshop, CoverFacts())
    palette, stream = palette_of(knot_map.yarns, "both"), io.BytesIO()
    with Book(stream, title="Trial") as book:
        book.use_symbols(palette.glyphs.tolist())
        draw_front(book, knot_map, knot_map.workshop.chart, layout, cover, palette, CoverFacts())
    return next(iter(Paper(stream.getvalue(), knot_map.knots.size).sheets())), layout


def _faults(knot_map: SettledMap) -> list[str]:
    sheet, layout = _cover(knot_map)
    places = {page.number: (page.rows, page.columns) for page in layout.pages}
    return list(plan_differences(sheet, expected_of(knot_map, knot_map.workshop), places))


def _plan(sheet: Sheet) -> tuple[Block, list[Text]]:
    (span,) = sheet.root.find("sheet-map")
    return span, [text for block in span.find("sheet") for text in block.texts()]


RUGS = {
    "three weavers, 45 sheets": lambda: _rug(400, 730, paper="A3"),
    "from the right": lambda: _rug(420, 330, paper="A4", reading="right to left"),
    "strips across weavers": lambda: _rug(300, 330, weavers=4, paper="A4", strips=2),
    "slivers": lambda: _rug(300, 600, weavers=1, paper="A4", strips=[1, 300, 307]),
    "one weaver": lambda: _rug(160, 200, weavers=1, paper="A4"),
}


@pytest.mark.parametrize("rug", RUGS)
def test_every_sheet_has_its_number_clear_of_lines(rug: str) -> None:
    """Narrow parts had none, and others stood under the heavy line between two weavers."""
    knot_map = RUGS[rug]()
    sheet, layout = _cover(knot_map)
    _, texts = _plan(sheet)
    assert sorted(int(text.words) for text in texts) == [page.number for page in layout.pages]
    assert min(text.size_mm for text in texts) >= 4.5 * 25.4 / 72 - 0.01
    lines = [
        (x - half, low, x + half, high)
        for item, _, _ in flat(sheet.root)
        if isinstance(item, Line | Fill) and not (isinstance(item, Fill) and item.edge)
        for x, low, _, high in [extent_of(item)]
        for half in [item.width_mm / 2]
        if (isinstance(item, Line) and item.width_mm > 0.2 and item.x_mm == item.to_x_mm)
        or (isinstance(item, Fill) and item.width_mm < 2 < item.height_mm)
    ]
    assert len(lines) >= len(layout.strips)
    for text, (left, low, right, high) in product(texts, lines):
        box = extent_of(text)
        wide = isinstance(right, float) and min(right, box[2]) > max(left, box[0])
        assert not (wide and min(high, box[3]) > max(low, box[1])), text.words
    assert _faults(knot_map) == []


def test_where_steps_are_too_low_for_a_number_each_one_counts_up_from_every_second_or_fifth() -> None:
    knot_map = _rug(600, 40, weavers=1, paper="A5", cell="5 mm", orientation="landscape")
    sheet, layout = _cover(knot_map)
    numbers = {int(text.words) for text in _plan(sheet)[1]}
    numbered = sorted({page.step for page in layout.pages if page.number in numbers})
    assert len(numbered) > 3 and len(set(np.diff(numbered))) == 1 and np.diff(numbered)[0] > 1
    assert {page.number for page in layout.pages if page.step in numbered} == numbers
    assert _faults(knot_map) == []


def under_the_line(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(plan, "_free_mm", lambda box, seats_mm: (seats_mm[0] if seats_mm else box.x_mm, box.width_mm))


def too_small(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(plan, "_rounded", lambda size_pt: min(size_pt, 3.0))
    monkeypatch.setattr(plan, "LEAST_PT", 3.0)


def no_leaders(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(plan, "LEADER_MM", -1.0)
    monkeypatch.setattr(drawing.Sheet, "line", lambda *_rest, **_more: None)


def not_beside(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(plan, "_draw_beside", lambda *_rest: None)


FAULTS: dict[str, tuple[Callable[[pytest.MonkeyPatch], None], str, str]] = {
    "under the line": (under_the_line, "strips across weavers", "a line cuts through the number "),
    "too small": (too_small, "three weavers, 45 sheets", "is too small to be read"),
    "narrow parts without a number": (not_beside, "slivers", "does not have its number on the map"),
    "no line to the narrow part": (no_leaders, "slivers", "in another place"),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_a_number_that_cannot_be_read_is_found(monkeypatch: pytest.MonkeyPatch, fault: str) -> None:
    patch, rug, words = FAULTS[fault]
    patch(monkeypatch)
    assert any(words in each for each in _faults(RUGS[rug]()))
