"""The time at the loom as a range of days, and the sections that go slowly."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.basis import Assumption, Reached
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import phrase
from chartmaker.ground.lengths import cm_words
from chartmaker.ground.ranges import Range
from chartmaker.ground.sentence import later, later_n
from chartmaker.knots.knotmap import KnotMap
from chartmaker.knots.strips import WEAVER_WIDTH_MM, weavers_of
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Loom, Workshop
from chartmaker.techniques.crafts import craft_of

#: A section with this many times the rug's mean number of runs per row is called slow (estimate).
SLOW = 1.25
#: Nobody works long on less than half of the width that one takes (estimate).
LEAST_SEAT_MM = WEAVER_WIDTH_MM / 2

LABOUR_LAW = phrase(
    "Local labour law on hours, ages, breaks and pay comes before these numbers, which are only arithmetic."
)


@dataclass(frozen=True)
class Section:
    """A section of rows, `first_row` to `last_row` counted from 1, as work."""

    first_row: int
    last_row: int
    knots: int
    runs_a_row: float
    colours_a_row: float
    colours: int
    pace: float
    """Runs per row over the rug's mean; above 1 the weaving is slower."""


@dataclass(frozen=True)
class Labour:
    """Working days of all weavers together at the loom.

    `days` are exact, and `months` are those of the whole days; `whole_days` and `told_months` are shown, rounded up.
    """

    weavers: int
    knots_per_weaver_day: Range
    days: Range
    months: Range
    weaver_hours: Range
    rows_a_day: Range
    mean_runs: float
    most_runs: int
    most_runs_row: int
    mean_colours: float
    most_colours: int
    sections: tuple[Section, ...]
    reached: tuple[Reached, ...]
    assumptions: tuple[Assumption, ...]
    findings: tuple[Finding, ...]

    @property
    def whole_days(self) -> Range:
        """The days, rounded up to whole days."""
        return self.days.up()

    @property
    def told_months(self) -> Range:
        """The months, rounded up to tenths."""
        return self.months.up(1)

    @property
    def slow(self) -> tuple[Section, ...]:
        """The sections that go slowly, the slowest first."""
        return tuple(sorted((s for s in self.sections if s.pace >= SLOW), key=lambda s: -s.pace))


def daily_rate(rug: Rug, workshop: Workshop) -> Range:
    """Return the knots or tufts that one worker makes in a day: low, best and high.

    Raises
    ------
    RugError
        If the given rate is more than anybody can make.
    """
    return craft_of(rug).daily_rate(rug, workshop.loom)


def days_for(knots: int, weavers: int, rate: Range) -> Range:
    """Return the days that `weavers` take for `knots`; the high rate gives the low number of days."""
    return Range(*(knots / (weavers * r) for r in (rate.high, rate.best, rate.low)))


def sections_of(bands: tuple[range, ...], row_tally: NDArray[np.int64], runs: NDArray[np.int64]) -> tuple[Section, ...]:
    """Return the work in each band of rows.

    Parameters
    ----------
    bands : tuple of range
    row_tally : ndarray, shape (rows, yarns)
        Knots of each yarn in each row.
    runs : ndarray, shape (rows,)
        Runs in each row.
    """
    mean = runs.mean()
    found = []
    for band in bands:
        part, part_runs = row_tally[band.start : band.stop], runs[band.start : band.stop]
        found.append(
            Section(
                first_row=band.start + 1,
                last_row=band.stop,
                knots=int(part.sum()),
                runs_a_row=float(part_runs.mean()),
                colours_a_row=float((part > 0).sum(axis=1).mean()),
                colours=int((part.sum(axis=0) > 0).sum()),
                pace=float(part_runs.mean() / mean) if mean else 1.0,
            )
        )
    return tuple(found)


#: How the figures row by row were reached, which only a craft that works by rows shows.
_BY_ROWS = (
    Reached(
        later("runs and colours per row"),
        later("counted on the knot map, with runs cut at strip edges"),
        "measured here",
    ),
    Reached(
        later("slow sections"),
        later("runs per row at least {slow:g} times the rug's mean", slow=SLOW),
        "estimate",
    ),
)


