"""The plan of a relaid rug: how many knots each band, each repeat and the field get in it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from chartmaker.convert.repeats.frames import Side
from chartmaker.ground.language import say
from chartmaker.relay.counting import Asked, Count, Counted, Demand, counted, nearest_counts
from chartmaker.relay.counting import Way as Gives
from chartmaker.relay.parts import SIDES, Band, Parts
from chartmaker.relay.sides import BandSide

#: A band narrower than this share of a knot is none.
LEAST_BAND_KNOTS = 0.1
#: A band of at least so many knots may be a knot wider or narrower than it is drawn, where borders may give.
LEAST_GIVING_KNOTS = 4


@dataclass(frozen=True)
class PlannedSide:
    """A side of a band in knots: its ends, its repeats, and how they come out; no period where nothing repeats."""

    end: int
    period: int
    count: Count | None


@dataclass(frozen=True)
class PlannedBand:
    """A band in knots: its width at each side, and what lies along each.

    `given` are the knots by which it is wider than it is drawn at its top and foot, and at its left and right.
    """

    widths: dict[Side, int]
    sides: dict[Side, PlannedSide]
    given: tuple[int, int] = (0, 0)


@dataclass(frozen=True)
class Plan:
    """A rug of `columns` x `rows` knots laid anew, band by band from the rim inward; the field gets what is left.

    `knot_px` is the height and the width of a knot in pixels of the artwork, at the size that it is drawn for. `around`
    is how many repeats of each band go all round a rug that is no rectangle, 0 where nothing repeats.
    """

    columns: int
    rows: int
    knot_px: tuple[float, float]
    bands: tuple[PlannedBand, ...]
    around: tuple[int, ...] = ()

    @property
    def field(self) -> tuple[int, int]:
        """The knots of the field, down and across."""
        down = sum(band.widths["top"] + band.widths["bottom"] for band in self.bands)
        across = sum(band.widths["left"] + band.widths["right"] for band in self.bands)
        return self.rows - down, self.columns - across


@dataclass(frozen=True)
class Wider:
    """Which band, counted from the rim, is how many knots wider on both sides, so that all repeats come out."""

    band: int
    knots: int
    counted: Counted


@dataclass(frozen=True)
class Unmet:
    """No size within the tolerance comes out whole; `nearest` are the nearest counts of knots that do.

    `wider` is a band that lets the ordered size come out if it gives a knot, where there is one. It is `off_middle` if
    the field would get a middle between two knots that is drawn on one, or the other way round.
    """

    across: bool
    wanted: int
    nearest: tuple[Counted, ...]
    demands: tuple[Demand, ...]
    wider: Wider | None = None
    off_middle: bool = False


@dataclass(frozen=True)
class Told:
    """What is told of borders: repeats begin right at corner `blocks`; the foot is the `module` of all sides; what may
    give where repeats do not come out, among it the `width` of a border, by one knot."""

    blocks: bool = False
    module: bool = False
    ways: tuple[Gives, ...] = ("exact", "ground", "repeats")
    width: bool = False


@dataclass(frozen=True)
class _Way:
    """One direction: which sides lie along it, which bands' widths they are taken from, pixels of a knot along it."""

    along: tuple[Side, Side]
    widths: tuple[Side, Side]
    knot_px: float
    across_px: float


def planned(
    parts: Parts, grid: tuple[float, float], knot_px: tuple[float, float], tolerance: float, told: Told = Told()
) -> Plan | Unmet:
    """Return how many knots each part gets.

    Parameters
    ----------
    parts : Parts
    grid : (float, float)
        The rows and columns of knots that the ordered size would take, which need not be whole.
    knot_px : (float, float)
        The height and the width of a knot in pixels of the artwork, at the size that it is drawn for.
    tolerance : float
        The share by which the size may differ.
    told : Told
        What is told of the borders.
    """
    high, wide = knot_px
    ways = (
        _Way(("left", "right"), ("top", "bottom"), high, wide),
        _Way(("top", "bottom"), ("left", "right"), wide, high),
    )
    widths = [_widths(band, knot_px, module=told.module) for band in parts.bands]
    given = [[0, 0] for _ in parts.bands]
    found = []
    for number, (way, ordered) in enumerate(zip(ways, grid, strict=True)):
        asked = Asked(ordered, tolerance, told.ways)
        best = _counted(parts, widths, way, asked, told)
        if best is None:
            wider = _wider(parts, widths, way, asked, told)
            if wider is None or not told.width:
                demands, field = _asking(parts, widths, way, told)
                nearest = nearest_counts(asked, demands, field)
                off_middle = (asked.wanted - field[0]) % 2 != field[1]
                return Unmet(way.along[0] == "top", asked.wanted, nearest, tuple(demands), wider, off_middle)
            widths, best = _widened(widths, way, wider), wider.counted
            given[wider.band][number] = wider.knots
        found.append(best)
    rows, columns = found
    sides: list[dict[Side, PlannedSide]] = [{} for _ in parts.bands]
    for way, best in zip(ways, found, strict=True):
        counts = iter(best.counts)
        for number, own in enumerate(sides):
            demands_of = _demands(parts.bands, widths, number, way, told)
            for side, demand in zip(way.along, demands_of, strict=True):
                own[side] = PlannedSide(demand.end, demand.period, next(counts) if demand.period else None)
    own_bands = tuple(
        PlannedBand(width, side, (more[0], more[1])) for width, side, more in zip(widths, sides, given, strict=True)
    )
    return Plan(columns.knots, rows.knots, knot_px, own_bands)


