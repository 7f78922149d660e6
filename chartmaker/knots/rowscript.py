"""Rows of the knot map as runs of one yarn, and the map rebuilt from those runs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.errors import KnotFileError
from chartmaker.ground.language import say
from chartmaker.knots.knotmap import NO_KNOT, KnotArray

CSV_HEADER = "row,strip,start,knots,code"

_ROWS_AT_ONCE = 256
#: A caller calls at most this many knots at a time (P Scidmore, Winter India; calls of 2, 4 or up to 20).
MOST_CALLED = 20


class Run(NamedTuple):
    """`knots` neighbouring knots of one yarn. `row`, `strip` and `column` count from 0."""

    row: int
    strip: int
    column: int
    knots: int
    yarn: int


def run_bounds(
    rows: KnotArray, edges: Sequence[int] | NDArray[np.intp]
) -> tuple[NDArray[np.intp], NDArray[np.intp], KnotArray]:
    """Return where the runs of equal cells in `rows` begin (flat), how many cells each has, and its yarn.

    A new run begins at each of the columns `edges`; the first column of all is one of them.
    """
    begins = np.zeros(rows.shape, dtype=bool)
    begins[:, 1:] = rows[:, 1:] != rows[:, :-1]
    begins[:, edges] = True
    starts = np.flatnonzero(begins)
    return starts, np.diff(np.append(starts, rows.size)), rows.ravel()[starts]


def runs(knots: KnotArray, strips: Sequence[range]) -> Iterator[Run]:
    """Return the runs of the map, row by row from the first woven, left to right, cut at strip edges.

    Parameters
    ----------
    knots : ndarray of uint16, shape (rows, columns)
    strips : sequence of range
        The columns of each strip, as `strips.strips_of` gives them.
    """
    return runs_in(run_tables(knots, strips))


def runs_in(tables: Iterable[NDArray[np.int64]]) -> Iterator[Run]:
    """Yield the runs of one table of `run_tables` after another."""
    return (Run._make(line) for table in tables for line in table.tolist())


def run_tables(knots: KnotArray, strips: Sequence[range]) -> Iterator[NDArray[np.int64]]:
    """Yield the same runs as tables of shape (some runs, 5) with the fields of `Run` as columns, whole rows in each."""
    columns = knots.shape[1]
    edges = np.array([strip.start for strip in strips])
    for first in range(0, len(knots), _ROWS_AT_ONCE):
        block = knots[first : first + _ROWS_AT_ONCE]
        starts, lengths, yarns = run_bounds(block, edges)
        tied = yarns != NO_KNOT
        rows, places = np.divmod(starts[tied], columns)
        strip = np.searchsorted(edges, places, side="right") - 1
        yield np.stack([rows + first, strip, places, lengths[tied], yarns[tied]], axis=1, dtype=np.int64)


def expand(all_runs: Iterable[Run], rows: int, columns: int) -> KnotArray:
    """Return the map that `all_runs` describe; cells that no run covers are NO_KNOT.

    Raises
    ------
    KnotFileError
        If a run leaves the rug or covers a cell that another run covers.
    """
    knots = np.full((rows, columns), NO_KNOT, dtype=np.uint16)
    for run in all_runs:
        cells = knots[run.row, run.column : run.column + run.knots] if 0 <= run.row < rows else knots[:0, 0]
        if run.knots < 1 or run.column < 0 or cells.size != run.knots:
            raise KnotFileError(
                say("row {row}, start {column}: the run leaves the rug", row=run.row + 1, column=run.column + 1)
            )
        if (cells != NO_KNOT).any():
            raise KnotFileError(
                say(
                    "row {row}, start {column}: the run covers knots of another run",
                    row=run.row + 1,
                    column=run.column + 1,
                )
            )
        cells[:] = run.yarn
    return knots


def csv_lines(tables: Iterable[NDArray[np.int64]], codes: Sequence[str]) -> Iterator[str]:
    """Yield rows.csv, the header first, then the lines of one table of `run_tables` after another.

    Numbers count from 1. No field needs quotes, because a code consists of letters, digits and hyphens.
    """
    yield CSV_HEADER + "\n"
    for table in tables:
        row, strip, column, knots, yarn = (table + np.array([1, 1, 1, 0, 0])).T.tolist()
        fields = zip(row, strip, column, knots, map(codes.__getitem__, yarn), strict=True)
        yield "".join(map("%d,%d,%d,%d,%s\n".__mod__, fields))


def text_lines(all_runs: Iterable[Run], names: Sequence[str], *, back: bool = False) -> Iterator[str]:
    """Yield the calls of the rows as plain lines, one for each row of a strip: what is called, then the row's knots.

    Parameters
    ----------
    all_runs : iterable of Run
        As `runs` gives them.
    names : sequence of str
        What is called for each yarn.
    back : bool
        Whether a row is called from its right end.
    """
    for (row, strip), group in groupby(all_runs, key=lambda run: (run.row, run.strip)):
        told = list(group)[:: -1 if back else 1]
        words: list[str] = []
        for before, run in zip([None, *told], told, strict=False):
            passed = 0 if before is None else _between(*((run, before) if back else (before, run)))
            if passed:
                words.append(say("from column {column}", column=run.column + (run.knots if back else 1)))
            calls = [MOST_CALLED] * (run.knots // MOST_CALLED) + [run.knots % MOST_CALLED]
            words += (say("{knots} {name}", knots=knots, name=names[run.yarn]) for knots in calls if knots)
        fields = {"row": row + 1, "strip": strip + 1, "first": told[0].column + (told[0].knots if back else 1)}
        knots = sum(run.knots for run in told)
        calls_words = ", ".join(words)
        yield (
            say(
                "row {row}, strip {strip}, from column {first}: {calls}  = {knots}",
                **fields,
                calls=calls_words,
                knots=knots,
            )
            + "\n"
        )


def _between(left: Run, right: Run) -> int:
    """Return the places without a knot between two runs."""
    return right.column - left.column - left.knots


def runs_of_csv(lines: Iterable[str], codes: Sequence[str]) -> Iterator[Run]:
    """Yield the runs that the lines of a rows.csv say.

    Raises
    ------
    KnotFileError
        If a line is malformed or names a yarn that is not in `codes`.
    """
    index = {code: number for number, code in enumerate(codes)}
    for number, line in enumerate(lines, start=1):
        words = line.strip().split(",")
        if number == 1:
            if line.strip() != CSV_HEADER:
                raise KnotFileError(say("line 1: the header must be {header}", header=CSV_HEADER))
            continue
        numbers = words[:4]
        if len(words) != 5 or not all(w.isdecimal() and len(w) < 10 for w in numbers) or words[4] not in index:
            raise KnotFileError(say("line {number}: not a run of this map: {text!r}", number=number, text=line.strip()))
        row, strip, start, knots = map(int, numbers)
        yield Run(row - 1, strip - 1, start - 1, knots, index[words[4]])