def _assumptions(rug: Rug, loom: Loom, weavers: int) -> tuple[Assumption, ...]:
    given, assumed = loom.model_fields_set, []
    if loom.weavers is None:
        why = later("one for about every {width} of the rug's width", width=cm_words(WEAVER_WIDTH_MM))
        assumed.append(Assumption("[loom] weavers", str(weavers), why, "common practice"))
    if "knots_per_weaver_day" not in given:
        rate = craft_of(rug).rate_assumed(loom)
        assumed += [] if rate is None else [rate]
    if "hours_per_day" not in given:
        why = later("the working day of the published examples")
        assumed.append(Assumption("[loom] hours_per_day", f"{loom.hours_per_day:g}", why, "published"))
    if "working_days_per_month" not in given:
        why = later("124.4 days are published as about five months (irancarpets.ir)")
        value = f"{loom.working_days_per_month:g}"
        assumed.append(Assumption("[loom] working_days_per_month", value, why, "published"))
    return tuple(assumed)


def crowded_seat_mm(rug: Rug, weavers: int) -> float | None:
    """Return how much of the width each weaver has if that is less than one can work on, else None."""
    seat_mm = float(rug.woven_width_mm) / weavers
    return seat_mm if weavers > 1 and seat_mm < float(LEAST_SEAT_MM) else None


def _findings(rug: Rug, loom: Loom, days: Range, weavers: int, area_m2: float) -> tuple[Finding, ...]:
    craft = craft_of(rug)
    found = craft.rate_findings(loom, days.best * weavers, area_m2)
    seat_mm = crowded_seat_mm(rug, weavers)
    if seat_mm is not None:
        seat, needed = cm_words(seat_mm), cm_words(WEAVER_WIDTH_MM)
        what = later_n(*craft.words.crowded, weavers, seat=seat, needed=needed, least=cm_words(LEAST_SEAT_MM))
        found.append(Finding(what, "[loom] weavers", "warning"))
    return tuple(found)


def labour_of(
    knot_map: KnotMap,
    workshop: Workshop,
    bands: tuple[range, ...],
    row_tally: NDArray[np.int64],
    runs: NDArray[np.int64],
) -> Labour:
    """Return the time that the map takes.

    Parameters
    ----------
    knot_map : KnotMap
    workshop : Workshop
    bands : tuple of range
        The sections of rows.
    row_tally : ndarray, shape (rows, yarns)
    runs : ndarray, shape (rows,)

    Raises
    ------
    RugError
        If the given daily rate is impossible.
    """
    rug, loom = knot_map.rug, workshop.loom
    weavers = weavers_of(rug, workshop)
    rate = daily_rate(rug, workshop)
    days = days_for(knot_map.tied, weavers, rate)
    colours = (row_tally > 0).sum(axis=1)
    most, craft = int(np.argmax(runs)), craft_of(rug)
    area_m2 = knot_map.tied / float(rug.density.per_m2)
    return Labour(
        weavers=weavers,
        knots_per_weaver_day=rate,
        days=days,
        months=days.up().times(1 / loom.working_days_per_month),
        weaver_hours=days.times(weavers * loom.hours_per_day),
        rows_a_day=Range(*(rug.rows / d if d else 0.0 for d in (days.high, days.best, days.low))),
        mean_runs=float(runs.mean()),
        most_runs=int(runs[most]),
        most_runs_row=most + 1,
        mean_colours=float(colours.mean()),
        most_colours=int(colours.max()),
        sections=sections_of(bands, row_tally, runs),
        reached=(
            Reached(later("days"), later(craft.words.days_reached), "arithmetic"),
            Reached(later("range of days"), *craft.rate_reached(loom)),
            *(_BY_ROWS if craft.by_rows else ()),
        ),
        assumptions=_assumptions(rug, loom, weavers),
        findings=_findings(rug, loom, days, weavers, area_m2),
    )
