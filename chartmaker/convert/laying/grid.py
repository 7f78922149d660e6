"""The lines of the knot grid over flat artwork lie on the keys of the drawing, or else where its cells are purest."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from chartmaker.artwork.placing import Placement
from chartmaker.colours.labelling import Labels
from chartmaker.convert.laying.fitting import LEVELS, Line, fitted_edges
from chartmaker.convert.laying.framed import Field, field_of
from chartmaker.convert.laying.keys import FINE_KNOTS, LEAST_KNOTS, Edges, Keys, keys_of
from chartmaker.convert.laying.mirrorings import REPEATS, Mirrorings, lies_well, middle_of
from chartmaker.convert.laying.periodic import Anchor, periodic_edges
from chartmaker.convert.laying.phase import phased_edges
from chartmaker.convert.laying.repeating import NOTHING, Repeating, measured, repeating, straight_edges
from chartmaker.convert.laying.sample import Sample
from chartmaker.convert.laying.shifts import Grid, anchors_of, truest
from chartmaker.convert.repeats.frames import Box
from chartmaker.convert.repeats.wholes import Period, WholeLattice
from chartmaker.ground.colour import FloatArray
from chartmaker.ground.memory import Values, memory
from chartmaker.order.design import Mirror

#: The keys of each level may cost this share of purity, and all of them this share of regularity besides what they gain
#: of purity: repeats along borders and equal motifs are drawn alike later, where they lie unevenly on the grid.
LOST_PURITY, LOST_REGULARITY = (0.002, 0.002, 0.0), 0.002


@dataclass(frozen=True, eq=False)
class Laid:
    """The placement whose lines follow a drawing, and what was found to repeat in that.

    If all repeats can be made whole, all over the drawing or in its `field`, `periodic` is the placement for that and
    `whole` says how.
    """

    placement: Placement
    found: Repeating = NOTHING
    field: Field | None = None
    periodic: Placement | None = None
    whole: WholeLattice | None = None


def laid(labels: Labels, even: Placement, mirror: Mirror, boxes: tuple[Box, ...], *, repeats: bool) -> Laid:
    """Return the placement whose lines follow the drawing.

    Parameters
    ----------
    labels : Labels
        The ink of each pixel.
    even : Placement
        The placement in which all knots have one size.
    mirror : Mirror
        What is made symmetric afterwards. There only the keys of the master count, which is the left or the lower half.
    boxes : tuple of Box
        One repeat of each part of which the order says it, in pixels.
    repeats : bool
        Whether repeats are looked for.
    """
    of = (labels.first, labels.second, labels.second_share, even.column_edges, even.row_edges, mirror)
    straight = cache(lambda: straight_edges(labels, even, FINE_KNOTS))
    columns, rows = memory().recall("grid", of, lambda: _laid(labels, even, mirror, _long(straight(), even)))
    plain = Laid(Placement(columns, rows))
    if not repeats:
        return plain
    found = repeating(labels, even, mirror, boxes, straight)
    plain = with_repeats(replace(plain, found=found), labels, even, mirror)
    whole, field, period = plain.whole, plain.field, plain.found.period
    if whole is None or period is None:
        return plain
    if field is None:
        return replace(plain, periodic=_periodic(labels, even, mirror, whole, period))
    own = _periodic(field.labels, field.even, mirror, whole, period)
    return replace(plain, periodic=field.within(plain.placement, own), whole=field.of_artwork(whole))


def with_repeats(grid: Laid, labels: Labels, even: Placement, mirror: Mirror) -> Laid:
    """Return a grid with the field that repeats, if only that does, and with its repeats whole, if they can be.

    Nothing is laid for them yet.
    """
    period, knot_px = grid.found.period, measured(even)[1]
    if period is None:
        return grid
    if grid.found.box is None:
        return replace(grid, whole=period.whole((even.rows, even.columns), knot_px))
    field = field_of(labels, grid.placement, grid.found.box, mirror)
    if field is None:
        return grid
    period = field.mirrored(period)
    found = replace(grid.found, period=period)
    return replace(grid, found=found, field=field, whole=field.whole(period, knot_px))


def _periodic(labels: Labels, even: Placement, mirror: Mirror, whole: WholeLattice, period: Period) -> Placement:
    """Return the placement whose lines lie the same in every repeat."""
    of = (labels.first, labels.second, labels.second_share, even.column_edges, even.row_edges, mirror, str(period))
    columns, rows = memory().recall(
        "periodic grid", of, lambda: _in_repeats(labels, even, mirror, whole, period.mirrorings)
    )
    return Placement(columns, rows)


def _lines(even: Placement) -> tuple[Line, Line]:
    """Return the sides of the grid, down and across."""
    return (
        Line(float(even.row_edges[-1]), float(even.row_edges[0]), even.rows),
        Line(float(even.column_edges[0]), float(even.column_edges[-1]), even.columns),
    )


def _keys(edges: tuple[Edges, Edges], part: Labels, even: Placement, mirror: Mirror) -> tuple[Keys, Keys]:
    """Return the keys that the level and upright edges of a part of the artwork make, down and across.

    Where the drawing is mirrored, they are those of one half with their images.
    """
    height, width = part.first.shape
    high, wide = even.knot_height, even.knot_width
    down, across = _lines(even)
    rows, columns = keys_of(edges[0], high, wide, width), keys_of(edges[1], wide, high, height)
    rows, columns = rows.moved(part.top), columns.moved(part.left)
    if mirror in ("along", "both"):
        rows = _doubled(down, rows, left=False)
    if mirror in ("across", "both"):
        columns = _doubled(across, columns, left=True)
    return rows, columns


def _long(edges: tuple[Edges, Edges], even: Placement) -> tuple[Edges, Edges]:
    """Return only the level and upright edges that are long enough for keys by themselves."""
    level, upright = edges
    return (
        level.only(level.length >= LEAST_KNOTS * even.knot_width),
        upright.only(upright.length >= LEAST_KNOTS * even.knot_height),
    )


def _laid(labels: Labels, even: Placement, mirror: Mirror, edges: tuple[Edges, Edges]) -> Values:
    """Return the edges of the columns, and then those of the rows."""
    down, across = _lines(even)
    rows, columns = _keys(edges, labels, even, mirror)
    column_edges = _edges(across, columns, Sample(labels.first), mirror in ("across", "both"))
    raster_row_edges = _edges(down, rows, Sample(labels.first.T), mirror in ("along", "both"))
    return column_edges, raster_row_edges[::-1]


def _in_repeats(
    labels: Labels, even: Placement, mirror: Mirror, whole: WholeLattice, seen: tuple[Mirrorings, Mirrorings]
) -> Values:
    """Return the edges of the columns, and then those of the rows, that lie the same in every repeat.

    If motifs can stay their own mirror images, they do.
    """
    lines, period = _lines(even), (whole.sides[0].knots, whole.sides[1].knots)

    @cache
    def edges(axis: int, number: int, anchor: Anchor) -> FloatArray | None:
        return periodic_edges(lines[axis], keys[number][axis], whole.sides[axis], anchor, mirror=mirroring[axis])

    def tried(number: int, anchors: tuple[Anchor, Anchor]) -> list[Grid]:
        rows, columns = edges(0, number, anchors[0]), edges(1, number, anchors[1])
        if rows is None or columns is None or not lies_well(rows, keeping[0]) or not lies_well(columns, keeping[1]):
            return []
        return [(rows, columns)]

    sizes = (round(REPEATS * side.period_px) for side in whole.sides)
    down, across = (middle_of(size, most) for size, most in zip(labels.first.shape, sizes, strict=True))
    part = labels.part(down, across)
    straight = straight_edges(part, even, FINE_KNOTS)
    keys = [_keys(found, part, even, mirror) for found in (straight, _long(straight, even))]
    own = mirror in ("along", "both") or seen[0].own, mirror in ("across", "both") or seen[1].own
    axes = None if own[0] else seen[0].axis, None if own[1] else seen[1].axis
    mirroring = own[0] or axes[0] is not None, own[1] or axes[1] is not None
    keeping = [
        None if free else one.keeping(side.knots, side.period_px)
        for free, one, side in zip(mirroring, seen, whole.sides, strict=True)
    ]
    anchors = [anchor for anchor in anchors_of(own, axes, (keeping[0], keeping[1])) if tried(0, anchor)]
    first = tried(0, anchors[0])
    best = truest(labels, [*first, *tried(1, anchors[0])], period)
    number = 0 if best is first[0] else 1
    others = [grid for anchor in anchors[1:] for grid in tried(number, anchor)]
    raster_row_edges, column_edges = truest(labels, [best, *others], period)
    return column_edges, raster_row_edges[::-1]


def _edges(line: Line, keys: Keys, sample: Sample, mirror: bool) -> FloatArray:
    """Return the edges along a line, on the heaviest keys and then on lighter ones as long as the drawing gains."""
    even = line.even_edges
    edges, pure, regular = even, sample.purity(even), sample.regularity(even)
    for least, lost in zip(LEVELS, LOST_PURITY, strict=True):
        trial = fitted_edges(line, keys.only(keys.weight >= least))
        if np.array_equal(trial, edges):
            continue
        purity = sample.purity(trial)
        if purity >= pure - lost:
            regularity = sample.regularity(trial)
            if regularity >= regular - LOST_REGULARITY - max(purity - pure, 0.0):
                edges, pure, regular = trial, purity, regularity
    return phased_edges(line, sample) if np.array_equal(edges, even) and not mirror else edges


def _doubled(line: Line, keys: Keys, *, left: bool) -> Keys:
    """Return the keys of one half of a line with their mirror images."""
    middle = (line.first + line.end) / 2
    own = keys.only(keys.place < middle if left else keys.place > middle)
    place = np.concatenate([own.place, line.first + line.end - own.place])
    order = np.argsort(place, kind="stable")
    return Keys(place, np.tile(own.weight, 2), np.tile(own.along, (2, 1))).only(order)
