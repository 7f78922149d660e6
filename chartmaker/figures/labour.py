"""The time at the loom, as a range of days, with where it goes slowly."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.figures.basis import Assumption, Reached
from chartmaker.ground.errors import RugError
from chartmaker.ground.findings import Finding
from chartmaker.ground.ranges import Range
from chartmaker.ground.units import FOOT_MM
from chartmaker.knots.knotmap import KnotMap
from chartmaker.knots.strips import WEAVER_WIDTH_MM, weavers_of
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Loom, Workshop

#: Published sustained rates of one weaver run from 5,000 to 14,000 knots a day.
RATE_LOW, RATE_HIGH = 5_000, 14_000
#: An expert's peak is one knot a second (common practice).
PEAK_PER_HOUR = 3_600
#: How far a rate that the workshop gave may be off over a whole rug, as a share (estimate).
GIVEN_RATE_SPREAD = 0.15
#: How far the common rate of tufting may be off, as a share (estimate).
TUFTED_RATE_SPREAD = 0.30
#: A 5 x 8 ft rug takes about ten worker-days (common practice).
TUFTED_M2_PER_WORKER_DAY = float(40 * FOOT_MM**2) / 1e6 / 10
#: A stretch with this many times the rug's mean runs a row is called slow (estimate).
SLOW = 1.25

LABOUR_LAW = "Hours, ages, breaks, pay: local labour law comes before these numbers, which are arithmetic only."


@dataclass(frozen=True)
class Stretch:
    """A stretch of rows, `first_row` to `last_row` counted from 1, as work."""

    first_row: int
    last_row: int
    knots: int
    runs_a_row: float
    colours_a_row: float
    colours: int
    pace: float
    """Runs a row against the rug's mean; above 1 is slower going."""


@dataclass(frozen=True)
class Labour:
    """Working days of all weavers together at the loom."""

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
    stretches: tuple[Stretch, ...]
    reached: tuple[Reached, ...]
    assumptions: tuple[Assumption, ...]
    findings: tuple[Finding, ...]

    @property
    def slow(self) -> tuple[Stretch, ...]:
        """The stretches that go slowly, the slowest first."""
        return tuple(sorted((s for s in self.stretches if s.pace >= SLOW), key=lambda s: -s.pace))


def daily_rate(rug: Rug, workshop: Workshop) -> Range:
    """Return the knots (or tufts) of one weaver in a day: low, best, high.

    Raises
    ------
    RugError
        If the rate given is above one knot a second for the whole day.
    """
    loom = workshop.loom
    given = "knots_per_weaver_day" in loom.model_fields_set
    if rug.technique == "tufted":
        if given:
            return Range.around(loom.knots_per_weaver_day, GIVEN_RATE_SPREAD)
        return Range.around(TUFTED_M2_PER_WORKER_DAY * float(rug.density.per_m2), TUFTED_RATE_SPREAD)
    if not given:
        return Range(RATE_LOW, loom.knots_per_weaver_day, RATE_HIGH)
    most = PEAK_PER_HOUR * loom.hours_per_day
    if loom.knots_per_weaver_day > most:
        raise RugError(
            f"{loom.knots_per_weaver_day:,} knots a day is more than one a second for {loom.hours_per_day:g} hours "
            f"({most:,.0f}); sustained rates run from {RATE_LOW:,} to {RATE_HIGH:,}",
            where="[loom] knots_per_weaver_day",
        )
    return Range.around(loom.knots_per_weaver_day, GIVEN_RATE_SPREAD)


def days_for(knots: int, weavers: int, rate: Range) -> Range:
    """Return the days that `weavers` take for `knots`: the high rate gives the low figure."""
    return Range(*(knots / (weavers * r) for r in (rate.high, rate.best, rate.low)))


