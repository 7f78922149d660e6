"""The lines of the knot grid over flat artwork lie on the keys of the drawing, or else where its cells are purest."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache

import numpy as np

from chartmaker.artwork.artwork import ByteArray
from chartmaker.artwork.placing import Placement
from chartmaker.convert.flat.labelling import Labels
from chartmaker.convert.laying.fitting import LEVELS, Line, fitted_edges
from chartmaker.convert.laying.keys import FINE_KNOTS, LEAST_KNOTS, Edges, Keys, keys_of, level_edges, upright_edges
from chartmaker.convert.laying.mirrorings import (
    REPEATS,
    Mirrorings,
    lies_well,
    middle_of,
    mirrorings_again,
    mirrorings_of,
)
from chartmaker.convert.laying.periodic import Anchor, periodic_edges
from chartmaker.convert.laying.phase import phased_edges
from chartmaker.convert.laying.sample import Sample
from chartmaker.convert.laying.shifts import Grid, anchors_of, truest
from chartmaker.convert.repeats.finding import BorderRepeat, repeats_along, side_again
from chartmaker.convert.repeats.frames import LEAST_BAND_KNOTS, Box, Side, layout_of
from chartmaker.convert.repeats.lattices import LEAST_PX, lattice_at, lattice_in
from chartmaker.convert.repeats.saying import Said, said_in
from chartmaker.convert.repeats.wholes import LEAST_KNOTS as LEAST_REPEAT_KNOTS
from chartmaker.convert.repeats.wholes import Period, WholeLattice, period_of
from chartmaker.ground.colour import FloatArray
from chartmaker.ground.memory import Values, memory
from chartmaker.order.design import Mirror

#: Gives the level and the upright edges of a drawing.
Straight = Callable[[], tuple[Edges, Edges]]
#: The keys of each level may cost this share of purity, and all of them this share of regularity besides what they gain
#: of purity: repeats along borders and equal motifs are drawn alike later, where they lie unevenly on the grid.
LOST_PURITY, LOST_REGULARITY = (0.002, 0.002, 0.0), 0.002
#: With fewer pixels to a knot than this, no border shows how it repeats.
LEAST_PX_A_KNOT = 3.0
#: Repeats are looked for in the middle of large drawings, in so many pixels a side at most.
MOST_SEARCHED_PX = 2000


@dataclass(frozen=True, eq=False)
class Laid:
    """The placement whose lines follow a drawing, and what repeats all over it, if anything does.

    If all repeats can be made whole, `periodic` is the placement for that and `whole` says how. Of boxes that are
    `unused` nothing was found.
    """

    placement: Placement
    period: Period | None = None
    sides: tuple[BorderRepeat, ...] = ()
    periodic: Placement | None = None
    whole: WholeLattice | None = None
    unused: tuple[Said, ...] = ()


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
    straight = cache(lambda: _straight(labels, even, FINE_KNOTS))
    columns, rows = memory().recall("grid", of, lambda: _laid(labels, even, mirror, _long(straight(), even)))
    plain = Laid(Placement(columns, rows))
    if not repeats:
        return plain
    period, sides, unused = repeating(labels, even, mirror, boxes, straight)
    plain = replace(plain, period=period, sides=sides, unused=unused)
    if period is None:
        return plain
    whole = period.whole(*measured(even))
    if whole is None:
        return plain
    columns, rows = memory().recall(
        "periodic grid", (*of, str(period)), lambda: _periodic(labels, even, mirror, whole, period.mirrorings)
    )
    return replace(plain, periodic=Placement(columns, rows), whole=whole)


def repeating(
    labels: Labels, even: Placement, mirror: Mirror, boxes: tuple[Box, ...], straight: Straight | None = None
) -> tuple[Period | None, tuple[BorderRepeat, ...], tuple[Said, ...]]:
    """Return what repeats all over a drawing, or else along its borders, and the boxes of which nothing was found.

    Sides that become images of others are left out.
    """
    edges = straight or cache(lambda: _straight(labels, even, FINE_KNOTS))
    knot_px, said = (even.knot_height, even.knot_width), tuple[Said, ...]()
    if boxes:
        least_px = LEAST_BAND_KNOTS * knot_px[0], LEAST_BAND_KNOTS * knot_px[1]
        said = said_in(boxes, layout_of((labels.first.shape[0], labels.first.shape[1]), edges(), knot_px), least_px)
    period = _all_over(labels, even, next((one.all_over_px for one in said if one.all_over_px is not None), None))
    if period is not None:
        return period, (), tuple(one for one in said if one.all_over_px is None)
    lengths = {one.part: one.length_px for one in said if one.part is not None}
    of = (labels.first, labels.second, labels.second_share, even.column_edges, even.row_edges, mirror, str(lengths))
    found = memory().recall("sides", of, lambda: _sides(labels, even, mirror, edges, lengths))
    sides = tuple(map(side_again, found[0].tolist()))
    met = {(side.run.band, side.run.side) for side in sides}
    return None, sides, tuple(one for one in said if one.part not in met)


def _all_over(labels: Labels, even: Placement, repeat_px: tuple[int, int] | None) -> Period | None:
    """Return what repeats all over a drawing, if anything does; the order may say its height and width in pixels."""
    of = (labels.first, repeat_px, even.rows, even.columns)
    numbers, *kept = memory().recall("period", of, lambda: _period(labels.first, even, repeat_px))
    if not len(numbers):
        return None
    down, of_down, across, of_across, centred = numbers.tolist()
    mirrorings = mirrorings_again(kept[0]), mirrorings_again(kept[1])
    return Period(Fraction(down, of_down), Fraction(across, of_across), bool(centred), mirrorings)


def measured(even: Placement) -> tuple[tuple[int, int], tuple[Fraction, Fraction]]:
    """Return the rows and the columns of a grid, with the height and the width of its knots in pixels."""
    knot_px = Fraction(even.height) / even.rows, Fraction(even.width) / even.columns
    return (even.rows, even.columns), knot_px


def _period(inks: ByteArray, even: Placement, repeat_px: tuple[int, int] | None) -> Values:
    """Return what repeats all over a drawing, and where it mirrors, as numbers, none if nothing does."""
    if repeat_px is None:
        least = [max(LEAST_REPEAT_KNOTS * size, LEAST_PX) for size in (even.knot_height, even.knot_width)]
        part = (middle_of(size, MOST_SEARCHED_PX) for size in inks.shape)
        lattice = lattice_in(inks[tuple(part)], (least[0], least[1]))
    else:
        lattice = lattice_at(inks, repeat_px)
    period = None if lattice is None else period_of(inks, lattice)
    if period is None:
        return (np.empty(0, dtype=np.int64),)
    ratios = (*period.down_px.as_integer_ratio(), *period.across_px.as_integer_ratio())
    mirrorings = mirrorings_of(inks, (period.down_px, period.across_px))
    return np.array([*ratios, period.centred], dtype=np.int64), *(own.kept for own in mirrorings)


def _sides(
    labels: Labels, even: Placement, mirror: Mirror, straight: Straight, said_px: dict[tuple[int, Side], int]
) -> Values:
    """Return the sides of borders along which something repeats as numbers, none if the artwork is too small."""
    if min(even.knot_height, even.knot_width) < LEAST_PX_A_KNOT:
        return (np.empty((0, 0)),)
    images = [side for side, way in (("right", "across"), ("top", "along")) if mirror in (way, "both")]
    found = repeats_along(labels, straight(), (even.knot_height, even.knot_width), images, said_px)
    return (np.array([side.kept for side in found]),)


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


def _straight(labels: Labels, even: Placement, least_knots: float) -> tuple[Edges, Edges]:
    """Return the level and the upright edges of at least so many knots."""
    return level_edges(labels, least_knots * even.knot_width), upright_edges(labels, least_knots * even.knot_height)


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


def _periodic(
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
    straight = _straight(part, even, FINE_KNOTS)
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
