"""The layout of a row script says which rows go on which sheet, and how they are set."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from chartmaker.ground.language import told
from chartmaker.knots.knotmap import NO_KNOT, KnotMap
from chartmaker.knots.mirrors import again, mirrors_of, told_half
from chartmaker.knots.rowscript import run_bounds
from chartmaker.knots.strips import strips_of
from chartmaker.order.workshop import Chart, Reading, Workshop
from chartmaker.paper.papers import Paper, paper_of
from chartmaker.reports.lotwords import NewLot
from chartmaker.sheets.rows.blocks import Filling, RowBlock, blocks_of
from chartmaker.sheets.rows.folding import folded
from chartmaker.sheets.rows.setting import RowText, RunSetting, run_setting, set_row
from chartmaker.yarns.yarn import Yarn

HEAD_MM, FOOT_MM = 16.0, 9.0
#: The widths of a box to tick with a row's number (a mirrored row has two), of the column reached, of the second column
#: reached where two strips are told together, and of the total.
NUMBER_MM, REACHED_MM, TWIN_MM, TOTAL_MM = 23.0, 12.0, 8.0, 20.0
#: The width of the word before the numbers of rows that are tied alike on the way back.
BACK_MM = 9.0

#: If there are no more sheets than this, smaller letters are not worth while.
FEW_SHEETS = 8
#: Paper that may lie either way lies on its side if that takes no more than this share of the sheets.
LYING_SHARE = 0.7
#: This many rows are folded together, and this many marks are remembered before they are forgotten.
_ROWS_AT_ONCE, _MOST_MARKS = 64, 400_000


@dataclass(frozen=True, slots=True)
class RowPage:
    """A sheet of rows of one of the layout's `strips`; its `number` counts the sheets from 1.

    If it tells only those of its `rows` that changed, they are `picked`.
    """

    number: int
    strip: int
    rows: range
    picked: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class RowLayout:
    """A row script, with its paper, its sheets and what its rows say.

    `strips` are those of the loom, each in as many `parts` as it takes for every row to fit a sheet, which is mostly
    one. If the rug is `mirrored_across`, a strip also serves the one that mirrors it, which has no sheets of its own.
    `pile` says how high the pile is cut and finished, and `lots` where new lots of yarn begin. The knot of a
    `one_handed` rug is not mirrored with the drawing.
    """

    paper: Paper
    texts: RowTexts
    setting: RunSetting
    strips: tuple[range, ...]
    parts: int
    reading: Reading
    bold_every: int
    rows: int
    mirrored: bool
    mirrored_across: bool
    pages: tuple[RowPage, ...]
    sheets: int
    pile: str = ""
    lots: tuple[NewLot, ...] = ()
    one_handed: bool = False

    def strip_words(self, strip: int) -> str:
        """Return ``Strip 1 of 3``, with the strip that mirrors it and with its part where there are several."""
        loom, part = divmod(strip, self.parts)
        strips = len(self.strips) // self.parts
        twin = strips - loom
        if self.twin(strip) is None:
            if self.parts == 1:
                return told("Strip {strip} of {strips}", strip=loom + 1, strips=strips)
            words = "Strip {strip} of {strips}, part {part} of {parts}"
            return told(words, strip=loom + 1, strips=strips, part=part + 1, parts=self.parts)
        if self.parts == 1:
            words = "Strips {strip} and {twin} of {strips} together"
            return told(words, strip=loom + 1, twin=twin, strips=strips)
        words = "Strips {strip} and {twin} of {strips} together, part {part} of {parts}"
        return told(words, strip=loom + 1, twin=twin, strips=strips, part=part + 1, parts=self.parts)

    def twin(self, strip: int) -> range | None:
        """Return the columns that mirror those of `strip` and are told with it, or None if there are none."""
        loom, strips = strip // self.parts, len(self.strips) // self.parts
        if not self.mirrored_across or 2 * loom + 1 == strips:
            return None
        return again(self.strips[strip], self.strips[-1].stop)

    def numbers(self, row: int) -> tuple[int, ...]:
        """Return the numbers, from 1, of the row that is printed for `row`, which in a mirrored rug are mostly two."""
        back = self.rows - row
        return (row + 1, back) if self.mirrored and back != row + 1 else (row + 1,)

    def back(self, rows: range) -> range:
        """Return the numbers, from 1, of the rows that mirror `rows`, without the centre row, which is tied once."""
        numbers = again(rows, self.rows)
        return range(max(numbers.start, rows.stop) + 1, numbers.stop + 1) if self.mirrored else range(0)

    def blocks(self, page: RowPage) -> list[RowBlock]:
        """Return the blocks of a sheet."""
        if page.picked:
            strip = self.strips[page.strip]
            picked = [self.texts.of(strip, range(row, row + 1))[0] for row in page.picked]
            return blocks_of(page.picked, picked, self.filling())
        texts = self.texts.of(self.strips[page.strip], page.rows)
        return blocks_of(page.rows, texts, self.filling())

    def filling(self) -> Filling:
        """Return a sheet to be filled with rows."""
        return Filling(self.setting, self.boxes, self.begins)

    @property
    def begins(self) -> frozenset[int]:
        """The rows, from 0, that begin a block since a new lot of yarn begins there, on the way up or on the way back.

        The way back of a rug that mirrors goes up the sheet, so that there the row below the lot's first begins one.
        """
        back = {self.rows - lot.row + 1 for lot in self.lots} if self.mirrored else set[int]()
        return frozenset({lot.row - 1 for lot in self.lots} | back)

    def jump(self) -> tuple[int, int, int] | None:
        """Return the strip and the row of the first jump over places without knots, and the column to; all from 0."""
        for page in self.pages if self.texts.shaped else ():
            if (found := self.texts.jump(self.strips[page.strip], page.rows)) is not None:
                return page.strip, *found
        return None

    @property
    def row_mm(self) -> float:
        """The width of the room for the numbers of a row."""
        return NUMBER_MM * (2 if self.mirrored else 1)

    @property
    def boxes(self) -> int:
        """How many rows' boxes stand on a line, beside the words that come before them."""
        words_mm = self.row_mm + (BACK_MM if self.mirrored else 0)
        return int((self.paper.width_mm - 2 * self.paper.margin_mm - words_mm) / self.row_mm)

    @property
    def reached_mm(self) -> float:
        """The width of the room for the column reached and for the total behind it."""
        return REACHED_MM + (TWIN_MM if self.mirrored_across else 0) + TOTAL_MM


