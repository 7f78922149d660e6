"""Which sheets of a chart must be replaced after the knot map was changed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.language import field, phrase, say, say_n, told, wrapped_words
from chartmaker.knots.changes import setting_changes
from chartmaker.knots.knotmap import NO_KNOT, KnotMap
from chartmaker.knots.mapfile import MapFile
from chartmaker.paper.drawing import GREY, Book
from chartmaker.paper.symbols import symbols_of
from chartmaker.sheets.chart.gridsheets import draw_rulers
from chartmaker.sheets.chart.layout import GridPage, Layout, columns_beside, rows_above, rows_below

#: How much of a rug a chart shows.
SHARES = {"whole": phrase("the whole"), "half": phrase("half"), "quarter": phrase("a quarter")}
#: A list of sheet numbers longer than this is not printed, because the sheets themselves say what they replace.
MOST_LETTERS = 1200


@dataclass(frozen=True)
class Revised:
    """The grid sheets to print again, by number, and the reason if all of them are new.

    `old_code` is the map code of the chart that is revised.
    """

    old_code: str
    numbers: tuple[int, ...]
    reason: str = ""


def revised_sheets(old_file: MapFile, new_file: MapFile, old_layout: Layout, new_layout: Layout) -> Revised:
    """Return which sheets of the new map's chart differ from those of the old map's in anything but the map code.

    A sheet is the same if the same places are printed with the same yarns in the same colours with the same symbols,
    its neighbours have the same numbers, and the chart has as many sheets.

    Parameters
    ----------
    old_file, new_file : MapFile
    old_layout, new_layout : Layout
        As `layout_of` gives them for the two maps.
    """
    old, new = old_file.knot_map, new_file.knot_map
    every = tuple(page.number for page in new_layout.pages)
    if reason := _whole_reason(old_file, new_file, old_layout, new_layout):
        return Revised(old.map_code, every, reason)
    before = {page.number: page for page in old_layout.pages}
    looks = looks_of(old, new)
    numbers = tuple(
        page.number
        for page in new_layout.pages
        if before.get(page.number) != page or not _alike(old, new, looks, page, new_layout)
    )
    return Revised(old.map_code, numbers)


def _whole_reason(old: MapFile, new: MapFile, old_layout: Layout, new_layout: Layout) -> str:
    """Return why no sheet of the old chart can stay in use, or an empty text if some can."""
    if setting_changes(old, new):
        return say("All sheets are new, because the settings of the rug or of the workshop have changed.")
    if old_layout.mirrors != new_layout.mirrors:
        return say(
            "All sheets are new, because the old chart showed {old} of the rug, and the new one shows {new}: the "
            "change broke or made a mirror.",
            old=say(SHARES[old_layout.mirrors.share]),
            new=say(SHARES[new_layout.mirrors.share]),
        )
    if old_layout.front_sheets != new_layout.front_sheets or old_layout.sheets != new_layout.sheets:
        return say_n(
            "All sheets are new, because the chart has {n} sheet where it had {old}.",
            "All sheets are new, because the chart has {n:,} sheets where it had {old}.",
            new_layout.sheets,
            old=old_layout.sheets,
        )
    if old_layout.frame != new_layout.frame:
        return say("All sheets are new, because the legends need a different amount of room on the sheets.")
    return ""


def looks_of(old: KnotMap, new: KnotMap) -> tuple[NDArray[np.uint16], NDArray[np.uint16]]:
    """Return, for each map, what its cell values look like in print, as numbers with one meaning in both.

    Returns
    -------
    tuple of two ndarray of uint16, shape (NO_KNOT + 1,)
    """
    numbers: dict[tuple[object, ...], int] = {}
    lookups = []
    for knot_map in (old, new):
        lookup = np.full(NO_KNOT + 1, NO_KNOT, dtype=np.uint16)
        for index, (yarn, glyph) in enumerate(zip(knot_map.yarns, symbols_of(knot_map.yarns).tolist(), strict=True)):
            look = (yarn.code, yarn.name, yarn.call, yarn.srgb, yarn.lab, glyph)
            lookup[index] = numbers.setdefault(look, len(numbers))
        lookups.append(lookup)
    return lookups[0], lookups[1]


def _alike(
    old: KnotMap, new: KnotMap, looks: tuple[NDArray[np.uint16], NDArray[np.uint16]], page: GridPage, layout: Layout
) -> bool:
    """Return whether a sheet, with the rows and columns shown again round it, looks the same for both maps."""
    rows = slice(rows_below(page).start, rows_above(page, layout).stop)
    left, right = columns_beside(page, layout)
    columns = slice(left.start, right.stop)
    return np.array_equal(looks[0][old.knots[rows, columns]], looks[1][new.knots[rows, columns]])


def number_words(numbers: tuple[int, ...]) -> str:
    """Return ``3, 5–8, 12``."""
    words: list[str] = []
    start = 0
    for place in range(1, len(numbers) + 1):
        if place == len(numbers) or numbers[place] != numbers[place - 1] + 1:
            first, last = numbers[start], numbers[place - 1]
            words.append(str(first) if first == last else f"{first}–{last}" if last > first + 1 else f"{first}, {last}")
            start = place
    return ", ".join(words)


def draw_revision_sheet(book: Book, knot_map: KnotMap, layout: Layout, revised: Revised) -> None:
    """Draw the sheet that says what to take out of the old chart and what to put in."""
    paper = layout.frame.paper
    margin = paper.margin_mm
    width = paper.width_mm - 2 * margin - 6
    sheet = book.sheet(paper.width_mm, paper.height_mm, "R", outline=[(0, say("Revision"))])
    x, y = margin + 6, paper.height_mm - margin - 8
    sheet.text(x, y, say("Revision of the knot chart"), 17, bold=True, most_mm=width)
    sheet.text(x, y - 7, field("name", knot_map.rug.name), 11, most_mm=width, tag="heading")
    codes = told("map {old} becomes map {map}", old=revised.old_code, map=knot_map.map_code)
    sheet.text(x, y - 15, codes, 12, bold=True, most_mm=width, tag="identity")
    y -= 26
    for words in _instructions(knot_map, layout, revised):
        for line in wrapped_words(words, int(width / 2.0)):
            sheet.text(x, y, line, 9.5, most_mm=width, tag="revision")
            y -= 5
        y -= 2.5
    for label in (say("old sheets taken out by"), say("new sheets put in by"), say("date")):
        sheet.text(x, y - 6, label, 8, colour=GREY)
        sheet.line(x + 45, y - 6, x + min(width, 120), y - 6, 0.2)
        y -= 10
    draw_rulers(sheet, margin)
    sheet.done()


def _instructions(knot_map: KnotMap, layout: Layout, revised: Revised) -> list[str]:
    if revised.reason:
        return [
            revised.reason,
            told("Take every sheet of map {old} off the loom and destroy it.", old=revised.old_code),
        ]
    listed = number_words(revised.numbers)
    if not revised.numbers:
        new = say("No grid sheet is new.")
    elif len(listed) > MOST_LETTERS:
        words = "New sheets: {new:,} of {sheets:,}, all those that follow."
        new = told(words, new=len(revised.numbers), sheets=len(layout.pages))
    else:
        new = told("New sheets: {listed}.", listed=listed)
    cover = (
        told("The cover is new as well, and replaces that of map {old}.", old=revised.old_code)
        if layout.front_sheets == 1
        else told(
            "The cover and its legend, sheets 1 to {front}, are new as well, and replace those of map {old}.",
            front=layout.front_sheets,
            old=revised.old_code,
        )
    )
    return [
        new,
        cover,
        told(
            "Take the sheets with these numbers out of the chart of map {old}, whatever older code they bear, and "
            "destroy them.",
            old=revised.old_code,
        ),
        told("No sheet of map {old} stays in use.", old=revised.old_code)
        if len(revised.numbers) == len(layout.pages)
        else told(
            "All other sheets of map {old} stay in use: what they show is the same in map {map}.",
            old=revised.old_code,
            map=knot_map.map_code,
        ),
    ]
