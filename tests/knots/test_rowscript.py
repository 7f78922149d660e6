"""The runs of the row script give the map back, whatever the strips."""

from __future__ import annotations

import csv
import re
from itertools import groupby, pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.making import knot_maps

from chartmaker.ground.errors import KnotFileError
from chartmaker.knots.knotmap import NO_KNOT, KnotMap
from chartmaker.knots.rowscript import CSV_HEADER, Run, csv_lines, expand, run_tables, runs, runs_of_csv, text_lines


def cut(columns: int, strips: int) -> list[range]:
    return [range(a, b) for a, b in pairwise(np.linspace(0, columns, strips + 1).astype(int).tolist())]


@settings(max_examples=40)
@given(knot_maps(), st.integers(1, 5))
def test_the_script_expands_to_the_map(knot_map: KnotMap, strips: int) -> None:
    said = list(runs(knot_map.knots, cut(knot_map.columns, strips)))
    assert (expand(said, knot_map.rows, knot_map.columns) == knot_map.knots).all()
    codes = [yarn.code for yarn in knot_map.yarns]
    text = "".join(csv_lines(run_tables(knot_map.knots, cut(knot_map.columns, strips)), codes))
    assert list(runs_of_csv(text.splitlines(), codes)) == said


@settings(max_examples=40)
@given(knot_maps(), st.integers(1, 5))
def test_an_independent_reader_gets_the_map_from_the_csv(knot_map: KnotMap, strips: int) -> None:
    # The file is read by its documented columns with the standard library alone: row 1 is woven first, and start 1 is
    # leftmost.
    codes = [yarn.code for yarn in knot_map.yarns]
    lines = "".join(csv_lines(run_tables(knot_map.knots, cut(knot_map.columns, strips)), codes)).splitlines()
    grid = [["" for _ in range(knot_map.columns)] for _ in range(knot_map.rows)]
    for line in csv.DictReader(lines):
        for column in range(int(line["start"]) - 1, int(line["start"]) - 1 + int(line["knots"])):
            assert grid[int(line["row"]) - 1][column] == ""
            grid[int(line["row"]) - 1][column] = line["code"]
    expected = [["" if cell == NO_KNOT else codes[cell] for cell in row] for row in knot_map.knots.tolist()]
    assert grid == expected


def test_a_long_rug_is_written_row_by_row_to_its_end() -> None:
    """The rug is longer than the number of rows that are looked at in one go."""
    cells = np.random.default_rng(6).integers(0, 3, (700, 14)).astype(np.uint16)
    said = list(runs(cells, cut(14, 2)))
    assert [run.row for run in said] == sorted(run.row for run in said)
    assert {run.row for run in said} == set(range(700))
    assert (expand(said, 700, 14) == cells).all()


@settings(max_examples=40)
@given(knot_maps())
def test_runs_are_as_long_as_can_be(knot_map: KnotMap) -> None:
    whole = [range(knot_map.columns)]
    said = [(run.row, run.yarn, run.knots) for run in runs(knot_map.knots, whole)]
    expected = [
        (number, yarn, len(list(group)))
        for number, row in enumerate(knot_map.knots.tolist())
        for yarn, group in groupby(row)
        if yarn != NO_KNOT
    ]
    assert said == expected
    assert sum(knots for _, _, knots in said) == knot_map.tied


@settings(max_examples=40)
@given(knot_maps(), st.integers(1, 3))
def test_an_independent_reader_gets_the_map_from_the_plain_lines(knot_map: KnotMap, strips: int) -> None:
    codes = [yarn.code for yarn in knot_map.yarns]
    grid = np.full(knot_map.knots.shape, NO_KNOT)
    spans = cut(knot_map.columns, strips)
    for line in text_lines(runs(knot_map.knots, spans), codes):
        found = re.fullmatch(r"row (\d+), strip (\d+), from column (\d+): (.*)  = (\d+)\n", line)
        assert found is not None
        column, tied = int(found[3]) - 1, 0
        assert column in spans[int(found[2]) - 1]
        for word in found[4].split(", "):
            if jump := re.fullmatch(r"from column (\d+)", word):
                assert int(jump[1]) - 1 > column
                column = int(jump[1]) - 1
                continue
            number, code = word.split(" ")
            grid[int(found[1]) - 1, column : column + int(number)] = codes.index(code)
            column, tied = column + int(number), tied + int(number)
        assert tied == int(found[5])
    assert (grid == knot_map.knots).all()


