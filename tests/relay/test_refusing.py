"""A refusal says how much each part would have to give, worked out by hand from width = 2 c + k p."""

from __future__ import annotations

import pytest

from chartmaker.order.density import parse_density
from chartmaker.relay.counting import Asked, Count, Counted, Demand, counted, nearest_counts
from chartmaker.relay.planning import Unmet, Wider
from chartmaker.relay.refusing import unmet_words

#: Knots are 5 mm wide and high.
DENSITY = parse_density("20x20 per dm")


def border(end: int, period: int, plain: int = 0, taken: int = 20) -> Demand:
    return Demand("band 1 across", taken, end, period, plain, 1.0)


@pytest.mark.parametrize(
    ("knots", "demand", "words"),
    [
        # 20 + 2 x 5 + 7 x 10 knots
        (100, border(5, 10), "band 1 across has 7 repeats as drawn"),
        # three knots more than that are 3 of 70
        (103, border(5, 10), "band 1 across would pull 7 repeats by +4.3 %, where 4 % may be"),
        (102, border(5, 10), "band 1 across pulls 7 repeats by +2.9 %"),
        (104, border(5, 10, plain=2), "band 1 across takes 4 knots more ground between motifs"),
        (98, border(5, 10, plain=2), "band 1 across gives 2 knots of ground between motifs"),
        (33, border(5, 10), "band 1 across has no room for its repeat of 10 knots"),
    ],
)
def test_each_part_says_what_it_would_give(knots: int, demand: Demand, words: str) -> None:
    said = unmet_words(Unmet(True, knots, (), (demand,)), DENSITY)
    assert words in said and f"For {knots / 2:g} cm" in said


def test_both_sides_of_a_band_are_named_once_and_a_wider_border_is_offered() -> None:
    demand = border(5, 10)
    wider = Wider(0, 1, Counted(103, (Count(7, 0, "exact"),)))
    said = unmet_words(Unmet(True, 105, (Counted(100, ()), Counted(110, ())), (demand, demand), wider), DENSITY)
    assert said.count("band 1 across") == 1
    assert "the nearest that does is 50 cm or 55 cm" in said
    assert "band 1 a knot wider lets all come out ([layout] give, 'borders')" in said


def test_nearest_sizes_are_those_next_to_the_ordered_one() -> None:
    """Three repeats of 30 knots give at most 3 knots and four give 4; another 40 knots are border and ends."""
    demand = border(10, 30)
    below, above = nearest_counts(Asked(150, 0.0), (demand,), (20, 0))
    assert (below.knots, above.knots) == (132, 156)  # these are 40 + 3 x 30 + 3 and 40 + 4 x 30 - 4, both even
    assert counted(Asked(150, 0.0), (demand,), (20, 0)) is None
    assert counted(Asked(150, 0.06), (demand,), (20, 0)) is not None


def test_odd_counts_of_repeats_are_preferred_where_both_come_out() -> None:
    """With an odd count the middle of the side is the middle of a repeat (common practice in Persia)."""
    found = counted(Asked(115, 0.05), (border(5, 10),), (20, 0))
    assert found is not None and found.counts[0].times % 2 == 1


def test_the_tolerance_is_a_share_of_the_ordered_size_and_not_of_its_whole_knots() -> None:
    """40 cm at 2.54 mm a knot are 157.48 knots; 2 % less are 39.2 cm or 154.33 knots, and 2 % more 160.63 knots."""
    assert Asked(400 / 2.54, 0.02).tried == range(155, 161)
    assert Asked(400 / 2.54, 0.0).tried == range(157, 158)
