"""The counts in the runs of a chart: each says how many knots its run has on the sheet and where it goes on."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.language import say
from chartmaker.knots.knotmap import NO_KNOT, KnotArray
from chartmaker.readback.printed import Colour, stands_out
from chartmaker.verify.blocks import MIDDLE_EM, Cells
from chartmaker.verify.difference import cells_words
from chartmaker.verify.expected import Expected
from chartmaker.verify.legends import SMALLEST_SHARE

#: Runs of at least this many knots have a count.
LEAST_COUNTED = 5
#: From either end of its run, the middle of a count is at most this many cells away.
NEAR_CELLS = 12
#: What is said of counts on the cover and on each sheet holds these numbers: how long a run must be, and an example.
SAID_ON_COVER = {"counted_run": LEAST_COUNTED, "counted_shown": 12, "counted_here": 12}
SAID_ON_SHEET = {"least": LEAST_COUNTED, "shown": 12, "here": 12}
_COUNT = re.compile(r"(«?)(\d{1,6})(»?)")


@dataclass(frozen=True, slots=True)
class Count:
    """A count as it is printed in `row`, from `first` to `last` in cells from the left of the block."""

    row: int
    first: float
    last: float
    words: str
    colour: Colour
    size_share: float

    @property
    def middle(self) -> float:
        return (self.first + self.last) / 2


def counted(expected: Expected) -> bool:
    """Return whether long runs of the chart must have counts."""
    return expected.chart.counts and expected.chart.marks != "colour"


def counts_of(cells: Cells) -> Iterator[Count]:
    """Yield the counts that stand in a block of cells."""
    width, height = cells.cell_mm
    for text in (text for block in cells.block.find("count") for text in block.texts()):
        row = math.floor((text.y_mm + MIDDLE_EM * text.size_mm - cells.y_mm) / height)
        first, last = ((x - cells.x_mm) / width for x in (text.x_mm, text.x_mm + text.length_mm))
        yield Count(row, first, last, text.words, text.colour, text.size_mm / min(width, height))


def run_starts(cells: Cells, expected: Expected) -> NDArray[np.bool_]:
    """Return at which cells a run begins, on the sheet's left edge, where a weaver begins, and round a centre too."""
    knots = _knots(cells, expected)
    begins = np.ones(knots.shape, dtype=bool)
    begins[:, 1:] = knots[:, 1:] != knots[:, :-1]
    columns = len(expected.knots[0])
    centre = [columns // 2, columns // 2 + 1] if expected.mirrored[0] and columns % 2 else []
    for start in (*(seat.start for seat in expected.seats), *centre):
        if start in cells.columns:
            begins[:, start - cells.columns.start] = True
    return begins


def silent_cells(cells: Cells, found: NDArray[np.int64], expected: Expected) -> NDArray[np.bool_]:
    """Return which cells rightly have no symbol: those between the ends of a counted run."""
    silent = np.zeros(found.shape, dtype=bool)
    begins = run_starts(cells, expected)
    for row in range(len(found)):
        for start, stop in _runs(begins[row]):
            if stop - start >= LEAST_COUNTED:
                silent[row, start + 1 : stop - 1] = found[row, start + 1 : stop - 1] == 0
    return silent


def count_differences(cells: Cells, counts: Sequence[Count], expected: Expected) -> Iterator[str]:
    """Yield which runs have another count than theirs, or none that is seen from each of their ends."""
    knots, begins = _knots(cells, expected), run_starts(cells, expected)
    grounds = [tuple(band / 255 for band in yarn.srgb) for yarn in expected.yarns]
    by_row: dict[int, list[Count]] = {}
    for count in counts:
        by_row.setdefault(count.row, []).append(count)
        inside = 0 <= count.row < len(knots) and 0 <= count.middle < knots.shape[1]
        yarn = int(knots[count.row, int(count.middle)]) if inside else NO_KNOT
        plain = yarn == NO_KNOT or expected.chart.marks == "symbol"
        ground: Colour = (1.0,) if plain else grounds[yarn]
        if not stands_out(count.colour, ground) or count.size_share < SMALLEST_SHARE:
            yield say("the count {words} is not seen on its cells", words=count.words)
    for row, line in enumerate(knots):
        printed = by_row.pop(row, [])
        for start, stop in _runs(begins[row]):
            own = [count for count in printed if start <= count.middle < stop]
            printed = [count for count in printed if count not in own]
            tied = line[start] != NO_KNOT and stop - start >= LEAST_COUNTED
            wanted = _beyond(cells, expected, row, start, stop) if tied else None
            right = all(_read(count.words) == wanted for count in own)
            inside = all(start <= count.first and count.last <= stop for count in own)
            near = [any(abs(count.middle - end) <= NEAR_CELLS for count in own) for end in (start, stop)]
            if not (right and inside and (all(near) if tied else not own)):
                place = {"row": cells.rows.start + row + 1, "column": cells.columns.start + start + 1}
                yield say("the run from row {row}, column {column} does not have its count", **place)
        for _ in printed:
            yield say("a count stands in row {row} where there is no run", row=cells.rows.start + row + 1)
    for row in by_row:
        yield say("a count stands in row {row} where there is no run", row=cells.rows.start + row + 1)


def blank_words(cells: Cells, counts: Sequence[Count], found: NDArray[np.int64], knots: KnotArray) -> str:
    """Return which cells of a chart without colour hold neither a symbol nor a figure of a count."""
    bare = (found == 0) & (knots != NO_KNOT)
    for count in counts:
        if 0 <= count.row < len(bare):
            bare[count.row, max(0, math.ceil(count.first - 1)) : max(0, math.floor(count.last + 1))] = False
    return cells_words(bare, say("without a symbol or a count"), cells.rows.start, cells.columns.start) or ""


def _knots(cells: Cells, expected: Expected) -> KnotArray:
    return expected.knots[cells.rows.start : cells.rows.stop, cells.columns.start : cells.columns.stop]


def _runs(begins: NDArray[np.bool_]) -> Iterator[tuple[int, int]]:
    starts = np.flatnonzero(begins).tolist()
    return zip(starts, [*starts[1:], len(begins)], strict=True)


def _read(words: str) -> tuple[bool, int, bool] | None:
    """Return whether a count says that its run goes on at the left, its knots, and whether it goes on at the right."""
    found = _COUNT.fullmatch(words)
    return (bool(found[1]), int(found[2]), bool(found[3])) if found else None


def _beyond(cells: Cells, expected: Expected, row: int, start: int, stop: int) -> tuple[bool, int, bool]:
    """Return what the count of a run must say."""
    line = expected.knots[cells.rows.start + row]
    first, last = cells.columns.start + start, cells.columns.start + stop
    goes_on = (first > 0 and line[first - 1] == line[first], last < len(line) and line[last] == line[first])
    return bool(goes_on[0]), stop - start, bool(goes_on[1])
