"""Counts in long runs of a chart: each says how many knots its run has on the sheet and where it goes on.

The cells are 2 mm wide, and a row is drawn by hand with its counts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from support.making import SQUARE, make_map, make_rug

from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.order.workshop import Workshop
from chartmaker.readback.printed import Block, Text
from chartmaker.verify import counts
from chartmaker.verify.blocks import Cells
from chartmaker.verify.counts import Count
from chartmaker.verify.expected import Expected, expected_of

#: A run of 4, one of 12 that goes on over an edge of sheets, and one of 24 knots; then places without a knot.
ROW = [0] * 4 + [1] * 12 + [0] * 24 + [NO_KNOT] * 10


def expected(marks: str = "symbol", rows: Any = None, **chart: Any) -> Expected:
    knots = np.array(rows if rows is not None else [ROW, [0] * 50, ROW[::-1], [1] * 50], dtype=np.uint16)
    made = make_map(knots, make_rug(knots.shape[1], len(knots), SQUARE))
    workshop = Workshop.model_validate({"chart": {"marks": marks, "counts": True, **chart}})
    known = expected_of(made, workshop)
    dark = tuple(replace(each, srgb=(20, 20, 20) if n else (240, 240, 240)) for n, each in enumerate(known.yarns))
    return replace(known, yarns=dark, seats=(range(knots.shape[1]),))


def cells(columns: range = range(50), rows: range = range(1)) -> Cells:
    return Cells(Block("cells", {}), rows, columns, 10.0, 20.0, 2.0 * len(columns), 2.0 * len(rows))


def count(middle: float, words: str, row: int = 0, **more: Any) -> Count:
    plain = Count(row, middle - 1, middle + 1, words, (0.0,), 0.7)
    return replace(plain, **more)


RIGHT = (count(10, "12"), count(22, "24"), count(34, "24"))


@pytest.mark.parametrize(
    ("told", "said"),
    [
        (RIGHT, []),
        (RIGHT[1:], ["the run from row 1, column 5 does not have its count"]),
        ((count(10, "13"), *RIGHT[1:]), ["the run from row 1, column 5 does not have its count"]),
        ((count(10, "«12"), *RIGHT[1:]), ["the run from row 1, column 5 does not have its count"]),
        ((count(10, "12»"), *RIGHT[1:]), ["the run from row 1, column 5 does not have its count"]),
        ((count(10, "x"), *RIGHT[1:]), ["the run from row 1, column 5 does not have its count"]),
        ((count(4.5, "12"), *RIGHT[1:]), ["the run from row 1, column 5 does not have its count"]),
        ((count(15.5, "12"), *RIGHT[1:]), ["the run from row 1, column 5 does not have its count"]),
        ((RIGHT[0], count(28, "24")), []),  # twelve cells from either end
        ((RIGHT[0], count(27.9, "24")), ["the run from row 1, column 17 does not have its count"]),
        ((RIGHT[0], count(28.1, "24")), ["the run from row 1, column 17 does not have its count"]),
        ((*RIGHT, count(2, "4")), ["the run from row 1, column 1 does not have its count"]),
        ((*RIGHT, count(45, "10")), ["the run from row 1, column 41 does not have its count"]),
        ((*RIGHT, count(10, "12", row=1)), ["a count stands in row 2 where there is no run"]),
        ((*RIGHT, count(51, "12")), ["a count stands in row 1 where there is no run"]),
        ((*RIGHT[1:], count(10, "12", colour=(0.9,))), ["the count 12 is not seen on its cells"]),
        ((*RIGHT[1:], count(10, "12", size_share=0.39)), ["the count 12 is not seen on its cells"]),
        ((*RIGHT[1:], count(10, "12", size_share=0.41)), []),
    ],
)
def test_each_long_run_has_its_count_near_either_end(told: Sequence[Count], said: list[str]) -> None:
    assert list(counts.count_differences(cells(), told, expected())) == said


def test_a_count_says_on_which_side_its_run_goes_on() -> None:
    """Columns 11 to 30 of the row hold six knots of the run of 12 and 14 of that of 24."""
    part = cells(range(10, 30))
    assert list(counts.count_differences(part, [count(3, "«6"), count(12, "14»")], expected())) == []
    for wrong in ("6", "6»", "«6»", "«12"):
        found = list(counts.count_differences(part, [count(3, wrong), count(12, "14»")], expected()))
        assert found == ["the run from row 1, column 11 does not have its count"]
    inside = cells(range(18, 28))
    assert list(counts.count_differences(inside, [count(5, "«10»")], expected())) == []
    edge = cells(range(6), rows=range(1, 2))
    assert list(counts.count_differences(edge, [count(3, "6»")], expected())) == []
    assert list(counts.count_differences(edge, [count(3, "«6»")], expected())) != []
    last = cells(range(44, 50), rows=range(1, 2))
    assert list(counts.count_differences(last, [count(3, "«6")], expected())) == []
    assert list(counts.count_differences(last, [count(3, "«6»")], expected())) != []


def test_a_run_begins_anew_where_a_weaver_begins_and_round_a_centre() -> None:
    known = replace(expected(), seats=(range(8), range(8, 50)))
    begins = np.flatnonzero(counts.run_starts(cells(), known)[0])
    assert begins.tolist() == [0, 4, 8, 16, 40]
    assert np.flatnonzero(counts.run_starts(cells(range(6, 12)), known)[0]).tolist() == [0, 2]
    odd = expected(rows=[[0] * 7 + [1] + [0] * 7] * 4)
    assert np.flatnonzero(counts.run_starts(cells(range(15)), odd)[0]).tolist() == [0, 7, 8]
    alike = expected(rows=[[0] * 15] * 4)
    assert np.flatnonzero(counts.run_starts(cells(range(15)), alike)[0]).tolist() == [0, 7, 8]
    assert np.flatnonzero(counts.run_starts(cells(range(14)), expected(rows=[[0] * 14] * 4))[0]).tolist() == [0]


def test_only_cells_between_the_ends_of_a_counted_run_may_be_silent() -> None:
    found = np.zeros((1, 50), dtype=np.int64)
    found[0, 20] = 7
    silent = np.flatnonzero(counts.silent_cells(cells(), found, expected())[0]).tolist()
    assert silent == [*range(5, 15), *range(17, 20), *range(21, 39), *range(41, 49)]
    short = expected(rows=[[0] * 4 + [1] * 5 + [0] * 3] * 4)
    row = counts.silent_cells(cells(range(12)), np.zeros((1, 12), dtype=np.int64), short)[0]
    assert np.flatnonzero(row).tolist() == [5, 6, 7]


def test_counts_on_dark_yarns_are_read_against_their_colour() -> None:
    """A light figure is seen on a dark cell and a dark one is not (WCAG 2, 1.4.3); symbols alone stand on white."""
    white = (1.0,)
    both = [count(10, "12", colour=white), *RIGHT[1:]]
    assert list(counts.count_differences(cells(), both, expected("both"))) == []
    unseen = ["the count 12 is not seen on its cells"]
    assert list(counts.count_differences(cells(), both, expected("symbol"))) == unseen
    assert list(counts.count_differences(cells(), RIGHT, expected("both"))) == unseen
    empty = [*both, count(45, "10", colour=white)]
    assert "the count 10 is not seen on its cells" in list(counts.count_differences(cells(), empty, expected("both")))


def test_a_cell_without_symbol_and_without_a_figure_is_blank() -> None:
    """A count fills the cells on which it stands and one at either side: here 9 to 12."""
    known = expected()
    knots, found = known.knots[:1], np.zeros((1, 50), dtype=np.int64)
    found[0, [*range(8), *range(12, 40)]] = 7
    words = "cells without a symbol or a count, the first in row 1, column 9"
    assert counts.blank_words(cells(), [count(10, "12")], found, knots) == ""
    assert counts.blank_words(cells(), [], found, knots) == f"4 {words}"
    assert counts.blank_words(cells(), [count(10, "12", row=1)], found, knots) == f"4 {words}"
    assert counts.blank_words(cells(), [count(10, "12", row=-1)], found, knots) == f"4 {words}"
    found[0, 7] = 0
    assert counts.blank_words(cells(), [count(10, "12")], found, knots).startswith("1 cell without a symbol or a count")
    found[0, :8] = 0
    assert counts.blank_words(cells(), [count(0.5, "12"), count(10, "12")], found, knots).endswith("row 1, column 3")


def test_counts_are_read_from_the_cells_in_which_they_stand() -> None:
    block = cells(rows=range(3))
    letters = Text("24", 30.0, 22.6, 1.4, 0.0, 3.0, "T", b"", True, (0.2,))
    block.block.items.append(Block("count", {}, [letters]))
    (found,) = counts.counts_of(block)
    assert (found.row, found.first, found.last, found.words, found.colour) == (1, 10.0, 11.5, "24", (0.2,))
    assert found.size_share == pytest.approx(0.7) and found.middle == 10.75


def test_long_runs_are_counted_unless_colours_alone_mark_them() -> None:
    assert counts.counted(expected()) and counts.counted(expected("both"))
    assert not counts.counted(expected("colour")) and not counts.counted(expected(counts=False))
