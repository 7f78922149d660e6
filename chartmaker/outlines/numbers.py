"""Where the number of each field stands: within it, or beside it with a leader, and never on another number."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product
from typing import Any

import numpy as np
from numpy.typing import NDArray

#: The greatest height of a number within its field in millimetres, and the least: 16 minutes of arc from 600 mm
#: (ISO 9241-3).
LARGEST_MM, SMALLEST_MM = 9.0, 2.8
#: The heights that are tried in turn for a number beside its field; the last are for crowds alone. From READ_MM up,
#: the letters of a book, a number is still read near by.
READ_MM = 2.0
BESIDE_MM = (3.5, SMALLEST_MM, READ_MM, 1.4)
#: The width of a digit, and of the air round a number, in heights of a capital.
DIGIT, AIR = 0.8, 0.35
#: How far a number and the bars beside it keep from a centre line besides, in heights of a capital.
_OFF_LINE = 0.4
#: The air that is left round the smallest numbers within a field, before they go beside it.
_LEAST_AIR = 0.1
#: A neck no wider than twice this much, in millimetres, looks closed once its edges are drawn; parts of which
#: fewer square millimetres are seen between their edges need no number.
EDGE_MM, LEAST_PART_MM2 = 0.8, 10.0
#: A drawn edge takes this much of the field on either side.
DRAWN_MM = 0.2
#: The lengths of leader that are tried in turn, in millimetres, also in a crowd, and in how many directions each is.
_REACHES_MM, _WAYS = (6, 9, 13, 18, 25, 35, 50, 70), 16
#: Edges are looked up in pieces of so many segments.
_PIECE = 8
_CROWDED_MM = (0, 1.5, 3, 4.5, *_REACHES_MM, 100)


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


def height_within_mm(text: str, radius_mm: float) -> float:
    """Return the greatest height, up to LARGEST_MM, of a number whose room lies within a circle."""
    return min(LARGEST_MM, radius_mm / float(np.hypot(*size_mm(text, 1.0)) / 2))


def places_of(polygons: NDArray[np.object_], texts: Sequence[str], frame_mm: tuple[float, float]) -> list[Place]:
    """Return places for the numbers of all fields, at least one for each that has a number.

    A field has most room at the middle of the largest circle within it. Where even that is not enough, the number
    stands in the nearest room that no other number takes, clear of all edges if possible. Within their fields numbers
    keep off the centre lines of the frame, which patterns are laid by, where there is room. A field that is drawn in
    several parts, because its necks look closed between their edges, has a number in each part.

    Parameters
    ----------
    polygons : ndarray of shapely.Polygon, shape (fields,)
    texts : sequence of str
        The number of each field; nothing where it is empty.
    frame_mm : (width, height)
        Numbers stay within this frame, which begins at the lower left corner.
    """
    import shapely

    numbered = np.flatnonzero([bool(text) for text in texts])
    if not len(numbered):
        return []
    parts, seen, of = _parts(polygons[numbered])
    fields = numbered[of]
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
        height = height_within_mm(texts[field], float(radii[number]))
        if height >= SMALLEST_MM:
            x, y, height = off_centre_lines(parts[number], (x, y, height), texts[field], frame_mm)
            places.append(Place(field, x, y, height, x, y))
            taken.take(x, y, *size_mm(texts[field], height))
        else:
            narrow.append(number)
    room = _within(seen[narrow], middles[narrow], [texts[field] for field in fields[narrow]])
    for number, within in zip(narrow, room, strict=True):
        if within is not None:  # no other number may take this room: a field may come to need it
            taken.take(*within[:2], *size_mm(texts[fields[number]], within[2]))
    for number, within in zip(narrow, room, strict=True):
        field = int(fields[number])
        if within is not None and within[2] >= SMALLEST_MM:
            places.append(Place(field, *within, *within[:2]))
        else:
            x, y = (float(value) for value in middles[number])
            places.append(taken.placed(field, x, y, texts[field], within))
    return sorted(places, key=lambda place: place.field)


def off_centre_lines(
    part: Any, place: tuple[float, float, float], text: str, frame_mm: tuple[float, float]
) -> tuple[float, float, float]:
    """Return middle and height of a number moved off the frame's centre lines, smaller if need be, if that fits."""
    import shapely

    for height in (place[2], (place[2] + SMALLEST_MM) / 2, SMALLEST_MM):
        ways = []
        for at, side, frame in zip(place, size_mm(text, height), frame_mm, strict=False):
            off = side / 2 + _OFF_LINE * height
            ways.append((frame / 2 - off, frame / 2 + off) if abs(at - frame / 2) < off else (at,))
        if height == place[2] and len(ways[0]) == len(ways[1]) == 1:
            return place
        half = np.array(size_mm(text, height)) / 2
        middles = np.array(sorted(product(*ways), key=lambda at: (float(np.hypot(*np.subtract(at, place[:2]))), at)))
        fits = shapely.contains_properly(part, shapely.box(*(middles - half).T, *(middles + half).T))
        if fits.any():
            x, y = middles[fits.argmax()].tolist()
            return x, y, height
    return place