class RowTexts:
    """The rows of strips as they are set; what two rows share, as in mirrored rugs, is set only once."""

    def __init__(self, knot_map: KnotMap, reading: Reading, a_line: int) -> None:
        self._knots, self._a_line = knot_map.knots, a_line
        self.shaped = knot_map.empty > 0
        self._step = -1 if reading == "right to left" else 1
        self._known: dict[bytes, RowText] = {}
        self._marks = 0

    def jump(self, strip: range, rows: range) -> tuple[int, int] | None:
        """Return the first row, and the column, at which a run begins behind places without knots; both from 0."""
        tied = self._knots[rows.start : rows.stop, strip.start : strip.stop][:, :: self._step] != NO_KNOT
        found = np.argwhere(tied[:, 1:] & ~tied[:, :-1])
        if not len(found):
            return None
        row, place = (int(each) for each in found[0])
        return rows.start + row, strip.start + place + 1 if self._step > 0 else strip.stop - place - 2

    def of(self, strip: range, rows: range) -> list[RowText]:
        """Return each of `rows` within `strip` as it is set."""
        cells = self._knots[rows.start : rows.stop, strip.start : strip.stop][:, :: self._step]
        keys = [row.tobytes() for row in cells]
        fresh = {key: number for number, key in enumerate(keys) if key not in self._known}
        if fresh:
            if self._marks > _MOST_MARKS:
                self._known.clear()
                self._marks = 0
                fresh = {key: number for number, key in enumerate(keys)}
            for key, entries in zip(fresh, folded(cells[list(fresh.values())]), strict=True):
                text = self._known[key] = set_row(key, entries, self._a_line)
                self._marks += len(text.marks)
        return [self._known[key] for key in keys]


