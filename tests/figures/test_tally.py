"""Knots and runs are counted in bands of rows, with the same result as counting them one by one."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.making import knot_maps

from chartmaker.figures import tally as counting
from chartmaker.figures.tally import bands_of, runs_by_row, tally
from chartmaker.knots.knotmap import KnotMap
from chartmaker.knots.rowscript import runs


@settings(max_examples=40)
@given(knot_maps(), st.integers(1, 70), st.integers(1, 5))
def test_tally_counts_every_knot_once(knot_map: KnotMap, height: int, strips: int) -> None:
    bands = bands_of(knot_map.rows, height)
    edges = np.linspace(0, knot_map.columns, strips + 1).astype(int)
    columns = [range(a, b) for a, b in pairwise(edges)]
    counts = tally(knot_map.knots, bands, columns, len(knot_map.yarns))
    assert (counts.sum(axis=(0, 1)) == knot_map.counts).all()
    part = knot_map.knots[bands[-1].start :, columns[0].start : columns[0].stop]
    assert counts[-1, 0].tolist() == [int((part == index).sum()) for index in range(len(knot_map.yarns))]


@settings(max_examples=40)
@given(knot_maps(), st.integers(1, 3))
def test_runs_are_those_of_the_row_script(knot_map: KnotMap, strips: int) -> None:
    edges = np.linspace(0, knot_map.columns, strips + 1).astype(int)
    columns = [range(a, b) for a, b in pairwise(edges)]
    by_row = runs_by_row(knot_map.knots, columns)
    expected = np.zeros(knot_map.rows, dtype=int)
    for run in runs(knot_map.knots, columns):
        expected[run.row] += 1
    assert by_row.tolist() == expected.tolist()


@settings(max_examples=40)
@given(knot_maps())
def test_the_height_of_the_bands_makes_no_difference(knot_map: KnotMap) -> None:
    whole = (range(knot_map.columns),)
    counts = tally(knot_map.knots, bands_of(knot_map.rows, 9), whole, len(knot_map.yarns))
    by_row = runs_by_row(knot_map.knots, whole)
    assert counts.dtype == by_row.dtype == np.int64
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(counting, "_BAND_CELLS", 50)
        assert (tally(knot_map.knots, bands_of(knot_map.rows, 9), whole, len(knot_map.yarns)) == counts).all()
        assert (runs_by_row(knot_map.knots, whole) == by_row).all()


def test_bands_cover_the_rows_in_order() -> None:
    assert bands_of(10, 4) == (range(4), range(4, 8), range(8, 10))
