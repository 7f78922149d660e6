"""How well the yarns match the artwork's colours is counted and reported."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.placing import Placement
from chartmaker.convert.laying.grid import Laid
from chartmaker.convert.laying.repeating import measured
from chartmaker.convert.repeats.wholes import WholeLattice
from chartmaker.ground.colour import FloatArray
from chartmaker.ground.memory import Values
from chartmaker.yarns.yarn import Yarn

#: A yarn is a stand-in if it is on average further than this, by CIEDE2000, from what it stands for: anyone sees a
#: difference of 5 side by side (common practice).
STAND_IN_DE00 = 5.0
#: Percentiles are read from a histogram with this step.
STEP_DE00 = 0.01
#: Differences smaller than this come from rounding, which is not the same on every processor.
ROUNDED_DECIMALS = 6
_BINS = 12_001  # up to 120; black to white is 100


@dataclass(frozen=True)
class YarnMatch:
    """How far, by CIEDE2000, a yarn's knots are from the artwork under them.

    Of the knots, `mixed` are tied among others so that a shade between the yarns appears at a distance.
    """

    code: str
    knots: int
    mean_de00: float
    p95_de00: float
    max_de00: float
    mixed: int = 0

    @property
    def stands_in(self) -> bool:
        """Whether the yarn stands in for colours that the card misses, which knots that are mixed cannot tell."""
        return self.mean_de00 > STAND_IN_DE00 and 2 * self.mixed < self.knots


@dataclass(frozen=True)
class MatchReport:
    """The match of the whole rug, and then of each yarn in the order of the map."""

    mean_de00: float
    p95_de00: float
    max_de00: float
    yarns: tuple[YarnMatch, ...]

    @property
    def stand_ins(self) -> tuple[YarnMatch, ...]:
        return tuple(match for match in self.yarns if match.stands_in)


@dataclass(frozen=True)
class RegionReport:
    """A region of the order, with its number counted from 1, the style that it was converted in, and its tied knots."""

    number: int
    style: str
    knots: int


@dataclass(frozen=True)
class RepeatReport:
    """What repeats all over a drawing, or in its `field` within a frame, and what became of it, down and across.

    `drawn` is the size of a repeat in knots as it is drawn. If all repeats were made whole, `knots` is their size,
    `cut` is how many knots' worth of drawing are left out at each end, `missing` how many knots are gained there by
    narrower cells, and `widened` how many are lost by wider ones, because in a frame nothing is cut off; else all four
    are None. With one of `rows` and one of `columns` a repeat would be whole as it is drawn.
    """

    drawn: tuple[float, float]
    centred: bool
    field: bool
    knots: tuple[int, int] | None
    cut: tuple[float, float] | None
    missing: tuple[float, float] | None
    widened: tuple[float, float] | None
    rows: tuple[int, ...]
    columns: tuple[int, ...]


def repeat_report(laid: Laid, whole: WholeLattice | None, even: Placement) -> RepeatReport | None:
    """Return the report of what repeats, None if nothing does, on a grid whose knots would all have one size."""
    period, framed = laid.found.period, laid.found.box is not None
    if period is None:
        return None
    grid, knot_px = measured(even)
    drawn = round(float(period.down_px / knot_px[0]), 2), round(float(period.across_px / knot_px[1]), 2)
    rows, columns = period.counts(grid, knot_px)
    if whole is None:
        return RepeatReport(drawn, period.centred, framed, None, None, None, None, rows, columns)
    own, own_px = (grid, knot_px) if laid.field is None else measured(laid.field.even)
    down, across = (
        (float(side.cut(knots, px)), float(side.missing(knots, px)))
        for side, knots, px in zip((whole.down, whole.across), own, own_px, strict=True)
    )
    over, missing, none = (down[0], across[0]), (down[1], across[1]), (0.0, 0.0)
    cut, widened = (none, over) if framed else (over, none)
    knots = whole.down.knots, whole.across.knots
    return RepeatReport(drawn, period.centred, framed, knots, cut, missing, widened, rows, columns)


class Tally:
    """Differences that are counted band by band, from which `report` reads the match."""

    def __init__(self, yarns: int) -> None:
        self._bins = np.zeros((yarns, _BINS), dtype=np.float64)
        self._sum = np.zeros(yarns, dtype=np.float64)
        self._max = np.zeros(yarns, dtype=np.float64)
        self._mixed = np.zeros(yarns, dtype=np.float64)

    def add(
        self, index: NDArray[np.integer], de00: FloatArray, knots: FloatArray | None = None, *, mixed: bool = False
    ) -> None:
        """Count differences `de00` of yarns `index`, both of shape (n,), each for so many `knots`, or one.

        `mixed` says that the knots are mixed with others' to give a shade between the yarns.
        """
        yarns = len(self._sum)
        if mixed:
            self._mixed += np.bincount(index, knots, minlength=yarns)
        de00 = np.round(de00, ROUNDED_DECIMALS)
        place = np.minimum((de00 / STEP_DE00).astype(np.int64), _BINS - 1) + index.astype(np.int64) * _BINS
        self._bins += np.bincount(place, knots, minlength=yarns * _BINS).reshape(yarns, _BINS)
        self._sum += np.bincount(index, de00 if knots is None else de00 * knots, minlength=yarns)
        np.maximum.at(self._max, index, de00)

    def kept(self) -> Values:
        """Return what was counted, for `again`."""
        met = np.flatnonzero(self._bins)
        return met, self._bins.ravel()[met], self._sum, self._max, self._mixed

    @classmethod
    def again(
        cls, met: NDArray[np.intp], times: FloatArray, sums: FloatArray, most: FloatArray, mixed: FloatArray
    ) -> Tally:
        """Return the tally whose counts `kept` returned."""
        tally = cls(len(sums))
        tally._bins.reshape(-1)[met] = times
        tally._sum[:], tally._max[:], tally._mixed[:] = sums, most, mixed
        return tally

    def join(self, other: Tally) -> None:
        """Add the counts of a tally of other knots of the same yarns."""
        self._bins += other._bins
        self._sum += other._sum
        self._mixed += other._mixed
        np.maximum(self._max, other._max, out=self._max)

    def report(self, yarns: tuple[Yarn, ...]) -> MatchReport:
        """Return the report of those `yarns` that were counted at all, after at least one difference was counted."""
        matches = tuple(
            YarnMatch(
                yarn.code,
                int(bins.sum()),
                float(total / bins.sum()),
                min(_p95(bins), float(worst)),
                float(worst),
                int(mixed),
            )
            for yarn, bins, total, worst, mixed in zip(
                yarns, self._bins, self._sum, self._max, self._mixed, strict=True
            )
            if bins.any()
        )
        knots = float(self._bins.sum())
        worst_of_all = float(self._max.max())
        return MatchReport(
            float(self._sum.sum() / knots), min(_p95(self._bins.sum(axis=0)), worst_of_all), worst_of_all, matches
        )


def _p95(bins: FloatArray) -> float:
    """Return the 95th percentile to within half a step."""
    reached = np.cumsum(bins)
    return float((np.searchsorted(reached, 0.95 * reached[-1]) + 0.5) * STEP_DE00)