def _parts(polygons: NDArray[np.object_]) -> tuple[NDArray[np.object_], NDArray[np.object_], NDArray[np.int64]]:
    """Return the parts that fields fall into where their edges are drawn, what is seen of each, and its field.

    Lines that run out of a part belong to it; those that hang on it by a neck which their drawn edges close do not.
    """
    import shapely

    wide, seen, field = _fallen_apart(polygons, EDGE_MM, round_by=4)
    thin, thinly, of = _fallen_apart(polygons, 2 * DRAWN_MM, round_by=1)
    apart = np.setdiff1d(np.arange(len(thin)), shapely.STRtree(thin).query(wide, predicate="intersects")[1])
    wide, seen, field = (np.append(some, others[apart]) for some, others in ((wide, thin), (seen, thinly), (field, of)))
    bare = np.setdiff1d(np.arange(len(polygons)), field)
    return np.append(wide, polygons[bare]), np.append(seen, polygons[bare]), np.append(field, bare)


def _fallen_apart(
    polygons: NDArray[np.object_], edge_mm: float, *, round_by: int
) -> tuple[NDArray[np.object_], NDArray[np.object_], NDArray[np.int64]]:
    """Return the parts that stay of fields within such an edge, as far as they can be seen, as `_parts` does."""
    import shapely

    inner, field = shapely.get_parts(shapely.buffer(polygons, -edge_mm, quad_segs=round_by), return_index=True)
    seen = shapely.buffer(inner, edge_mm - DRAWN_MM, quad_segs=1)
    large = shapely.area(seen) >= LEAST_PART_MM2
    return inner[large], seen[large], field[large]


Box = tuple[float, float, float, float]


def _within(
    parts: NDArray[np.object_], middles: NDArray[np.float64], texts: Sequence[str]
) -> list[tuple[float, float, float] | None]:
    """Return middle and height of the largest number that fits into each flat field, None where none does."""
    import shapely

    found: list[tuple[float, float, float] | None] = [None] * len(parts)
    centres = shapely.get_coordinates(shapely.centroid(parts)) if len(parts) else middles
    tight = 2 * (AIR - _LEAST_AIR) * BESIDE_MM[-1]
    for height, less in ((BESIDE_MM[-1], tight), *((height, 0.0) for height in BESIDE_MM[::-1])):  # the best last
        half = (np.array([size_mm(text, height) for text in texts]).reshape(-1, 2) - less) / 2
        for at in (centres, middles):
            fits = shapely.contains_properly(parts, shapely.box(*(at - half).T, *(at + half).T))
            for number in np.flatnonzero(fits).tolist():
                found[number] = (*at[number].tolist(), height)
    return found


