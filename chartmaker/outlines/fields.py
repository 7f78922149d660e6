"""The areas of an array as a coverage: polygons, in millimetres, that share their edges."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from chartmaker.outlines.lattice import Areas, Index, Labels, Lattice, Points, lattice_of
from chartmaker.outlines.smoothing import smoothed

#: Where an edge lies is known only to half a pixel's diagonal, so its steps may always be smoothed by this many pixels.
LEAST_REACH = 0.75
#: Points that are closer than about this, in millimetres, to the line through their neighbours are left out.
_FINENESS_MM = 0.12


@dataclass(frozen=True, eq=False)
class Fields:
    """The closed outlines of all fields, with their labels.

    Attributes
    ----------
    polygons : ndarray of shapely.Polygon, shape (fields,)
        In millimetres from the lower left corner, y upward. Neighbours have the same points along a shared edge.
    labels : ndarray, shape (fields,)
    """

    polygons: NDArray[np.object_]
    labels: NDArray[np.int16]


def fields_of(labels: Labels, pixel_mm: tuple[float, float], tolerance_mm: float, areas: Areas | None = None) -> Fields:
    """Return the fields of an array of labels, smooth within the tolerance.

    Parameters
    ----------
    labels : ndarray of int16, shape (height, width)
        Top row first; OUTSIDE where there is no field.
    pixel_mm : (width, height) of a pixel
    tolerance_mm : float
        How far an edge may depart from the edges of the pixels; at least half a pixel's diagonal.
    areas : Areas, optional
        The areas of the labels, if they are known.
    """
    lattice = lattice_of(labels, areas)
    reach = max(tolerance_mm / max(pixel_mm), LEAST_REACH)
    scale, foot = np.array([pixel_mm[0], -pixel_mm[1]]), np.array([0.0, labels.shape[0] * pixel_mm[1]])
    rings = _rings(lattice)
    # The edges of pixels never cross, so where smoothing made edges cross, it is taken back by halves.
    share = np.ones(len(lattice.corners))
    moved = smoothed(lattice, reach) - lattice.corners
    while True:
        polygons = _polygons(lattice, rings, (lattice.corners + share[:, None] * moved) * scale + foot)
        crossed = _crossed(polygons, lattice, share)
        if crossed is None:
            break
        share[crossed] = np.where(share[crossed] > 0.3, share[crossed] / 2, 0)
    return Fields(_simplified(polygons, min(_FINENESS_MM, tolerance_mm / 5)), lattice.labels)


@dataclass(frozen=True, eq=False)
class _Rings:
    """Closed walks round areas: the corners of all walks in one row, each corner's walk, and each walk's area."""

    corners: Index
    ring: Index
    areas: Index


def _rings(lattice: Lattice) -> _Rings:
    following, starts, areas = lattice.following.tolist(), lattice.starts.tolist(), lattice.areas.tolist()
    done = bytearray(len(following))
    corners: list[int] = []
    lengths: list[int] = []
    owners: list[int] = []
    for side in range(len(following)):
        if done[side] or areas[side] < 0:
            continue
        before, here = len(corners), side
        while not done[here]:
            done[here] = 1
            corners.append(starts[here])
            here = following[here]
        lengths.append(len(corners) - before)
        owners.append(areas[side])
    ring = np.repeat(np.arange(len(lengths)), lengths)
    return _Rings(np.array(corners, dtype=np.int64), ring, np.array(owners, dtype=np.int64))


def _polygons(lattice: Lattice, rings: _Rings, places: Points) -> NDArray[np.object_]:
    """Return a polygon for each area, whose shell is the one walk round it that is not a hole."""
    import shapely

    if not len(rings.areas):
        return np.empty(0, dtype=object)
    first = np.flatnonzero(np.diff(rings.ring, prepend=-1))
    after = np.arange(1, len(rings.corners) + 1)
    after[np.append(first[1:], len(after)) - 1] = first
    at, to = places[rings.corners], places[rings.corners[after]]
    doubled = np.add.reduceat(at[:, 0] * to[:, 1] - to[:, 0] * at[:, 1], first)
    closed = np.insert(rings.corners, np.append(first[1:], len(rings.corners)), rings.corners[first])
    ring = np.insert(rings.ring, np.append(first[1:], len(rings.corners)), np.arange(len(first)))
    lines = shapely.linearrings(places[closed], indices=ring)
    order = np.lexsort((-doubled, rings.areas))  # holes run the other way round, so their area is negative
    return np.asarray(shapely.polygons(lines[order], indices=rings.areas[order]))


def _crossed(polygons: NDArray[np.object_], lattice: Lattice, share: Points) -> Index | None:
    """Return the corners of fields whose edges cross and that can still be taken back, or None if no edges cross.

    A field lies between any two edges, so edges cannot cross without making some field's own outline cross itself.
    """
    import shapely

    bad = ~shapely.is_valid(polygons)
    if not bad.any():
        return None
    corners = np.unique(lattice.starts[(lattice.areas >= 0) & bad[lattice.areas]])
    corners = corners[share[corners] > 0]
    return corners if len(corners) else None


def _simplified(polygons: NDArray[np.object_], fineness_mm: float) -> NDArray[np.object_]:
    """Return the coverage without points in line with their neighbours, left out alike on both sides of an edge."""
    import shapely

    if not len(polygons):
        return polygons
    simple: Any = shapely.coverage_simplify(polygons, fineness_mm)
    return np.asarray(simple)
