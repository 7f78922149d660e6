"""Draws the artwork of the Quince Garden rug.

Everything is plane geometry in millimetres on the finished rug: x to the right and y upwards from the centre. A knot
is 4 pixels wide and 3 high, which makes the pixels square to 0.1 %. Only one quarter is drawn, four times finer than
the picture, and then mirrored: across with a doubled centre line, for the columns are even; along with a shared one,
for the rows are odd. Run it as ``python draw_quince_garden.py [OUT.png]``.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import IntEnum
from itertools import combinations
from pathlib import Path

import numpy as np
import numpy.typing as npt
from PIL import Image

Points = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

HALF_WIDTH_MM = 600.0
HALF_LENGTH_MM = 900.0
COLUMNS, ROWS = 472, 945
COLUMN_MM = 2 * HALF_WIDTH_MM / COLUMNS
ROW_MM = 2 * HALF_LENGTH_MM / ROWS
PIXELS_PER_COLUMN, PIXELS_PER_ROW = 4, 3
FINER = 4
CONTOUR_MM = 2.5
STEM_MM = 2.9


class Hue(IntEnum):
    """The flat colours of the painting."""

    WALNUT = 0
    MADDER = 1
    WINE = 2
    INDIGO = 3
    BLUE = 4
    SKY = 5
    IVORY = 6
    CAMEL = 7
    GOLD = 8
    SAGE = 9
    ROSE = 10
    RUST = 11


PAINT: dict[Hue, tuple[int, int, int]] = {
    Hue.WALNUT: (44, 30, 27),
    Hue.MADDER: (150, 43, 42),
    Hue.WINE: (98, 27, 39),
    Hue.INDIGO: (29, 44, 78),
    Hue.BLUE: (62, 99, 143),
    Hue.SKY: (142, 176, 190),
    Hue.IVORY: (237, 226, 200),
    Hue.CAMEL: (193, 156, 108),
    Hue.GOLD: (216, 172, 72),
    Hue.SAGE: (112, 128, 86),
    Hue.ROSE: (217, 146, 124),
    Hue.RUST: (187, 92, 52),
}


# ---------------------------------------------------------------------------------------------- canvas


class Canvas:
    """One quarter of the rug as a raster of flat colours, row 0 and column 0 at the centre."""

    def __init__(self) -> None:
        self.cells = np.zeros((ROWS * PIXELS_PER_ROW * FINER // 2, COLUMNS * PIXELS_PER_COLUMN * FINER // 2), np.uint8)
        self.scale = np.array([self.cells.shape[1] / HALF_WIDTH_MM, self.cells.shape[0] / HALF_LENGTH_MM])
        self.clip: Mask | None = None

    def cover(self, shapes: Iterable[Points]) -> tuple[Mask, slice, slice] | None:
        """Rasterise the union of polygons, given as (corners, 2) or (polygons, corners, 2) arrays in mm."""
        edges = [_edges(np.asarray(shape, dtype=np.float64) * self.scale) for shape in shapes]
        starts = np.concatenate([e[0] for e in edges])
        ends = np.concatenate([e[1] for e in edges])
        turns = np.concatenate([e[2] for e in edges])
        height, width = self.cells.shape
        low = np.maximum(np.floor(starts.min(axis=0)), 0).astype(int)
        high = np.minimum(np.ceil(starts.max(axis=0)) + 1, (width, height)).astype(int)
        if (high <= low).any():
            return None
        box_w, box_h = (high - low).tolist()
        first = np.ceil(np.minimum(starts[:, 1], ends[:, 1]) - 0.5).astype(int).clip(low[1], high[1])
        last = np.ceil(np.maximum(starts[:, 1], ends[:, 1]) - 0.5).astype(int).clip(low[1], high[1])
        counts = last - first
        edge = np.repeat(np.arange(len(counts)), counts)
        row = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts) + first[edge]
        rise = ends[edge, 1] - starts[edge, 1]
        at = (row + 0.5 - starts[edge, 1]) / np.where(rise == 0, 1, rise)
        cross = starts[edge, 0] + at * (ends[edge, 0] - starts[edge, 0])
        column = np.ceil(np.round(cross, 6) - 0.5).astype(int).clip(low[0], high[0])
        cell = (row - low[1]) * (box_w + 1) + column - low[0]
        weight = np.sign(rise) * turns[edge]
        steps = np.bincount(cell, weights=weight, minlength=box_h * (box_w + 1)).reshape(box_h, box_w + 1)
        inside = np.cumsum(steps.astype(np.int16), axis=1, dtype=np.int16)[:, :box_w] != 0
        return inside, slice(low[1], high[1]), slice(low[0], high[0])

    def fill(self, shapes: Iterable[Points], hue: Hue) -> None:
        """Paint the union of polygons in one colour, inside the clip."""
        covered = self.cover(shapes)
        if covered is None:
            return
        inside, rows, columns = covered
        if self.clip is not None:
            inside = inside & self.clip[rows, columns]
        self.cells[rows, columns][inside] = hue

    def stroke(self, path: Points, width: float | Points, hue: Hue) -> None:
        """Paint a line of a given width in mm with round ends and joints."""
        self.fill(_thick(path, width), hue)

    def mask(self, shapes: Iterable[Points]) -> Mask:
        """Rasterise the union of polygons over the whole quarter."""
        whole = np.zeros(self.cells.shape, dtype=np.bool_)
        covered = self.cover(shapes)
        if covered is not None:
            inside, rows, columns = covered
            whole[rows, columns] = inside
        return whole

    def is_free(self, shapes: Iterable[Points], ground: Hue) -> bool:
        """Tell whether polygons cover nothing but ground inside the clip and the quarter."""
        shapes = list(shapes)
        covered = self.cover(shapes)
        if covered is None or min(float(np.min(shape)) for shape in shapes) < 0:
            return False
        inside, rows, columns = covered
        taken = self.cells[rows, columns] != ground
        if self.clip is not None:
            taken = taken | ~self.clip[rows, columns]
        return not bool((inside & taken).any())


def _edges(polygons: Points) -> tuple[Points, Points, Points]:
    """List the edges of closed polygons, with the way each polygon turns, so that a union adds up."""
    if polygons.ndim == 2:
        polygons = polygons[None]
    following = np.roll(polygons, -1, axis=1)
    cross = polygons[..., 0] * following[..., 1] - polygons[..., 1] * following[..., 0]
    turns = np.repeat(np.sign(cross.sum(axis=1)), polygons.shape[1])
    return polygons.reshape(-1, 2), following.reshape(-1, 2), turns


def _thick(path: Points, width: float | Points) -> list[Points]:
    """Turn a line into the polygons that cover it: one quadrangle a step and one disc a point."""
    half = np.broadcast_to(np.asarray(width, dtype=np.float64) / 2, (len(path),))
    step = np.diff(path, axis=0)
    length = np.maximum(np.hypot(step[:, 0], step[:, 1]), 1e-9)[:, None]
    side = np.stack([-step[:, 1], step[:, 0]], axis=1) / length
    a, b = half[:-1, None] * side, half[1:, None] * side
    quads = np.stack([path[:-1] + a, path[:-1] - a, path[1:] - b, path[1:] + b], axis=1)
    corners = 14 if float(half.max()) < 4 else 40
    discs = path[:, None] + half[:, None, None] * _circle(corners)[None]
    return [quads, discs]


def _circle(corners: int) -> Points:
    """Give the corners of a regular polygon in the unit circle."""
    angle = np.arange(corners) * (2 * np.pi / corners)
    return np.stack([np.cos(angle), np.sin(angle)], axis=1)


# ---------------------------------------------------------------------------------------------- curves


def closed(path: Points) -> Points:
    """Repeat the first point at the end."""
    return np.concatenate([path, path[:1]])


def even(path: Points, count: int) -> Points:
    """Resample a line to points at equal distances along it."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(path, axis=0).T))])
    wanted = np.linspace(0, along[-1], count)
    return np.stack([np.interp(wanted, along, path[:, k]) for k in (0, 1)], axis=1)


