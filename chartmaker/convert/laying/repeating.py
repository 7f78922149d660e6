"""What repeats in a drawing: all of it, or else its field within a frame and the sides of its borders."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.artwork.lattices import LEAST_PX, lattice_at, lattice_in
from chartmaker.artwork.placing import Placement
from chartmaker.colours.labelling import Labels
from chartmaker.convert.laying.keys import FINE_KNOTS, Edges, level_edges, upright_edges
from chartmaker.convert.laying.mirrorings import middle_of, mirrorings_again, mirrorings_of
from chartmaker.convert.repeats.finding import (
    MOST_SEARCHED_PX,
    BorderRepeat,
    field_repeat,
    repeats_along,
    side_again,
)
from chartmaker.convert.repeats.frames import LEAST_BAND_KNOTS, Box, Layout, Side, layout_of
from chartmaker.convert.repeats.saying import Said, said_in
from chartmaker.convert.repeats.wholes import LEAST_KNOTS, Period, period_of
from chartmaker.ground.memory import Values, memory
from chartmaker.order.design import Mirror

#: Gives the level and the upright edges of a drawing.
Straight = Callable[[], tuple[Edges, Edges]]
#: With fewer pixels to a knot than this, no border shows how it repeats.
LEAST_PX_A_KNOT = 3.0


@dataclass(frozen=True)
class Repeating:
    """What repeats in a drawing: by its `period` all over, or only in a `box` within a frame, and along some `sides`.

    Sides that become images of others are left out. Of boxes of the order that are `unused` nothing was found.
    """

    period: Period | None = None
    box: Box | None = None
    sides: tuple[BorderRepeat, ...] = ()
    unused: tuple[Said, ...] = ()


NOTHING = Repeating()


def repeating(
    labels: Labels, even: Placement, mirror: Mirror, boxes: tuple[Box, ...], straight: Straight | None = None
) -> Repeating:
    """Return what repeats in a drawing.

    Parameters
    ----------
    labels, even, mirror, boxes
        As the grid is `laid` by.
    straight : callable, optional
        Gives the straight edges of the drawing.
    """
    edges = straight or cache(lambda: straight_edges(labels, even, FINE_KNOTS))
    knot_px, said = (even.knot_height, even.knot_width), tuple[Said, ...]()

    @cache
    def layout() -> Layout:
        return layout_of((labels.first.shape[0], labels.first.shape[1]), edges(), knot_px)

    if boxes:
        said = said_in(boxes, layout(), (LEAST_BAND_KNOTS * knot_px[0], LEAST_BAND_KNOTS * knot_px[1]))
    all_over_px = next((one.all_over_px for one in said if one.all_over_px is not None), None)
    period = _all_over(labels, even, all_over_px)
    if period is not None:
        return Repeating(period, unused=tuple(one for one in said if one.all_over_px is None))
    lengths = {one.part: one.length_px for one in said if one.part is not None}
    of = (labels.first, labels.second, labels.second_share, even.column_edges, even.row_edges, mirror, str(lengths))
    found = memory().recall("sides", of, lambda: _sides(labels, even, mirror, edges, lengths))
    sides = tuple(map(side_again, found[0].tolist()))

    def in_field(size_px: tuple[int, int] | None) -> tuple[Box, Period] | None:
        place, numbers = memory().recall(
            "field", (*of, size_px), lambda: _in_field(labels.first, even, layout(), size_px)
        )
        own = _again(numbers)
        return None if own is None else (Box(*place.tolist()), own)

    size_px = next((one.all_over_px for one in said if one.part is None), None)
    field, met = in_field(size_px), {part for side in sides if (part := side.as_said(lengths)) is not None}
    unused = tuple(one for one in said if one.part not in met and (one.part is not None or field is None))
    if field is None and unused:  # what is said is wrong, and counts for nothing
        period = _all_over(labels, even, None)
        if period is not None:
            return Repeating(period, unused=said)
        field = in_field(None)
    return Repeating(sides=sides, unused=unused) if field is None else Repeating(field[1], field[0], sides, unused)


def measured(even: Placement) -> tuple[tuple[int, int], tuple[Fraction, Fraction]]:
    """Return the rows and the columns of a grid, with the height and the width of its knots in pixels."""
    knot_px = Fraction(even.height) / even.rows, Fraction(even.width) / even.columns
    return (even.rows, even.columns), knot_px


def straight_edges(labels: Labels, even: Placement, least_knots: float) -> tuple[Edges, Edges]:
    """Return the level and the upright edges of at least so many knots."""
    return level_edges(labels, least_knots * even.knot_width), upright_edges(labels, least_knots * even.knot_height)


def _all_over(labels: Labels, even: Placement, repeat_px: tuple[int, int] | None) -> Period | None:
    """Return what repeats all over a drawing, if anything does; the order may say its height and width in pixels."""
    of = (labels.first, repeat_px, even.rows, even.columns)
    numbers, *kept = memory().recall("period", of, lambda: _period(labels.first, even, repeat_px))
    period = _again(numbers)
    mirrorings = tuple(map(mirrorings_again, kept))
    return None if period is None else replace(period, mirrorings=(mirrorings[0], mirrorings[1]))


def _period(inks: ByteArray, even: Placement, repeat_px: tuple[int, int] | None) -> Values:
    """Return what repeats all over a drawing, and where it mirrors, as numbers, none if nothing does."""
    if repeat_px is None:
        part = (middle_of(size, MOST_SEARCHED_PX) for size in inks.shape)
        lattice = lattice_in(inks[tuple(part)], _least_px(even))
    else:
        lattice = lattice_at(inks, repeat_px)
    period = None if lattice is None else period_of(inks, lattice)
    if period is None:
        return (_numbers(None),)
    mirrorings = mirrorings_of(inks, (period.down_px, period.across_px))
    return _numbers(period), *(own.kept for own in mirrorings)


def _in_field(inks: ByteArray, even: Placement, layout: Layout, repeat_px: tuple[int, int] | None) -> Values:
    """Return the box within a frame in which something repeats, and its period, as numbers, none if nothing does."""
    found = field_repeat(inks, layout.field, _least_px(even), repeat_px)
    if found is None or found.box == layout.frames[0]:
        return np.empty(0), _numbers(None)
    box = found.box
    return np.array([box.top, box.left, box.bottom, box.right]), _numbers(period_of(inks[box.window], found.lattice))


def _least_px(even: Placement) -> tuple[float, float]:
    """Return the height and the width of the smallest repeats, in pixels."""
    return max(LEAST_KNOTS * even.knot_height, LEAST_PX), max(LEAST_KNOTS * even.knot_width, LEAST_PX)


def _numbers(period: Period | None) -> NDArray[np.int64]:
    """Return a period without its mirrorings as numbers, none if there is none."""
    if period is None:
        return np.empty(0, dtype=np.int64)
    ratios = (*period.down_px.as_integer_ratio(), *period.across_px.as_integer_ratio())
    return np.array([*ratios, period.centred], dtype=np.int64)


def _again(numbers: NDArray[np.int64]) -> Period | None:
    """Return the period whose numbers `_numbers` returned."""
    if not len(numbers):
        return None
    down, of_down, across, of_across, centred = numbers.tolist()
    return Period(Fraction(down, of_down), Fraction(across, of_across), bool(centred))


def _sides(
    labels: Labels, even: Placement, mirror: Mirror, straight: Straight, said_px: dict[tuple[int, Side], int]
) -> Values:
    """Return the sides of borders along which something repeats as numbers, none if the artwork is too small."""
    if min(even.knot_height, even.knot_width) < LEAST_PX_A_KNOT:
        return (np.empty((0, 0)),)
    images = [side for side, way in (("right", "across"), ("top", "along")) if mirror in (way, "both")]
    found = repeats_along(labels, straight(), (even.knot_height, even.knot_width), images, said_px)
    return (np.array([side.kept for side in found]),)
