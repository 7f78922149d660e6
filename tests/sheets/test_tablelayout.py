"""Tables that are broken over sheets show every row once, in order, and nothing beyond the foot."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from chartmaker.ground.errors import SheetError
from chartmaker.paper.document import POINTS_PER_MM
from chartmaker.paper.lettering import Lettering
from chartmaker.reports.figuretable import FigureTable
from chartmaker.sheets.tables.tablelayout import (
    ABREAST_MM,
    GAP_MM,
    PAD_MM,
    TICK,
    Look,
    Portion,
    SetTable,
    Setter,
    paginate,
    set_abreast,
    set_table,
)

LETTERING = Lettering()


def table(rows: int, *, words: str = "some words", total: bool = False, notes: int = 0) -> FigureTable:
    return FigureTable(
        "Title",
        ("key", "number\nkg", "words"),
        tuple((f"k{n}", f"{n}", words) for n in range(rows)),
        right=(1,),
        total=("", "99", "") if total else None,
        notes=("A note.",) * notes,
    )


def bottom_mm(portion: Portion) -> float:
    notes = portion.table.notes_mm if portion.with_notes else 0.0
    return portion.top_mm + portion.table.height_mm(portion.rows) + notes


@settings(max_examples=40)
@given(
    st.lists(st.tuples(st.integers(1, 60), st.booleans(), st.integers(0, 3), st.booleans()), min_size=1, max_size=8),
    st.floats(120, 250),  # A5 leaves 170 mm of width
    st.floats(0, 0.3),
    st.sampled_from([1, 2]),
)
def test_every_row_once_in_order_within_the_sheet(
    wanted: list[tuple[int, bool, int, bool]], room_mm: float, boxed: float, abreast: int
) -> None:
    first_mm = room_mm * (1 - boxed)
    tables = [
        set_table(table(rows, total=total, notes=notes), Look(together=together), 190, LETTERING)
        for rows, total, notes, together in wanted
    ]
    sheets = paginate(tables, first_mm, room_mm, abreast)
    said = [(portion.table, row) for sheet in sheets for portion in sheet for row in portion.rows]
    expected = [(t, row) for t in tables for row in range(len(t.rows))]
    assert [(id(t), row) for t, row in said] == [(id(t), row) for t, row in expected]
    notes = [id(portion.table) for sheet in sheets for portion in sheet if portion.with_notes]
    assert notes == [id(t) for t in tables]
    for number, sheet in enumerate(sheets):
        assert sheet or number == 0
        for above, below in pairwise(sheet):
            assert below.top_mm == pytest.approx(bottom_mm(above) + GAP_MM)
        for portion in sheet:
            assert bottom_mm(portion) <= (room_mm if number >= abreast else first_mm) + 1e-6
            assert portion.continued == (portion.rows.start > 0)


def test_a_table_that_must_stay_together_is_not_broken() -> None:
    look = Look(together=True)
    tables = [set_table(table(12), look, 190, LETTERING) for _ in range(3)]
    height = tables[0].height_mm(range(12))
    sheets = paginate(tables, 1.7 * height, 1.7 * height)
    assert [len(sheet) for sheet in sheets] == [1, 1, 1]
    loose = [set_table(table(12), Look(), 190, LETTERING) for _ in range(3)]
    assert len(paginate(loose, 1.7 * height, 1.7 * height)) == 2


def test_narrow_tables_stand_side_by_side() -> None:
    """Bundles for two weavers once took half of the paper's width and twice as many sheets."""
    narrow, wide = (
        table(12),
        table(12, words="many more words than half of a sheet holds, and more of them"),
    )

    def setter(tables: list[FigureTable]) -> Setter:
        return lambda lettering, width: [set_table(each, Look(), width, lettering) for each in tables]

    tables, abreast = set_abreast(setter([narrow] * 4), LETTERING, 190)
    assert abreast == 2 and all(made.width_mm <= 91 for made in tables)
    room_mm = 1.2 * tables[0].height_mm(range(12))
    assert [len(column) for column in paginate(tables, room_mm, room_mm, abreast)] == [1] * 4
    assert set_abreast(setter([narrow, wide]), LETTERING, 190)[1] == 1
    assert set_abreast(setter([narrow]), LETTERING, 190)[1] == 1  # nothing would fit beside this one
    near = replace(narrow, rows=(*narrow.rows[:-1], ("k11", "11", "camel wool undyed")))  # its name may take two lines
    width = set_table(near, Look(), 190, LETTERING).width_mm
    tables, abreast = set_abreast(setter([near] * 2), LETTERING, 2 * width / 1.12 + ABREAST_MM)
    assert abreast == 2 and all(made.width_mm <= width / 1.12 + 1e-6 and made.look.size_pt >= 7 for made in tables)
    assert set_abreast(setter([near] * 2), LETTERING, 2 * width / 1.3 + ABREAST_MM)[1] == 1