def length_mm(path: Points) -> float:
    """Measure a line."""
    return float(np.hypot(*np.diff(path, axis=0).T).sum())


def normals(path: Points) -> Points:
    """Give the unit normals to the left of a line."""
    slope = np.gradient(path, axis=0)
    slope /= np.maximum(np.hypot(slope[:, 0], slope[:, 1]), 1e-9)[:, None]
    return np.stack([-slope[:, 1], slope[:, 0]], axis=1)


def placed(shape: Points, at: Sequence[float] | Points, angle: float) -> Points:
    """Turn a shape drawn along +y so that it points at an angle (0 is +x), and move it."""
    turn = angle - np.pi / 2
    cos, sin = np.cos(turn), np.sin(turn)
    return np.asarray(shape @ np.array([[cos, sin], [-sin, cos]]) + np.asarray(at))


def moved(shape: Points, x: float, y: float) -> Points:
    """Move a shape."""
    return np.asarray(shape + np.array([x, y]))


def bezier(p0: Points, p1: Points, p2: Points, p3: Points, count: int = 40) -> Points:
    """Follow a cubic Bezier curve."""
    t = np.linspace(0, 1, count)[:, None]
    return (1 - t) ** 3 * p0 + 3 * (1 - t) ** 2 * t * p1 + 3 * (1 - t) * t**2 * p2 + t**3 * p3


def all_round(quarter: Points) -> Points:
    """Complete a quarter curve, from the x axis to the y axis, to a closed curve."""
    half = np.concatenate([quarter, (quarter * (-1, 1))[-2::-1]])
    return np.concatenate([half, (half * (1, -1))[-2:0:-1]])


def ogival(a: float, b: float, tip: float) -> Points:
    """Follow a quarter of an oval with drawn-out tips on the y axis, in equal steps."""
    t = np.linspace(0, np.pi / 2, 400)
    quarter = np.stack([a * np.cos(t), b * np.sin(t) + tip * np.sin(t) ** 28], axis=1)
    return even(quarter, 241)


def lobed(quarter: Points, lobes: float, depth: float) -> Points:
    """Raise round lobes on a quarter curve, one of them centred on the x axis."""
    wave = np.abs(np.cos(np.linspace(0, np.pi * lobes, len(quarter))))
    outward = -normals(quarter)
    return quarter + outward * (depth * (wave**0.7 - 0.5))[:, None]


# ---------------------------------------------------------------------------------------------- motifs


def contoured(canvas: Canvas, shapes: Sequence[Points], hue: Hue, contour: Hue = Hue.WALNUT) -> None:
    """Paint shapes of one colour inside one common contour line."""
    lines = [piece for shape in shapes for piece in _thick(closed(shape), 2 * CONTOUR_MM)]
    canvas.fill(lines, contour)
    canvas.fill(list(shapes), hue)


def petal(length: float, width: float, tip: float = 1.0) -> Points:
    """Draw a petal along +y from the origin; a larger tip makes it more pointed."""
    t = np.linspace(0, 1, 24)
    half = width / 2 * np.sin(np.pi * t**0.85) ** (0.75 * tip) * (0.45 + 0.55 * t ** (0.8 / tip))
    half /= max(float(half.max()), 1e-9) / (width / 2)
    right = np.stack([half, length * t], axis=1)
    return np.concatenate([right, (right * (-1, 1))[-2:0:-1]])


def scalloped_disc(radius: float, lobes: int, depth: float, turn: float) -> Points:
    """Draw a disc with a lobed edge, a lobe pointing at the angle `turn`."""
    angle = np.linspace(0, 2 * np.pi, 24 * lobes, endpoint=False)
    r = radius * (1 - depth + depth * np.abs(np.cos(lobes * angle / 2)) ** 0.7)
    return np.stack([r * np.cos(angle + turn), r * np.sin(angle + turn)], axis=1)


