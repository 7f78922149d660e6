"""A round, oval or eight-sided rug laid anew: its bands follow the outline, and their repeats go round whole.

Every band keeps its width. Round a ring goes a whole, even number of repeats, so that the rug mirrors both ways; along
each side of an octagon a whole number, with the middle of the side on the middle of a repeat or between two. Repeats
become narrower toward the inside, as the ring becomes shorter; what is over goes into plain ground between them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from chartmaker.convert.repeats.frames import Side
from chartmaker.ground.colour import FloatArray
from chartmaker.order.rug import Rug
from chartmaker.relay.canvas import Canvas
from chartmaker.relay.parts import SIDES, Parts
from chartmaker.relay.pieces import HIGH, LOW, MIDDLE, Pieces
from chartmaker.relay.planning import Plan, PlannedBand, PlannedSide
from chartmaker.relay.sides import BandSide

#: Rows of pixels that are drawn at a time.
ROWS_AT_A_TIME = 256
#: Steps along a quarter of an oval whose length is measured.
OVAL_STEPS = 2000
_SLANT = math.sqrt(2) - 1


@dataclass(frozen=True)
class Ring:
    """A band laid round a rug, in mm: from which to which depth from the outline, and what it is drawn with.

    `side` is the side of the drawing that it is taken from; `times` how many repeats lie along each kind of side (all
    round an oval; along the upright, the level and the slanting sides of an octagon), none where nothing repeats.
    """

    first_mm: float
    end_mm: float
    side: BandSide
    times: tuple[int, ...]
    lengths_mm: tuple[float, ...]
    period_mm: float

    @property
    def pulled(self) -> float:
        """By which share its repeats are longer or shorter than they are drawn, the most of all sides."""
        shares = (
            length / (times * self.period_mm) - 1 for times, length in zip(self.times, self.lengths_mm, strict=True)
        )
        return max(shares, key=abs, default=0.0)

    @property
    def around(self) -> int:
        """How many repeats go all round."""
        return (
            self.times[0] if len(self.times) == 1 else sum(n * t for n, t in zip((2, 2, 4), self.times, strict=False))
        )


@dataclass(frozen=True)
class Outline:
    """The outline of a rug: half its width and half its length in mm, whether it has eight sides."""

    half_mm: tuple[float, float]
    octagon: bool

    @property
    def cut_mm(self) -> float:
        """How far an octagon's slanting sides cut its corners."""
        return 2 * min(self.half_mm) / (2 + math.sqrt(2))

    def lengths_mm(self, depth_mm: float) -> tuple[float, ...]:
        """Return how long it is so deep inside: all round, or for an octagon its upright, level and slanting sides."""
        wide, long = (half - depth_mm for half in self.half_mm)
        if not self.octagon:
            return (4 * float(_quarter(wide, long)[-1]),)
        inset = self.cut_mm + _SLANT * depth_mm
        slanting = math.sqrt(2) * (self.cut_mm - (2 - math.sqrt(2)) * depth_mm)
        return 2 * (self.half_mm[1] - inset), 2 * (self.half_mm[0] - inset), slanting


def outline_of_rug(rug: Rug) -> Outline:
    """Return the outline of a round, oval or eight-sided rug."""
    return Outline((float(rug.woven_width_mm) / 2, float(rug.woven_length_mm) / 2), rug.shape == "octagon")


def rings_of(parts: Parts, outline: Outline, mm_per_px: tuple[float, float]) -> tuple[Ring, ...]:
    """Return the bands of a drawing as rings of an outline; `mm_per_px` are millimetres of a pixel down and across."""
    found: list[Ring] = []
    depth = 0.0
    for band in parts.bands:
        end = depth + band.width("bottom") * mm_per_px[0]
        side = band.sides["bottom"]
        lengths = outline.lengths_mm((depth + end) / 2)
        times: tuple[int, ...] = ()
        period = 0.0
        if side.repeating is not None:
            period = side.repeating.period * mm_per_px[1]
            step = 1 if outline.octagon else 2
            times = tuple(max(1, round(length / period / step)) * step for length in lengths)
        found.append(Ring(depth, end, side, times, lengths if times else (), period))
        depth = end
    return tuple(found)