def test_a_long_table_fills_every_column_down_to_its_foot() -> None:
    """Two columns beside the boxes at the head of the first sheet are lower than the two of each further sheet."""
    made = set_table(table(200, total=True), Look(), 90, LETTERING)
    row_mm, head_mm = made.rows[0].height_mm, made.height_mm(range(0))
    columns = paginate([made], head_mm + 20.5 * row_mm, head_mm + 50.5 * row_mm, abreast=2)
    assert [len(portion.rows) for column in columns for portion in column] == [20, 20, 50, 50, 50, 11]
    before = set_table(table(17), Look(), 90, LETTERING)  # it leaves too little room for the beginning of a table
    columns = paginate([before, made], head_mm + 20.5 * row_mm, head_mm + 50.5 * row_mm, abreast=2)
    assert [[len(portion.rows) for portion in column] for column in columns] == [[17], [20], [50], [50], [50], [31]]


def test_a_total_does_not_stand_alone_on_a_sheet() -> None:
    """At least three rows, with the total, go over to the next sheet (common practice of setting tables)."""
    made = set_table(table(20, total=True, notes=3), Look(), 190, LETTERING)
    whole_mm = made.height_mm(range(21)) + made.notes_mm
    for short_mm in (0.1, made.notes_mm, made.notes_mm + 3 * made.rows[0].height_mm):
        first, second = (sheet[0].rows for sheet in paginate([made], whole_mm - short_mm, 300))
        assert second.stop == 21
        assert len(second) >= 3
        assert len(first) >= 17
    tiny = set_table(table(4, total=True), Look(), 190, LETTERING)
    first, second = (sheet[0].rows for sheet in paginate([tiny], tiny.height_mm(range(5)) - 0.1, 300))
    assert (len(first), len(second)) == (3, 2)  # the beginning of a table does not stand alone either


def _fits(made: SetTable) -> bool:
    size_mm = made.look.size_pt / POINTS_PER_MM
    return all(
        LETTERING.width(line) * size_mm <= width - 2 * PAD_MM + 1e-3
        for row in made.rows
        for lines, width in zip(row.cells, made.widths_mm, strict=True)
        for line in lines
        if line != TICK
    )


@given(st.integers(1, 80), st.floats(40, 190))
def test_long_texts_are_broken_into_lines_within_their_column(words: int, room_mm: float) -> None:
    text = "measured on the loom " * words
    made = set_table(table(3, words=text), Look(), room_mm, LETTERING)
    assert made.width_mm <= room_mm + 1e-6
    assert _fits(made)
    assert " ".join(" ".join(made.rows[0].cells[2]).split()) == text.strip()


def test_short_tables_take_no_more_width_than_they_need() -> None:
    made = set_table(table(3), Look(swatch_mm=6), 190, LETTERING)
    assert made.width_mm < 60
    assert made.header.cells[1] == ("number", "kg")


def test_titles_take_two_lines_where_the_sheet_has_room() -> None:
    figures = FigureTable("T", ("yarn", "g to dye", "weaver 1\ng"), (("W-01", "0", "1"),) * 4, right=(1, 2))
    made = set_table(figures, Look(), 190, LETTERING)
    assert [len(lines) for lines in made.header.cells] == [1, 2, 2] and _fits(made)
    # the type is not made smaller for the sake of a title
    narrow = set_table(figures, Look(), made.width_mm - 2, LETTERING)
    assert max(len(lines) for lines in narrow.header.cells) == 3 and narrow.look.size_pt == made.look.size_pt


def test_a_table_of_less_than_half_a_sheet_goes_to_the_next_rather_than_be_broken() -> None:
    """The eleven yarns of a dye order once stood nine and two, but the sum belongs under all of them."""
    first, order = (
        set_table(table(30), Look(), 190, LETTERING),
        set_table(table(20, total=True), Look(), 190, LETTERING),
    )
    sheets = paginate([first, order], 250, 250)
    assert [[len(portion.rows) for portion in sheet] for sheet in sheets] == [[30], [21]]
    assert order.height_mm(range(21)) > 0.35 * 250


def test_a_tick_is_left_whole_and_empty_cells_empty() -> None:
    made = set_table(FigureTable("T", ("a", "b"), ((TICK, ""),)), Look(), 100, LETTERING)
    assert made.rows[0].cells == ((TICK,), ("",))


def test_codes_and_numbers_are_never_broken_or_cut() -> None:
    cells = tuple(("W-01", "Bell tower of the very long hill road", *["1,234.56"] * 14) for _ in range(3))
    wide = FigureTable("T", ("code", "yarn", *["g"] * 14), cells, right=tuple(range(2, 16)))
    made = set_table(wide, Look(size_pt=9), 192, LETTERING)
    assert made.look.size_pt < 9
    assert made.width_mm <= 192 + 1e-6
    for row in made.rows:
        assert row.cells[0] == ("W-01",)
        assert " ".join(row.cells[1]) == "Bell tower of the very long hill road"
        assert set(row.cells[2:]) == {("1,234.56",)}


def test_a_table_that_cannot_fit_is_refused() -> None:
    endless = FigureTable("T", ("a",), (("x" * 400,),))
    with pytest.raises(SheetError, match="the table 'T' does not fit the paper"):
        set_table(endless, Look(), 100, LETTERING)
