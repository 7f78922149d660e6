"""A box of the order holds in the part of the drawing in which most of it lies; checked by hand on a drawn plan."""

from __future__ import annotations

import pytest

from chartmaker.convert.repeats.frames import Box, Layout
from chartmaker.convert.repeats.saying import said_in
from chartmaker.ground.errors import RugError

#: A field in a border 100 pixels wide.
LAYOUT = Layout((Box(0, 0, 800, 600), Box(100, 100, 700, 500)))
TOP, LEFT = Box(5, 140, 95, 200), Box(300, 5, 360, 95)


def test_each_box_holds_where_most_of_it_lies() -> None:
    boxes = (Box(60, 140, 104, 200), LEFT, Box(90, 140, 200, 230), Box(290, 505, 350, 595))
    said = said_in(boxes, LAYOUT, (20, 20))
    assert [one.part for one in said] == [(0, "top"), (0, "left"), None, (0, "right")]
    assert [one.length_px for one in said if one.part is not None] == [60, 60, 60]
    assert [one.all_over_px for one in said] == [None, None, (110, 90), None]


def test_a_single_box_may_be_said_of_the_whole_drawing() -> None:
    (said,) = said_in((TOP,), LAYOUT, (20, 20))
    assert said.part == (0, "top")
    assert said.all_over_px == (90, 60)


def test_two_boxes_in_one_part_are_refused_by_their_numbers() -> None:
    with pytest.raises(RugError, match=r"\[\[repeat\]\] 1 and \[\[repeat\]\] 3 lie in the same part") as refused:
        said_in((TOP, LEFT, Box(5, 300, 95, 350)), LAYOUT, (20, 20))
    assert "leave one of them out" in refused.value.message
    with pytest.raises(RugError, match=r"1 and \[\[repeat\]\] 2"):
        said_in((Box(200, 200, 250, 250), Box(300, 200, 350, 250)), LAYOUT, (20, 20))
