"""What goes where on the sheets of a row script."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from chartmaker.ground.language import told
from chartmaker.knots.knotmap import KnotMap
from chartmaker.knots.mirrors import mirrors_of, told_half
from chartmaker.knots.strips import strips_of
from chartmaker.order.workshop import Reading, Workshop
from chartmaker.paper.papers import Paper, paper_of
from chartmaker.sheets.rows.folding import Group, Span, folded

HEAD_MM, FOOT_MM = 16.0, 9.0
#: A run's room, a closing bracket's room, the height of a line of runs, the air between two rows.
RUN_MM, CLOSING_MM, LINE_MM, AIR_MM = 24.0, 7.0, 6.6, 2.6
#: An opening bracket's room, and that for each figure of how often it is tied: clear of the code before it.
OPENING_MM, FIGURE_MM = 11.3, 2.7
#: A box to tick with a row's number, of which a mirrored row has two; the totals.
NUMBER_MM, TOTAL_MM = 23.0, 17.0

#: Rows that are folded together; marks that are remembered before they are forgotten.
_ROWS_AT_ONCE, _MOST_MARKS = 64, 400_000


@dataclass(frozen=True, slots=True)
class Mark:
    """One thing printed in a row: a run, or an opening bracket with its multiplier, or a closing one.

    `x_mm` is where its room begins, from the edge that the row is read from; `line` counts down from 0.
    """

    x_mm: float
    line: int
    span: Span | None = None
    times: int = 0


@dataclass(frozen=True, slots=True)
class RowPage:
    """A sheet of rows of one of the layout's `strips`. `number` counts the sheets from 1."""

    number: int
    strip: int
    rows: range


@dataclass(frozen=True, slots=True)
class RowLayout:
    """A row script: its paper, its sheets, what its rows say.

    `strips` are those of the loom, each in as many `parts` as it takes for every row to fit a sheet: mostly one.
    """

    paper: Paper
    marks: RowMarks
    strips: tuple[range, ...]
    parts: int
    reading: Reading
    bold_every: int
    rows: int
    mirrored: bool
    pages: tuple[RowPage, ...]
    sheets: int

    def strip_words(self, strip: int) -> str:
        """Return ``Strip 1 of 3``, with its part where a strip is told in several."""
        loom, part = divmod(strip, self.parts)
        strips = len(self.strips) // self.parts
        if self.parts == 1:
            return told("Strip {strip} of {strips}", strip=loom + 1, strips=strips)
        words = "Strip {strip} of {strips}, part {part} of {parts}"
        return told(words, strip=loom + 1, strips=strips, part=part + 1, parts=self.parts)

    def numbers(self, row: int) -> tuple[int, ...]:
        """Return the numbers, from 1, that the row printed for `row` goes by: in a mirrored rug mostly two."""
        again = self.rows - row
        return (row + 1, again) if self.mirrored and again != row + 1 else (row + 1,)

    @property
    def row_mm(self) -> float:
        """The room for the numbers of a row."""
        return _row_mm(self.mirrored)


def _row_mm(mirrored: bool) -> float:
    return NUMBER_MM * (2 if mirrored else 1)


class RowMarks:
    """The marks of rows of strips; what two rows share, as mirrored rugs have it, is set once."""

    def __init__(self, knot_map: KnotMap, reading: Reading, width_mm: float) -> None:
        self._knots, self._width_mm = knot_map.knots, width_mm
        self._step = -1 if reading == "right to left" else 1
        self._known: dict[bytes, tuple[Mark, ...]] = {}

    def of(self, strip: range, rows: range) -> list[tuple[Mark, ...]]:
        """Return the marks of each of `rows` within `strip`, in reading order."""
        cells = self._knots[rows.start : rows.stop, strip.start : strip.stop][:, :: self._step]
        keys = [row.tobytes() for row in cells]
        fresh = {key: number for number, key in enumerate(keys) if key not in self._known}
        if fresh:
            if sum(map(len, self._known.values())) > _MOST_MARKS:
                self._known.clear()
                fresh = {key: number for number, key in enumerate(keys)}
            for key, entries in zip(fresh, folded(cells[list(fresh.values())]), strict=True):
                self._known[key] = marks_of(entries, self._width_mm)
        return [self._known[key] for key in keys]


