"""The plan of the looms: each rug in the order of the list goes to the loom where it would be finished first."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from chartmaker.collection.pieces import Ordered
from chartmaker.ground.sentence import Sentence, later
from chartmaker.order.collectionfile import Calendar, LoomPlace

_WEEK = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
HONEST = later(
    "This is arithmetic, not a promise: each rug in the order of the list goes to the loom where it would be finished "
    "first. Days follow from the knots that a weaver ties in a day; the late end is at the low end of that estimate. "
    "Local labour law on hours, ages, breaks, rest and pay comes first: change the calendar and the looms to fit it."
)


@dataclass(frozen=True)
class Turn:
    """A piece and its time at a loom.

    Attributes
    ----------
    piece, at : int
        Its place in the list of pieces, counted from 0, and the name of the loom.
    weavers, days : int
        How many weavers sit at it, and the working days that they take.
    start, end, late_end : date
        The first day, the last day, and the last day if the work goes slowly.
    yarn_by : date
        The last working day on which its yarn can be ordered.
    """

    piece: int
    at: str
    weavers: int
    days: int
    start: date
    end: date
    late_end: date
    yarn_by: date


@dataclass(frozen=True)
class LoomPlan:
    """The turns in the order of the pieces, and the pieces that found no loom, with the reason."""

    turns: tuple[Turn, ...] = ()
    unplaced: tuple[tuple[int, Sentence], ...] = ()

    @property
    def starts(self) -> dict[int, date]:
        """The day on which the yarn of each piece must be ordered."""
        return {turn.piece: turn.yarn_by for turn in self.turns}


def plan_of(
    pieces: Sequence[Ordered], looms: Mapping[str, LoomPlace], calendar: Calendar, lead_days: int = 0
) -> LoomPlan:
    """Return which piece is woven where and when, by list scheduling in the order of `pieces`.

    List scheduling: Graham, Bounds on multiprocessing timing anomalies, SIAM J. Appl. Math. 17, 1969.

    A loom has one rug at a time. Of the looms where a rug would be finished on the same day, the narrowest takes it, so
    that wide ones stay free. A loom seats its weavers, but no more than the rug's own figures put side by side.
    """
    if not looms:
        return LoomPlan()
    days = _Days(calendar)
    free = {name: (days.first_from(loom.start), days.first_from(loom.start)) for name, loom in looms.items()}
    narrow_first = sorted(looms, key=lambda name: looms[name].width_mm)
    turns, unplaced = [], []
    for number, piece in enumerate(pieces):
        wide = [n for n in narrow_first if float(looms[n].width_mm) >= piece.record["loom_width_cm"] * 10 - 0.05]
        if not wide:
            why = later("no loom is {width_cm:g} cm wide", width_cm=math.ceil(piece.record["loom_width_cm"]))
            unplaced.append((number, why))
            continue
        tried = [_turn(number, piece, name, looms[name], free[name], days, lead_days) for name in wide]
        best = min(tried, key=lambda turn: turn.end)
        turns.append(best)
        between = calendar.between_days + 1
        free[best.at] = days.after(best.end, between), days.after(best.late_end, between)
    return LoomPlan(tuple(turns), tuple(unplaced))


def _turn(
    number: int, piece: Ordered, name: str, loom: LoomPlace, free: tuple[date, date], days: _Days, lead_days: int
) -> Turn:
    record = piece.record
    weavers = min(loom.weavers, record["weavers"])
    takes = max(math.ceil(record["weaver_days"] / weavers - 1e-9), 1)
    slowly = max(math.ceil(record["weaver_days_high"] / weavers - 1e-9), takes)
    start, late = (days.first_from(max(day, piece.not_before or day)) for day in free)
    end, late_end = days.after(start, takes - 1), days.after(late, slowly - 1)
    return Turn(number, name, weavers, takes, start, end, late_end, days.before(start, lead_days))


class _Days:
    """The working days of a calendar."""

    def __init__(self, calendar: Calendar) -> None:
        mask = [day not in calendar.rest for day in _WEEK]
        self._calendar = np.busdaycalendar(mask, [np.datetime64(day) for day in calendar.holidays])

    def first_from(self, day: date) -> date:
        """Return `day`, or the first working day after it."""
        return self.after(day, 0)

    def before(self, day: date, number: int) -> date:
        """Return the last working day that lies at least `number` days of any kind before `day`."""
        latest = np.datetime64(day - timedelta(days=number))
        return date.fromisoformat(str(np.busday_offset(latest, 0, roll="backward", busdaycal=self._calendar)))

    def after(self, day: date, number: int) -> date:
        """Return the working day that is `number` working days after `day`."""
        found = np.busday_offset(np.datetime64(day), number, roll="forward", busdaycal=self._calendar)
        return date.fromisoformat(str(found))
