"""Measures whether equal motifs are woven equal, mirrored ones mirrored, and dots not lost."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage
from scipy.spatial import cKDTree

from support.drawing_measures.placed import Drawing, Grid, Placed, Score
from support.metrics import EIGHT

#: Two components are congruent if their best overlap is at least this, and mirror images of themselves if at least
#: that.
LEAST_OVERLAP, LEAST_MIRRORED = 0.92, 0.95
#: Components smaller than this many knots are no motif.
LEAST_MOTIF, LEAST_MIRROR, LEAST_DOT = 0.5, 4.0, 0.2


@dataclass(frozen=True, eq=False)
class Component:
    """A 4-connected component of one ink, whole within the drawing: its number, its box, and its mask in the box."""

    ink: int
    number: int
    top: int
    left: int
    mask: NDArray[np.bool_]

    @property
    def area(self) -> int:
        return int(self.mask.sum())


@dataclass(frozen=True, eq=False)
class Parts:
    """All components of a drawing, and for each ink which one is nearest to each pixel, and how many pixels away."""

    components: tuple[Component, ...]
    nearest: tuple[Grid, ...]
    distance: tuple[NDArray[np.float64], ...]


@lru_cache(maxsize=64)
def parts_of(drawing: Drawing) -> Parts:
    components, nearest, distance = [], [], []
    height, width = drawing.labels.shape
    for ink in range(drawing.inks):
        numbered, _ = ndimage.label(drawing.labels == ink)
        away, (rows, columns) = ndimage.distance_transform_edt(numbered == 0, return_indices=True)
        nearest.append(numbered[rows, columns])
        distance.append(away)
        for number, (down, across) in enumerate(ndimage.find_objects(numbered), start=1):
            if down.start and across.start and down.stop < height and across.stop < width:
                mask = numbered[down, across] == number
                components.append(Component(ink, number, down.start, across.start, mask))
    return Parts(tuple(components), tuple(nearest), tuple(distance))


def overlap(first: NDArray[np.bool_], second: NDArray[np.bool_]) -> float:
    """Return the best intersection over union of two masks laid middle on middle, over shifts of one pixel."""
    (h, w), (k, m) = first.shape, second.shape
    ground = np.zeros((max(h, k) + 4, max(w, m) + 4), dtype=bool)
    ground[2 : 2 + h, 2 : 2 + w] = first
    one, other, best = int(first.sum()), int(second.sum()), 0.0
    for top in range(1 + (h - k) // 2, 4 + (h - k) // 2):
        for left in range(1 + (w - m) // 2, 4 + (w - m) // 2):
            if top >= 0 and left >= 0:
                both = int((ground[top : top + k, left : left + m] & second).sum())
                best = max(best, both / (one + other - both))
    return best


def alike(first: Component, second: Component) -> bool:
    """Return whether two components are of one size (2 pixels, 6 % of area) and overlap by at least 92 %."""
    (h, w), (k, m) = first.mask.shape, second.mask.shape
    if first.ink != second.ink or abs(h - k) > 2 or abs(w - m) > 2:
        return False
    one, other = first.area, second.area
    return abs(one - other) <= 0.06 * max(one, other) and overlap(first.mask, second.mask) >= LEAST_OVERLAP


@lru_cache(maxsize=64)
def classes_of(drawing: Drawing) -> list[list[Component]]:
    """Return the classes of three or more congruent components of at least half a knot."""
    least = LEAST_MOTIF * drawing.knot_height * drawing.knot_width
    classes: list[list[Component]] = []
    of_size = defaultdict(list)  # the classes of each ink, each with the size of its first member
    for component in parts_of(drawing).components:
        if component.area < least:
            continue
        (h, w), ink = component.mask.shape, component.ink
        rivals = [c for dh in range(-2, 3) for dw in range(-2, 3) for c in of_size[ink, h + dh, w + dw]]
        found = next((members for members in rivals if alike(members[0], component)), None)
        if found is None:
            found = []
            classes.append(found)
            of_size[ink, h, w].append(found)
        found.append(component)
    return [members for members in classes if len(members) >= 3]


def owners(placed: Placed) -> dict[tuple[int, int], tuple[Grid, Grid]]:
    """Return the rows and columns of the knots of each component, by (ink, number).

    A knot belongs to that component of its ink which is nearest to the middle of its cell, within a knot.
    """
    parts = parts_of(placed.drawing)
    height, width = placed.labels.shape
    y = np.clip(placed.row_centres.astype(int), 0, height - 1)[:, None]
    x = np.clip(placed.column_centres.astype(int), 0, width - 1)[None]
    reach = max(placed.drawing.knot_height, placed.drawing.knot_width)
    found = {}
    for ink, (nearest, distance) in enumerate(zip(parts.nearest, parts.distance, strict=True)):
        owner = np.where((placed.knots == ink) & (distance[y, x] <= reach), nearest[y, x], 0)
        if not owner.any():
            continue
        rows, columns = np.nonzero(owner)
        order = np.argsort(owner[rows, columns], kind="stable")
        rows, columns = rows[order], columns[order]
        numbers, first = np.unique(owner[rows, columns], return_index=True)
        for number, r, c in zip(numbers, np.split(rows, first[1:]), np.split(columns, first[1:]), strict=True):
            found[ink, int(number)] = (r, c)
    return found


def shape_of(knots: tuple[Grid, Grid] | None) -> NDArray[np.bool_]:
    """Return knots as a mask in their own box, which has no size if there are none."""
    if knots is None:
        return np.zeros((0, 0), dtype=bool)
    rows, columns = knots[0] - knots[0].min(), knots[1] - knots[1].min()
    mask = np.zeros((int(rows.max()) + 1, int(columns.max()) + 1), dtype=bool)
    mask[rows, columns] = True
    return mask


def motif_consistency(placed: Placed) -> Score:
    """Return the largest set of identical knot shapes in each class of congruent components, of its members."""
    own = owners(placed)
    part = whole = 0
    for members in classes_of(placed.drawing):
        shapes = [shape_of(own.get((member.ink, member.number))) for member in members]
        counted = Counter((shape.shape, shape.tobytes()) for shape in shapes if shape.size)
        part += max(counted.values(), default=0)
        whole += len(members)
    return Score(part, whole)


@lru_cache(maxsize=64)
def mirrored_components(drawing: Drawing) -> list[tuple[Component, int]]:
    """Return the components of at least four knots that are their own mirror image, with the axis that is flipped."""
    least = LEAST_MIRROR * drawing.knot_height * drawing.knot_width
    return [
        (component, axis)
        for component in parts_of(drawing).components
        if component.area >= least
        for axis in (0, 1)
        if overlap(component.mask, np.flip(component.mask, axis)) >= LEAST_MIRRORED
    ]


def mirror(placed: Placed) -> Score:
    """Return the mirror-symmetric components, counted once for each axis, whose knots mirror exactly."""
    own = owners(placed)
    cases = mirrored_components(placed.drawing)
    shapes = [(shape_of(own.get((component.ink, component.number))), axis) for component, axis in cases]
    return Score(sum(bool(s.size) and bool((s == np.flip(s, axis)).all()) for s, axis in shapes), len(cases))


@lru_cache(maxsize=64)
def dots_of(drawing: Drawing) -> list[Component]:
    """Return components up to 1.75 knots wide and high, two or more apart, with a knot round them free of their ink."""
    tall, wide, labels = drawing.knot_height, drawing.knot_width, drawing.labels
    small = [
        component
        for component in parts_of(drawing).components
        if component.mask.shape[0] <= 1.75 * tall
        and component.mask.shape[1] <= 1.75 * wide
        and component.area >= LEAST_DOT * tall * wide
        and _is_free(component, labels, round(tall), round(wide))
    ]
    found = []
    for ink in range(drawing.inks):
        own = [component for component in small if component.ink == ink]
        if len(own) > 1:
            middles = np.array([_middle(component) for component in own]) / (tall, wide)
            apart = cKDTree(middles).query(middles, k=2)[0][:, 1]
            own = [component for component, distance in zip(own, apart, strict=True) if distance >= 2]
        found += own
    return found


def _middle(component: Component) -> tuple[float, float]:
    return component.top + component.mask.shape[0] / 2, component.left + component.mask.shape[1] / 2


def _is_free(component: Component, labels: Grid, down: int, across: int) -> bool:
    (height, width), top, left = component.mask.shape, component.top, component.left
    around = labels[max(top - down, 0) : top + height + down, max(left - across, 0) : left + width + across]
    return int((around == component.ink).sum()) == component.area


def dots(placed: Placed) -> Score:
    """Return the dots that are an island of their own of up to four knots."""
    own, cases = owners(placed), dots_of(placed.drawing)
    islands = [ndimage.label(placed.knots == ink, EIGHT)[0] for ink in range(placed.drawing.inks)]
    sizes = [np.bincount(numbered.ravel()) for numbered in islands]
    good = 0
    for component in cases:
        knots = own.get((component.ink, component.number))
        if knots is not None:
            met = np.unique(islands[component.ink][knots])
            good += len(met) == 1 and len(knots[0]) == sizes[component.ink][met[0]] <= 4
    return Score(good, len(cases))
