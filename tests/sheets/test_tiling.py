"""Sheets in full size cover a drawing with overlaps, each within its paper; worked out by hand for A4 (ISO 216)."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from support import standing
from support.making import as_file, make_map, make_rug

from chartmaker.jobs.drawn import drawing_of_map
from chartmaker.sheets.pattern.fullsize import _plan_page_mm, _where, tiling_of
from chartmaker.sheets.pattern.tiling import Tile, _parts, on_roll, on_sheets

A4 = (210.0, 297.0)


@pytest.mark.parametrize(
    ("length", "room", "parts"),
    [
        (183, 183, [(0, 183)]),
        (184, 183, [(0, 97), (87, 184)]),  # each 87 mm further, and 10 mm that both show
        (356, 183, [(0, 183), (173, 356)]),
        (357, 183, [(0, 377 / 3), (347 / 3, 724 / 3), (694 / 3, 357)]),
        (5, 183, [(0, 5)]),
        (10, 183, [(0, 10)]),
    ],
)
def test_windows_are_equally_long_and_overlap_by_ten_millimetres(
    length: float, room: float, parts: list[tuple[float, float]]
) -> None:
    found = _parts(length, room)
    assert found == [pytest.approx(each) for each in parts]
    assert found[-1][1] == length and all(end - begin <= room + 1e-9 for begin, end in found)


def test_sheets_are_named_from_the_top_down_and_lie_where_they_show() -> None:
    """On A4 upright 183 x 253 mm are free: 18 and 9 mm beside a window, 30 below and 14 above it."""
    tiling = on_sheets(350.0, 490.0, A4)
    assert (tiling.columns, tiling.rows, tiling.roll_mm) == (2, 2, None)
    assert [each.name for each in tiling.tiles] == ["1A", "2A", "1B", "2B"]
    top, foot, right, _ = tiling.tiles
    assert (top.left_mm, top.low_mm, top.right_mm, top.high_mm) == (0, 240, 180, 490)
    assert (foot.low_mm, foot.high_mm, right.left_mm, right.right_mm) == (0, 250, 170, 350)
    assert {(each.page_width_mm, each.page_height_mm) for each in tiling.tiles} == {A4}
    assert (right.origin_mm, foot.origin_mm) == ((18 - 170, 30 - 240), (18, 30))


def test_paper_is_turned_the_way_that_takes_fewer_sheets() -> None:
    """Lying, 270 x 166 mm are free; where both ways take as many the paper stands upright."""
    lying = on_sheets(260.0, 160.0, A4)
    assert [(each.page_width_mm, each.page_height_mm) for each in lying.tiles] == [A4[::-1]]
    assert {(each.page_width_mm, each.page_height_mm) for each in on_sheets(150.0, 150.0, A4).tiles} == {A4}


def test_a_page_of_a_roll_is_as_long_as_it_needs_to_be() -> None:
    """On 36 inches 914.4 - 18 - 6 mm are free across, and of 5 m along all but 44 mm."""
    one = on_roll(890.4, 1000.0, 914.4)
    assert [(each.page_width_mm, each.page_height_mm) for each in one.tiles] == [(914.4, 1044.0)]
    assert one.roll_mm == 914.4 and len(on_roll(890.5, 1000.0, 914.4).tiles) == 2
    long = on_roll(500.0, 4957.0, 914.4)
    assert [each.name for each in long.tiles] == ["1A", "2A"] and len(on_roll(500.0, 4956.0, 914.4).tiles) == 1
    assert long.tiles[0].page_height_mm == pytest.approx((4957 - 10) / 2 + 10 + 44)


def tile(**more: Any) -> Tile:
    window = {"column": 0, "row": 0, "left_mm": 10, "low_mm": 20, "right_mm": 30, "high_mm": 50, **more}
    return Tile(**window, page_width_mm=210, page_height_mm=297)


def test_columns_are_lettered_as_in_a_table() -> None:
    named = {0: "3A", 25: "3Z", 26: "3AA", 51: "3AZ", 52: "3BA", 701: "3ZZ", 702: "3AAA"}
    assert {column: tile(column=column, row=2).name for column in named} == named


def test_what_lies_in_a_window_shows_its_edges_too() -> None:
    """A window of 10 to 30 mm across and of 20 to 50 mm upward."""
    shown = {(10, 20): 1, (30, 50): 1, (20, 30): 1, (9, 30): 0, (31, 30): 0, (20, 19): 0, (20, 51): 0}
    assert {place: int(tile().shows(*place)) for place in shown} == shown
    boxes = {
        ((0, 0), (10, 20)): 1,
        ((0, 0), (9, 20)): 0,
        ((0, 0), (10, 19)): 0,
        ((30, 50), (60, 60)): 1,
        ((31, 50), (60, 60)): 0,
        ((30, 51), (60, 60)): 0,
        ((0, 0), (99, 99)): 1,
        ((15, 25), (16, 26)): 1,
    }
    found = {each: int(tile().meets(np.array(each[0], float), np.array(each[1], float))) for each in boxes}
    assert found == boxes


def test_each_sheet_says_which_it_is() -> None:
    one, two = on_roll(500.0, 900.0, 914.4), on_roll(1000.0, 900.0, 914.4)
    assert _where(one.tiles[0], one) == "in one piece on a roll 91.4 cm wide"
    assert _where(two.tiles[1], two) == "piece 1B (2 of 2), on a roll 91.4 cm wide"
    sheets, whole = on_sheets(350.0, 490.0, A4), on_sheets(100.0, 100.0, A4)
    assert _where(sheets.tiles[2], sheets) == "sheet 1B (3 of 4)"
    assert _where(whole.tiles[0], whole) == "on one sheet"


@pytest.mark.parametrize(
    ("page", "columns", "plan"),
    # The paper of the sheets, if a desk printer has it; or else A3, lying if the rug is wider than it is long.
    [
        (A4, 40, A4),
        (A4[::-1], 40, A4[::-1]),
        ((420.0, 297.0), 40, (420.0, 297.0)),
        ((420.1, 297.0), 40, (297.0, 420.0)),
        ((300.0, 400.0), 40, (297.0, 420.0)),
        ((914.4, 2000.0), 40, (297.0, 420.0)),
        ((914.4, 2000.0), 60, (420.0, 297.0)),
    ],
)
def test_the_plan_is_on_paper_that_a_desk_printer_has(
    page: tuple[float, float], columns: int, plan: tuple[float, float]
) -> None:
    rug = make_rug(columns, 50, "20x20 per dm", technique="tufted")
    drawing = drawing_of_map(as_file(make_map(np.arange(50 * columns).reshape(50, columns) % columns // 20, rug)))
    first = Tile(0, 0, 0, 0, 10, 10, *page)
    assert _plan_page_mm(first, drawing) == plan


def test_the_pattern_lies_on_the_roll_if_there_is_one() -> None:
    for roll, across in (("24 in", 609.6), (None, 210.0)):
        made = standing.looped(roll is None)
        assert tiling_of(drawing_of_map(as_file(made)), made.workshop).tiles[0].page_width_mm == pytest.approx(across)
