"""Weaving time is held against published examples and against counting by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from support.making import make_map, make_rug, settled

from chartmaker.figures.labour import SLOW, Labour, Section, daily_rate, days_for, sections_of
from chartmaker.figures.reckoning import figures_of
from chartmaker.ground.errors import RugError
from chartmaker.ground.ranges import Range
from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Loom, Workshop


def labour(cells: Any = None, rug: Rug | None = None, **loom: Any) -> Labour:
    if cells is None:
        cells = np.zeros((rug.rows, rug.columns) if rug else (50, 40))
    return figures_of(*settled(make_map(cells, rug, Workshop(loom=Loom(**loom))))).labour


def test_published_time_by_the_minute() -> None:
    # authenticrugsandart.com: 10 x 7 ft at 300 knots per square inch is 3,024,000 knots, which at 20 a minute take
    # 2,520 hours, or 315 days of 8 hours.
    knots = 300 * (10 * 12) * (7 * 12)
    assert knots == 3_024_000
    assert days_for(knots, 1, Range.exact(20 * 60 * 8)).best == pytest.approx(315)
    assert days_for(knots, 1, Range.exact(20 * 60)).best == pytest.approx(2_520)


def test_published_time_by_the_day() -> None:
    # irancarpets.ir: 6 x 9 ft at 160 knots per square inch and 10,000 knots a day takes 124.4 days, about five months.
    # 160 is taken as a square density, so that the grid of whole knots is off by 0.04 %.
    rug = Rug(size="6x9ft", density="160 kpsi")
    days = days_for(rug.knots, 1, Range.exact(10_000))
    assert days.best == pytest.approx(124.4, abs=0.1)
    assert days.best / Loom().working_days_per_month == pytest.approx(5, abs=0.05)


def test_common_practice_of_an_average_rug() -> None:
    # Common practice: three or four weavers share a loom, an average-sized rug takes three to six months, and a large
    # complex one up to two years; 180 knots per square inch is the upper end.
    average = labour(rug=Rug(size="9x12ft", density="100 kpsi"))
    assert average.weavers in (3, 4)
    assert 3 <= average.months.best <= 6
    large = labour(rug=Rug(size="12x18ft", density="180 kpsi"), weavers=4, knots_per_weaver_day=5000)
    assert large.months.best > 6 and large.months.high <= 24


def test_an_unknown_rate_gives_the_published_range() -> None:
    figures = labour()
    assert figures.knots_per_weaver_day == Range(5_000, 6_000, 14_000)
    assert figures.days.best == pytest.approx(2000 / 6000)
    assert figures.days.low < figures.days.best < figures.days.high == pytest.approx(2000 / 5000)
    assert {a.key for a in figures.assumptions} == {
        f"[loom] {key}" for key in ("weavers", "knots_per_weaver_day", "hours_per_day", "working_days_per_month")
    }


def test_values_that_were_given_are_no_assumptions() -> None:
    given = labour(weavers=1, knots_per_weaver_day=7000, hours_per_day=7, working_days_per_month=22)
    assert given.assumptions == ()
    assert given.knots_per_weaver_day == Range.around(7000, 0.15)
    assert given.weaver_hours.best == pytest.approx(2000 / 7000 * 7)


def test_nobody_ties_more_than_a_knot_a_second() -> None:
    # Common practice: one knot a second is an expert's peak.
    rug = make_rug(40, 50)
    assert daily_rate(rug, Workshop(loom=Loom(knots_per_weaver_day=28_800))).best == 28_800
    with pytest.raises(RugError, match=r"\[loom\] knots_per_weaver_day: .*one a second"):
        daily_rate(rug, Workshop(loom=Loom(knots_per_weaver_day=28_801)))


def test_an_unusual_rate_and_crowded_weavers_are_findings() -> None:
    assert [f.where for f in labour(knots_per_weaver_day=20_000).findings] == ["[loom] knots_per_weaver_day"]
    assert [f.where for f in labour(weavers=2).findings] == ["[loom] weavers"]  # on a rug of 10 cm
    for usual in (5_000, 7_000, 14_000):  # the ends of the published range are not remarked on
        assert labour(rug=Rug(size="170x240 cm", density="40x40 per dm"), knots_per_weaver_day=usual).findings == ()
    assert labour(rug=Rug(size="90x90 cm", density="40x40 per dm"), weavers=2).findings == ()  # half of 90 cm for each
    crowded = labour(rug=Rug(size="170x240 cm", density="40x40 per dm"), weavers=5).findings
    assert ["34 cm" in finding.what for finding in crowded] == [True]


def test_a_tufted_rug_of_5_by_8_feet_takes_ten_worker_days() -> None:
    # Common practice: hand-tufting a 5 x 8 ft rug takes about ten worker-days.
    rug = Rug(size="5x8ft", density="20x20 per dm", technique="tufted")
    figures = labour(rug=rug, weavers=2)
    assert figures.days.best * 2 == pytest.approx(10, abs=0.02)
    assert {a.basis for a in figures.assumptions if a.key == "[loom] knots_per_weaver_day"} == {"common practice"}
    assert "0.37 m2 per worker-day" in {a.value for a in figures.assumptions}  # 40 square feet are 3.716 m2
    assert {r.what: r.how for r in figures.reached}[
        "days"
    ] == "tufts / (tufters x tufts per day), rounded up to whole days; months up to tenths"
    hurried = labour(rug=rug, weavers=1, knots_per_weaver_day=80_000)
    assert "ten for 5 x 8 ft" in hurried.findings[0].what
    assert labour(rug=rug, weavers=1, knots_per_weaver_day=150 * 100).findings == ()


def test_rows_runs_and_colours_are_counted_as_by_hand() -> None:
    cells = np.zeros((50, 40), dtype=int)
    cells[10, :] = np.arange(40) % 4  # row 11 has 40 runs of four colours
    cells[20, 5:9] = NO_KNOT  # these rows have two runs each
    cells[30, 20] = 1  # these rows have three runs each
    figures = labour(cells, weavers=1, section="2 cm")  # 10 rows at 50 rows a dm
    assert (figures.most_runs, figures.most_runs_row, figures.most_colours) == (40, 11, 4)
    assert figures.mean_runs == pytest.approx((47 + 40 + 2 + 3) / 50)
    assert figures.mean_colours == pytest.approx((48 + 4 + 2) / 50)
    assert [(s.first_row, s.last_row) for s in figures.sections] == [(1, 10), (11, 20), (21, 30), (31, 40), (41, 50)]
    assert [s.colours for s in figures.sections] == [1, 4, 1, 2, 1]
    assert [s.first_row for s in figures.slow] == [11]
    assert figures.slow[0].pace == pytest.approx(4.9 / 1.84) and figures.slow[0].pace >= SLOW
    assert sum(s.knots for s in figures.sections) == 2000 - 4
    assert figures.rows_a_day.best == pytest.approx(50 / figures.days.best)


def test_runs_break_at_strip_edges() -> None:
    assert labour(weavers=4).mean_runs == 4


def test_rugs_of_as_many_whole_days_take_as_many_months() -> None:
    """Rugs of 2.1 and of 2.9 days both take 3, which are 0.12 of a month of 25, told as 0.2 (arithmetic)."""
    for a_day in (470, 345):
        figures = labour(weavers=2, knots_per_weaver_day=a_day)
        assert (figures.whole_days.best, figures.told_months.best) == (3, 0.2)
        assert figures.months.high == pytest.approx(np.ceil(figures.days.high) / 25)


#: Published: sustained rates of 5,000 to 14,000 knots a day and days of 8 hours (authenticrugsandart.com), and 124.4
#: days as about five months (irancarpets.ir), so 25 a month. Common practice: a weaver needs some 90 cm.
DEFAULTS = {
    "[loom] weavers": ("1", "one for about every 90 cm of the rug's width", "common practice"),
    "[loom] knots_per_weaver_day": (
        "6,000",
        "published sustained rates run from 5,000 to 14,000 a day",
        "published",
    ),
    "[loom] hours_per_day": ("8", "the working day of the published examples", "published"),
    "[loom] working_days_per_month": (
        "25",
        "124.4 days are published as about five months (irancarpets.ir)",
        "published",
    ),
}


def test_each_default_is_listed_with_its_source() -> None:
    assert {a.key: (a.value, a.why, a.basis) for a in labour().assumptions} == DEFAULTS
    wide = labour(rug=Rug(size="2.7x1 m", density="20x20 per dm", technique="tufted")).assumptions
    told = {a.key: (a.value, a.why, a.basis) for a in wide}
    assert told == DEFAULTS | {
        "[loom] weavers": ("3", *DEFAULTS["[loom] weavers"][1:]),
        "[loom] knots_per_weaver_day": (
            "0.37 m2 per worker-day",
            "a 5 x 8 ft rug takes about ten worker-days",
            "common practice",
        ),
    }


def test_two_weavers_at_a_given_rate_by_hand() -> None:
    # 50 rows of 40 knots at 400 a day for each of two weavers are 2.5 days; 15 % more or less a day (the module's own
    # estimate) are 2000 / 920 to 2000 / 680 days. A day has seven hours and a month 20 days.
    figures = labour(weavers=2, knots_per_weaver_day=400, hours_per_day=7, working_days_per_month=20)
    days = np.array([2000 / 920, 2.5, 2000 / 680])
    for told, wanted in (
        (figures.knots_per_weaver_day, np.array([340, 400, 460])),
        (figures.days, days),
        (figures.months, np.ceil(days) / 20),
        (figures.weaver_hours, days * 2 * 7),
        (figures.rows_a_day, (50 / days)[::-1]),  # the most days go with the fewest rows a day
    ):
        assert (told.low, told.best, told.high) == pytest.approx(tuple(wanted))


@pytest.mark.parametrize(
    ("technique", "loom", "words", "basis", "ends"),
    [
        # The shares are the module's own estimates; 0.37161216 m2 at 400 tufts a dm2 are 14,864.4864 tufts.
        ("knotted", {}, "at the published 5,000 and 14,000 knots a day", "published", (5_000, 14_000)),
        ("knotted", {"knots_per_weaver_day": 6000}, "the rate 15 % either way", "estimate", (5_100, 6_900)),
        ("tufted", {}, "the rate 30 % either way", "estimate", (10_405.14, 19_323.83)),
        ("tufted", {"knots_per_weaver_day": 6000}, "the rate 15 % either way", "estimate", (5_100, 6_900)),
    ],
)
def test_the_time_says_how_it_was_calculated(
    technique: str, loom: dict[str, int], words: str, basis: str, ends: tuple[float, float]
) -> None:
    figures = labour(rug=make_rug(40, 50, "20x20 per dm", technique=technique), **loom)
    days = "tufts / (tufters x tufts per day)" if technique == "tufted" else "knots / (weavers x knots per day)"
    days += ", rounded up to whole days; months up to tenths"
    by_rows = [
        ("runs and colours per row", "counted on the knot map, with runs cut at strip edges", "measured here"),
        ("slow sections", "runs per row at least 1.25 times the rug's mean", "estimate"),
    ]
    assert [(r.what, r.how, r.basis) for r in figures.reached] == [
        ("days", days, "arithmetic"),
        ("range of days", words, basis),
        *(by_rows if technique == "knotted" else []),  # nobody tufts by rows, and no such figure is shown
    ]
    assert (figures.knots_per_weaver_day.low, figures.knots_per_weaver_day.high) == pytest.approx(ends, abs=0.01)


def test_a_rate_above_the_published_is_reported_and_one_above_a_knot_a_second_refused() -> None:
    [finding] = labour(knots_per_weaver_day=4_999).findings
    assert (finding.where, finding.severity) == ("[loom] knots_per_weaver_day", "note")
    assert finding.what == "4,999 knots a day lies outside the published 5,000 to 14,000."
    assert labour(knots_per_weaver_day=14_001).findings
    # One knot a second for 2.5 hours is 9,000 knots, so 9,001 are refused, though they lie within the published range.
    assert labour(knots_per_weaver_day=9_000, hours_per_day=2.5).findings == ()
    with pytest.raises(RugError) as refused:
        labour(knots_per_weaver_day=9_001, hours_per_day=2.5)
    assert str(refused.value) == (
        "[loom] knots_per_weaver_day: 9,001 knots a day is more than one a second for 2.5 hours (9,000); "
        "sustained rates are 5,000 to 14,000"
    )
    # Tufts are shot by a tool, faster than one a second, and a default never causes a finding.
    tufted = make_rug(40, 50, "40x50 per dm", technique="tufted")
    assert labour(rug=tufted, knots_per_weaver_day=80_000).knots_per_weaver_day.best == 80_000
    assert labour().findings == labour(rug=tufted).findings == ()


def test_a_tufting_rate_of_twice_or_half_the_common_one_is_reported() -> None:
    # Ten worker-days for 40 square feet (common practice) are 0.37161216 m2 a day: at 400 tufts a dm2 14,864.49 tufts.
    # Twice that is 29,728.97 and half is 7,432.24. The whole rug, 100 x 160 tufts of 25 mm2, is 0.4 m2: 1.0764
    # worker-days.
    rug = make_rug(100, 160, "20x20 per dm", technique="tufted")
    for usual in (7_433, 14_864, 29_728):
        assert labour(rug=rug, weavers=1, knots_per_weaver_day=usual).findings == ()
    for odd, days in ((7_432, "2.15"), (29_729, "0.538"), (80_000, "0.2")):
        [finding] = labour(rug=rug, weavers=1, knots_per_weaver_day=odd).findings
        assert (finding.where, finding.severity) == ("[loom] knots_per_weaver_day", "warning")
        assert finding.what == (f"This rate gives {days} worker-days; common practice (ten for 5 x 8 ft) gives 1.08.")
    # Three tufters side by side need as many worker-days, but each has only 17 cm.
    crowded = labour(rug=rug, weavers=3, knots_per_weaver_day=14_864).findings
    assert [(f.what, f.where, f.severity) for f in crowded] == [
        ("3 tufters have 16.7 cm each; usual are 90 cm, and at least 45 cm.", "[loom] weavers", "warning")
    ]


def test_one_weaver_needs_no_room_beside_another() -> None:
    assert labour(weavers=1).findings == ()  # on a rug of 10 cm


def test_sections_by_hand() -> None:
    # Two sections have three rows and the last has one, in three yarns. The runs are 5 + 4 + 6, 3 + 3 + 3, and 4: 28 in
    # 7 rows, or 4.0 on average, so that the first section, at 5.0 a row, is just at 1.25 times the mean.
    tallied = np.array([[4, 3, 2], [4, 5, 0], [7, 1, 1], [9, 0, 0], [9, 0, 0], [9, 0, 0], [0, 4, 0]])
    runs = np.array([5, 4, 6, 3, 3, 3, 4])
    first, second, last = sections_of((range(3), range(3, 6), range(6, 7)), tallied, runs)
    assert first == Section(1, 3, 27, 5.0, 8 / 3, 3, 1.25)  # three rows have 3 + 2 + 3 colours
    assert second == Section(4, 6, 27, 3.0, 1.0, 1, 0.75)
    assert last == Section(7, 7, 4, 4.0, 1.0, 1, 1.0)
    slower = replace(first, first_row=8, pace=2.5)
    nearly = replace(first, pace=1.2499)
    figures = replace(labour(), sections=(nearly, first, second, slower, last))
    assert figures.slow == (slower, first)  # the slowest section comes first


def test_a_map_without_a_knot_takes_no_time() -> None:
    figures = labour(np.full((50, 40), NO_KNOT), section="5 cm")
    assert (figures.days, figures.rows_a_day) == (Range.exact(0), Range.exact(0))
    assert (figures.most_runs, figures.most_runs_row, figures.most_colours) == (0, 1, 0)
    assert [(s.knots, s.colours, s.pace) for s in figures.sections] == [(0, 0, 1.0), (0, 0, 1.0)]
    assert (figures.slow, figures.findings) == ((), ())