def test_calls_hold_at_most_twenty_knots_and_begin_where_the_row_is_read_from() -> None:
    knots = np.array([[0] * 45 + [NO_KNOT] * 3 + [1] * 2], dtype=np.uint16)
    (there,) = text_lines(runs(knots, [range(50)]), ["Ivory", "Rose"])
    assert there == "row 1, strip 1, from column 1: 20 Ivory, 20 Ivory, 5 Ivory, from column 49, 2 Rose  = 47\n"
    (back,) = text_lines(runs(knots, [range(50)]), ["Ivory", "Rose"], back=True)
    assert back == "row 1, strip 1, from column 50: 2 Rose, from column 45, 20 Ivory, 20 Ivory, 5 Ivory  = 47\n"


def test_runs_are_those_that_one_counts_by_hand() -> None:
    knots = np.array([[3, 3, 1, NO_KNOT, NO_KNOT, 1]], dtype=np.uint16)
    assert list(runs(knots, [range(6)])) == [Run(0, 0, 0, 2, 3), Run(0, 0, 2, 1, 1), Run(0, 0, 5, 1, 1)]


def test_runs_count_within_their_strip() -> None:
    knots = np.zeros((1, 6), dtype=np.uint16)
    strips = [range(4), range(4, 6)]
    assert list(runs(knots, strips)) == [Run(0, 0, 0, 4, 0), Run(0, 1, 4, 2, 0)]
    assert "".join(csv_lines(run_tables(knots, strips), ["A-1"])) == CSV_HEADER + "\n1,1,1,4,A-1\n1,2,5,2,A-1\n"


@pytest.mark.parametrize(
    ("run", "message"),
    [
        (Run(0, 0, 4, 3, 0), "row 1, start 5: the run leaves the rug"),
        (Run(3, 0, 0, 1, 0), "row 4, start 1: the run leaves the rug"),
        (Run(-1, 0, 0, 1, 0), "row 0, start 1: the run leaves the rug"),
        (Run(0, 0, -1, 1, 0), "row 1, start 0: the run leaves the rug"),
        (Run(0, 0, 0, 0, 0), "row 1, start 1: the run leaves the rug"),
        (Run(1, 0, 2, 2, 0), "row 2, start 3: the run covers knots of another"),
    ],
)
def test_a_run_that_does_not_fit_is_refused(run: Run, message: str) -> None:
    with pytest.raises(KnotFileError, match=message):
        expand([Run(1, 0, 0, 3, 1), run], 3, 6)


@pytest.mark.parametrize(
    ("lines", "message"),
    [
        (["row,start,knots,code"], "line 1: the header must be row,strip,start,knots,code"),
        ([CSV_HEADER, "1,1,1,5"], "line 2: not a run of this map: '1,1,1,5'"),
        ([CSV_HEADER, "1,1,1,5,A", "1,1,x,5,A"], "line 3: not a run of this map"),
        ([CSV_HEADER, "1,1,1,5,B"], "line 2: not a run of this map"),
        ([CSV_HEADER, "1,1,1,-5,A"], "line 2: not a run of this map"),
        ([CSV_HEADER, ""], "line 2: not a run of this map"),
        ([CSV_HEADER, "1,1,1," + "9" * 5000 + ",A"], "line 2: not a run of this map"),
    ],
)
def test_a_line_without_a_run_is_refused(lines: list[str], message: str) -> None:
    with pytest.raises(KnotFileError, match=message):
        list(runs_of_csv(lines, ["A"]))
