"""Marks that stand along the edges of fields, on that side of an edge of which they speak."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from chartmaker.outlines.borders import Border

#: Beyond its end a mark has room to spare, its length this many times in all; nearer than this is its own line, in mm.
_CLEAR, _OFF_MM = 1.4, 0.15


@dataclass(frozen=True)
class Mark:
    """A mark beside a line, from a point of the line straight into the field that it speaks of."""

    x_mm: float
    y_mm: float
    to_x_mm: float
    to_y_mm: float

    @property
    def reach_mm(self) -> float:
        return float(np.hypot(self.to_x_mm - self.x_mm, self.to_y_mm - self.y_mm))

    def at(self, share: float) -> tuple[float, float]:
        """Return the point at this share of the way from the line to the mark's end."""
        return (
            self.x_mm + share * (self.to_x_mm - self.x_mm),
            self.y_mm + share * (self.to_y_mm - self.y_mm),
        )


def marks_beside(
    edges: Iterable[Border],
    lines: Iterable[Border],
    marked: Sequence[bool],
    every_mm: float,
    reaches_mm: Sequence[float],
) -> tuple[Mark, ...]:
    """Return marks along some lines, on each side whose label is marked.

    Parameters
    ----------
    edges : iterable of Border
        All edges of the drawing, beyond which no mark should reach.
    lines : iterable of Border
        Those along which marks stand.
    marked : sequence of bool
        By label.
    every_mm : float
        How far apart marks stand; a shorter line has one.
    reaches_mm : sequence of float
        How far marks reach, the longest first. Each takes the longest that ends before the next edge, or else the last.
    """
    feet = [
        _feet(line, every_mm, left=(label == line.one) == line.one_left)
        for line in lines
        for label in (line.one, line.two)
        if marked[label]
    ]
    if not feet:
        return ()
    foot, way = (np.concatenate(parts) for parts in zip(*feet, strict=True))
    tree = _tree(edges)
    reach = np.full(len(foot), reaches_mm[-1])
    for longest in reaches_mm[-2::-1]:  # the longest last, so that it stands
        reach[_are_clear(tree, foot, way, longest)] = longest
    ends = foot + way * reach[:, None]
    return tuple(Mark(*one, *other) for one, other in zip(foot.tolist(), ends.tolist(), strict=True))


def _tree(edges: Iterable[Border]) -> Any:
    """Return all edges, looked up by where they are."""
    import shapely

    points = [np.array(edge.points_mm) for edge in edges]
    pieces = np.concatenate([np.stack([each[:-1], each[1:]], axis=1) for each in points])
    return shapely.STRtree(shapely.linestrings(pieces))


def _are_clear(tree: Any, foot: NDArray[np.float64], way: NDArray[np.float64], reach_mm: float) -> NDArray[np.bool_]:
    """Return which marks of a length end before the next edge."""
    import shapely

    lines = shapely.linestrings(np.stack([foot + way * _OFF_MM, foot + way * reach_mm * _CLEAR], axis=1))
    clear = np.ones(len(foot), dtype=bool)
    clear[tree.query(lines, predicate="intersects")[0]] = False
    return clear


def _feet(line: Border, every_mm: float, *, left: bool) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return points along a line, evenly and at least one, each with the way to one side of it."""
    points = np.array(line.points_mm)
    sides = np.diff(points, axis=0)
    lengths = np.hypot(*sides.T)
    ends = lengths.cumsum()
    number = max(1, int(ends[-1] // every_mm))
    along = (np.arange(number) + 0.5) * ends[-1] / number
    side = np.minimum(np.searchsorted(ends, along), len(sides) - 1)
    way = sides[side] / lengths[side, None]
    foot = points[side] + way * (along - ends[side] + lengths[side])[:, None]
    return foot, way[:, ::-1] * ([-1, 1] if left else [1, -1])