class _TooLongError(Exception):
    """A row has more runs than a sheet holds."""


def _breaks(layout: RowLayout, strip: range, number: int, room_mm: float) -> Iterator[range]:
    """Yield the rows of each sheet of a strip that has `number` of them, or raise _TooLongError if a row does not fit.

    A last row that would have a sheet to itself stands in the foot of the sheet before if there is room, and otherwise
    takes half of that sheet's rows with it.
    """
    start = 0
    filling = layout.filling()
    for first in range(0, number, _ROWS_AT_ONCE):
        rows = range(first, min(first + _ROWS_AT_ONCE, number))
        for row, text in zip(rows, layout.texts.of(strip, rows), strict=True):
            if layout.setting.height_mm(text.lines) > room_mm:
                raise _TooLongError
            spare = FOOT_MM - 1 if row == number - 1 else 0.0
            if filling.used_mm + filling.taller_mm(row, text) > room_mm + spare:
                if row == number - 1 and row - start > 2:
                    row = _middle(layout, strip, range(start, number), room_mm)
                yield range(start, row)
                start = row
                filling = layout.filling()
            filling.add(row, text)
    yield range(start, number)


def _middle(layout: RowLayout, strip: range, rows: range, room_mm: float) -> int:
    """Return where `rows`, which are one more than a sheet holds, are divided between two sheets."""
    middle = (rows.start + rows.stop) // 2
    upper = range(middle, rows.stop)
    filling = layout.filling()
    for row, text in zip(upper, layout.texts.of(strip, upper), strict=True):
        filling.add(row, text)
    return middle if filling.used_mm <= room_mm else rows.stop - 1


