"""The layout of a chart says which cells go on which sheet."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from chartmaker.knots.knotmap import NO_KNOT, KnotArray, KnotMap
from chartmaker.knots.mirrors import Mirrors, mirrors_of, told_half
from chartmaker.knots.strips import seats_of, strips_of
from chartmaker.order.workshop import Reading, Workshop
from chartmaker.sheets.chart.frame import REPEATED_ROWS, SIDE_GAP_MM, Frame, chosen_frame
from chartmaker.techniques.crafts import craft_of


@dataclass(frozen=True, slots=True)
class GridPage:
    """A sheet of cells; its `number` counts the chart's sheets from 1, and everything else counts from 0.

    A strip is woven step by step, and each step `part` by `part` across if the strip is wider than the paper.
    `below`, `above`, `left` and `right` are the numbers of the neighbouring sheets. `legend_number` is the number of
    the sheet with this sheet's legend, if the legend is not on the sheet itself.
    """

    number: int
    strip: int
    step: int
    part: int
    parts: int
    rows: range
    columns: range
    below: int | None = None
    above: int | None = None
    left: int | None = None
    right: int | None = None
    legend_number: int | None = None


@dataclass(frozen=True, slots=True)
class Layout:
    """A chart, by its frame, its grid sheets in weaving order, and the rug that they show."""

    frame: Frame
    rows: int
    columns: int
    mirrors: Mirrors
    strips: tuple[range, ...]
    seats: tuple[range, ...]
    steps: int
    reading: Reading
    bold_every: int
    pages: tuple[GridPage, ...]
    front_sheets: int
    sheets: int

    @property
    def told_rows(self) -> range:
        """The rows that the sheets show."""
        return told_half(self.rows, self.mirrors.along)

    @property
    def told_columns(self) -> range:
        """The columns that the sheets show."""
        return told_half(self.columns, self.mirrors.across, upper=self.reading == "right to left")


def split(whole: range, most: int, bold_every: int) -> tuple[range, ...]:
    """Return the rows `whole` in steps of at most `most`: few, about equal, cut at heavy lines if one is near.

    What equal steps leave free of the paper's height is the legend's on every sheet (`Frame.lifted`).
    """
    pieces = max(1, -(-len(whole) // most))
    cuts = [whole.start]
    for number in range(1, pieces):
        low = max(whole.stop - most * (pieces - number), cuts[-1] + 1)
        high = min(cuts[-1] + most, whole.stop - (pieces - number))
        even = whole.start + len(whole) * number / pieces
        heavy = range(-(-low // bold_every) * bold_every, high + 1, bold_every)
        near = list(heavy) or [min(max(round(even), low), high)]
        cuts.append(near[int(np.abs(np.array(near) - even).argmin())])
    return tuple(range(a, b) for a, b in pairwise([*cuts, whole.stop]))


def filled(
    whole: range, most: int, bold_every: int, seats: Sequence[range] = (), *, leftward: bool = False
) -> tuple[range, ...]:
    """Return the columns `whole` of a strip in parts of at most `most`, from the left, each as wide as the paper.

    In the order of reading, every part but the last is as wide as the paper lets it be, cut at a heavy line; what
    remains comes last, and is no sliver: a heavy square wide at least, if the strip is. There are never more parts
    than the paper needs, so a cut is off the heavy lines where keeping to them would cost a sheet. Where the columns
    of one weaver end within reach of a cut, it is made there: no sheet more, and no sheet that two weavers share.

    Parameters
    ----------
    seats : sequence of range
        The columns of each weaver, from the left.
    leftward : bool
        Whether rows are read from the right, so that what remains is at the left.
    """
    ends = {seat.start for seat in seats[1:]}
    parts, size, done = -(-len(whole) // most), len(whole), 0
    cuts = [0]
    for left in range(parts - 1, 0, -1):
        low = max(done + 1, size - most * left)
        high = max(low, min(done + most, size - bold_every - left + 1))
        reach = [(at, whole.stop - at if leftward else whole.start + at) for at in range(high, low - 1, -1)]
        shared = [at for at, column in reach if column in ends]
        heavy = [at for at, column in reach if column % bold_every == 0]
        done = (shared or heavy or [high])[0]
        cuts.append(done)
    pieces = pairwise([*cuts, size])
    if leftward:
        return tuple(range(whole.stop - b, whole.stop - a) for a, b in pieces)[::-1]
    return tuple(range(whole.start + a, whole.start + b) for a, b in pieces)


def rows_below(page: GridPage) -> range:
    """Return the rows to be shown below the sheet, which were tied before it."""
    return range(max(0, page.rows.start - REPEATED_ROWS), page.rows.start)


def rows_above(page: GridPage, layout: Layout) -> range:
    """Return the rows to be shown above the sheet, which on the way back over it are those just tied."""
    if not layout.mirrors.along:
        return range(page.rows.stop, page.rows.stop)
    return range(page.rows.stop, min(page.rows.stop + REPEATED_ROWS, layout.rows))


def columns_beside(page: GridPage, layout: Layout) -> tuple[range, range]:
    """Return the neighbours' columns to be shown again at the left and the right of the sheet."""
    shown = layout.frame.side_columns
    first, stop = page.columns.start, page.columns.stop
    return range(max(0, first - shown), first), range(stop, min(stop + shown, layout.columns))


def sides_mm(page: GridPage, layout: Layout) -> tuple[float, float]:
    """Return the widths that those columns take, with their gaps, beside the sheet's own cells."""
    cell = layout.frame.cell_width_mm
    left, right = (len(part) * cell + SIDE_GAP_MM if part else 0.0 for part in columns_beside(page, layout))
    return left, right