class _Taken:
    """The room that numbers and their leaders have taken, and the edges that numbers should keep clear of."""

    def __init__(self, polygons: NDArray[np.object_], frame_mm: tuple[float, float]) -> None:
        self._frame = frame_mm
        self._polygons = polygons
        self._boxes: dict[tuple[int, int], list[Box]] = {}
        self._leaders: dict[tuple[int, int], list[Box]] = {}

    @cached_property
    def _edges(self) -> Any:
        """All edges, looked up by where they are; only numbers beside their fields ask for them."""
        import shapely

        return shapely.STRtree(_pieces(shapely.boundary(self._polygons)))

    def take(self, x: float, y: float, wide: float, high: float) -> None:
        _put(self._boxes, (x - wide / 2, y - high / 2, x + wide / 2, y + high / 2))

    def _give_back(self, x: float, y: float, wide: float, high: float) -> None:
        box = (x - wide / 2, y - high / 2, x + wide / 2, y + high / 2)
        for cell in _cells(box):
            self._boxes[cell].remove(box)

    def placed(self, field: int, x: float, y: float, text: str, within: tuple[float, float, float] | None) -> Place:
        """Return where the number of a narrow field stands, and take the room; (x, y) is a point of the field.

        It stands beside the field, but within it, small and in the room that is taken for it, where numbers and leaders
        near it would cross others, or edges, which hide more of a number than its small size.
        """
        if within is not None:
            self._give_back(*within[:2], *size_mm(text, within[2]))
        faults, cx, cy, height = self._beside(x, y, text)
        if within is None or (faults <= (within[2] < READ_MM) and height > within[2]):
            self.take(cx, cy, *size_mm(text, height))
            _put(self._leaders, (x, y, cx, cy))
            return Place(field, cx, cy, height, x, y)
        self.take(*within[:2], *size_mm(text, within[2]))
        return Place(field, *within, *within[:2])

    def _beside(self, x: float, y: float, text: str) -> tuple[float, float, float, float]:
        """Return the faults of the best free box for a number near (x, y), its middle and its height."""
        best: tuple[float, float, float, float] | None = None
        for height in BESIDE_MM:
            wide, high = size_mm(text, height)
            for reach_mm in _REACHES_MM if height >= SMALLEST_MM else _CROWDED_MM:
                at = self._open(_around(x, y, (reach_mm,)), wide, high)
                if len(at):
                    faults = self._faults(at, (x, y), wide, high)
                    least = int(faults.argmin())
                    if best is None or faults[least] < best[0]:
                        best = (float(faults[least]), float(at[least, 0]), float(at[least, 1]), height)
                    if best[0] == 0:
                        return best
            if best is not None and height <= SMALLEST_MM:
                return best
        return best or (9.0, x, y, BESIDE_MM[-1])

    def _open(self, at: NDArray[np.float64], wide: float, high: float) -> NDArray[np.float64]:
        """Return the places that lie within the frame and on no number."""
        low, top = np.array([wide, high]) / 2, np.array(self._frame) - np.array([wide, high]) / 2
        at = at[((at >= low) & (at <= top)).all(axis=1)]
        if not len(at):
            return at
        others = self._near(self._boxes, at, max(wide, high))
        off = np.abs(at[:, None] - (others[None, :, :2] + others[None, :, 2:]) / 2)
        room = (others[:, 2:] - others[:, :2] + [wide, high]) / 2
        covered = np.asarray((off < room).all(axis=2))
        return at[~covered.any(axis=1)]

    def _faults(
        self, at: NDArray[np.float64], point: tuple[float, float], wide: float, high: float
    ) -> NDArray[np.int8]:
        """Return how bad each place is: on an edge, and worse where a leader meets a number or another leader."""
        import shapely

        half = np.array([wide, high]) / 2
        boxes = shapely.box(*(at - half).T, *(at + half).T)
        faults = np.zeros(len(at), dtype=np.int8)
        faults[np.unique(self._edges.query(boxes, predicate="intersects")[0])] = 1
        leaders = shapely.linestrings(np.stack([np.broadcast_to(point, at.shape), at], axis=1))
        numbers = shapely.box(*self._near(self._boxes, np.vstack([at, point]), 1.0).T)
        others = shapely.linestrings(
            self._near(self._leaders, np.vstack([at, point]), max(wide, high)).reshape(-1, 2, 2)
        )
        for one, two in ((leaders, numbers), (boxes, others), (leaders, others)):
            if len(two):
                met: Any = shapely.intersects(one[:, None], two[None])
                faults[met.any(axis=1)] += 2
        return faults

    def _near(
        self, held: dict[tuple[int, int], list[Box]], at: NDArray[np.float64], room: float
    ) -> NDArray[np.float64]:
        """Return what is held near some places, shape (things, 4)."""
        cells = _cells((*(at.min(axis=0) - room).tolist(), *(at.max(axis=0) + room).tolist()))
        found = dict.fromkeys(each for cell in cells for each in held.get(cell, ()))
        return np.array(list(found), dtype=np.float64).reshape(-1, 4)


def _cells(box: Box) -> list[tuple[int, int]]:
    columns, rows = ((int(min(ends) // 20), int(max(ends) // 20)) for ends in (box[::2], box[1::2]))
    return [(column, row) for column in range(columns[0], columns[1] + 1) for row in range(rows[0], rows[1] + 1)]


def _put(held: dict[tuple[int, int], list[Box]], box: Box) -> None:
    for cell in _cells(box):
        held.setdefault(cell, []).append(box)


def _around(x: float, y: float, reaches_mm: Sequence[float]) -> NDArray[np.float64]:
    """Return the places near a point where a number with a leader may stand, the nearest first."""
    turn = np.arange(_WAYS) * (2 * np.pi / _WAYS)
    ways = np.stack([np.cos(turn), np.sin(turn)], axis=1)
    return np.asarray((np.array(reaches_mm)[:, None, None] * ways + [x, y]).reshape(-1, 2))


def _pieces(lines: NDArray[np.object_]) -> NDArray[np.object_]:
    """Return lines cut into pieces of a few points, with boxes small enough to look them up by."""
    import shapely

    points, ring = shapely.get_coordinates(shapely.get_parts(lines), return_index=True)
    first = np.flatnonzero(np.diff(ring, prepend=-1))
    place = np.arange(len(ring)) - first[ring]
    ends = (place % _PIECE == 0) & (place > 0)  # a point that ends one piece begins the next
    last = np.append(ring[1:] != ring[:-1], True)
    times = np.where(ends & ~last, 2, 1)
    piece = np.cumsum((place == 0) | (ends & ~last)) - 1
    of = np.repeat(piece, times)
    doubled = np.flatnonzero(np.repeat(ends & ~last, times))[::2]
    of[doubled] -= 1
    return np.asarray(shapely.linestrings(np.repeat(points, times, axis=0), indices=of))
