"""What goes where on the sheets of a row script."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from chartmaker.knotmap import KnotMap
from chartmaker.sheets.folding import Group, Piece, fold, pieces_of
from chartmaker.sheets.paper import Paper, paper_of
from chartmaker.strips import strips_of
from chartmaker.workshop import Reading

HEAD_MM, FOOT_MM = 16.0, 9.0
#: A run's room, a bracket's room, the height of a line of runs, the air between two rows.
RUN_MM, BRACKET_MM, LINE_MM, AIR_MM = 24.0, 14.0, 6.6, 2.6
#: The boxes to tick with the row numbers; the totals.
ROW_MM, TOTAL_MM = 23.0, 17.0


@dataclass(frozen=True, slots=True)
class Mark:
    """One thing printed in a row: a run, or an opening bracket with its multiplier, or a closing one.

    `x_mm` is where its room begins, from the edge that the row is read from; `line` counts down from 0.
    """

    x_mm: float
    line: int
    piece: Piece | None = None
    times: int = 0


@dataclass(frozen=True, slots=True)
class RowPage:
    """A sheet of rows of one strip. `number` counts the sheets from 1."""

    number: int
    strip: int
    rows: range


@dataclass(frozen=True, slots=True)
class RowLayout:
    """A row script: its paper and its sheets."""

    paper: Paper
    strips: tuple[range, ...]
    reading: Reading
    pages: tuple[RowPage, ...]
    sheets: int

    @property
    def width_mm(self) -> float:
        """The room for runs."""
        return run_width_mm(self.paper)


def run_width_mm(paper: Paper) -> float:
    """Return the width that runs take on `paper`."""
    return paper.width_mm - 2 * paper.margin_mm - ROW_MM - TOTAL_MM


def entries_of(knot_map: KnotMap, row: int, strip: range, reading: Reading) -> list[Piece | Group]:
    """Return what a row of one strip says, in reading order, repeats folded."""
    cells = knot_map.knots[row, strip.start : strip.stop]
    return list(fold(pieces_of(cells[::-1] if reading == "right to left" else cells)))


def marks_of(entries: Sequence[Piece | Group], width_mm: float) -> tuple[Mark, ...]:
    """Return the marks of one row, set line by line within `width_mm`."""
    marks: list[Mark] = []
    x, line = 0.0, 0

    def put(room: float, keep: float, piece: Piece | None = None, times: int = 0) -> None:
        nonlocal x, line
        if x and x + keep > width_mm + 1e-6:
            x, line = 0.0, line + 1
        marks.append(Mark(x, line, piece, times))
        x += room

    for entry in entries:
        if isinstance(entry, Piece):
            put(RUN_MM, RUN_MM, entry)
            continue
        put(BRACKET_MM, BRACKET_MM + RUN_MM, times=entry.times)  # a bracket keeps to its first and last run
        for piece in entry.pieces[:-1]:
            put(RUN_MM, RUN_MM, piece)
        put(RUN_MM, RUN_MM + BRACKET_MM / 2, entry.pieces[-1])
        put(BRACKET_MM / 2, BRACKET_MM / 2)
    return tuple(marks)


def height_mm(marks: Sequence[Mark]) -> float:
    """Return the height of a row's block."""
    return (marks[-1].line + 1) * LINE_MM + AIR_MM if marks else LINE_MM + AIR_MM


def _breaks(knot_map: KnotMap, paper: Paper, strip: range, reading: Reading) -> Iterator[range]:
    """Yield the rows of each sheet of a strip."""
    room = paper.height_mm - 2 * paper.margin_mm - HEAD_MM - FOOT_MM
    width = run_width_mm(paper)
    start, used = 0, 0.0
    for row in range(knot_map.rows):
        height = height_mm(marks_of(entries_of(knot_map, row, strip, reading), width))
        if row > start and used + height > room:
            yield range(start, row)
            start, used = row, 0.0
        used += height
    yield range(start, knot_map.rows)


def row_layout(knot_map: KnotMap, front_sheets: int) -> RowLayout:
    """Return the layout of the row script, strip after strip in reading order, after `front_sheets` of legend.

    Raises
    ------
    SheetError
        If the paper is unknown.
    RugError
        If the strips do not fit the rug.
    """
    chart = knot_map.workshop.chart
    paper = paper_of(chart.paper, chart.orientation)
    strips = strips_of(knot_map.rug, knot_map.workshop)
    order = range(len(strips))
    pages = [
        (strip, rows)
        for strip in (reversed(order) if chart.reading == "right to left" else order)
        for rows in _breaks(knot_map, paper, strips[strip], chart.reading)
    ]
    numbered = tuple(RowPage(front_sheets + n, strip, rows) for n, (strip, rows) in enumerate(pages, start=1))
    return RowLayout(paper, strips, chart.reading, numbered, front_sheets + len(numbered))