def stretches_of(
    bands: tuple[range, ...], row_tally: NDArray[np.int64], runs: NDArray[np.int64]
) -> tuple[Stretch, ...]:
    """Return each band of rows as work.

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
            Stretch(
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


def _assumptions(rug: Rug, loom: Loom, weavers: int) -> tuple[Assumption, ...]:
    given, assumed = loom.model_fields_set, []
    if loom.weavers is None:
        why = f"one for about every {float(WEAVER_WIDTH_MM) / 10:g} cm of width"
        assumed.append(Assumption("[loom] weavers", str(weavers), why, "common practice"))
    if "knots_per_weaver_day" not in given:
        if rug.technique == "tufted":
            why = "a 5 x 8 ft rug takes about ten worker-days"
            value = f"{TUFTED_M2_PER_WORKER_DAY:.2f} m2 a worker-day"
            assumed.append(Assumption("[loom] knots_per_weaver_day", value, why, "common practice"))
        else:
            why = f"published sustained rates run from {RATE_LOW:,} to {RATE_HIGH:,} a day"
            value = f"{loom.knots_per_weaver_day:,}"
            assumed.append(Assumption("[loom] knots_per_weaver_day", value, why, "published"))
    if "hours_per_day" not in given:
        why = "the day that the published examples reckon with"
        assumed.append(Assumption("[loom] hours_per_day", f"{loom.hours_per_day:g}", why, "published"))
    if "working_days_per_month" not in given:
        why = "124.4 days are published as about five months (irancarpets.ir)"
        value = f"{loom.working_days_per_month:g}"
        assumed.append(Assumption("[loom] working_days_per_month", value, why, "published"))
    return tuple(assumed)


def _findings(rug: Rug, loom: Loom, days: Range, weavers: int, area_m2: float) -> tuple[Finding, ...]:
    found = []
    given = "knots_per_weaver_day" in loom.model_fields_set
    if rug.technique == "tufted":
        ours, usual = days.best * weavers, area_m2 / TUFTED_M2_PER_WORKER_DAY
        if not usual / 2 <= ours <= usual * 2:
            what = f"this rate gives {ours:.3g} worker-days; common practice (ten for 5 x 8 ft) gives {usual:.3g}"
            found.append(Finding(what, "[loom] knots_per_weaver_day", "warning"))
    elif given and not RATE_LOW <= loom.knots_per_weaver_day <= RATE_HIGH:
        what = f"{loom.knots_per_weaver_day:,} a day lies outside the published {RATE_LOW:,} to {RATE_HIGH:,}"
        found.append(Finding(what, "[loom] knots_per_weaver_day", "note"))
    seat_mm = float(rug.woven_width_mm) / weavers
    if weavers > 1 and seat_mm < float(WEAVER_WIDTH_MM) / 2:
        needed = f"one needs about {float(WEAVER_WIDTH_MM) / 10:g} cm"
        what = f"{weavers} {rug.worker}s have {seat_mm / 10:.0f} cm each; {needed}"
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
        The stretches of rows.
    row_tally : ndarray, shape (rows, yarns)
    runs : ndarray, shape (rows,)

    Raises
    ------
    RugError
        If the daily rate given is impossible.
    """
    rug, loom = knot_map.rug, workshop.loom
    weavers = weavers_of(rug, workshop)
    rate = daily_rate(rug, workshop)
    days = days_for(knot_map.tied, weavers, rate)
    colours = (row_tally > 0).sum(axis=1)
    most = int(np.argmax(runs))
    area_m2 = knot_map.tied / float(rug.density.per_m2)
    return Labour(
        weavers=weavers,
        knots_per_weaver_day=rate,
        days=days,
        months=days.times(1 / loom.working_days_per_month),
        weaver_hours=days.times(weavers * loom.hours_per_day),
        rows_a_day=Range(*(rug.rows / d if d else 0.0 for d in (days.high, days.best, days.low))),
        mean_runs=float(runs.mean()),
        most_runs=int(runs[most]),
        most_runs_row=most + 1,
        mean_colours=float(colours.mean()),
        most_colours=int(colours.max()),
        stretches=stretches_of(bands, row_tally, runs),
        reached=(
            Reached("days", f"{rug.stitch}s / ({rug.worker}s x {rug.stitch}s a day)", "arithmetic"),
            Reached("range of days", _range_words(rug, loom), "published" if _published(rug, loom) else "estimate"),
            Reached("runs and colours a row", "counted on the knot map, cut at strip edges", "measured here"),
            Reached("slow stretches", f"runs a row {SLOW:g} times the rug's mean or more", "estimate"),
        ),
        assumptions=_assumptions(rug, loom, weavers),
        findings=_findings(rug, loom, days, weavers, area_m2),
    )


def _published(rug: Rug, loom: Loom) -> bool:
    return rug.technique == "knotted" and "knots_per_weaver_day" not in loom.model_fields_set


def _range_words(rug: Rug, loom: Loom) -> str:
    if _published(rug, loom):
        return f"at the published {RATE_LOW:,} and {RATE_HIGH:,} knots a day"
    given = "knots_per_weaver_day" in loom.model_fields_set
    return f"the rate {(GIVEN_RATE_SPREAD if given else TUFTED_RATE_SPREAD) * 100:g} % either way"
