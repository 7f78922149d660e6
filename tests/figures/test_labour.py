"""Time against published examples, against counting by hand."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from making import make_map, make_rug

from chartmaker.errors import RugError
from chartmaker.figures.basis import Range
from chartmaker.figures.gather import figures_of
from chartmaker.figures.labour import SLOW, Labour, daily_rate, days_for
from chartmaker.knotmap import NO_KNOT
from chartmaker.rug import Rug
from chartmaker.units import parse_length_mm
from chartmaker.workshop import Loom, Workshop


def labour(cells: Any = None, rug: Rug | None = None, **loom: Any) -> Labour:
    if cells is None:
        cells = np.zeros((rug.rows, rug.columns) if rug else (50, 40))
    return figures_of(make_map(cells, rug, Workshop(loom=Loom(**loom)))).labour


def test_published_time_by_the_minute() -> None:
    # authenticrugsandart.com: 10 x 7 ft at 300 knots per square inch is 3,024,000 knots; at 20 a minute 2,520 hours,
    # 315 days of 8 hours.
    knots = 300 * (10 * 12) * (7 * 12)
    assert knots == 3_024_000
    assert days_for(knots, 1, Range.exact(20 * 60 * 8)).best == pytest.approx(315)
    assert days_for(knots, 1, Range.exact(20 * 60)).best == pytest.approx(2_520)


def test_published_time_by_the_day() -> None:
    # irancarpets.ir: 6 x 9 ft at 160 knots per square inch, 10,000 knots a day, takes 124.4 days, about five months.
    # 160 is square, so that the grid of whole knots is 0.04 % off.
    rug = Rug(size="6x9ft", density="160 kpsi")
    days = days_for(rug.knots, 1, Range.exact(10_000))
    assert days.best == pytest.approx(124.4, abs=0.1)
    assert days.best / Loom().working_days_per_month == pytest.approx(5, abs=0.05)


def test_common_practice_of_an_average_rug() -> None:
    # Common practice: three or four weavers share a loom, an average-sized rug takes three to six months, a large
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


def test_what_was_given_is_no_assumption() -> None:
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
    assert [f.where for f in labour(weavers=2).findings] == ["[loom] weavers"]  # on 10 cm of rug
    for usual in (5_000, 7_000, 14_000):  # the published range with its ends
        assert labour(rug=Rug(size="170x240 cm", density="40x40 per dm"), knots_per_weaver_day=usual).findings == ()
    assert labour(rug=Rug(size="90x90 cm", density="40x40 per dm"), weavers=2).findings == ()  # half of 90 cm each
    crowded = labour(rug=Rug(size="170x240 cm", density="40x40 per dm"), weavers=5).findings
    assert ["34 cm" in finding.what for finding in crowded] == [True]


def test_a_tufted_rug_of_5_by_8_feet_takes_ten_worker_days() -> None:
    # Common practice: hand-tufting a 5 x 8 ft rug takes about ten worker-days.
    rug = Rug(size="5x8ft", density="20x20 per dm", technique="tufted")
    figures = labour(rug=rug, weavers=2)
    assert figures.days.best * 2 == pytest.approx(10, abs=0.02)
    assert {a.basis for a in figures.assumptions if a.key == "[loom] knots_per_weaver_day"} == {"common practice"}
    assert "0.37 m2 a worker-day" in {a.value for a in figures.assumptions}  # 40 square feet are 3.716 m2
    assert {r.what: r.how for r in figures.reached}["days"] == "tufts / (weavers x tufts a day)"
    hurried = labour(rug=rug, weavers=1, knots_per_weaver_day=80_000)
    assert "ten for 5 x 8 ft" in hurried.findings[0].what
    assert labour(rug=rug, weavers=1, knots_per_weaver_day=150 * 100).findings == ()


def test_rows_runs_colours_by_hand() -> None:
    cells = np.zeros((50, 40), dtype=int)
    cells[10, :] = np.arange(40) % 4  # 40 runs of four colours in row 11
    cells[20, 5:9] = NO_KNOT  # two runs
    cells[30, 20] = 1  # three runs
    figures = labour(cells, weavers=1, stretch="2 cm")  # 10 rows at 50 per dm
    assert (figures.most_runs, figures.most_runs_row, figures.most_colours) == (40, 11, 4)
    assert figures.mean_runs == pytest.approx((47 + 40 + 2 + 3) / 50)
    assert figures.mean_colours == pytest.approx((48 + 4 + 2) / 50)
    assert [(s.first_row, s.last_row) for s in figures.stretches] == [(1, 10), (11, 20), (21, 30), (31, 40), (41, 50)]
    assert [s.colours for s in figures.stretches] == [1, 4, 1, 2, 1]
    assert [s.first_row for s in figures.slow] == [11]
    assert figures.slow[0].pace == pytest.approx(4.9 / 1.84) and figures.slow[0].pace >= SLOW
    assert sum(s.knots for s in figures.stretches) == 2000 - 4
    assert figures.rows_a_day.best == pytest.approx(50 / figures.days.best)


def test_runs_break_at_strip_edges() -> None:
    assert labour(weavers=4).mean_runs == 4


def test_months_are_days_by_working_days() -> None:
    figures = labour(rug=Rug(width=parse_length_mm("1 m"), length=parse_length_mm("1 m"), density="40x40 per dm"))
    assert figures.months.high == pytest.approx(figures.days.high / 25)