def opening_mm(times: int) -> float:
    """Return the room of a bracket that opens, with how often what it holds is tied."""
    return OPENING_MM + FIGURE_MM * len(str(times))


def marks_of(entries: Sequence[Span | Group], width_mm: float) -> tuple[Mark, ...]:
    """Return the marks of one row, set line by line within `width_mm`."""
    marks: list[Mark] = []
    x, line = 0.0, 0

    def put(room: float, keep: float, span: Span | None = None, times: int = 0) -> None:
        nonlocal x, line
        if x and x + keep > width_mm + 1e-6:
            x, line = 0.0, line + 1
        marks.append(Mark(x, line, span, times))
        x += room

    for entry in entries:
        if isinstance(entry, Span):
            put(RUN_MM, RUN_MM, entry)
            continue
        opening = opening_mm(entry.times)
        put(opening, opening + RUN_MM, times=entry.times)  # a bracket keeps to its first and last run
        for span in entry.spans[:-1]:
            put(RUN_MM, RUN_MM, span)
        put(RUN_MM, RUN_MM + CLOSING_MM, entry.spans[-1])
        put(CLOSING_MM, CLOSING_MM)
    return tuple(marks)


def height_mm(marks: Sequence[Mark]) -> float:
    """Return the height of a row's block."""
    return (marks[-1].line + 1) * LINE_MM + AIR_MM if marks else LINE_MM + AIR_MM


class _TooLongError(Exception):
    """A row has more runs than a sheet holds."""


def _breaks(marks: RowMarks, paper: Paper, strip: range, number: int) -> Iterator[range]:
    """Yield the rows of each sheet of a strip that has `number` of them; raise _TooLongError if one does not fit."""
    room = paper.height_mm - 2 * paper.margin_mm - HEAD_MM - FOOT_MM
    start, used = 0, 0.0
    for first in range(0, number, _ROWS_AT_ONCE):
        rows = range(first, min(first + _ROWS_AT_ONCE, number))
        for row, height in zip(rows, map(height_mm, marks.of(strip, rows)), strict=True):
            if height > room:
                raise _TooLongError
            if used + height > room:
                yield range(start, row)
                start, used = row, 0.0
            used += height
    yield range(start, number)


def _parted(strip: range, parts: int) -> Iterator[range]:
    """Yield `parts` of a strip that differ by one column at most."""
    edges = [strip.start + part * len(strip) // parts for part in range(parts + 1)]
    return (range(start, end) for start, end in pairwise(edges))


def row_layout(knot_map: KnotMap, workshop: Workshop, front_sheets: int) -> RowLayout:
    """Return the layout of the row script, strip after strip in reading order, after `front_sheets` of legend.

    Of a rug that mirrors along its length one half is printed, unless the chart is to be printed whole as well. Where
    a row of a strip has more runs than a sheet holds, each strip is told in two parts, or four...

    Raises
    ------
    SheetError
        If the paper is unknown.
    RugError
        If the strips do not fit the rug.
    """
    chart = workshop.chart
    paper = paper_of(chart.paper, chart.orientation)
    loom = strips_of(knot_map.rug, workshop)
    mirrored = not chart.whole and mirrors_of(knot_map.knots).along
    told = len(told_half(knot_map.rows, mirrored))
    width_mm = paper.width_mm - 2 * paper.margin_mm - _row_mm(mirrored) - TOTAL_MM
    marks, parts = RowMarks(knot_map, chart.reading, width_mm), 1
    while True:
        strips = tuple(part for strip in loom for part in _parted(strip, parts))
        order = range(len(strips))
        try:
            pages = [
                (strip, rows)
                for strip in (reversed(order) if chart.reading == "right to left" else order)
                for rows in _breaks(marks, paper, strips[strip], told)
            ]
            break
        except _TooLongError:
            parts *= 2
    numbered = tuple(RowPage(front_sheets + n, strip, rows) for n, (strip, rows) in enumerate(pages, start=1))
    sheets = front_sheets + len(numbered)
    return RowLayout(
        paper, marks, strips, parts, chart.reading, chart.bold_every, knot_map.rows, mirrored, numbered, sheets
    )