def _asking(
    parts: Parts, widths: Sequence[dict[Side, int]], way: _Way, told: Told
) -> tuple[list[Demand], tuple[int, int]]:
    """Return what all sides along a direction ask for, with the knots of all bands and the parity of the field."""
    demands = [
        demand
        for number in range(len(parts.bands))
        for demand in _demands(parts.bands, widths, number, way, told)
        if demand.period
    ]
    size = parts.field.height if way.along[0] == "left" else parts.field.width
    taken = sum(each[side] for each in widths for side in way.widths)
    return demands, (taken, max(round(size / way.knot_px), 1) % 2)


def _counted(parts: Parts, widths: Sequence[dict[Side, int]], way: _Way, asked: Asked, told: Told) -> Counted | None:
    return counted(asked, *_asking(parts, widths, way, told))


def _wider(parts: Parts, widths: Sequence[dict[Side, int]], way: _Way, asked: Asked, told: Told) -> Wider | None:
    """Return the widest band that lets the ordered size come out if it is one knot wider or narrower."""
    order = sorted(range(len(widths)), key=lambda number: (-widths[number][way.widths[0]], number))
    for band in order:
        if min(widths[band][side] for side in way.widths) < LEAST_GIVING_KNOTS:
            break
        found = []
        for knots in (1, -1):
            wider = _widened(widths, way, Wider(band, knots, Counted(0, ())))
            best = _counted(parts, wider, way, asked, told)
            if best is not None:
                found.append(Wider(band, knots, best))
        if found:
            return min(found, key=lambda wider: abs(wider.counted.knots - asked.wanted))
    return None


def _widened(widths: Sequence[dict[Side, int]], way: _Way, wider: Wider) -> list[dict[Side, int]]:
    """Return the widths of all bands with one of them wider along a direction."""
    changed = [dict(each) for each in widths]
    for side in way.widths:
        changed[wider.band][side] += wider.knots
    return changed


def _widths(band: Band, knot_px: tuple[float, float], *, module: bool) -> dict[Side, int]:
    """Return how many knots wide a band is at each side: opposite sides alike if they are drawn alike."""
    high, wide = knot_px
    drawn = {side: band.width("bottom" if module else side) for side in SIDES}
    if module:  # the foot's width in millimetres, at the sides in knots of the other direction
        drawn["left"] = drawn["right"] = band.width("bottom") / high * wide * (high / wide)
    for one, other in (("top", "bottom"), ("left", "right")):
        if abs(drawn[one] - drawn[other]) <= 1.5:  # type: ignore[index]
            drawn[one] = drawn[other] = (drawn[one] + drawn[other]) / 2  # type: ignore[index]
    knots = {side: drawn[side] / (high if side in ("top", "bottom") else wide) for side in SIDES}
    return {side: max(1, round(number)) if number > LEAST_BAND_KNOTS else 0 for side, number in knots.items()}


def _demands(
    bands: Sequence[Band], widths: Sequence[dict[Side, int]], number: int, way: _Way, told: Told
) -> tuple[Demand, ...]:
    """Return what the two sides of a band that lie along a direction ask for; no period where nothing repeats."""
    taken = sum(each[side] for each in widths[: number + 1] for side in way.widths)
    whole = sum(band.width(way.widths[0]) for band in bands)
    found = []
    for side in way.along:
        drawn: BandSide = bands[number].sides["bottom" if told.module else side]
        repeating = drawn.repeating
        if repeating is None:
            found.append(Demand(_name(number, side), taken, 0, 0, 0, 0.0))
            continue
        period = max(1, math.floor(repeating.period / way.knot_px + 0.5))
        end = 0 if told.blocks else math.floor(repeating.end / way.knot_px + 0.5)
        plain = int(repeating.plain / way.knot_px + 1e-6)
        weight = bands[number].width(way.widths[0]) / max(whole, 1e-9)
        exact = 0.0 if told.blocks else repeating.end / way.knot_px, repeating.period / way.knot_px
        found.append(Demand(_name(number, side), taken, end, period, plain, weight, exact))
    return tuple(found)


def _name(number: int, side: Side) -> str:
    """Return what people call both sides of a band that lie along one direction."""
    if side in ("top", "bottom"):
        return say("band {number} across", number=number + 1)
    return say("band {number} along", number=number + 1)