def lay_rings(canvas: Canvas, rings: tuple[Ring, ...], outline: Outline, mm_per_px: tuple[float, float]) -> None:
    """Lay rings on a canvas that is as large as the rug, over what is drawn already; what lies within them stays."""
    height, width = canvas.size
    x = ((np.arange(width) + 0.5) / width - 0.5) * 2 * outline.half_mm[0]
    y = ((np.arange(height) + 0.5) / height - 0.5) * 2 * outline.half_mm[1]
    stripes = {number: _stripes(canvas, ring) for number, ring in enumerate(rings) if ring.side.repeating is None}
    for top in range(0, height, ROWS_AT_A_TIME):
        rows = slice(top, min(top + ROWS_AT_A_TIME, height))
        depth, side = _depth(outline, x, y[rows])
        for number, ring in enumerate(rings):
            inside = (depth < ring.end_mm) & ((depth >= ring.first_mm) if ring.first_mm else True)
            if not inside.any():
                continue
            at = np.nonzero(inside)
            where = _Where(x[at[1]], y[rows][at[0]], depth[inside], side[inside])
            down, across = _drawn(ring, where, outline, mm_per_px)
            if number in stripes:
                across = stripes[number][down]
            canvas.paint_pixels((at[0] + top, at[1]), down, across)


@dataclass(frozen=True, eq=False)
class _Where:
    """Places on a rug: mm from its middle, depth from its outline, and the kind of side of an octagon nearest by."""

    x: FloatArray
    y: FloatArray
    depth: FloatArray
    side: NDArray[np.int8]


def _depth(outline: Outline, x: FloatArray, y: FloatArray) -> tuple[FloatArray, NDArray[np.int8]]:
    """Return how deep places lie inside an outline, to the first order for an oval, and which side is the nearest."""
    wide, long = outline.half_mm
    across, down = np.abs(x)[None, :], np.abs(y)[:, None]
    if outline.octagon:
        slanting = (wide + long - outline.cut_mm - across - down) / math.sqrt(2)
        sides = np.stack(np.broadcast_arrays(wide - across, long - down, slanting))
        return sides.min(axis=0), sides.argmin(axis=0).astype(np.int8)
    out = np.hypot(across / wide, down / long)
    slope = np.hypot(across / wide**2, down / long**2)
    depth = out * (1 - out) / np.maximum(slope, 1e-12)
    depth[out < 0.05] = min(wide, long)
    return depth, np.zeros(depth.shape, dtype=np.int8)


def depth_of_knots(outline: Outline, knots: tuple[int, int]) -> FloatArray:
    """Return how deep the middle of each of so many rows and columns of knots lies inside an outline, in mm."""
    rows, columns = knots
    x = ((np.arange(columns) + 0.5) / columns - 0.5) * 2 * outline.half_mm[0]
    y = ((np.arange(rows) + 0.5) / rows - 0.5) * 2 * outline.half_mm[1]
    return _depth(outline, x, y)[0]


def _quarter(wide: float, long: float) -> FloatArray:
    """Return the length of a quarter of an oval from its side up to each of some steps of its parameter."""
    t = np.linspace(0, math.pi / 2, OVAL_STEPS + 1)
    steps = np.hypot(np.diff(wide * np.cos(t)), np.diff(long * np.sin(t)))
    return np.concatenate([[0.0], np.cumsum(steps)])


def _along(ring: Ring, where: _Where, outline: Outline, *, mirrored: bool) -> FloatArray:
    """Return how far along places lie, in repeats: from the right all round, or from the beginning of their side."""
    wide, long = outline.half_mm
    x, y = where.x, where.y
    if not outline.octagon:
        middle = (ring.first_mm + ring.end_mm) / 2
        lengths = _quarter(wide - middle, long - middle)
        turn = np.arctan2(np.abs(y) / long, np.abs(x) / wide)
        quarter = np.interp(turn, np.linspace(0, math.pi / 2, len(lengths)), lengths / lengths[-1])
        if not mirrored:  # a vine that runs one way runs so all round
            quarter = np.where(x < 0, 2 - quarter, quarter)
            quarter = np.where(y > 0, 4 - quarter, quarter)  # against the clock: at the foot from left to right
        return np.asarray(quarter * ring.times[0] / 4)
    inset = outline.cut_mm + _SLANT * where.depth
    halves = np.stack([long - inset, wide - inset, (outline.cut_mm - (2 - math.sqrt(2)) * where.depth) / math.sqrt(2)])
    slant = (np.abs(y) - np.abs(x) - (long - wide)) / math.sqrt(2)
    from_middle = np.choose(where.side, [np.abs(y), np.abs(x), np.abs(slant) if mirrored else slant])
    if not mirrored:
        from_middle = np.choose(where.side, [-y * np.sign(x), x * np.sign(y), -slant * np.sign(x) * np.sign(y)])
    share = 0.5 + from_middle / np.maximum(2 * np.take_along_axis(halves, where.side[None].astype(int), 0)[0], 1e-9)
    return np.asarray(np.clip(share, 0, 1 - 1e-9) * np.asarray(ring.times, dtype=float)[where.side])