@dataclass(frozen=True)
class Rosette:
    """A round flower: a ring of petals, a lobed eye and a dot."""

    petals: int
    outer: Hue
    eye: Hue
    dot: Hue
    other: Hue | None = None

    def draw(self, canvas: Canvas, at: Sequence[float] | Points, radius: float, turn: float = np.pi / 2) -> None:
        """Paint it with the first petal pointing at the angle `turn`; the radius includes the contour.

        Where it is too small to be knotted with all its petals, it gets six.
        """
        petals = self.petals if radius > 14.5 else 6
        reach = radius - CONTOUR_MM
        width = 2 * np.pi * 0.62 * reach / petals - 0.55 * CONTOUR_MM
        leaf = petal(reach, width, 0.7)
        angles = turn + np.arange(petals) * (2 * np.pi / petals)
        shapes = [placed(leaf, at, float(angle)) for angle in angles]
        lines = [piece for shape in shapes for piece in _thick(closed(shape), 2 * CONTOUR_MM)]
        canvas.fill([*lines, placed(_circle(24) * reach * 0.6, at, 0)], Hue.WALNUT)
        for k, shape in enumerate(shapes):
            canvas.fill([shape], self.other if self.other is not None and k % 2 else self.outer)
        middle = (0.42 if radius > 17 else 0.32) * radius
        eye = scalloped_disc(middle, max(petals // 2, 4), 0.16 if radius > 18 else 0.0, turn)
        contoured(canvas, [eye + np.asarray(at)], self.eye)
        if radius > 17:
            spot = placed(_circle(20) * (0.17 * radius), at, 0)
            contour = [spot]
            if radius > 24:
                contoured(canvas, contour, self.dot)
            else:
                canvas.fill(contour, self.dot)


@dataclass(frozen=True)
class Blossom:
    """A small flower of four to six petals that shares one contour."""

    petals: int
    outer: Hue
    eye: Hue

    def draw(self, canvas: Canvas, at: Sequence[float] | Points, radius: float, turn: float = np.pi / 2) -> None:
        """Paint it; the radius includes the contour."""
        reach = radius - CONTOUR_MM
        flower = scalloped_disc(reach, self.petals, 0.34, turn) + np.asarray(at)
        contoured(canvas, [flower], self.outer)
        canvas.fill([placed(_circle(18) * max(0.36 * reach, 1.9), at, 0)], self.eye)


@dataclass(frozen=True)
class Palmette:
    """A flower seen from the side: a fan of petals, a heart, a core and a calyx."""

    fan: Hue
    tips: Hue
    heart: Hue
    core: Hue
    calyx: Hue
    rays: int = 9

    def draw(self, canvas: Canvas, base: Sequence[float] | Points, angle: float, size: float) -> None:
        """Paint it growing from its base to a total length `size` in the direction `angle`."""
        foot = np.asarray(base) + 0.30 * size * _unit(angle)
        spread = np.linspace(-1, 1, self.rays)
        for ray in sorted(range(self.rays), key=lambda k: -abs(spread[k])):
            lean = float(spread[ray]) * 1.78
            reach = size * (0.70 - 0.24 * abs(float(spread[ray])) ** 1.3) - CONTOUR_MM
            blade = placed(petal(reach, 0.25 * size, 1.15), foot, angle - lean)
            contoured(canvas, [blade], self.tips if (ray - self.rays // 2) % 2 else self.fan)
        heart = _heart(0.44 * size, 0.40 * size)
        contoured(canvas, [placed(heart, foot - 0.10 * size * _unit(angle), angle)], self.heart)
        if size > 34:
            core = placed(petal(0.27 * size, 0.17 * size, 1.2), foot - 0.02 * size * _unit(angle), angle)
            contoured(canvas, [core], self.core)
        sepals = [
            placed(_hook(0.46 * size, 0.15 * size, side), np.asarray(base) + 0.04 * size * _unit(angle), angle)
            for side in (-1.0, 1.0)
        ]
        contoured(canvas, sepals, self.calyx)


@dataclass(frozen=True)
class Bud:
    """A small closed flower: three petals in a calyx."""

    side: Hue
    middle: Hue
    calyx: Hue

    def draw(self, canvas: Canvas, base: Sequence[float] | Points, angle: float, size: float) -> None:
        """Paint it growing from its base to a total length `size`."""
        foot = np.asarray(base) + 0.12 * size * _unit(angle)
        for lean in (-0.62, 0.62):
            contoured(canvas, [placed(petal(0.80 * size, 0.36 * size), foot, angle + lean)], self.side)
        contoured(canvas, [placed(petal(0.86 * size, 0.40 * size), foot, angle)], self.middle)
        cup = [placed(petal(0.40 * size, 0.26 * size), np.asarray(base), angle + lean) for lean in (-0.7, 0.7)]
        contoured(canvas, cup, self.calyx)


def _unit(angle: float) -> Points:
    """Give the unit vector at an angle."""
    return np.array([np.cos(angle), np.sin(angle)])


def _heart(length: float, width: float) -> Points:
    """Draw a pointed heart along +y, its round foot at the origin."""
    t = np.linspace(0, 1, 30)
    half = width / 2 * np.sin(np.pi * t**0.72) ** 0.8 * (1 - 0.25 * t**3)
    right = np.stack([half, length * t], axis=1)
    return np.concatenate([right, (right * (-1, 1))[-2:0:-1]])


def _hook(length: float, width: float, side: float) -> Points:
    """Draw a leaf that starts along +y and curls away to one side."""
    return leaf_shape(length, width, -side * 1.9, start=-side * 0.5)


def leaf_shape(length: float, width: float, bend: float, start: float = 0.0, half: int = 0) -> Points:
    """Draw a pointed leaf from the origin along +y that bends by an angle; half of it if `half` is 1 or -1."""
    t = np.linspace(0, 1, 28)
    heading = np.pi / 2 + start + bend * t
    step = length / (len(t) - 1) * np.stack([np.cos(heading), np.sin(heading)], axis=1)
    spine = np.concatenate([[[0.0, 0.0]], np.cumsum(step[:-1], axis=0)])
    side = np.stack([-np.sin(heading), np.cos(heading)], axis=1)
    reach = (width / 2 * np.sin(np.pi * t**0.8) ** 0.9)[:, None]
    left = spine + side * reach if half >= 0 else spine
    right = spine - side * reach if half <= 0 else spine
    return np.concatenate([left, right[-2:0:-1]])


@dataclass(frozen=True)
class Leaf:
    """A curved leaf, in two tones along its rib when it is large enough."""

    light: Hue
    shade: Hue

    def draw(self, canvas: Canvas, base: Sequence[float] | Points, angle: float, size: float, bend: float) -> None:
        """Paint it growing from its base, of a given length and bend."""
        width = 0.34 * size + 1.5
        contoured(canvas, [placed(leaf_shape(size, width, bend), base, angle)], self.light)
        if size > 15:
            inner = 1 if bend > 0 else -1
            canvas.fill([placed(leaf_shape(size, width, bend, half=inner), base, angle)], self.shade)


# ---------------------------------------------------------------------------------------- growing things


@dataclass(frozen=True)
class Planting:
    """What grows on one ground: the stems' colour, the leaves and the flowers, in turn."""

    ground: Hue
    stem: Hue
    leaves: Sequence[Leaf]
    palmette: Palmette
    flowers: Sequence[Rosette]
    blossoms: Sequence[Blossom]


def grow(canvas: Canvas, planting: Planting, stems: Sequence[Points], largest: float = 24.0) -> None:
    """Grow tendrils, leaves and small flowers from stems that are already painted, wherever there is room."""
    stems = [*stems, *grow_tendrils(canvas, planting, stems)]
    sizes = [size for size in (30.0, 26.0, 23.0, 20.0, 17.0, 14.0, 11.5) if size <= largest]
    for k, stem in enumerate(stems):
        grow_leaves(canvas, stem, planting.ground, planting.leaves[:: -1 if k % 2 else 1], sizes)
    scatter(canvas, planting.ground, planting.blossoms, 9.0, 6.3, 2.6)


def grow_tendrils(canvas: Canvas, planting: Planting, stems: Sequence[Points]) -> list[Points]:
    """Lead a curved tendril from the nearest stem to the middle of each wide gap, and set a flower there."""
    points = np.concatenate([even(stem, 160) for stem in stems])
    ways = np.concatenate([normals(even(stem, 160)) for stem in stems]) @ np.array([[0.0, -1.0], [1.0, 0.0]])
    room, x, y = _gaps(canvas, planting.ground, 40)
    tendrils: list[Points] = []
    for k in range(60):
        spot = np.unravel_index(int(room.argmax()), room.shape)
        gap = float(room[spot])
        if gap < 17.5:
            break
        at = np.array([0.0 if x[spot] < 1 else x[spot], 0.0 if y[spot] < 1 else y[spot]])
        radius = min(0.30 * gap + 6.5, 16.0)
        room = np.minimum(room, np.hypot(x - at[0], y - at[1]) - radius - 2)
        away = np.hypot(*(points - at).T)
        nearest = int(away.argmin())
        if float(at.min()) > 0 and away[nearest] < 2.2 * gap:
            path = _tendril(points[nearest], ways[nearest], at)
            canvas.stroke(path, STEM_MM, planting.stem)
            tendrils.append(path[: max(int(len(path) * (1 - radius / length_mm(path))), 2)])
        planting.flowers[k % len(planting.flowers)].draw(canvas, at, radius)
    return tendrils


def _tendril(start: Points, way: Points, end: Points) -> Points:
    """Bend from a stem, first along the stem's own way, to a point beside it."""
    reach = float(np.hypot(*(end - start)))
    across = (end - start) / max(reach, 1e-9)
    return bezier(start, start + way * 0.5 * reach, end + (way - 0.2 * across) * 0.45 * reach, end)


def grow_leaves(
    canvas: Canvas, stem: Points, ground: Hue, kinds: Sequence[Leaf], sizes: Sequence[float], every: float = 12.5
) -> None:
    """Set leaves in turn on the two sides of a stem wherever there is room on the ground."""
    total = length_mm(stem)
    points = even(stem, 400)
    left = normals(points)
    for k, along in enumerate(np.linspace(6, total - 5, max(int((total - 11) / every), 1) + 1)):
        at = min(max(round(along / total * 399), 0), 398)
        forward = float(np.arctan2(-left[at, 0], left[at, 1]))
        side = 1 if k % 2 else -1
        size = _leaf_that_fits(canvas, points[at], forward, side, ground, sizes)
        if size:
            start = points[at] + side * left[at] * 0.8
            kinds[(k // 2) % len(kinds)].draw(canvas, start, forward + side * 0.55, size, side * 0.9)


def _leaf_that_fits(
    canvas: Canvas, at: Points, forward: float, side: int, ground: Hue, sizes: Sequence[float]
) -> float:
    """Find the largest leaf that would touch nothing, or 0."""
    for size in sizes:
        away = at + _unit(forward + side * np.pi / 2) * (STEM_MM / 2 + 0.7)
        room = leaf_shape(size + 4.0, 0.34 * size + 1.5 + 2 * CONTOUR_MM + 1.6, side * 0.9)
        shape = placed(room, away, forward + side * 0.55)
        outside = ((shape - away) @ _unit(forward + side * np.pi / 2)) > 1.2
        if canvas.is_free([shape[outside]], ground):
            return size
    return 0.0


def free_radius(canvas: Canvas, ground: Hue, reach_mm: int = 18) -> Points:
    """Measure, on a grid of 1 mm, how far each point is from anything but ground, up to a reach."""
    rows = ((np.arange(HALF_LENGTH_MM) + 0.5) * canvas.scale[1]).astype(int)
    columns = ((np.arange(HALF_WIDTH_MM) + 0.5) * canvas.scale[0]).astype(int)
    taken = canvas.cells[np.ix_(rows, columns)] != ground
    if canvas.clip is not None:
        taken |= ~canvas.clip[np.ix_(rows, columns)]
    squares = np.where(taken, 0.0, float(reach_mm**2))
    for axis in (0, 1):
        best = squares.copy()
        for shift in range(1, reach_mm):
            for part, other in ((slice(shift, None), slice(None, -shift)), (slice(None, -shift), slice(shift, None))):
                here = (part, slice(None)) if axis == 0 else (slice(None), part)
                there = (other, slice(None)) if axis == 0 else (slice(None), other)
                best[here] = np.minimum(best[here], squares[there] + shift**2)
        squares = best
    return np.sqrt(squares)


def _gaps(canvas: Canvas, ground: Hue, reach_mm: int) -> tuple[Points, Points, Points]:
    """Measure the room round each point of a 1 mm grid, where a flower must not straddle an axis; give x and y."""
    room = free_radius(canvas, ground, reach_mm)
    y, x = np.mgrid[0 : room.shape[0], 0 : room.shape[1]] + 0.5
    room = np.minimum(room, np.where(x < 1, room, x + 1))
    room = np.minimum(room, np.where(y < 1, room, y + 1))
    return np.round(room, 3), x, y


def scatter(canvas: Canvas, ground: Hue, kinds: Sequence[Blossom], largest: float, smallest: float, air: float) -> None:
    """Fill the largest gaps of the ground with small flowers until only small gaps are left."""
    room, x, y = _gaps(canvas, ground, 18)
    for k in range(400):
        spot = np.unravel_index(int(room.argmax()), room.shape)
        radius = min(float(room[spot]) - air, largest)
        if radius < smallest:
            return
        at = (0.0 if x[spot] < 1 else float(x[spot]), 0.0 if y[spot] < 1 else float(y[spot]))
        kinds[k % len(kinds)].draw(canvas, at, radius)
        room = np.minimum(room, np.round(np.hypot(x - at[0], y - at[1]) - radius, 3))


@dataclass(frozen=True)
class Scroll:
    """Circles in a row, of which a stem rounds each the other way than the last."""

    circles: Sequence[tuple[float, float, float]]
    first_turn: int
    entry: float
    leave: float

    def _joints(self) -> list[tuple[float, float]]:
        """Give the angles at which the stem comes to each circle and goes."""
        comes, goes = [self.entry], []
        turn = self.first_turn
        for (x0, y0, r0), (x1, y1, r1) in zip(self.circles, self.circles[1:], strict=False):
            bearing = np.arctan2(y1 - y0, x1 - x0)
            distance = np.hypot(x1 - x0, y1 - y0)
            swing = np.arccos(min((r0 + r1) / distance, 1.0))
            goes.append(float(bearing - turn * swing))
            comes.append(float(bearing - turn * swing + np.pi))
            turn = -turn
        goes.append(self.leave)
        return list(zip(comes, goes, strict=True))

    def stem(self) -> Points:
        """Follow the running stem from circle to circle."""
        pieces = []
        turn = self.first_turn
        for (x, y, r), (come, go) in zip(self.circles, self._joints(), strict=True):
            sweep = (turn * (go - come)) % (2 * np.pi)
            angle = come + turn * np.linspace(0, sweep, 60)
            pieces.append(np.stack([x + r * np.cos(angle), y + r * np.sin(angle)], axis=1))
            turn = -turn
        return np.concatenate(pieces)

    def branches(self, turns: float, end: float) -> list[Points]:
        """Follow the spirals that leave the stem inwards."""
        result = []
        turn = self.first_turn
        for (x, y, r), (_, go) in zip(self.circles, self._joints(), strict=True):
            t = np.linspace(0, 1, 120)
            angle = go + turn * 2 * np.pi * turns * t
            radius = r * (1 - (1 - end) * t**0.9)
            result.append(np.stack([x + radius * np.cos(angle), y + radius * np.sin(angle)], axis=1))
            turn = -turn
        return result


# ---------------------------------------------------------------------------------------------- borders


def frame_wave(hx: float, hy: float, nx: int, ny: int, swing: float, inner: float) -> Points:
    """Follow a vine that waves along two sides of a frame and rounds the corner on its inside.

    The frame's centre line runs at x = hx and y = hy; nx and ny half waves fit from each axis to the corner.
    """
    top = moved(_side_wave(hx, nx, swing), 0, hy)
    right = moved(_side_wave(hy, ny, swing), 0, hx)[:, ::-1]
    corner = np.array([hx - inner, hy - inner])
    slant = np.array([1.0, -1.0]) * (0.36 * hx / nx)
    pull = 0.5 * hx / nx
    enter = bezier(top[-1], top[-1] + (pull, 0), corner - slant, corner)
    leave = bezier(right[-1], right[-1] + (0, pull), corner + slant, corner)
    return np.concatenate([top, enter[1:], leave[-2::-1], right[-2::-1]])


def _side_wave(run: float, count: int, swing: float) -> Points:
    """Follow the wave on one side from half a wave beyond its axis to the last outward crest."""
    pitch = run / count
    s = np.linspace(-pitch, (count - 1) * pitch, 40 * count)
    return np.stack([s, swing * (-1) ** (count - 1) * np.cos(np.pi * s / pitch)], axis=1)


@dataclass(frozen=True)
class Bay:
    """The place of one half wave on a border: a point of the centre line and the way out of the rug."""

    centre: Points
    outward: float
    side: int
    pitch: float

    def spot(self, along: float, towards: float) -> Points:
        """Give a point: `along` in half waves, `towards` in mm to the side on which the bay opens."""
        out = _unit(self.outward)
        across = np.array([out[1], -out[0]])
        return np.asarray(self.centre + along * self.pitch * across + towards * self.side * out)

    def angle(self, lean: float) -> float:
        """Give the direction in which the bay opens, leant by an angle towards -along."""
        return self.outward + (lean if self.side == 1 else np.pi - lean)


def bays(hx: float, hy: float, nx: int, ny: int) -> list[Bay]:
    """List the bays of the wave along two sides of a frame, from each axis to the corner."""
    top = [Bay(np.array([i * hx / nx, hy]), np.pi / 2, -((-1) ** (nx - 1 - i)), hx / nx) for i in range(nx)]
    right = [Bay(np.array([hx, i * hy / ny]), 0.0, -((-1) ** (ny - 1 - i)), hy / ny) for i in range(ny)]
    return top + right


def inside_of(canvas: Canvas, distance: float) -> tuple[slice, slice]:
    """Give the cells that lie further than a distance from the rug's edge, to whole knots both ways."""
    height, width = canvas.cells.shape
    rows = height - round(distance / ROW_MM) * PIXELS_PER_ROW * FINER
    return slice(0, rows), slice(0, width - round(distance / COLUMN_MM) * PIXELS_PER_COLUMN * FINER)


def frame(canvas: Canvas, outer: float, hue: Hue) -> None:
    """Paint the whole rectangle that begins at a distance from the rug's edge."""
    canvas.cells[inside_of(canvas, outer)] = hue


def ring_mask(canvas: Canvas, outer: float, inner: float) -> Mask:
    """Mask what lies between two distances from the rug's edge."""
    mask = np.zeros(canvas.cells.shape, dtype=np.bool_)
    mask[inside_of(canvas, outer)] = True
    mask[inside_of(canvas, inner)] = False
    return mask


def stripe(canvas: Canvas, outer: float, width: float, ground: Hue, hues: Sequence[Hue]) -> None:
    """Paint a narrow band of pearls in turning colours, all on whole knots so that they come out alike."""
    frame(canvas, outer, ground)
    column = COLUMNS / 2 - (round(outer / COLUMN_MM) + round((outer + width) / COLUMN_MM)) / 2
    row = ROWS / 2 - (round(outer / ROW_MM) + round((outer + width) / ROW_MM)) / 2
    hx, hy = column * COLUMN_MM, row * ROW_MM
    pearl = _circle(20) * 3.4
    nx, ny = round(column / 4), round(row / 5)
    for i in range(nx + 1):
        at = (column * i // nx + 0.5) * COLUMN_MM
        canvas.fill([moved(pearl, at, hy)], hues[(nx - i) % len(hues)])
    for i in range(ny):
        at = (row * i // ny + 0.5) * ROW_MM
        canvas.fill([moved(pearl, hx, at)], hues[(ny - i) % len(hues)])


def guard(canvas: Canvas, outer: float, width: float, nx: int, ny: int, ground: Hue) -> None:
    """Paint a guard band: a small vine with a flower and two leaves in each bay."""
    frame(canvas, outer, ground)
    canvas.clip = ring_mask(canvas, outer, outer + width)
    middle = outer + width / 2
    hx, hy = HALF_WIDTH_MM - middle, HALF_LENGTH_MM - middle
    swing = width / 2 - 4.6
    canvas.stroke(frame_wave(hx, hy, nx, ny, swing, swing * 0.75), 2.6, Hue.WINE)
    flowers = {1: Blossom(6, Hue.MADDER, Hue.IVORY), -1: Blossom(6, Hue.INDIGO, Hue.GOLD)}
    leaf = Leaf(Hue.SAGE, Hue.SAGE)
    for bay in bays(hx, hy, nx, ny):
        for side in (1, -1):
            foot = bay.spot(0.60 * side, -swing * np.cos(0.6 * np.pi))
            leaf.draw(canvas, foot, bay.angle(0.95 * side), 13, 0.5 * side * bay.side)
        flowers[bay.side].draw(canvas, bay.spot(0, 2.6), 10.4, bay.angle(0))
    flowers[1].draw(canvas, (hx + 2.4, hy + 2.4), 11, np.pi / 4)
    canvas.clip = None


WARM = Palmette(Hue.ROSE, Hue.IVORY, Hue.MADDER, Hue.GOLD, Hue.SAGE)
COOL = Palmette(Hue.SKY, Hue.IVORY, Hue.RUST, Hue.IVORY, Hue.SAGE)
GREEN_LEAF = Leaf(Hue.SAGE, Hue.GOLD)
BLUE_LEAF = Leaf(Hue.BLUE, Hue.SKY)


def main_border(canvas: Canvas, outer: float, width: float) -> None:
    """Paint the main border: palmettes in the bays of a waving vine, with leaves and small flowers."""
    frame(canvas, outer, Hue.INDIGO)
    canvas.clip = ring_mask(canvas, outer, outer + width)
    middle = outer + width / 2
    hx, hy = HALF_WIDTH_MM - middle, HALF_LENGTH_MM - middle
    swing = width / 2 - 17
    vine = frame_wave(hx, hy, 5, 8, swing, 24)
    canvas.stroke(vine, STEM_MM, Hue.CAMEL)
    corner = Bay(np.array([hx, hy]), np.pi / 4, 1, 98.0)
    foot = corner.spot(0, -34)
    for bay in bays(hx, hy, 5, 8):
        leaves = ((0.47, -2, 0.04, 33, -0.7, BLUE_LEAF), (0.57, 6, -0.5, 21, -0.3, GREEN_LEAF))
        leaves_on(canvas, vine, bay, leaves, foot)
        (WARM if bay.side == 1 else COOL).draw(canvas, bay.spot(0, -swing - 5), bay.angle(0), width - 17)
    leaves = ((0.46, -34, 0.0, 31, -0.4, BLUE_LEAF), (0.64, -38, -0.2, 21, -0.3, GREEN_LEAF))
    leaves_on(canvas, vine, corner, leaves, foot)
    WARM.draw(canvas, corner.spot(0, -37), corner.angle(0), width - 9)
    for bay in bays(hx, hy, 5, 8):
        for along, radius, hues in ((0.41, 7.4, (Hue.GOLD, Hue.MADDER)), (0.81, 6.3, (Hue.ROSE, Hue.WINE))):
            for at in (bay.spot(along, 33.5), bay.spot(-along, 33.5)):
                if canvas.is_free([_circle(24) * (radius + 0.2) + at], Hue.INDIGO):
                    Blossom(5, *hues).draw(canvas, at, radius, bay.angle(0))
    canvas.clip = None


def leaves_on(
    canvas: Canvas,
    vine: Points,
    bay: Bay,
    leaves: Iterable[tuple[float, float, float, float, float, Leaf]],
    keep_off: Points,
) -> None:
    """Set leaves on a border's vine, alike on the two sides of a bay.

    A leaf is given by where it is in the bay (in half waves along, in mm towards the opening), its lean towards
    the middle, its length, its bend and its colours; it starts on the nearest point of the vine, unless that
    is within the corner palmette, whose foot is at `keep_off`.
    """
    for along, towards, lean, size, bend, leaf in leaves:
        for side in (1, -1):
            near = bay.spot(side * along, towards)
            foot = vine[int(np.hypot(*(vine - near).T).argmin())]
            if np.hypot(*(foot - keep_off)) > 32:
                leaf.draw(canvas, foot, bay.angle(lean * side), size, bend * side * bay.side)


# ------------------------------------------------------------------------------------------------ field

FIELD_X = 400.0
FIELD_Y = 700.0
FIELD_SCROLL = Scroll(
    circles=(
        (60.0, 612.0, 60.0),
        (142.0, 512.0, 62.0),
        (96.0, 403.0, 52.0),
        (207.0, 385.0, 58.0),
        (184.0, 270.0, 55.0),
        (300.0, 328.0, 64.0),
        (288.0, 192.0, 64.0),
        (336.0, 58.0, 58.0),
    ),
    first_turn=-1,
    entry=np.pi,
    leave=-np.pi / 2,
)


@dataclass(frozen=True)
class Panel:
    """A piece of the field inside an outline with parallel bands round it, the outermost first."""

    outline: Points
    bands: Sequence[tuple[float, Hue]]
    ground: Hue

    def whole(self) -> list[Points]:
        """Give the polygons of the panel with its bands and a little air."""
        return [*_thick(closed(self.outline), 2 * self.bands[0][0] + 2.0), self.outline]

    def paint(self, canvas: Canvas) -> None:
        """Paint the bands and the ground."""
        for width, hue in self.bands:
            canvas.fill([*_thick(closed(self.outline), 2 * width), self.outline], hue)
        canvas.fill([self.outline], self.ground)


def medallion_panel() -> Panel:
    """Give the medallion: a lobed oval with drawn-out tips."""
    bands = [(17, Hue.WALNUT), (14.4, Hue.GOLD), (11.6, Hue.WALNUT), (9.2, Hue.ROSE), (CONTOUR_MM, Hue.WALNUT)]
    return Panel(all_round(lobed(ogival(206, 280, 18), 7, 13)), bands, Hue.INDIGO)


def spandrel_panel() -> Panel:
    """Give the corner piece: a quarter of the medallion's form, laid into the corner of the field."""
    edge = np.array([FIELD_X, FIELD_Y]) - lobed(ogival(208, 292, 16), 7, 13)
    far = np.array([[FIELD_X + 60, edge[-1, 1]], [FIELD_X + 60, FIELD_Y + 60], [edge[0, 0], FIELD_Y + 60]])
    bands = [(12.6, Hue.WALNUT), (10.2, Hue.GOLD), (7.4, Hue.WALNUT), (5.0, Hue.BLUE), (CONTOUR_MM, Hue.WALNUT)]
    return Panel(np.concatenate([edge, far]), bands, Hue.IVORY)


def pendant_panel() -> Panel:
    """Give the small cartouche that hangs from the medallion's tip."""
    bands = [(9.6, Hue.WALNUT), (7.2, Hue.GOLD), (4.8, Hue.WALNUT)]
    return Panel(moved(all_round(lobed(ogival(36, 42, 10), 2, 8)), 0, 354), bands, Hue.IVORY)


def star_panel() -> Panel:
    """Give the light star in the medallion's middle."""
    bands = [(9.8, Hue.WALNUT), (7.4, Hue.GOLD), (4.8, Hue.WALNUT)]
    return Panel(all_round(lobed(ogival(84, 132, 14), 4, 12)), bands, Hue.IVORY)


ON_MADDER = Planting(
    Hue.MADDER,
    Hue.CAMEL,
    [Leaf(Hue.SAGE, Hue.GOLD), Leaf(Hue.INDIGO, Hue.BLUE)],
    Palmette(Hue.SKY, Hue.IVORY, Hue.INDIGO, Hue.GOLD, Hue.SAGE),
    [
        Rosette(8, Hue.IVORY, Hue.BLUE, Hue.GOLD),
        Rosette(8, Hue.SKY, Hue.WINE, Hue.GOLD, Hue.IVORY),
        Rosette(8, Hue.ROSE, Hue.INDIGO, Hue.IVORY),
    ],
    [Blossom(5, Hue.IVORY, Hue.RUST), Blossom(5, Hue.ROSE, Hue.WINE), Blossom(5, Hue.GOLD, Hue.INDIGO)],
)
ON_IVORY = Planting(
    Hue.IVORY,
    Hue.SAGE,
    [Leaf(Hue.SAGE, Hue.SKY), Leaf(Hue.RUST, Hue.ROSE)],
    Palmette(Hue.RUST, Hue.ROSE, Hue.INDIGO, Hue.GOLD, Hue.SAGE),
    [Rosette(8, Hue.MADDER, Hue.GOLD, Hue.INDIGO), Rosette(8, Hue.BLUE, Hue.ROSE, Hue.WINE)],
    [Blossom(5, Hue.MADDER, Hue.GOLD), Blossom(5, Hue.BLUE, Hue.IVORY), Blossom(5, Hue.GOLD, Hue.WINE)],
)
ON_INDIGO = Planting(
    Hue.INDIGO,
    Hue.CAMEL,
    [GREEN_LEAF, BLUE_LEAF],
    WARM,
    [Rosette(8, Hue.GOLD, Hue.WINE, Hue.IVORY), Rosette(8, Hue.ROSE, Hue.MADDER, Hue.IVORY, Hue.IVORY)],
    [Blossom(5, Hue.GOLD, Hue.MADDER), Blossom(5, Hue.ROSE, Hue.WINE)],
)


def paint_scroll(canvas: Canvas, scroll: Scroll, planting: Planting) -> list[Points]:
    """Paint a scroll with a flower in the eye of each spiral, and give its stems."""
    stem = scroll.stem()
    branches = scroll.branches(1.12, 0.40)
    for path in (*branches, stem):
        canvas.stroke(path, STEM_MM, planting.stem)
    for k, ((x, y, r), path) in enumerate(zip(scroll.circles, branches, strict=True)):
        if k % 2:
            angle = float(np.arctan2(*(np.array([x, y]) - path[-1])[::-1]))
            planting.palmette.draw(canvas, np.array([x, y]) - 0.44 * r * _unit(angle), angle, 0.98 * r)
        else:
            planting.flowers[k // 2 % len(planting.flowers)].draw(canvas, (x, y), 0.40 * r + 1.5)
    return [stem, *branches]


def field_scroll(canvas: Canvas, panels: Sequence[Panel]) -> None:
    """Paint the field's running scroll round the panels that will lie on it."""
    lying_on = canvas.mask([shape for panel in panels for shape in panel.whole()])
    canvas.clip = ~(lying_on | ring_mask(canvas, 0, HALF_WIDTH_MM - FIELD_X + 2))
    tip = Palmette(Hue.IVORY, Hue.SKY, Hue.INDIGO, Hue.GOLD, Hue.SAGE)
    tip.draw(canvas, (0, 404), np.pi / 2, 66)
    tip.draw(canvas, (225, 0), 0.0, 60)
    stems = paint_scroll(canvas, FIELD_SCROLL, ON_MADDER)
    for at in ((0, 612), (336, 0)):
        Rosette(8, Hue.GOLD, Hue.WINE, Hue.IVORY).draw(canvas, at, 19)
    grow(canvas, ON_MADDER, stems, 20)
    canvas.clip = None


def spandrel(canvas: Canvas, panel: Panel) -> None:
    """Paint the corner piece with its own scrolls."""
    field = ~ring_mask(canvas, 0, HALF_WIDTH_MM - FIELD_X)
    canvas.clip = field
    panel.paint(canvas)
    canvas.clip = canvas.mask([panel.outline]) & field
    scroll = Scroll(
        circles=((246.0, 653.0, 47.0), (322.0, 596.0, 46.0), (346.0, 500.0, 52.0)),
        first_turn=-1,
        entry=np.pi / 2,
        leave=0.0,
    )
    grow(canvas, ON_IVORY, paint_scroll(canvas, scroll, ON_IVORY), 20)
    canvas.clip = None


def pendant(canvas: Canvas, panel: Panel) -> None:
    """Paint the cartouche at the medallion's tip."""
    panel.paint(canvas)
    canvas.clip = canvas.mask([panel.outline])
    stem = bezier(np.array([0.0, 345]), np.array([26.0, 330]), np.array([30.0, 370]), np.array([0.0, 392]))
    canvas.stroke(stem, STEM_MM, Hue.SAGE)
    Rosette(8, Hue.MADDER, Hue.GOLD, Hue.INDIGO).draw(canvas, (0, 350), 20)
    Bud(Hue.ROSE, Hue.MADDER, Hue.SAGE).draw(canvas, (0, 372), np.pi / 2, 24)
    grow(canvas, ON_IVORY, [stem], 17)
    canvas.clip = None


def medallion(canvas: Canvas, panel: Panel) -> None:
    """Paint the medallion with a wreath round a lighter star."""
    panel.paint(canvas)
    star = star_panel()
    canvas.clip = canvas.mask([panel.outline]) & ~canvas.mask(star.whole())
    wreath(canvas)
    canvas.clip = None
    star.paint(canvas)
    canvas.clip = canvas.mask([star.outline])
    fill_star(canvas)
    canvas.clip = None


def wreath(canvas: Canvas) -> None:
    """Paint a waving vine round the medallion, palmettes in its outward bays and rosettes in the inward ones."""
    path = even(ogival(143, 206, 0), 961)
    count = 3
    out = -normals(path)
    s = np.linspace(0, count * np.pi, len(path))
    vine = path + out * (27 * np.cos(s))[:, None]
    canvas.stroke(closed(all_round(vine)), STEM_MM, Hue.CAMEL)
    inner = Rosette(8, Hue.SKY, Hue.RUST, Hue.IVORY, Hue.IVORY)
    for i in range(count + 1):
        k = i * 960 // count
        angle = float(np.arctan2(out[k, 1], out[k, 0]))
        if i % 2:
            WARM.draw(canvas, path[k] - out[k] * 31, angle, 74)
        else:
            inner.draw(canvas, path[k] - out[k] * 5, 24, angle)
    grow(canvas, ON_INDIGO, [vine], 26)


def fill_star(canvas: Canvas) -> None:
    """Paint the great rosette and the sprays that grow from it."""
    spray = bezier(np.array([0.0, 30]), np.array([6.0, 66]), np.array([52.0, 84]), np.array([46.0, 52]))
    arm = bezier(np.array([20.0, 20]), np.array([60.0, 20]), np.array([84.0, 30]), np.array([62.0, 14]))
    tall = bezier(np.array([0.0, 40]), np.array([0.0, 60]), np.array([34.0, 84]), np.array([16.0, 104]))
    for path in (spray, arm, tall):
        canvas.stroke(path, STEM_MM, Hue.SAGE)
    Palmette(Hue.ROSE, Hue.RUST, Hue.INDIGO, Hue.GOLD, Hue.SAGE).draw(canvas, (0, 66), np.pi / 2, 58)
    Bud(Hue.ROSE, Hue.MADDER, Hue.SAGE).draw(canvas, (44, 0), 0.0, 30)
    ON_IVORY.flowers[1].draw(canvas, (43, 56), 15)
    Rosette(12, Hue.MADDER, Hue.IVORY, Hue.WINE, Hue.RUST).draw(canvas, (0, 0), 44)
    grow(canvas, ON_IVORY, [spray, arm, tall], 20)


# ------------------------------------------------------------------------------------------------ whole


def paint() -> Canvas:
    """Paint one quarter of the rug, from the edge inwards."""
    canvas = Canvas()
    frame(canvas, 0, Hue.WINE)
    frame(canvas, 12.7, Hue.WALNUT)
    stripe(canvas, 15.2, 7.6, Hue.INDIGO, [Hue.IVORY, Hue.ROSE])
    frame(canvas, 22.8, Hue.WALNUT)
    guard(canvas, 25.3, 28, 15, 23, Hue.CAMEL)
    frame(canvas, 53.3, Hue.WALNUT)
    stripe(canvas, 55.8, 7.6, Hue.WINE, [Hue.IVORY, Hue.GOLD])
    frame(canvas, 63.4, Hue.WALNUT)
    main_border(canvas, 65.9, 86)
    frame(canvas, 151.9, Hue.WALNUT)
    stripe(canvas, 154.4, 7.6, Hue.WINE, [Hue.IVORY, Hue.GOLD])
    frame(canvas, 162.0, Hue.WALNUT)
    guard(canvas, 164.5, 28, 11, 19, Hue.CAMEL)
    frame(canvas, 192.5, Hue.WALNUT)
    frame(canvas, 195.0, Hue.IVORY)
    frame(canvas, 197.6, Hue.WALNUT)
    frame(canvas, 200.0, Hue.MADDER)
    panels = (medallion_panel(), pendant_panel(), spandrel_panel())
    field_scroll(canvas, panels)
    spandrel(canvas, panels[2])
    pendant(canvas, panels[1])
    medallion(canvas, panels[0])
    return canvas


def _linear(srgb: Points) -> Points:
    """Decode sRGB from 0..1 to linear light."""
    return np.where(srgb <= 0.04045, srgb / 12.92, ((srgb + 0.055) / 1.055) ** 2.4)


def _encoded(linear: Points) -> Points:
    """Encode linear light to sRGB in 0..1."""
    return np.where(linear <= 0.0031308, linear * 12.92, 1.055 * linear ** (1 / 2.4) - 0.055)


def palette() -> npt.NDArray[np.uint8]:
    """List the flat colours, then for each pair of them its three mixes in linear light, by quarters."""
    flat = _linear(np.array([PAINT[hue] for hue in Hue]) / 255)
    mixes = [flat[a] + (flat[b] - flat[a]) * k / 4 for a, b in combinations(range(len(Hue)), 2) for k in (1, 2, 3)]
    return np.round(_encoded(np.concatenate([flat, np.array(mixes)])) * 255).astype(np.uint8)


def smoothed(cells: npt.NDArray[np.uint8]) -> npt.NDArray[np.uint8]:
    """Reduce the fine raster to pixels: each is a flat colour or a mix by quarters of its two main ones."""
    rows, columns = cells.shape[0] // FINER, cells.shape[1] // FINER
    counts = np.stack(
        [(cells == hue).reshape(rows, FINER, columns, FINER).sum(axis=(1, 3), dtype=np.uint8) for hue in Hue]
    )
    first = counts.argmax(axis=0)
    most = counts.max(axis=0).astype(int)
    np.put_along_axis(counts, first[None], 0, axis=0)
    second = counts.argmax(axis=0)
    next_most = counts.max(axis=0).astype(int)
    part = (8 * next_most + most + next_most) // (2 * (most + next_most))
    low, high = np.minimum(first, second), np.maximum(first, second)
    share = np.where(first < second, part, 4 - part)
    n = len(Hue)
    pair = low * (2 * n - low - 1) // 2 + high - low - 1
    return np.asarray(np.where(part == 0, first, n + 3 * pair + share - 1), dtype=np.uint8)


def draw() -> Image.Image:
    """Draw the whole rug as a picture with a palette."""
    cells = paint().cells
    beyond = -cells.shape[0] % FINER
    quarter = smoothed(np.concatenate([cells[:beyond][::-1], cells]))
    half = np.concatenate([quarter[: 0 if beyond else None : -1], quarter])
    image = Image.fromarray(np.concatenate([half[:, ::-1], half], axis=1))
    image.putpalette(palette().tobytes())
    return image


def main() -> None:
    """Write the picture beside this script or to the path given."""
    out = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).with_name("quince_garden.png")
    dots = (25.4 * PIXELS_PER_COLUMN / COLUMN_MM, 25.4 * PIXELS_PER_ROW / ROW_MM)
    draw().save(out, optimize=True, dpi=dots)
    print(out)


if __name__ == "__main__":
    main()
