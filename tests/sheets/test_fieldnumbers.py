"""A leader goes straight from its number to a square of 0.8 mm in its field, as pdfium reads a sheet back."""

from __future__ import annotations

import io
import re

import pytest
from support.accounts import account_of

from chartmaker.outlines.numbers import Place
from chartmaker.paper.drawing import BLACK, Book
from chartmaker.sheets.pattern.fieldnumbers import draw_leaders
from chartmaker.sheets.pattern.tiling import Tile

TILE = Tile(0, 0, 0.0, 0.0, 90.0, 90.0, 100.0, 100.0)
#: A number that is 2 mm high and 1.74 mm wide, as figures of Vera are 0.636 em wide and 0.73 em high.
HALF_WIDE, HALF_HIGH, AIR = 0.636 / 0.73, 1.0, 0.4


def drawn(x_mm: float, y_mm: float, at_x_mm: float, at_y_mm: float) -> tuple[list[float], list[float]]:
    """Return the ends of the leader, and the box of the square as its lower left and upper right corner."""
    stream = io.BytesIO()
    with Book(stream, title="") as book:
        sheet = book.sheet(100, 100, "1")
        draw_leaders(sheet, TILE, [Place(0, x_mm, y_mm, 2.0, at_x_mm, at_y_mm)], lambda _place: "7", BLACK)
        sheet.done()
    line, box = [], []
    for told in account_of(stream.getvalue()):
        numbers = [float(each) for each in re.findall(r"-?\d+\.\d\d", told)]
        if told.startswith(" ") and told.endswith(" of 2"):
            line = numbers[:4]
        elif told.startswith(" "):
            left, low, _, high, middle, _ = numbers  # the last two are the mean of five corners, of which two lie right
            box = [left, low, left + 2.5 * (middle - left), high]
    return line, box


@pytest.mark.parametrize(
    ("way", "begins"),
    [
        ((20, 0), (HALF_WIDE + AIR, 0)),
        ((-20, 0), (-HALF_WIDE - AIR, 0)),
        ((0, 15), (0, HALF_HIGH + AIR)),
        ((10, -20), ((HALF_HIGH + AIR) / 2, -HALF_HIGH - AIR)),
        ((20, 10), (HALF_WIDE + AIR, (HALF_WIDE + AIR) / 2)),
    ],
)
def test_a_leader_begins_at_the_air_round_its_number(way: tuple[int, int], begins: tuple[float, float]) -> None:
    line, box = drawn(40, 50, 40 + way[0], 50 + way[1])
    assert line == pytest.approx([40 + begins[0], 50 + begins[1], 40 + way[0], 50 + way[1]], abs=0.03)
    assert box == pytest.approx([39.6 + way[0], 49.6 + way[1], 40.4 + way[0], 50.4 + way[1]], abs=0.03)


def test_a_point_under_its_number_has_a_square_and_no_leader() -> None:
    line, box = drawn(40, 50, 41, 50.5)
    assert line == [] and box == pytest.approx([40.6, 50.1, 41.4, 50.9], abs=0.03)


def test_nothing_is_drawn_for_a_number_on_another_sheet_or_in_its_own_field() -> None:
    assert drawn(95, 50, 80, 50) == drawn(40, 50, 40, 50) == ([], [])
