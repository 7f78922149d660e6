"""The layout keeps its promises whatever the rug: every cell once, no sheet across strips, halves tell the whole."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rugs import rug_of

from chartmaker.errors import SheetError
from chartmaker.sheets.layout import layout_of, numbered, split
from chartmaker.sheets.mirrors import again, mirrors_of, told_half
from chartmaker.sheets.paper import paper_of


@given(st.integers(0, 500), st.integers(1, 2000), st.integers(1, 120), st.integers(2, 20))
def test_split_is_whole_and_fits(start: int, size: int, most: int, bold: int) -> None:
    pieces = split(range(start, start + size), most, bold)
    assert [cell for piece in pieces for cell in piece] == list(range(start, start + size))
    assert max(map(len, pieces)) <= most
    assert len(pieces) == -(-size // most)  # no sheet more than the paper needs


def test_split_cuts_at_heavy_lines_where_that_wastes_no_sheet() -> None:
    """473 rows where 85 fit need six sheets with room to spare; 118 columns where 60 fit need two with next to none."""
    pieces = split(range(473), 85, 10)
    assert len(pieces) == 6
    assert all(piece.stop % 10 == 0 for piece in pieces[:-1])
    assert [len(piece) for piece in split(range(118, 236), 60, 10)] == [59, 59]


@settings(max_examples=60, deadline=None)
@given(
    st.integers(2, 300),
    st.integers(2, 300),
    st.integers(1, 5),
    st.sampled_from(["left to right", "right to left"]),
    st.booleans(),
    st.booleans(),
)
def test_sheets_cover_what_is_told_once(
    rows: int, columns: int, strips: int, reading: str, across: bool, along: bool
) -> None:
    knots = np.random.default_rng(rows * columns).integers(0, 3, (rows, columns))
    if across:
        knots[:, columns - columns // 2 :] = knots[:, : columns // 2][:, ::-1]
    if along:
        knots[rows - rows // 2 :] = knots[: rows // 2][::-1]
    knot_map = rug_of(knots, np.zeros((3, 3), int), density=(4, 4), strips=min(strips, columns), reading=reading)
    layout = layout_of(knot_map, 1)
    seen = np.zeros(knots.shape, int)
    for page in layout.pages:
        strip = layout.strips[page.strip]
        assert strip.start <= page.columns.start and page.columns.stop <= strip.stop
        for r in (page.rows, again(page.rows, rows)) if layout.mirrors.along else (page.rows,):
            for c in (page.columns, again(page.columns, columns)) if layout.mirrors.across else (page.columns,):
                seen[r.start : r.stop, c.start : c.stop] += 1
    assert (seen >= 1).all()
    if not (layout.mirrors.across or layout.mirrors.along):
        assert (seen == 1).all()
    assert [page.number for page in layout.pages] == list(range(2, layout.sheets + 1))
    for before, after in pairwise(layout.pages):  # a strip is finished before the next, from its foot upwards
        assert (before.strip, before.step, before.part) != (after.strip, after.step, after.part)
        assert before.strip != after.strip or (before.step, before.part) < (after.step, after.part)


def test_neighbours_know_each_other() -> None:
    knot_map = rug_of(np.random.default_rng(0).integers(0, 3, (300, 300)), np.zeros((3, 3), int), density=(40, 40))
    pages = {page.number: page for page in layout_of(knot_map, 1).pages}
    for page in pages.values():
        if page.above is not None:
            assert pages[page.above].below == page.number
            assert pages[page.above].rows.start == page.rows.stop
        if page.right is not None:
            assert pages[page.right].left == page.number
            assert pages[page.right].columns.start == page.columns.stop


@pytest.mark.parametrize("size", [1, 2, 3, 10, 11])
def test_halves_tell_the_whole(size: int) -> None:
    """An odd centre is in the half; an even one has none (half x half of the published quarter, even counts)."""
    for upper in (False, True):
        half = told_half(size, True, upper=upper)
        assert len(half) == (size + 1) // 2
        assert set(half) | set(again(half, size)) == set(range(size))


def test_mirrors_are_exact() -> None:
    knots = np.random.default_rng(0).integers(0, 9, (1201, 7)).astype(np.uint16)
    whole = np.concatenate([knots, knots[:, :-1][:, ::-1]], axis=1)
    assert mirrors_of(whole).across and not mirrors_of(whole).along
    whole[1200, 0] ^= 1
    assert not mirrors_of(whole).across
    assert mirrors_of(np.concatenate([knots, knots[::-1]])).along


@given(st.integers(0, 900), st.integers(1, 90), st.sampled_from([1, 2, 5, 10]), st.integers(2, 20))
def test_numbers_do_not_crowd(start: int, size: int, every: int, bold: int) -> None:
    chosen = numbered(range(start, start + size), every, bold)
    assert chosen and all(b - a >= min(every, bold) for a, b in pairwise(chosen))


def test_papers_have_their_standard_sizes() -> None:
    """ISO 216: A0 is one square metre, each next size half of it, sides rounded down to whole millimetres."""
    for n in range(6):
        paper = paper_of(f"a{n}")
        assert paper.width_mm * paper.height_mm == pytest.approx(1e6 / 2**n, rel=0.006)
    letter = paper_of("letter"), paper_of("Letter", "landscape")
    assert [paper.width_mm for paper in letter] == pytest.approx([215.9, 279.4])
    assert paper_of('roll 36"').width_mm == pytest.approx(914.4)
    with pytest.raises(SheetError, match="no paper"):
        paper_of("foolscap")
