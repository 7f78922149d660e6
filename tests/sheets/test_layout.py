"""Whatever the rug, the layout shows every cell once, keeps strips apart, and halves stand for the whole."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.making import SettledMap, coloured_map, settled

from chartmaker.ground.errors import SheetError
from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.knots.mirrors import Mirrors, again, mirrors_of, told_half
from chartmaker.paper.papers import paper_of
from chartmaker.sheets.chart import frame as places
from chartmaker.sheets.chart.frame import cell_size_mm, frame_of
from chartmaker.sheets.chart.layout import (
    columns_beside,
    filled,
    layout_of,
    number_step,
    numbered,
    sides_mm,
    split,
    yarns_on,
)


@given(st.integers(0, 500), st.integers(1, 2000), st.integers(1, 120), st.integers(2, 20))
def test_split_is_whole_and_fits(start: int, size: int, most: int, bold: int) -> None:
    pieces = split(range(start, start + size), most, bold)
    assert [cell for piece in pieces for cell in piece] == list(range(start, start + size))
    assert max(map(len, pieces)) <= most
    assert len(pieces) == -(-size // most)  # no more sheets than the paper needs


def test_split_cuts_at_heavy_lines_where_that_wastes_no_sheet() -> None:
    """473 rows, 85 to a sheet, leave room on six sheets; 118 columns, 60 to a sheet, leave next to none on two."""
    pieces = split(range(473), 85, 10)
    assert len(pieces) == 6
    assert all(piece.stop % 10 == 0 for piece in pieces[:-1])
    assert [len(piece) for piece in split(range(118, 236), 60, 10)] == [59, 59]
    assert [len(piece) for piece in split(range(18), 10, 10)] == [10, 8]
    assert [len(piece) for piece in split(range(22), 12, 10)] == [10, 12]


@given(
    st.integers(0, 500),
    st.integers(1, 900),
    st.integers(1, 120),
    st.integers(2, 20),
    st.lists(st.integers(1, 899), max_size=3),
    st.booleans(),
)
def test_parts_of_a_strip_fill_the_paper_and_what_remains_comes_last(
    start: int, size: int, most: int, bold: int, seats: list[int], leftward: bool
) -> None:
    """A sheet is filled before the next is begun (common practice)."""
    ends = [start, *sorted({start + seat for seat in seats if seat < size}), start + size]
    weavers = [range(a, b) for a, b in pairwise(ends)]
    parts = filled(range(start, start + size), most, bold, weavers, leftward=leftward)
    assert [cell for part in parts for cell in part] == list(range(start, start + size))
    assert max(map(len, parts)) <= most and len(parts) == -(-size // most)
    read = parts[::-1] if leftward else parts
    inner = [part.start if leftward else part.stop for part in read[:-1]]
    if most >= 2 * bold:
        for number, (part, cut) in enumerate(zip(read, inner, strict=False), start=1):
            rest = sum(map(len, read[number:]))
            narrow = len(part) <= most - bold
            # The last sheet but one leaves room for the last.
            assert not narrow or cut in ends or number == len(read) - 1
            assert number < len(read) - 1 or not narrow or cut in ends or rest < 2 * bold
        assert len(read[-1]) >= min(size, bold) or read[-2].stop - read[-2].start == 1 or inner[-1] in ends


def test_a_strip_that_must_be_cut_uses_the_width_of_the_paper() -> None:
    """118 columns, 50 to a sheet, are 50, 50 and 18, not three of about 40; of 102 the last is a heavy square wide."""
    assert [len(part) for part in filled(range(118), 50, 10)] == [50, 50, 18]
    # the tens are counted from 0
    assert [len(part) for part in filled(range(118), 50, 10, leftward=True)] == [20, 50, 48]
    assert [len(part) for part in filled(range(102), 50, 10)] == [50, 40, 12]
    assert [len(part) for part in filled(range(100), 50, 10)] == [50, 50]
    weavers = [range(64), range(64, 118)]
    assert filled(range(118), 70, 10, weavers) == (range(64), range(64, 118))
    wide = speckled(60, 160, strips=1, paper="A4", orientation="portrait")
    layout = layout_of(wide, wide.workshop, 1)
    widths = [len(page.columns) for page in layout.pages if page.step == 0]
    assert len(widths) > 2 and all(layout.frame.most_columns - 10 < width for width in widths[:-1])


@settings(max_examples=60, deadline=None)
@given(
    st.integers(2, 300),
    st.integers(2, 300),
    st.integers(1, 5),
    st.sampled_from(["left to right", "right to left"]),
    st.booleans(),
    st.booleans(),
)
def test_sheets_cover_every_cell_that_is_shown_once(
    rows: int, columns: int, strips: int, reading: str, across: bool, along: bool
) -> None:
    knots = np.random.default_rng(rows * columns).integers(0, 3, (rows, columns))
    if across:
        knots[:, columns - columns // 2 :] = knots[:, : columns // 2][:, ::-1]
    if along:
        knots[rows - rows // 2 :] = knots[: rows // 2][::-1]
    knot_map = coloured_map(knots, np.zeros((3, 3), int), density=(4, 4), strips=min(strips, columns), reading=reading)
    layout = layout_of(knot_map, knot_map.workshop, 1)
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
    for before, after in pairwise(layout.pages):  # a strip is finished before the next is begun, from its foot upwards
        assert (before.strip, before.step, before.part) != (after.strip, after.step, after.part)
        assert before.strip != after.strip or (before.step, before.part) < (after.step, after.part)


@pytest.mark.parametrize("strips", [1, 2])
def test_each_sheet_names_its_neighbours(strips: int) -> None:
    pages = layout_of(*settled(speckled(300, 300, strips=strips)), 1).pages
    assert len({page.rows for page in pages}) > 2 < len({page.columns for page in pages})
    for page in pages:
        beside = {"above": [], "below": [], "right": [], "left": []}  # type: dict[str, list[int]]
        for other in pages:
            if other.columns == page.columns and other.rows.start == page.rows.stop:
                beside["above"].append(other.number)
            if other.columns == page.columns and other.rows.stop == page.rows.start:
                beside["below"].append(other.number)
            if other.rows == page.rows and other.columns.start == page.columns.stop:
                beside["right"].append(other.number)
            if other.rows == page.rows and other.columns.stop == page.columns.start:
                beside["left"].append(other.number)
        said = {name: getattr(page, name) for name in beside}
        assert said == {name: numbers[0] if numbers else None for name, numbers in beside.items()}


@pytest.mark.parametrize("size", [1, 2, 3, 10, 11])
def test_halves_stand_for_the_whole(size: int) -> None:
    """An odd centre belongs to the half, and even counts have none (as in published charts of a quarter)."""
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
    """A0 is one square metre and each next size is half of it, with sides rounded down to whole mm (ISO 216)."""
    for n in range(6):
        paper = paper_of(f"a{n}")
        assert paper.width_mm * paper.height_mm == pytest.approx(1e6 / 2**n, rel=0.006)
    letter = paper_of("letter"), paper_of("Letter", "landscape")
    assert [paper.width_mm for paper in letter] == pytest.approx([215.9, 279.4])
    assert paper_of('roll 36"').width_mm == pytest.approx(914.4)
    with pytest.raises(SheetError, match="no paper"):
        paper_of("foolscap")


def speckled(rows: int, columns: int, yarns: int = 3, **chart: object) -> SettledMap:
    """Return a rug in which every yarn stands everywhere, at 40 x 40 knots a dm."""
    knots = np.random.default_rng(rows * columns).integers(0, yarns, (rows, columns))
    return coloured_map(knots, np.arange(yarns)[:, None] * [1, 1, 1], density=(40, 40), **chart)


@pytest.mark.parametrize("mirrors", [Mirrors(), Mirrors(across=True), Mirrors(along=True), Mirrors(True, True)])
@pytest.mark.parametrize("reading", ["left to right", "right to left"])
@pytest.mark.parametrize("paper", ["A5", "A4", "A3", "A0"])
def test_the_parts_of_a_sheet_fill_it_from_margin_to_margin(paper: str, reading: str, mirrors: Mirrors) -> None:
    knot_map = speckled(240, 160, paper=paper, reading=reading, cell="2 mm")
    frame = frame_of(knot_map, knot_map.workshop, mirrors)
    sheet = paper_of(paper)
    margin, header, grid, legend, page_map = sheet.margin_mm, frame.header, frame.grid, frame.legend, frame.page_map
    near = frame.number_width_mm + places.TICKS_MM
    far = frame.number_width_mm + frame.turn_width_mm + (places.TICKS_MM if mirrors.along else 0)
    near, far = (near, far) if reading == "left to right" else (far, near)
    # no neighbouring columns where there is no sheet at the side
    before, behind = places.RULER_MM + near, far + places.LENGTHS_MM
    assert grid.x_mm == pytest.approx(margin + before)
    assert grid.right_mm + behind + margin == pytest.approx(sheet.width_mm)
    # two rows that are shown again, and a gap
    below = places.COLUMN_NUMBERS_MM + places.GAP_MM + 2 * frame.cell_height_mm + 2
    assert grid.y_mm == pytest.approx(legend.top_mm + below)
    joined = places.GAP_MM + 2 * frame.cell_height_mm if mirrors.along else 0  # rows shown above for the way back
    above = joined + frame.turn_height_mm + places.COLUMN_NUMBERS_MM
    assert grid.top_mm + above == pytest.approx(header.y_mm)
    assert (header.x_mm, header.height_mm) == (margin, places.header_mm(sheet.width_mm - 2 * margin, mirrors))
    assert (header.right_mm, header.top_mm) == pytest.approx((sheet.width_mm - margin, sheet.height_mm - margin))
    assert (legend.x_mm, legend.y_mm) == (margin + places.RULER_MM, margin + places.RULER_MM)
    assert legend.right_mm + 3 == pytest.approx(page_map.x_mm)
    assert (page_map.right_mm, page_map.y_mm) == pytest.approx((sheet.width_mm - margin, margin))
    assert page_map.top_mm == pytest.approx(legend.top_mm)
    assert (frame.turn_width_mm, frame.turn_height_mm) == (
        frame.number_width_mm if mirrors.along else 0,
        places.COLUMN_NUMBERS_MM if mirrors.across else 0,
    )
    assert frame.most_columns * 2 <= grid.width_mm < (frame.most_columns + 1) * 2
    assert frame.most_rows * 2 <= grid.height_mm + 1e-6 < (frame.most_rows + 1) * 2


def test_numbers_of_more_digits_take_more_room() -> None:
    widths = [frame_of(*settled(speckled(rows, 20)), Mirrors()).number_width_mm for rows in (99, 100, 999, 1000)]
    assert widths[0] < widths[1] == widths[2] < widths[3]
    # Four digits of 6 pt figures, half an em each (common practice), are 4.2 mm wide.
    assert widths[3] > 4 * 6 / 2 * 25.4 / 72


@pytest.mark.parametrize(
    ("rows", "columns", "wide"),
    [(160, 160, 0.12 * (420 - 18)), (800, 80, 12), (80, 800, 0.2 * (297 - 18))],
)
def test_the_page_map_has_the_rug_s_proportion_within_limits(rows: int, columns: int, wide: float) -> None:
    # On A3 with margins of 9 mm it is at most about an eighth of the height and a fifth of the width, and at least 12
    # mm.
    page_map = frame_of(*settled(speckled(rows, columns, paper="A3", cell="1 mm")), Mirrors()).page_map
    assert page_map.width_mm == pytest.approx(wide)


@pytest.mark.parametrize("yarns", [3, 30, 255])
@pytest.mark.parametrize("paper", ["A4", "A0"])
def test_the_legend_holds_its_entries(yarns: int, paper: str) -> None:
    frame = frame_of(*settled(speckled(100, 100, yarns, paper=paper)), Mirrors())
    sheet = paper_of(paper)
    assert frame.legend_rows * places.ENTRY_HEIGHT_MM <= frame.legend.height_mm + 1e-9
    assert frame.legend.height_mm <= max(0.2 * (sheet.height_mm - 2 * sheet.margin_mm), places.LEAST_LEGEND_MM)
    for entry_mm in (places.FULL_ENTRY_MM, places.SHORT_ENTRY_MM):
        columns = frame.legend_columns(entry_mm)
        assert columns * entry_mm <= frame.legend.width_mm + 1e-6 < (columns + 1) * entry_mm
        assert frame.legend_room(entry_mm) == columns * frame.legend_rows
    if yarns == 30:
        assert frame.legend_room(places.FULL_ENTRY_MM) >= (30 if paper == "A0" else 1)
    assert frame.legend_columns(9999) == 1


def test_sheets_with_fewer_rows_leave_their_room_to_the_legend() -> None:
    frame = frame_of(*settled(speckled(240, 160)), Mirrors())
    low = frame.lifted(20)
    spare = frame.grid.height_mm - 20 * frame.cell_height_mm
    assert low.grid.height_mm == pytest.approx(20 * frame.cell_height_mm)
    assert low.grid.top_mm == pytest.approx(frame.grid.top_mm)
    assert low.legend.height_mm == pytest.approx(frame.legend.height_mm + spare)
    assert low.page_map.height_mm == pytest.approx(frame.page_map.height_mm + spare)
    assert (low.legend.y_mm, low.page_map.y_mm) == (frame.legend.y_mm, frame.page_map.y_mm)
    assert layout_of(*settled(speckled(20, 20)), 1).frame.grid.height_mm == pytest.approx(20 * frame.cell_height_mm)


def test_lines_grow_thin_with_the_cells() -> None:
    frame = frame_of(*settled(speckled(20, 20, cell="4.4 mm")), Mirrors())
    assert frame.line_mm(0.3) == pytest.approx(0.3)
    assert frame_of(*settled(speckled(20, 20, cell="2.2 mm")), Mirrors()).line_mm(0.3) == pytest.approx(0.15)
    assert frame_of(*settled(speckled(20, 20, cell="8.8 mm")), Mirrors()).line_mm(0.3) == pytest.approx(0.3)


def test_cells_are_in_the_knot_s_proportion() -> None:
    knots, colours = np.zeros((40, 40)), np.zeros((1, 3), int)
    assert cell_size_mm(*settled(coloured_map(knots, colours, density=(40, 50), cell="3 mm"))) == pytest.approx(
        (3, 2.4)
    )
    assert cell_size_mm(*settled(coloured_map(knots, colours, density=(40, 50), cell="3 mm", square=True))) == (3, 3)
    assert cell_size_mm(*settled(coloured_map(knots, colours, density=(40, 40), cell="0.9 mm"))) == (0.9, 0.9)
    for density, cell in (((40, 40), "0.89 mm"), ((40, 50), "1.1 mm"), ((50, 40), "0.8 mm")):
        with pytest.raises(SheetError, match=r"cannot be read; make \[chart\] cell larger"):
            cell_size_mm(*settled(coloured_map(knots, colours, density=density, cell=cell)))


def test_cells_too_large_for_the_paper_are_refused() -> None:
    with pytest.raises(SheetError, match="A5 paper leaves no room for cells of 30 x 30 mm"):
        layout_of(*settled(speckled(20, 20, paper="A5", cell="30 mm")), 1)
    with pytest.raises(SheetError, match="leaves no room"):
        layout_of(*settled(speckled(20, 20, paper="A5", cell="100 mm")), 1)
    with pytest.raises(SheetError, match="leaves no room"):
        layout_of(*settled(speckled(5, 5, paper="A5", cell="24 mm")), 1)
    assert layout_of(*settled(speckled(4, 4, paper="A5", cell="24 mm")), 1).sheets == 2  # all of it fits on the sheet


@pytest.mark.parametrize(("cell", "tall"), [("7 mm", 35), ("6 mm", 30), ("9 mm", 45)])
def test_cells_too_tall_for_the_paper_are_refused_though_their_width_fits(cell: str, tall: int) -> None:
    knot_map = coloured_map(
        np.zeros((40, 40)), np.zeros((1, 3), int), density=(40, 8), paper="A5", orientation="landscape", cell=cell
    )
    with pytest.raises(SheetError, match=f"A5 paper leaves no room for cells of . x {tall} mm"):
        layout_of(knot_map, knot_map.workshop, 1)


@pytest.mark.parametrize("yarns", [3, 10, 30, 100, 255])
@pytest.mark.parametrize("paper", ["A5", "A4", "A3", "A0"])
def test_the_legend_is_as_high_as_its_yarns_need_or_may_take(yarns: int, paper: str) -> None:
    frame = frame_of(*settled(speckled(100, 100, yarns, paper=paper)), Mirrors())
    sheet = paper_of(paper)
    most = max(0.2 * (sheet.height_mm - 2 * sheet.margin_mm), places.LEAST_LEGEND_MM)
    more = frame.legend.height_mm + places.ENTRY_HEIGHT_MM
    assert frame.legend_room(places.FULL_ENTRY_MM) >= yarns or more > most
    less = (frame.legend_rows - 1) * frame.legend_columns(places.FULL_ENTRY_MM)
    assert less < yarns or frame.legend.height_mm == places.LEAST_LEGEND_MM  # no more rows than the entries need


def test_the_page_map_is_of_the_rug_and_not_of_its_knots() -> None:
    knot_map = coloured_map(
        np.zeros((200, 100)), np.zeros((1, 3), int), density=(20, 40), paper="A3", cell="2 mm"
    )  # the rug is as wide as it is long
    page_map = frame_of(knot_map, knot_map.workshop, Mirrors()).page_map
    assert page_map.width_mm == pytest.approx(0.12 * (420 - 18))


def test_a_legend_that_does_not_fit_follows_its_sheet() -> None:
    knots = np.zeros((300, 40), dtype=int)
    knots[200:] = np.arange(4000).reshape(100, 40) % 200
    layout = layout_of(*settled(coloured_map(knots, np.arange(200)[:, None] * [1, 1, 1], density=(40, 40))), 3)
    room = layout.frame.legend_room(places.SHORT_ENTRY_MM)
    number = 4
    for page in layout.pages:
        kinds = len(np.unique(knots[page.rows.start : page.rows.stop, page.columns.start : page.columns.stop]))
        assert page.number == number
        assert page.legend_number == (number + 1 if kinds > room else None)
        number += 2 if kinds > room else 1
    assert layout.sheets == number - 1
    assert {page.legend_number is None for page in layout.pages} == {True, False}


def test_sheets_without_a_knot_are_left_out() -> None:
    knots = np.random.default_rng(2).integers(0, 3, (300, 300))
    knots[150:, 150:] = NO_KNOT
    layout = layout_of(*settled(coloured_map(knots, np.zeros((3, 3), int), density=(40, 40))), 0)
    seen = np.zeros(knots.shape, dtype=bool)
    for page in layout.pages:
        part = np.s_[page.rows.start : page.rows.stop, page.columns.start : page.columns.stop]
        assert (knots[part] != NO_KNOT).any()
        seen[part] = True
    assert seen[knots != NO_KNOT].all() and not seen.all()


def test_strips_are_numbered_from_the_left() -> None:
    layout = layout_of(*settled(speckled(300, 300, strips=2)), 0)
    assert [page.strip for page in layout.pages] == sorted(page.strip for page in layout.pages)
    assert [page.columns.start for page in layout.pages if page.step == 0] == sorted(
        page.columns.start for page in layout.pages if page.step == 0
    )
    assert (layout.rows, layout.columns, layout.reading, layout.bold_every) == (300, 300, "left to right", 10)
    assert (layout.front_sheets, layout.strips) == (0, (range(150), range(150, 300)))


def test_the_example_s_strips_stay_whole_on_paper_that_lies_as_it_suits_them() -> None:
    """Each of two strips has 118 columns and 473 rows of 3 x 2.25 mm: five sheets of A3 lying, eight upright."""
    knots = np.zeros((945, 472), int)
    knots[::2, ::3] = 1
    knots = np.maximum(knots, np.maximum(knots[::-1], np.maximum(knots[:, ::-1], knots[::-1, ::-1])))
    colours = np.arange(2)[:, None] * [90, 40, 30]
    for orientation, sheets, parts in (("auto", 10, 1), ("landscape", 10, 1), ("portrait", 16, 2)):
        chart = {"paper": "A3", "cell": "3 mm", "strips": 4, "orientation": orientation}
        layout = layout_of(*settled(coloured_map(knots, colours, density=(30, 40), **chart)), 0)
        assert (layout.sheets, {page.parts for page in layout.pages}) == (sheets, {parts})
        assert layout.frame.side_columns == (1 if parts == 1 else 2)


@settings(max_examples=40, deadline=None)
@given(st.integers(13, 200), st.integers(13, 200), st.integers(1, 4), st.booleans(), st.sampled_from(["A5", "A4"]))
def test_columns_of_the_neighbours_and_no_others_are_shown_beside_a_sheet(
    rows: int, columns: int, strips: int, mirrored: bool, paper: str
) -> None:
    knots = np.random.default_rng(rows).integers(0, 3, (rows, columns))
    if mirrored:
        knots[:, columns - columns // 2 :] = knots[:, : columns // 2][:, ::-1]
    layout = layout_of(*settled(coloured_map(knots, np.zeros((3, 3), int), strips=strips, paper=paper)), 0)
    frame = layout.frame
    for page in layout.pages:
        left, right = columns_beside(page, layout)
        for part, missing in ((left, page.columns.start == 0), (right, page.columns.stop == columns)):
            assert len(part) == 0 if missing else 1 <= len(part) <= 2
        assert left.stop == page.columns.start and right.start == page.columns.stop
        before, behind = sides_mm(page, layout)
        beside = places.SIDE_GAP_MM + frame.side_columns * frame.cell_width_mm if frame.side_columns else 0
        assert max(before, behind) <= beside
        width = len(page.columns) * frame.cell_width_mm
        assert width <= frame.grid.width_mm + 1e-6  # Beside it stand the neighbours, the numbers and the lengths.
        assert frame.grid.x_mm - beside >= frame.paper.margin_mm + places.RULER_MM + places.TICKS_MM


def test_a_chart_read_from_the_right_begins_there() -> None:
    knot_map = speckled(300, 300, strips=2, reading="right to left")
    layout = layout_of(knot_map, knot_map.workshop, 0)
    first = layout.pages[0]
    assert (first.strip, first.step, first.part, first.columns.stop) == (1, 0, 0, 300)
    row = [page for page in layout.pages if page.step == 0]
    assert [page.columns.start for page in row] == sorted((p.columns.start for p in row), reverse=True)
    assert [page.part for page in row] == [part for strip in (1, 0) for part in range(row[-1].parts) if strip < 2]
    assert layout.steps == max(page.step for page in layout.pages) + 1
    assert (layout.told_rows, layout.told_columns) == (range(300), range(300))


def test_a_whole_chart_of_a_symmetric_rug_on_request() -> None:
    half = np.random.default_rng(3).integers(0, 3, (60, 30))
    knots = np.hstack([half, half[:, ::-1]])
    colours = np.zeros((3, 3), int)
    assert layout_of(*settled(coloured_map(knots, colours)), 0).told_columns == range(30)
    assert layout_of(*settled(coloured_map(knots, colours, reading="right to left")), 0).told_columns == range(30, 60)
    assert layout_of(*settled(coloured_map(knots, colours, whole=True)), 0).told_columns == range(60)


def test_yarns_are_counted_with_cells_outside_the_outline() -> None:
    knots = np.array([[0, 2, 2], [NO_KNOT, 2, 0]], dtype=np.uint16)
    assert yarns_on(knots, 4) == [(0, 2), (2, 3)]


@pytest.mark.parametrize(
    ("cell_mm", "step"), [(3, 1), (2.5, 1), (2.4, 2), (1.25, 2), (0.5, 5), (0.1, 50), (0.01, 1000), (0.001, 1000)]
)
def test_every_how_many_rows_have_room_for_a_number(cell_mm: float, step: int) -> None:
    assert number_step(cell_mm, 2.5) == step


@pytest.mark.parametrize(
    ("cells", "every", "bold", "told"),
    [  # they count as people do, from 1, at the heavy lines, and at the ends where these have room
        (range(4), 1, 10, [1, 2, 3, 4]),
        (range(30), 5, 10, [5, 10, 15, 20, 25, 30]),
        (range(2, 33), 10, 10, [10, 20, 30]),
        (range(45), 20, 10, [20, 40]),
        (range(60), 10, 6, [1, 30, 60]),
        (range(12), 2, 5, [1, 5, 10, 12]),
        (range(8), 10, 10, [1]),
        (range(3, 27), 2, 6, [4, 6, 8, 10, 12, 14, 16, 18, 20, 22, 24, 26]),
    ],
)
def test_numbers_stand_where_people_count(cells: range, every: int, bold: int, told: list[int]) -> None:
    assert [cell + 1 for cell in numbered(cells, every, bold)] == told
