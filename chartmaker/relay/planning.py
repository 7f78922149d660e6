"""The plan of a relaid rug: how many knots each band, each repeat and the field get in it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from chartmaker.convert.repeats.frames import Side
from chartmaker.ground.language import say
from chartmaker.relay.counting import Count, Counted, Demand, counted, nearest_counts
from chartmaker.relay.parts import SIDES, Band, BandSide, Parts

#: A band narrower than this share of a knot is none.
LEAST_BAND_KNOTS = 0.1


@dataclass(frozen=True)
class PlannedSide:
    """A side of a band in knots: its ends, its repeats, and how they come out; no period where nothing repeats."""

    end: int
    period: int
    count: Count | None


@dataclass(frozen=True)
class PlannedBand:
    """A band in knots: its width at each side, and what lies along each."""

    widths: dict[Side, int]
    sides: dict[Side, PlannedSide]


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
class Unmet:
    """No size within the tolerance comes out whole; `nearest` are the nearest counts of knots that do."""

    across: bool
    wanted: int
    nearest: tuple[Counted, ...]
    demands: tuple[Demand, ...]


@dataclass(frozen=True)
class _Way:
    """One direction: which sides lie along it, which bands' widths they are taken from, pixels of a knot along it."""

    along: tuple[Side, Side]
    widths: tuple[Side, Side]
    knot_px: float
    across_px: float


def planned(
    parts: Parts,
    grid: tuple[int, int],
    knot_px: tuple[float, float],
    tolerance: float,
    *,
    blocks: bool = False,
    module: bool = False,
) -> Plan | Unmet:
    """Return how many knots each part gets.

    Parameters
    ----------
    parts : Parts
    grid : (int, int)
        The rows and columns of knots of the size that was ordered.
    knot_px : (float, float)
        The height and the width of a knot in pixels of the artwork, at the size that it is drawn for.
    tolerance : float
        The share by which the size may differ.
    blocks : bool
        Whether repeats begin right at the corner blocks, without ends of their own.
    module : bool
        Whether the border of the foot is used, turned, at the other sides as well.
    """
    high, wide = knot_px
    ways = (
        _Way(("left", "right"), ("top", "bottom"), high, wide),
        _Way(("top", "bottom"), ("left", "right"), wide, high),
    )
    widths = [_widths(band, knot_px, module=module) for band in parts.bands]
    found: list[Counted] = []
    asked: list[list[tuple[Demand, ...]]] = []
    for way, wanted in zip(ways, grid, strict=True):
        demands = [_demands(parts.bands, widths, number, way, blocks, module) for number in range(len(parts.bands))]
        flat = [demand for band in demands for demand in band if demand.period]
        bands = sum(each[side] for each in widths for side in way.widths)
        size = parts.field.height if way.along[0] == "left" else parts.field.width
        field = bands, max(round(size / way.knot_px), 1) % 2
        best = counted(wanted, tolerance, flat, field)
        if best is None:
            return Unmet(way.along[0] == "top", wanted, nearest_counts(wanted, flat, field), tuple(flat))
        found.append(best)
        asked.append(demands)
    rows, columns = found
    sides: list[dict[Side, PlannedSide]] = [{} for _ in parts.bands]
    for way, demands, best in zip(ways, asked, found, strict=True):
        counts = iter(best.counts)
        for number, own in enumerate(demands):
            for side, demand in zip(way.along, own, strict=True):
                count = next(counts) if demand.period else None
                sides[number][side] = PlannedSide(demand.end, demand.period, count)
    own_bands = tuple(PlannedBand(width, side) for width, side in zip(widths, sides, strict=True))
    return Plan(columns.knots, rows.knots, knot_px, own_bands)


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
    bands: Sequence[Band], widths: Sequence[dict[Side, int]], number: int, way: _Way, blocks: bool, module: bool
) -> tuple[Demand, ...]:
    """Return what the two sides of a band that lie along a direction ask for; no period where nothing repeats."""
    taken = sum(each[side] for each in widths[: number + 1] for side in way.widths)
    whole = sum(band.width(way.widths[0]) for band in bands)
    found = []
    for side in way.along:
        drawn: BandSide = bands[number].sides["bottom" if module else side]
        repeating = drawn.repeating
        if repeating is None:
            found.append(Demand(_name(number, side), taken, 0, 0, 0, 0.0))
            continue
        period = max(1, math.floor(repeating.period / way.knot_px + 0.5))
        end = 0 if blocks else math.floor(repeating.end / way.knot_px + 0.5)
        plain = int(repeating.plain / way.knot_px + 1e-6)
        weight = bands[number].width(way.widths[0]) / max(whole, 1e-9)
        found.append(Demand(_name(number, side), taken, end, period, plain, weight))
    return tuple(found)


def _name(number: int, side: Side) -> str:
    """Return what people call a side of a band."""
    sides = {
        "top": say("the top of band {number}", number=number + 1),
        "bottom": say("the foot of band {number}", number=number + 1),
        "left": say("the left of band {number}", number=number + 1),
        "right": say("the right of band {number}", number=number + 1),
    }
    return sides[side]
