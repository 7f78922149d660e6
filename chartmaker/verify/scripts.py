"""The printed row script of a set read back: every run of every row as words on the sheet."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

import numpy as np

from chartmaker.ground.language import counted
from chartmaker.knots.knotmap import NO_KNOT, KnotArray, KnotMap
from chartmaker.order.workshop import Workshop
from chartmaker.sheets.rows.rowlayout import RowLayout, RowPage
from chartmaker.sheets.rows.rowsheets import plan_rows
from chartmaker.verify.difference import first_few
from chartmaker.verify.pdfpages import sheets_of

_HEAD = re.compile(r"(Strip .*) · rows (\d+)–(\d+)(?:, back (\d+)–(\d+))? · columns (\d+)–(\d+) · read ")
#: How a group opens, in scripts read from the left or from the right.
_TIMES = re.compile(r"(?:(\d+) × \(|\) × (\d+))$")
_SKIP = re.compile(r"skip (\d+)$")
_TOTAL = re.compile(r"= ([\d,]+)$")


class _UnreadableError(ValueError):
    """Words that are no row."""


def script_differences(data: bytes, knot_map: KnotMap, workshop: Workshop) -> Iterator[str]:
    """Yield how rows.pdf differs from the map, in sentences that name the row.

    Raises
    ------
    ValueError
        If it is no PDF.
    """
    layout = plan_rows(knot_map, workshop)
    pages = {page.number: page for page in layout.pages}
    read = 0

    def wrong() -> Iterator[str]:
        nonlocal read
        for number, sheet in enumerate(sheets_of(data), start=1):
            read = number
            if (page := pages.get(number)) is not None:
                texts = [text.strip() for text in sheet.texts]
                yield from (f"sheet {number}: {words}" for words in _sheet_differences(texts, knot_map, layout, page))

    yield from first_few(wrong())
    if read != layout.sheets:
        yield f"has {counted(read, 'sheet')}, the map's row script {layout.sheets}"


def _sheet_differences(texts: list[str], knot_map: KnotMap, layout: RowLayout, page: RowPage) -> Iterator[str]:
    strip = layout.strips[page.strip]
    heads = [index for index, text in enumerate(texts) if _HEAD.match(text)]
    if not heads or knot_map.map_code not in texts[: heads[0]]:
        yield f"its head does not say map {knot_map.map_code} with the strip"
        return
    place_said, *numbers_said = _HEAD.match(texts[heads[0]]).groups()  # type: ignore[union-attr]
    said = [place_said, *(int(group) for group in numbers_said if group)]
    back = [layout.numbers(row)[-1] for row in page.rows]
    rows = [page.rows.start + 1, page.rows.stop, *((back[-1], back[0]) if layout.mirrored else ())]
    if said != [layout.strip_words(page.strip), *rows, strip.start + 1, strip.stop]:
        yield f"its head says {texts[heads[0]]!r}"
        return
    if f"sheet {page.number} of {layout.sheets}" not in texts[: heads[0]]:
        yield f"does not say that it is sheet {page.number} of {layout.sheets}"
    words = texts[heads[0] + 1 :]
    codes = {yarn.code: index for index, yarn in enumerate(knot_map.yarns)}
    place = 0
    for row in page.rows:
        try:
            found, place = read_row(words, place, layout.numbers(row), codes)
        except _UnreadableError as error:
            yield f"row {row + 1} cannot be read: {error}"
            return
        if layout.reading == "right to left":
            found = found[::-1]
        if not all(np.array_equal(found, knot_map.knots[n - 1, strip.start : strip.stop]) for n in layout.numbers(row)):
            yield f"row {row + 1}, {layout.strip_words(page.strip).lower()}: the runs are not the map's"


def read_row(words: Sequence[str], place: int, numbers: Sequence[int], codes: dict[str, int]) -> tuple[KnotArray, int]:
    """Return the knots that the words of a row with these `numbers` say, from `place` on, with the place after them.

    Raises
    ------
    ValueError
        If they are no row, or its total is another than its runs give.
    """

    def word() -> str:
        nonlocal place
        if place >= len(words):
            raise _UnreadableError("the sheet ends within it")
        place += 1
        return words[place - 1]

    for number in numbers:
        if (first := word()) != str(number):
            raise _UnreadableError(f"{first!r} stands where its number should")
    cells: list[int] = []
    group: list[int] | None = None
    times, closing = 1, ")"
    while True:
        token = word()
        target = cells if group is None else group
        if found := _TOTAL.match(token):
            tied = sum(cell != NO_KNOT for cell in cells)
            if group is not None or int(found[1].replace(",", "")) != tied:
                raise _UnreadableError(f"its total says {found[1]}, its runs give {tied:,}")
            return np.array(cells, dtype=np.uint16), place
        if (found := _TIMES.match(token)) and group is None:
            group, times = [], int(found[1] or found[2])
            closing = ")" if found[1] else "("
        elif token == closing and group is not None:
            cells += group * times
            group = None
        elif found := _SKIP.match(token):
            target += [NO_KNOT] * int(found[1])
        elif token.isdecimal():
            code = word()
            if code not in codes:
                raise _UnreadableError(f"{code!r} is no yarn of the map")
            target += [codes[code]] * int(token)
        else:
            raise _UnreadableError(f"{token!r} is no run")
