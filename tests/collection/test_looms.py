"""In the plan of the looms no loom has two rugs at a time, and the plan is never worse than Graham's bound."""

from __future__ import annotations

import math
from datetime import date, timedelta
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st
from support.pieces import piece

from chartmaker.collection.looms import LoomPlan, plan_of
from chartmaker.order.collectionfile import Calendar, LoomPlace

START = date(2027, 3, 1)  # a Monday
HOLIDAY = date(2027, 5, 1)


def loom(width_mm: int = 2000, weavers: int = 2, start: date = START) -> LoomPlace:
    return LoomPlace.model_validate({"width": f"{width_mm} mm", "weavers": weavers, "start": start})


def works(day: date, calendar: Calendar) -> bool:
    return day.strftime("%A").lower() not in calendar.rest and day not in calendar.holidays


def working_days(first: date, last: date, calendar: Calendar) -> int:
    return sum(works(first + timedelta(days=n), calendar) for n in range((last - first).days + 1))


def test_a_worked_example() -> None:
    # 10 weaver-days by two weavers are five days, Monday to Friday. Three days of warping follow: Saturday, Monday and
    # Tuesday. The second rug, of 7 weaver-days, takes four days from Wednesday 10 March, over the Sunday.
    calendar = Calendar(rest=("sunday",), between_days=3)
    plan = plan_of([piece(weaver_days=10), piece(weaver_days=7)], {"north": loom()}, calendar, lead_days=14)
    first, second = plan.turns
    assert (first.start, first.end, first.days) == (START, date(2027, 3, 5), 5)
    assert (second.start, second.end, second.days) == (date(2027, 3, 10), date(2027, 3, 13), 4)
    assert first.yarn_by == START - timedelta(days=14)
    assert first.late_end == date(2027, 3, 8)  # 13 weaver-days are seven days, with one Sunday among them
    assert plan.starts == {0: first.yarn_by, 1: second.yarn_by}


def test_yarn_is_ordered_on_a_working_day() -> None:
    """A fortnight before Monday is a Monday, 15 days before it a Sunday: then the order goes out on Saturday."""
    calendar = Calendar(rest=("sunday",), holidays=(date(2027, 2, 12),))
    for lead_days, day in ((14, date(2027, 2, 15)), (15, date(2027, 2, 13)), (17, date(2027, 2, 11))):
        (turn,) = plan_of([piece(weaver_days=10)], {"north": loom()}, calendar, lead_days=lead_days).turns
        assert turn.yarn_by == day


def test_a_rug_too_wide_is_named_and_a_wide_loom_is_kept_for_wide_rugs() -> None:
    looms = {"wide": loom(4000), "narrow": loom(1000)}
    plan = plan_of([piece(width_cm=90), piece(width_cm=390), piece(width_cm=401)], looms, Calendar())
    assert [turn.at for turn in plan.turns] == ["narrow", "wide"]
    ((number, why),) = plan.unplaced
    assert number == 2 and str(why) == "no loom is 401 cm wide"
    assert plan_of([piece()], {}, Calendar()) == LoomPlan()


def test_a_rug_has_no_more_weavers_than_seats_and_does_not_begin_too_early() -> None:
    later_on = date(2027, 7, 4)  # a Sunday
    (turn,) = plan_of([piece(weavers=1, not_before=later_on)], {"north": loom(weavers=4)}, Calendar()).turns
    assert (turn.weavers, turn.days, turn.start) == (1, 10, date(2027, 7, 5))


REST = st.sets(st.sampled_from(("friday", "saturday", "sunday"))).map(tuple)
DAYS = st.floats(0.1, 60.0).map(lambda days: round(days, 1))


@given(st.lists(DAYS, min_size=1, max_size=25), st.integers(1, 4), REST, st.integers(0, 4))
def test_no_plan_overlaps_begins_or_ends_on_a_holiday_or_is_worse_than_grahams_bound(
    lengths: list[float], number: int, rest: tuple[str, ...], between: int
) -> None:
    calendar = Calendar.model_validate({"rest": rest, "holidays": [HOLIDAY], "between_days": between})
    looms = {f"loom {n}": loom() for n in range(number)}
    plan = plan_of([piece(weaver_days=length) for length in lengths], looms, calendar)
    assert [turn.piece for turn in plan.turns] == list(range(len(lengths)))
    for name in looms:
        mine = sorted((turn for turn in plan.turns if turn.at == name), key=lambda turn: turn.start)
        for before, after in pairwise(mine):
            assert working_days(before.end, after.start, calendar) == between + 2
    for turn, length in zip(plan.turns, lengths, strict=True):
        assert works(turn.start, calendar) and works(turn.end, calendar)
        assert working_days(turn.start, turn.end, calendar) == turn.days == max(math.ceil(length / 2 - 1e-9), 1)
        assert turn.late_end >= turn.end
    # A list schedule on m machines takes at most 2 - 1/m times the best one (Graham 1969); here the warping comes on
    # top.
    jobs = [turn.days + between for turn in plan.turns]
    least = max(max(jobs), math.ceil(sum(jobs) / number))
    first = min(turn.start for turn in plan.turns)
    took = max(working_days(first, turn.end, calendar) + between for turn in plan.turns)
    assert took <= (2 - 1 / number) * least + 1e-9
