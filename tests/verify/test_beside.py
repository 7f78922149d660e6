"""What stands beside the cells and the rows is read as well: rulers, centre lines, bookmarks, title, page numbers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from support.altering import other_digit
from support.making import SettledMap
from test_every_number import a_map, an_oval, chart, script

from chartmaker.paper import document, drawing
from chartmaker.paper.document import Document
from chartmaker.paper.drawing import Ruler, Sheet
from chartmaker.sheets.chart import gridsheets
from chartmaker.verify.bookmarks import title_and_bookmarks
from chartmaker.verify.charts import chart_differences
from chartmaker.verify.expected import expected_of
from chartmaker.verify.recount.whole import recount_of
from chartmaker.verify.scripts import script_differences

Fault = Callable[[pytest.MonkeyPatch], None]
PAPERS = {"chart": (chart, chart_differences), "script": (script, script_differences)}


def in_rulers(name: str, change: Callable[..., Any]) -> Fault:
    """Return a fault of what one function of a sheet draws in a ruler's form, and nowhere else."""

    def fault(patch: pytest.MonkeyPatch) -> None:
        form, plain, inside = Sheet.form, getattr(Sheet, name), []

        def drawn(sheet: Sheet, key: Any, *rest: Any) -> None:
            inside.append(isinstance(key, Ruler))
            form(sheet, key, *rest)
            inside.pop()

        def changed(sheet: Sheet, *rest: Any, **more: Any) -> Any:
            given = change(*rest) if inside and inside[-1] else rest
            return plain(sheet, *given, **more) if given is not None else None

        patch.setattr(Sheet, "form", drawn)
        patch.setattr(Sheet, name, changed)

    return fault


def centred_elsewhere(columns: int, rows: int) -> Fault:
    def fault(patch: pytest.MonkeyPatch) -> None:
        plain = gridsheets._draw_centres

        def draw(of: Any, *rest: Any) -> None:
            layout = replace(of.layout, columns=of.layout.columns + columns, rows=of.layout.rows + rows)
            plain(replace(of, layout=layout), *rest)

        patch.setattr(gridsheets, "_draw_centres", draw)

    return fault


def marks_aside(patch: pytest.MonkeyPatch) -> None:
    plain = gridsheets._draw_centre_marks

    def draw(sheet: Any, place: Any, width: float, height: float, shift: float, across: bool) -> None:
        plain(sheet, place, width, height, shift + 1, across)

    patch.setattr(gridsheets, "_draw_centre_marks", draw)


def bookmark(change: Callable[[str, int], tuple[str, int] | None]) -> Fault:
    """Return a fault of one bookmark, the last that has a number."""

    def fault(patch: pytest.MonkeyPatch) -> None:
        plain = document._write_outline

        def write(pdf: Any, entries: list[tuple[int, str, int]]) -> Any:
            last = max(place for place, (_, words, _) in enumerate(entries) if any(map(str.isdigit, words)))
            level, words, page = entries[last]
            changed = change(words, page)
            entries = [*entries[:last], *([] if changed is None else [(level, *changed)]), *entries[last + 1 :]]
            return plain(pdf, entries)

        patch.setattr(document, "_write_outline", write)

    return fault


def page_numbers(patch: pytest.MonkeyPatch) -> None:
    plain = document._label_ranges
    patch.setattr(document, "_label_ranges", lambda named, pages: plain([*named, (1, "3")], pages))


def title(patch: pytest.MonkeyPatch) -> None:
    plain = drawing.Book.__init__

    def init(self: Any, stream: Any, *, title: str, **more: Any) -> None:
        plain(self, stream, title="Another rug", **more)

    patch.setattr(drawing.Book, "__init__", init)


def of_any_strip(patch: pytest.MonkeyPatch) -> None:
    """Let the first bookmark of a strip, which stands over those of its sheets, name another strip."""
    plain = Document.add_outline

    def add(self: Any, words: str, level: int) -> None:
        plain(self, other_digit(words) if level == 0 and words[-1].isdigit() else words, level)

    patch.setattr(Document, "add_outline", add)