def _parted(strip: range, parts: int) -> Iterator[range]:
    """Yield so many `parts` of a strip, which differ by one column at most."""
    edges = [strip.start + part * len(strip) // parts for part in range(parts + 1)]
    return (range(start, end) for start, end in pairwise(edges))


def _sheets(runs: list[list[int]], setting: RunSetting, room_mm: float) -> int:
    """Return about how many sheets strips take whose rows have so many `runs`, if nothing is folded or shared."""
    parts, most = 1, max(map(max, runs))
    while setting.height_mm(-(-most // parts // setting.a_line)) > room_mm and parts < most:
        parts *= 2
    sheets = 0
    for strip in runs:
        used = room_mm
        for number in strip:
            height = setting.height_mm(-(-number // parts // setting.a_line))
            if used + height > room_mm:
                sheets, used = sheets + parts, 0.0
            used += height
    return sheets


def _runs(knot_map: KnotMap, loom: Sequence[range], told: int) -> list[list[int]]:
    """Return how many runs each of the rows that are `told` has in each strip."""
    edges = np.array([strip.start for strip in loom])
    runs = np.zeros((len(loom), told), dtype=np.int64)
    for first in range(0, told, 1024):
        starts, _, _ = run_bounds(knot_map.knots[first : min(first + 1024, told)], edges)
        rows, places = np.divmod(starts, knot_map.columns)
        np.add.at(runs, (np.searchsorted(edges, places, side="right") - 1, first + rows), 1)
    counted: list[list[int]] = runs.tolist()
    return counted


def _setting(
    yarns: Sequence[Yarn], most: int, runs: list[list[int]], paper: Paper, around_mm: float
) -> tuple[RunSetting, int]:
    """Return the large setting, or the dense one if that saves half of many sheets, and about how many these are."""
    width_mm = paper.width_mm - 2 * paper.margin_mm - around_mm
    large, dense = (run_setting(yarns, most, width_mm, dense=dense) for dense in (False, True))
    sheets = _sheets(runs, large, room_of(paper))
    fewer = _sheets(runs, dense, room_of(paper)) if sheets > FEW_SHEETS else sheets
    return (dense, fewer) if 2 * fewer <= sheets else (large, sheets)


def room_of(paper: Paper) -> float:
    """Return the height that rows may take on a sheet."""
    return paper.height_mm - 2 * paper.margin_mm - HEAD_MM - FOOT_MM


def _lying(
    knot_map: KnotMap, chart: Chart, loom: Sequence[range], told: int, around_mm: float
) -> tuple[Paper, RunSetting]:
    """Return the paper as it lies, and how runs are set on it; left open, it stands upright unless that wastes it.

    On small upright paper, what stands round the runs of a row leaves them little of the width.
    """
    runs, most = _runs(knot_map, loom, told), max(map(len, loom))
    paper = paper_of(chart.paper, chart.orientation)
    setting, sheets = _setting(knot_map.yarns, most, runs, paper, around_mm)
    if chart.orientation == "auto" and sheets > FEW_SHEETS:
        broad = paper_of(chart.paper, "landscape")
        other, fewer = _setting(knot_map.yarns, most, runs, broad, around_mm)
        if fewer <= LYING_SHARE * sheets:
            return broad, other
    return paper, setting


def row_layout(knot_map: KnotMap, workshop: Workshop, lots: tuple[NewLot, ...] = ()) -> RowLayout:
    """Return the layout of the row script, strip after strip in reading order, with its sheets numbered from 1.

    One half of a rug that mirrors along its length is printed, and of two strips that mirror each other the one that is
    read first, unless the order asks for the whole chart. If a row of a strip has more runs than a sheet holds, each
    strip is told in two parts, or in four, and so on.

    Raises
    ------
    SheetError
        If the paper is unknown.
    RugError
        If the strips do not fit the rug.
    """
    chart = workshop.chart
    loom = strips_of(knot_map.rug, workshop)
    mirrors = mirrors_of(knot_map.knots)
    mirrored = not chart.whole and mirrors.along
    twins = [again(strip, knot_map.columns) for strip in reversed(loom)] == list(loom) and len(loom) > 1
    mirrored_across = not chart.whole and mirrors.across and twins
    half = len(told_half(knot_map.rows, mirrored))
    around = NUMBER_MM * (1 + mirrored) + REACHED_MM + TWIN_MM * mirrored_across + TOTAL_MM
    paper, setting = _lying(knot_map, chart, loom, half, around)
    room_mm = room_of(paper)
    texts, parts = RowTexts(knot_map, chart.reading, setting.a_line), 1
    order = range(len(loom))[:: -1 if chart.reading == "right to left" else 1]
    chosen = order[: -(-len(loom) // 2)] if mirrored_across else order
    while True:
        strips = tuple(part for strip in loom for part in _parted(strip, parts))
        bare = RowLayout(
            paper,
            texts,
            setting,
            strips,
            parts,
            chart.reading,
            chart.bold_every,
            knot_map.rows,
            mirrored,
            mirrored_across,
            (),
            0,
            lots=lots,
        )
        told_strips = [strip * parts + part for strip in chosen for part in range(parts)[:: order.step]]
        try:
            pages = [(strip, rows) for strip in told_strips for rows in _breaks(bare, strips[strip], half, room_mm)]
            break
        except _TooLongError:
            parts *= 2
    numbered = tuple(RowPage(number, strip, rows) for number, (strip, rows) in enumerate(pages, start=1))
    return replace(bare, pages=numbered, sheets=len(numbered))


def behind(layout: RowLayout, front_sheets: int) -> RowLayout:
    """Return the layout with its sheets numbered after `front_sheets` others."""
    pages = tuple(replace(page, number=page.number + front_sheets) for page in layout.pages)
    return replace(layout, pages=pages, sheets=layout.sheets + front_sheets)
