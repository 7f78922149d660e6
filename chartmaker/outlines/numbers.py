"""Where the number of each field stands: within it, or beside it with a leader, and never on another number."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

#: The greatest and the least height of a number, in millimetres.
LARGEST_MM, SMALLEST_MM = 9.0, 3.5
#: The width of a digit, and of the air round a number, in heights of a capital.
DIGIT, AIR = 0.8, 0.35
#: A drawn edge takes this much of a field, in millimetres; parts below so many square millimetres need no number.
EDGE_MM, LEAST_PART_MM2 = 0.6, 6.0
#: The lengths of leader that are tried in turn, in millimetres, and in how many directions each is tried.
_REACHES_MM, _WAYS = (6, 9, 13, 18, 25, 35, 50, 70), 16


@dataclass(frozen=True)
class Place:
    """A number with the field it belongs to, its middle and its height, and a point of the field, in millimetres.

    The middle of a number that stands within its field is that point; from any other number a leader runs to it.
    """

    field: int
    x_mm: float
    y_mm: float
    height_mm: float
    at_x_mm: float
    at_y_mm: float

    @property
    def has_leader(self) -> bool:
        return (self.x_mm, self.y_mm) != (self.at_x_mm, self.at_y_mm)


def size_mm(text: str, height_mm: float) -> tuple[float, float]:
    """Return the width and the height that a number takes with the air round it."""
    return (len(text) * DIGIT + 2 * AIR) * height_mm, (1 + 2 * AIR) * height_mm


def places_of(polygons: NDArray[np.object_], texts: Sequence[str], frame_mm: tuple[float, float]) -> list[Place]:
    """Return places for the numbers of all fields, at least one for each.

    A field has most room at the middle of the largest circle within it. Where even that is not enough, the number
    stands in the nearest room that no other number takes, clear of all edges if possible. A field that is drawn in
    several parts, because its necks are no wider than two edges, has a number in each part.

    Parameters
    ----------
    polygons : ndarray of shapely.Polygon, shape (fields,)
    texts : sequence of str
        The number of each field.
    frame_mm : (width, height)
        Numbers stay within this frame, which begins at the lower left corner.
    """
    import shapely

    if not len(polygons):
        return []
    parts, fields = _parts(polygons)
    fineness = np.clip(np.sqrt(shapely.area(parts)) / 40, 0.25, 4.0)
    circles = shapely.maximum_inscribed_circle(parts, fineness)
    middles = shapely.get_coordinates(shapely.get_point(circles, 0))
    radii = shapely.length(circles)
    taken = _Taken(polygons, frame_mm)
    places: list[Place] = []
    narrow: list[int] = []
    for number in np.argsort(-radii, kind="stable").tolist():
        field = int(fields[number])
        x, y = (float(value) for value in middles[number])
        wide, high = size_mm(texts[field], 1.0)
        height = min(LARGEST_MM, float(radii[number]) / float(np.hypot(wide, high) / 2))
        if height >= SMALLEST_MM:
            places.append(Place(field, x, y, height, x, y))
            taken.take(x, y, *size_mm(texts[field], height))
        else:
            narrow.append(number)
    for number in narrow:
        field = int(fields[number])
        x, y = (float(value) for value in middles[number])
        places.append(Place(field, *taken.free(x, y, *size_mm(texts[field], SMALLEST_MM)), SMALLEST_MM, x, y))
    return sorted(places, key=lambda place: place.field)


def _parts(polygons: NDArray[np.object_]) -> tuple[NDArray[np.object_], NDArray[np.int64]]:
    """Return the parts that fields fall into where their edges are drawn, each with its field."""
    import shapely

    inner, field = shapely.get_parts(shapely.buffer(polygons, -EDGE_MM, quad_segs=1), return_index=True)
    seen = shapely.area(inner) >= LEAST_PART_MM2
    inner, field = inner[seen], field[seen]
    bare = np.setdiff1d(np.arange(len(polygons)), field)
    return np.concatenate([inner, polygons[bare]]), np.concatenate([field, bare])


class _Taken:
    """The room that numbers have taken, and the edges that numbers should keep clear of."""

    def __init__(self, polygons: NDArray[np.object_], frame_mm: tuple[float, float]) -> None:
        import shapely

        self._frame = frame_mm
        self._edges: Any = shapely.STRtree(_pieces(shapely.boundary(polygons)))
        self._boxes: dict[tuple[int, int], list[tuple[float, float, float, float]]] = {}

    def _cells(self, box: tuple[float, float, float, float]) -> list[tuple[int, int]]:
        left, low, right, high = (int(side // 20) for side in box)
        return [(column, row) for column in range(left, right + 1) for row in range(low, high + 1)]

    def take(self, x: float, y: float, wide: float, high: float) -> None:
        box = (x - wide / 2, y - high / 2, x + wide / 2, y + high / 2)
        for cell in self._cells(box):
            self._boxes.setdefault(cell, []).append(box)

    def _clear(self, box: tuple[float, float, float, float]) -> bool:
        left, low, right, high = box
        if left < 0 or low < 0 or right > self._frame[0] or high > self._frame[1]:
            return False
        return not any(
            left < other[2] and right > other[0] and low < other[3] and high > other[1]
            for cell in self._cells(box)
            for other in self._boxes.get(cell, ())
        )

    def free(self, x: float, y: float, wide: float, high: float) -> tuple[float, float]:
        """Return the middle of a free box near (x, y), and take it."""
        import shapely

        turn = np.arange(_WAYS) * (2 * np.pi / _WAYS)
        tried = [(x + r * np.cos(a), y + r * np.sin(a)) for r in _REACHES_MM for a in turn]
        open_ = [
            (cx, cy) for cx, cy in tried if self._clear((cx - wide / 2, cy - high / 2, cx + wide / 2, cy + high / 2))
        ]
        if open_:
            at = np.array(open_)
            boxes = shapely.box(at[:, 0] - wide / 2, at[:, 1] - high / 2, at[:, 0] + wide / 2, at[:, 1] + high / 2)
            crossed = np.zeros(len(boxes), dtype=bool)
            crossed[self._edges.query(boxes, predicate="intersects")[0]] = True
            best = int(np.flatnonzero(~crossed)[0]) if not crossed.all() else 0
            x, y = open_[best]
        else:  # nothing is free within reach, so go further and further up
            while not self._clear((x - wide / 2, y - high / 2, x + wide / 2, y + high / 2)) and y < self._frame[1]:
                y += high
        self.take(x, y, wide, high)
        return float(x), float(y)


def _pieces(lines: NDArray[np.object_]) -> NDArray[np.object_]:
    """Return lines cut into pieces of a few points, with boxes small enough to look them up by."""
    import shapely

    rings = shapely.get_parts(lines)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    keep = ring[:-1] == ring[1:]
    ends = np.stack([points[:-1][keep], points[1:][keep]], axis=1)
    return np.asarray(shapely.linestrings(ends))
