"""The lines of the grid within a frame lie the same in every repeat of the field that it encloses.

What all repeats then take too many knots, or too few, is made up for by cells next to the frame that are wider or
narrower than the others, because nothing of a field can be cut off unless its frame moves.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np

from chartmaker.artwork.cells import Window
from chartmaker.artwork.placing import Placement
from chartmaker.colours.labelling import Labels
from chartmaker.convert.laying.fitting import MOST_SHIFT, Line
from chartmaker.convert.laying.mirrorings import mirrorings_again, mirrorings_of
from chartmaker.convert.laying.periodic import EDGE_STEP_PX, ended
from chartmaker.convert.laying.repeating import measured
from chartmaker.convert.repeats.frames import Box
from chartmaker.convert.repeats.wholes import MOST_MISSING, Period, WholeLattice
from chartmaker.ground.colour import FloatArray
from chartmaker.ground.memory import memory
from chartmaker.order.design import Mirror


@dataclass(frozen=True, eq=False)
class Field:
    """A field within its frame: a `window` of the grid in raster order, with the labels and an even grid over them.

    `origin` is the pixel of the artwork, down and across, at which the labels begin.
    """

    window: Window
    labels: Labels
    even: Placement
    origin: tuple[int, int]

    def mirrored(self, period: Period) -> Period:
        """Return a period of the field with where that mirrors, in pixels of its labels."""
        inks, period_px = self.labels.first, (period.down_px, period.across_px)
        kept = memory().recall(
            "field mirrorings",
            (inks, str(period_px)),
            lambda: tuple(own.kept for own in mirrorings_of(inks, period_px)),
        )
        return replace(period, mirrorings=(mirrorings_again(kept[0]), mirrorings_again(kept[1])))

    def whole(self, period: Period, knot_px: tuple[Fraction, Fraction]) -> WholeLattice | None:
        """Return the repeats in whole knots, or None if cells next to the frame cannot make up for what is left over.

        `knot_px` is the height and the width of a knot on average over the rug.
        """
        grid, own_px = measured(self.even)
        found = period.whole(grid, knot_px)
        if found is None:
            return None
        sides = zip((found.down, found.across), grid, own_px, strict=True)
        return found if all(abs(side.over(knots, px)) <= 2 * MOST_MISSING for side, knots, px in sides) else None

    def of_artwork(self, whole: WholeLattice) -> WholeLattice:
        """Return repeats of the field whose axes are told in pixels of the artwork, and not of the field's labels."""
        down, across = (
            None if axis is None else axis + first for axis, first in zip(whole.axes_px, self.origin, strict=True)
        )
        return replace(whole, axes_px=(down, across))

    def within(self, plain: Placement, own: Placement) -> Placement:
        """Return a placement that has lines of its `own` in the field, and those of the `plain` one round it."""
        rows, columns = plain.raster_row_edges.copy(), plain.column_edges.copy()
        for edges, lines, inner, even, origin in zip(
            (rows, columns), self.window, _edges(own), _edges(self.even), self.origin, strict=True
        ):
            line = Line(float(even[0]), float(even[-1]), len(even) - 1)
            edges[lines.start : lines.stop + 1] = origin + ended(line, inner, line.knot_px, cut=False)
        return Placement(columns, rows[::-1])


def field_of(labels: Labels, placement: Placement, box: Box, mirror: Mirror) -> Field | None:
    """Return the field in a box, to whose sides the nearest lines of the grid are moved.

    There is none if it is too small, or if it does not lie in the middle of what is made symmetric.
    """
    sides = ((box.top, box.bottom), (box.left, box.right))
    found = [_between(edges, *ends) for edges, ends in zip(_edges(placement), sides, strict=True)]
    for (lines, _), size, way in zip(found, (placement.rows, placement.columns), ("along", "across"), strict=True):
        if lines.stop - lines.start < 2 or (mirror in (way, "both") and lines.start + lines.stop != size):
            return None
    pixels = [slice(int(np.floor(line.first)), int(np.ceil(line.end))) for _, line in found]
    origin = pixels[0].start, pixels[1].start
    rows, columns = (
        replace(line, first=line.first - first, end=line.end - first).even_edges
        for (_, line), first in zip(found, origin, strict=True)
    )
    part = replace(labels.part(*pixels), top=0, left=0)
    return Field((found[0][0], found[1][0]), part, Placement(columns, rows[::-1]), origin)


def _edges(placement: Placement) -> tuple[FloatArray, FloatArray]:
    return placement.raster_row_edges, placement.column_edges


def _between(edges: FloatArray, low: float, high: float) -> tuple[slice, Line]:
    """Return the cells between the lines that are nearest to two places, and where those lines lie then.

    A line stays where it is if it would have to move too far.
    """
    knot_px = float(edges[-1] - edges[0]) / (len(edges) - 1)
    # Of lines that are as near the one further in counts, so that a mirrored drawing has the mirrored ones.
    number = len(edges) - 1 - int(np.abs(edges - low)[::-1].argmin()), int(np.abs(edges - high).argmin())
    ends = [
        round((place if abs(edges[at] - place) <= MOST_SHIFT * knot_px else float(edges[at])) / EDGE_STEP_PX)
        * EDGE_STEP_PX
        for at, place in zip(number, (low, high), strict=True)
    ]
    return slice(number[0], number[1]), Line(ends[0], ends[1], number[1] - number[0])