def _tied_pages(knots: KnotArray, pieces: Iterator[GridPage]) -> Iterator[GridPage]:
    """Yield the sheets on which something is tied."""
    for page in pieces:
        part = knots[page.rows.start : page.rows.stop, page.columns.start : page.columns.stop]
        if (part != NO_KNOT).any():
            yield page


def yarns_on(knots: KnotArray, yarns: int) -> list[tuple[int, int]]:
    """Return (yarn, knots) for each yarn that occurs in `knots`, an array of any shape."""
    tally = np.bincount(knots.ravel(), minlength=yarns)[:yarns]
    return [(int(yarn), int(tally[yarn])) for yarn in np.flatnonzero(tally)]


def _pieces(
    strips: Sequence[range],
    seats: Sequence[range],
    steps: Sequence[range],
    frame: Frame,
    told: range,
    leftward: bool,
    bold: int,
) -> Iterator[GridPage]:
    """Yield the sheets in weaving order, without numbers."""
    order = range(len(strips) - 1, -1, -1) if leftward else range(len(strips))
    for strip in order:
        shown = range(max(strips[strip].start, told.start), min(strips[strip].stop, told.stop))
        if not shown:
            continue
        parts = filled(shown, frame.most_columns, bold, seats, leftward=leftward)
        for step, rows in enumerate(steps):
            for part, columns in enumerate(reversed(parts) if leftward else parts):
                yield GridPage(0, strip, step, part, len(parts), rows, columns)


def _numbered(
    knot_map: KnotMap, frame: Frame, pieces: Iterator[GridPage], first: int
) -> tuple[tuple[GridPage, ...], int]:
    """Number the sheets from `first`; a legend that does not fit its sheet has a sheet of its own after it."""
    yarns = len(knot_map.yarns)
    room = frame.legend_room(frame.entry_mm)
    pages: list[GridPage] = []
    number = first
    for page in pieces:
        legend = None
        if yarns > room:
            part = knot_map.knots[page.rows.start : page.rows.stop, page.columns.start : page.columns.stop]
            if len(yarns_on(part, yarns)) > room:
                legend = number + 1
        pages.append(replace(page, number=number, legend_number=legend))
        number += 1 if legend is None else 2
    return tuple(pages), number - 1


def _with_neighbours(pages: Sequence[GridPage]) -> tuple[GridPage, ...]:
    """Return the sheets with the numbers of their neighbours."""
    by_corner = {(page.rows.start, page.columns.start): page.number for page in pages}
    by_end = {(page.rows.start, page.columns.stop): page.number for page in pages}
    by_top = {(page.rows.stop, page.columns.start): page.number for page in pages}
    return tuple(
        replace(
            page,
            below=by_top.get((page.rows.start, page.columns.start)),
            above=by_corner.get((page.rows.stop, page.columns.start)),
            left=by_end.get((page.rows.start, page.columns.start)),
            right=by_corner.get((page.rows.start, page.columns.stop)),
        )
        for page in pages
    )


def layout_of(knot_map: KnotMap, workshop: Workshop, front_sheets: int, *, lots: bool = False) -> Layout:
    """Return the layout of the chart of `knot_map`, whose cover and legend take `front_sheets` sheets.

    Sheets have a line for new `lots` of yarn if any begin in the rug.

    Raises
    ------
    SheetError
        If the paper is unknown, or the cells are too small to be read or do not fit.
    RugError
        If the strips do not fit the rug.
    """
    chart = workshop.chart
    mirrors = Mirrors() if chart.whole else mirrors_of(knot_map.knots)
    strips = strips_of(knot_map.rug, workshop)
    frame = chosen_frame(knot_map, workshop, mirrors, lots=lots)
    steps = split(told_half(knot_map.rows, mirrors.along), frame.most_rows, chart.bold_every)
    frame = frame.lifted(max(map(len, steps)))
    leftward = chart.reading == "right to left"
    told = told_half(knot_map.columns, mirrors.across, upper=leftward)
    # Whoever works by colour along a pattern has a place there, from its own left, and none on the chart.
    by_colour = craft_of(knot_map.rug).by_colour
    seats = (range(knot_map.columns),) if by_colour else seats_of(knot_map.rug, workshop)
    pieces = _pieces(strips, seats, steps, frame, told, leftward, chart.bold_every)
    pages, sheets = _numbered(knot_map, frame, _tied_pages(knot_map.knots, pieces), front_sheets + 1)
    return Layout(
        frame,
        knot_map.rows,
        knot_map.columns,
        mirrors,
        strips,
        seats,
        len(steps),
        chart.reading,
        chart.bold_every,
        _with_neighbours(pages),
        front_sheets,
        sheets,
    )


def number_step(cell_mm: float, label_mm: float) -> int:
    """Return 1 if every row (or column) has room for its number, or the step of those that have it."""
    return next(step for step in (1, 2, 5, 10, 20, 50, 100, 1000) if step * cell_mm >= label_mm or step == 1000)


def numbered(cells: range, every: int, bold_every: int) -> list[int]:
    """Return which of `cells`, counted from 0, have their number: every `every`-th, and the first and the last.

    With `every` above 1, numbers stand at the heavy lines where the two counts agree.
    """
    if every == 1:
        return list(cells)
    beat = math.lcm(every, bold_every) if every > bold_every else bold_every if bold_every % every else every
    chosen = [cell for cell in cells if (cell + 1) % beat == 0]
    for end in (cells.start, cells.stop - 1):
        if all(abs(end - cell) >= every or end == cell for cell in chosen) and end not in chosen:
            chosen.append(end)
    return sorted(chosen)
