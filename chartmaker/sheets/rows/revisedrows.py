"""Which rows of a row script are printed anew after the knot map was changed, and the sheet that says so."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from chartmaker.ground.errors import SheetError
from chartmaker.ground.language import field, say, told, wrapped_words
from chartmaker.knots.changes import setting_changes
from chartmaker.knots.knotmap import NO_KNOT, KnotMap
from chartmaker.knots.mapfile import MapFile
from chartmaker.knots.mirrors import mirrors_of, told_half
from chartmaker.paper.drawing import GREY, Book
from chartmaker.sheets.chart.revised import MOST_LETTERS, looks_of, number_words
from chartmaker.sheets.rows.rowlayout import RowLayout, RowPage, room_of


@dataclass(frozen=True)
class RevisedRows:
    """The rows of each strip, counted from 0, that differ from the old map's, and the reason if all of them do."""

    old_code: str
    rows: tuple[tuple[int, ...], ...]
    reason: str = ""


def revised_rows(old_file: MapFile, new_file: MapFile, strips: Sequence[range]) -> RevisedRows:
    """Return which rows of each of `strips` are told anew: those whose knots differ in yarn, name, colour or symbol.

    Where a row's outline changed, the row above is told anew as well, because it says how far from there it begins.

    Raises
    ------
    SheetError
        If the maps are the same.
    """
    old, new = old_file.knot_map, new_file.knot_map
    settings = setting_changes(old_file, new_file)
    before, after = looks_of(old, new)
    if old.sha256 == new.sha256 and not settings and np.array_equal(before, after):
        raise SheetError(say("nothing has changed since map {map}, so there is no row to print", map=old.map_code))
    if settings or old.knots.shape != new.knots.shape:
        words = "All rows are printed anew, because the settings of the rug or of the workshop have changed."
        return RevisedRows(old.map_code, tuple(tuple(range(new.rows)) for _ in strips), say(words))
    if mirrors_of(old.knots) != mirrors_of(new.knots):
        words = "All rows are printed anew, because the change broke or made a mirror."
        return RevisedRows(old.map_code, tuple(tuple(range(new.rows)) for _ in strips), say(words))
    found = []
    for strip in strips:
        columns = slice(strip.start, strip.stop)
        differ = (before[old.knots[:, columns]] != after[new.knots[:, columns]]).any(axis=1)
        outline = ((old.knots[:, columns] == NO_KNOT) != (new.knots[:, columns] == NO_KNOT)).any(axis=1)
        differ[1:] |= outline[:-1]
        found.append(tuple(np.flatnonzero(differ).tolist()))
    return RevisedRows(old.map_code, tuple(found))


def with_rows(layout: RowLayout, revised: RevisedRows, front_sheets: int) -> RowLayout:
    """Return the layout with sheets for only the rows that are printed anew, numbered after `front_sheets`."""
    told_rows = told_half(layout.rows, layout.mirrored)
    room_mm = room_of(layout.paper)
    pages: list[RowPage] = []
    for strip in dict.fromkeys(page.strip for page in layout.pages):
        rows = [row for row in revised.rows[strip] if row in told_rows]
        texts = [layout.texts.of(layout.strips[strip], range(row, row + 1))[0] for row in rows]
        filling, picked = layout.filling(), list[int]()
        for row, text in zip(rows, texts, strict=True):
            if picked and filling.used_mm + filling.taller_mm(row, text) > room_mm:
                pages.append(_page(front_sheets + len(pages) + 1, strip, picked))
                filling, picked = layout.filling(), []
            filling.add(row, text)
            picked.append(row)
        if picked:
            pages.append(_page(front_sheets + len(pages) + 1, strip, picked))
    return replace(layout, pages=tuple(pages), sheets=front_sheets + len(pages))


def _page(number: int, strip: int, picked: Sequence[int]) -> RowPage:
    return RowPage(number, strip, range(picked[0], picked[-1] + 1), tuple(picked))


def draw_revised_rows(book: Book, knot_map: KnotMap, layout: RowLayout, revised: RevisedRows) -> None:
    """Draw the sheet that says which rows of the old script to strike out."""
    paper = layout.paper
    margin, width = paper.margin_mm, paper.width_mm - 2 * paper.margin_mm
    sheet = book.sheet(paper.width_mm, paper.height_mm, "R", outline=[(0, say("Revision"))])
    x, y = margin, paper.height_mm - margin - 8
    sheet.text(x, y, say("Revision of the row script"), 17, bold=True)
    sheet.text(x, y - 7, field("name", knot_map.rug.name), 11, most_mm=width, tag="heading")
    codes = told("map {old} becomes map {map}", old=revised.old_code, map=knot_map.map_code)
    sheet.text(x, y - 15, codes, 12, bold=True, tag="identity")
    y -= 26
    for words in revision_words(layout, revised):
        for line in wrapped_words(words, int(width / 2.0)):
            sheet.text(x, y, line, 9.5, most_mm=width, tag="rows-revision")
            y -= 5
        y -= 2.5
    for label in (say("old rows struck out by"), say("date")):
        sheet.text(x, y - 6, label, 8, colour=GREY)
        sheet.line(x + 45, y - 6, x + min(width, 120), y - 6, 0.2)
        y -= 10
    sheet.done()


def revision_words(layout: RowLayout, revised: RevisedRows) -> list[str]:
    """Return what to do with the old script, one paragraph for each step."""
    old = revised.old_code
    if revised.reason:
        return [revised.reason, told("Take the whole script of map {old} off the loom and destroy it.", old=old)]
    words: list[str] = [
        told("Strike these rows out in the script of map {old}; they are told anew on the sheets behind.", old=old)
    ]
    for strip in dict.fromkeys(page.strip for page in layout.pages):
        picked = [row for page in layout.pages if page.strip == strip for row in page.picked]
        numbers = sorted(number for row in picked for number in layout.numbers(row))
        listed = number_words(tuple(numbers))
        if len(listed) > MOST_LETTERS:
            listed = told("{count:,} rows, all those that follow", count=len(numbers))
        words.append(told("{which}: {rows}.", which=layout.strip_words(strip), rows=listed))
    words.append(
        told(
            "How to read it and the yarns, in front, are new as well, and replace those of map {old}.",
            old=old,
        )
    )
    words.append(told("All other rows of map {old} stay as they are.", old=old))
    return words
