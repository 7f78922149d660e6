"""The frames of a rug are rectangles within each other that bound the bands of its border and its field."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np

from chartmaker.convert.laying.keys import JOINED_KNOTS, Edges
from chartmaker.ground.colour import FloatArray

Side = Literal["top", "bottom", "left", "right"]

#: A frame's side is drawn over at least this share of its length.
LEAST_DRAWN = 0.75
#: The sides of a frame end at its corners to within this many knots, or so many pixels if that is more.
CORNER_KNOTS, CORNER_PX = 0.5, 2.5
#: A frame takes at least this share of the artwork's width and of its height.
LEAST_SIDE = 0.3
#: A band of a border is at least this many knots wide; anything narrower is a stripe.
LEAST_BAND_KNOTS = 3.0


@dataclass(frozen=True)
class Box:
    """A rectangle of the artwork in pixels: rows from `top` to `bottom`, columns from `left` to `right`."""

    top: float
    left: float
    bottom: float
    right: float

    @property
    def height(self) -> float:
        return self.bottom - self.top

    @property
    def width(self) -> float:
        return self.right - self.left

    @property
    def area(self) -> float:
        return self.height * self.width

    def shared(self, other: Box) -> float:
        """Return the area that the box has in common with another."""
        high = min(self.bottom, other.bottom) - max(self.top, other.top)
        return max(high, 0.0) * max(min(self.right, other.right) - max(self.left, other.left), 0.0)

    @property
    def window(self) -> tuple[slice, slice]:
        """The whole pixels within, as rows and columns of an array."""
        rows = slice(int(np.ceil(self.top - 1e-6)), int(np.floor(self.bottom + 1e-6)))
        return rows, slice(int(np.ceil(self.left - 1e-6)), int(np.floor(self.right + 1e-6)))

    def within(self, other: Box, by: float = 0.0) -> bool:
        """Return whether the box lies within another, more than `by` from each of its sides."""
        return (
            self.top - other.top > by
            and self.left - other.left > by
            and other.bottom - self.bottom > by
            and other.right - self.right > by
        )


@dataclass(frozen=True)
class Run:
    """One side of a band between two frames, without the corner blocks at both of its ends.

    `band` numbers the bands from the rim inward. A `top` or `bottom` run goes across, and the others go down. Corner
    blocks are what the two frames leave at the ends of a run.
    """

    band: int
    side: Side
    box: Box

    @property
    def across(self) -> bool:
        """Whether the run goes across the rug, and not along it."""
        return self.side in ("top", "bottom")


@dataclass(frozen=True)
class Layout:
    """The frames of an artwork from the rim inward, which are rectangles with straight edges all round.

    The first is the rim of the artwork, and may be the only one. A band lies between each two of them, and the
    innermost encloses the field.
    """

    frames: tuple[Box, ...]

    @property
    def field(self) -> Box:
        return self.frames[-1]

    def runs(self, least_px: tuple[float, float]) -> tuple[Run, ...]:
        """Return the four sides of each band that is at least so high at its top and foot and so wide at its sides."""
        found = []
        for band, (outer, inner) in enumerate(pairwise(self.frames)):
            o, i = outer, inner
            sides: tuple[tuple[Side, Box], ...] = (
                ("top", Box(o.top, i.left, i.top, i.right)),
                ("bottom", Box(i.bottom, i.left, o.bottom, i.right)),
                ("left", Box(i.top, o.left, i.bottom, i.left)),
                ("right", Box(i.top, i.right, i.bottom, o.right)),
            )
            for side, box in sides:
                upright = side in ("left", "right")
                if (box.width if upright else box.height) >= least_px[upright]:
                    found.append(Run(band, side, box))
        return tuple(found)


@dataclass(frozen=True, eq=False)
class _Line:
    """All straight edges at one place, with from where to where each stretch is drawn, in pixels."""

    place: float
    first: FloatArray
    end: FloatArray

    def begins(self, near: float, reach: float) -> bool:
        """Return whether a stretch begins at a place."""
        return bool((np.abs(self.first - near) <= reach).any())

    def ends(self, near: float, reach: float) -> bool:
        return bool((np.abs(self.end - near) <= reach).any())

    def drawn(self, first: float, end: float) -> float:
        """Return the share of the line from `first` to `end` that is drawn."""
        low, high = np.maximum(self.first, first), np.minimum(self.end, end)
        order = np.argsort(low, kind="stable")
        low, high = low[order], high[order]
        before = np.append(first, np.maximum.accumulate(high)[:-1])
        return float(np.maximum(high - np.maximum(low, before), 0).sum() / (end - first))


def layout_of(shape: tuple[int, int], edges: tuple[Edges, Edges], knot_px: tuple[float, float]) -> Layout:
    """Return the frames of a drawing.

    There is a frame where straight edges meet at four corners and are drawn over most of the way between them. Of all
    frames, from the largest on, those that lie within each other are kept.

    Parameters
    ----------
    shape : (int, int)
        The height and the width of the drawing in pixels.
    edges : (Edges, Edges)
        Its straight edges, the level and the upright ones.
    knot_px : (float, float)
        The height and the width of a knot in pixels.
    """
    height, width = shape
    level = _lines(edges[0], knot_px[0], LEAST_DRAWN * LEAST_SIDE * width)
    upright = _lines(edges[1], knot_px[1], LEAST_DRAWN * LEAST_SIDE * height)
    near = max(CORNER_KNOTS * knot_px[0], CORNER_PX), max(CORNER_KNOTS * knot_px[1], CORNER_PX)
    least = LEAST_SIDE * height, LEAST_SIDE * width
    rim = Box(0.0, 0.0, float(height), float(width))
    found = sorted(_rectangles(level, upright, near, least), key=lambda box: (-box.area, box.top, box.left))
    frames = [rim]
    for box in found:
        if box.within(frames[-1], 0.5):
            frames.append(box)
    return Layout(tuple(frames))


def _lines(edges: Edges, knot_px: float, least_px: float) -> list[_Line]:
    """Return the lines that parallel edges make, if they have at least so many pixels in all."""
    reach = max(JOINED_KNOTS * knot_px, 0.6)
    bounds = [0, *(np.flatnonzero(np.diff(edges.place) > reach) + 1).tolist(), len(edges)]
    found = []
    for first, end in pairwise(bounds):
        own = edges.only(np.arange(first, end))
        if own.length.sum() >= least_px:
            place = float((own.place * own.length).sum() / own.length.sum())
            found.append(_Line(place, own.first.astype(np.float64), own.end.astype(np.float64)))
    return found


def _rectangles(
    level: list[_Line], upright: list[_Line], near: tuple[float, float], least: tuple[float, float]
) -> list[Box]:
    """Return the rectangles whose sides are drawn; `near` is how far, down and across, a corner may miss."""
    down, across = near

    def corners(up: bool, left: bool) -> dict[_Line, set[_Line]]:
        """Return which level lines each upright line meets at one kind of corner."""
        return {
            side: {
                bar
                for bar in level
                if (bar.begins if left else bar.ends)(side.place, across)
                and (side.begins if up else side.ends)(bar.place, down)
            }
            for side in upright
        }

    top_left, top_right, foot_left, foot_right = (corners(up, left) for up in (True, False) for left in (True, False))
    return [
        Box(top.place, left.place, foot.place, right.place)
        for left in upright
        for right in upright
        if right.place - left.place >= least[1]
        for top in top_left[left] & top_right[right]
        for foot in foot_left[left] & foot_right[right]
        if foot.place - top.place >= least[0]
        and min(top.drawn(left.place, right.place), foot.drawn(left.place, right.place)) >= LEAST_DRAWN
        and min(left.drawn(top.place, foot.place), right.drawn(top.place, foot.place)) >= LEAST_DRAWN
    ]