def all_alike(lines: Any, *rest: Any) -> tuple[Any, ...]:
    """Return the lines of a ruler with ticks of one length; the first of them is not a tick."""
    base, *ticks = lines
    return [base, *((a, b, max(min(c, a + 1), a - 1), min(d, b + 1)) for a, b, c, d in ticks)], *rest


FAULTS: dict[str, tuple[Fault, tuple[str, ...], str]] = {
    "figures of rulers aside": (
        in_rulers("labels", lambda places, *rest: ([(x - 0.4, y, words) for x, y, words in places], *rest)),
        ("chart",),
        "ruler",
    ),
    "a figure of the upright ruler": (
        in_rulers("text", lambda x, y, words, *rest: (x, y, words.replace("20", "30"), *rest)),
        ("chart",),
        "ruler",
    ),
    "rulers a fiftieth too long": (
        in_rulers("lines", lambda lines, *rest: ([tuple(1.02 * at for at in line) for line in lines], *rest)),
        ("chart",),
        "ruler",
    ),
    "a tick too few": (in_rulers("lines", lambda lines, *rest: (lines[:-1], *rest)), ("chart",), "ruler"),
    "all ticks alike": (
        in_rulers("lines", all_alike),
        ("chart",),
        "ruler",
    ),
    "no figures on a ruler": (in_rulers("text", lambda *_: None), ("chart",), "ruler"),
    "no rulers": (lambda patch: patch.setattr(gridsheets, "draw_rulers", lambda *_: None), ("chart",), "ruler"),
    "the middle a column aside": (centred_elsewhere(2, 0), ("chart",), "centre line of the columns"),
    "the middle a row aside": (centred_elsewhere(0, 2), ("chart",), "centre line of the rows"),
    "the middle round a cell": (centred_elsewhere(1, 1), ("chart",), "centre line"),
    "marks beside the middle": (marks_aside, ("chart",), "has no mark"),
    "another number in a bookmark": (
        bookmark(lambda words, page: (other_digit(words), page)),
        ("chart", "script"),
        "leads to another sheet",
    ),
    "a bookmark to the first page": (bookmark(lambda words, _: (words, 0)), ("chart", "script"), "bookmark"),
    "a bookmark left out": (bookmark(lambda *_: None), ("chart", "script"), "to all its sheets"),
    "another strip in a bookmark": (of_any_strip, ("chart",), "leads to another sheet"),
    "page numbers in the window": (page_numbers, ("chart", "script"), "other numbers in a window"),
    "another title": (title, ("chart", "script"), "does not name the rug"),
}


@pytest.mark.parametrize(("fault", "paper"), [(fault, paper) for fault, each in FAULTS.items() for paper in each[1]])
@pytest.mark.parametrize("rug", [a_map, an_oval])
def test_a_fault_beside_the_cells_is_found(
    monkeypatch: pytest.MonkeyPatch, fault: str, paper: str, rug: Callable[[], Any]
) -> None:
    knot_map = rug()
    write, read = PAPERS[paper]
    expected = expected_of(knot_map, knot_map.workshop, recount_of(knot_map, knot_map.workshop))
    FAULTS[fault][0](monkeypatch)
    data = write(knot_map)
    monkeypatch.undo()
    found = list(read(data, expected))
    assert any(FAULTS[fault][2] in each for each in found), found


@pytest.mark.parametrize("name", ["Plain", "Rot–Blau …", "(a\\b)", "Über (2)"])
def test_a_title_is_read_in_any_letters(name: str) -> None:
    """Plain strings of a PDF are in letters of their own, others in UTF-16 (ISO 32000-1, 7.9.2 and table D.2)."""
    plain = a_map()
    rug = plain.rug.model_copy(update={"name": name})
    knot_map = SettledMap(plain.knots, plain.yarns, rug, plain.workshop)
    expected = expected_of(knot_map, knot_map.workshop, recount_of(knot_map, knot_map.workshop))
    assert not [each for each in script_differences(script(knot_map), expected) if "title" in each]


def test_bookmarks_are_read_as_they_are_nested() -> None:
    _, marks = title_and_bookmarks(chart(a_map()))
    assert [(mark.depth, mark.page, mark.numbers) for mark in marks] == [
        (0, 1, []),
        (0, 2, [2]),
        (1, 2, [1, 1, 7]),
        (1, 3, [2, 8, 14]),
    ]