def _drawn(
    ring: Ring, where: _Where, outline: Outline, mm_per_px: tuple[float, float]
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return the pixels of the drawing that places of a ring are drawn with."""
    box, repeating = ring.side.run.box, ring.side.repeating
    share = np.clip((where.depth - ring.first_mm) / (ring.end_mm - ring.first_mm), 0, 1 - 1e-9)
    down = np.floor(box.bottom - 1e-6 - share * (box.bottom - box.top)).astype(np.intp)
    if repeating is None:
        return down, np.zeros(len(down), dtype=np.intp)
    mirrored = ring.side.mirrored
    place = np.mod(_along(ring, where, outline, mirrored=mirrored), 1.0)
    lengths = np.asarray(ring.lengths_mm) / np.asarray(ring.times)
    over = (lengths / mm_per_px[1] - repeating.period)[where.side]
    within_ground = (over > 0) & (repeating.plain > 0) | (over < 0) & (-over <= repeating.plain)
    if mirrored:
        place = np.minimum(place, 1 - place)
    pulled = place * repeating.period
    grown = np.clip(place * (repeating.period + over) - over / 2, 0, repeating.period - 1e-6)
    at = np.where(within_ground, grown, pulled)
    start = box.left + repeating.end + repeating.times // 2 * repeating.period
    return down, np.clip(np.floor(start + at), box.left, box.right - 1).astype(np.intp)


def _stripes(canvas: Canvas, ring: Ring) -> NDArray[np.intp]:
    """Return for each row of the drawing where along a band that does not repeat its most common colour lies."""
    rows, columns = ring.side.run.box.window
    found = np.zeros(canvas.drawing.height, dtype=np.intp)
    for row in range(rows.start, rows.stop):
        _, first, number = np.unique(canvas.drawing.srgb[row, columns], axis=0, return_index=True, return_counts=True)
        found[row] = columns.start + first[number.argmax()]
    return found


def round_plan(rings: tuple[Ring, ...], rug: Rug, knot_px: tuple[float, float]) -> Plan:
    """Return the knots of the bands of a rug that is no rectangle, where they cross its middle lines."""
    high, wide = float(rug.density.knot_height_mm), float(rug.density.knot_width_mm)
    bands = []
    none = PlannedSide(0, 0, None)
    for ring in rings:
        down, across = (round(ring.end_mm / knot) - round(ring.first_mm / knot) for knot in (high, wide))
        widths: dict[Side, int] = {"top": down, "bottom": down, "left": across, "right": across}
        bands.append(PlannedBand(widths, dict.fromkeys(SIDES, none)))
    return Plan(rug.columns, rug.rows, knot_px, tuple(bands), tuple(ring.around for ring in rings))


def within(parts: Parts, plan: Plan, rug: Rug, outline: Outline, rings: tuple[Ring, ...]) -> Parts:
    """Return the parts without the pieces of the field that do not fit within the rings, such as its corner pieces."""
    if parts.pieces is None:
        return parts
    depth = rings[-1].end_mm if rings else 0.0
    high, wide = float(rug.density.knot_height_mm), float(rug.density.knot_width_mm)
    kept = []
    for piece in parts.pieces.pieces:
        if piece.is_corner:
            continue
        x = _reach_mm((piece.left, piece.right), piece.across, parts.field.width, plan.field[1], plan.knot_px[1], wide)
        y = _reach_mm((piece.top, piece.bottom), piece.down, parts.field.height, plan.field[0], plan.knot_px[0], high)
        middle = abs(sum(x)) <= wide and abs(sum(y)) <= high  # a rounded piece leaves its box's corners free
        places = [(0.0, y[0]), (0.0, y[1]), (x[0], 0.0), (x[1], 0.0)] if middle else [(a, b) for a in x for b in y]
        if min(float(_depth(outline, np.array([a]), np.array([b]))[0][0, 0]) for a, b in places) >= depth:
            kept.append(piece)
    return replace(parts, pieces=Pieces(parts.pieces.mask, tuple(kept)))


def _reach_mm(
    own: tuple[int, int], bound: str, drawn: float, knots: int, knot_px: float, knot_mm: float
) -> tuple[float, float]:
    """Return from where to where a piece reaches in one direction, in mm from the middle of the field."""
    half = knots * knot_px / 2
    edge = {MIDDLE: drawn / 2, LOW: half, HIGH: drawn - half}[bound]
    return (own[0] - edge) / knot_px * knot_mm, (own[1] - edge) / knot_px * knot_mm
