"""Measures whether straight edges are woven straight, corners square, and stripes in one width."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from support.drawing_measures.placed import Drawing, Grid, Placed, Score

#: The least length of a straight edge, and the greatest width of a stripe, in knots.
LEAST_EDGE, MOST_STRIPE = 5.0, 4.0
#: The number of knots for which a corner's quadrants are of one ink, and for which its arms are straight.
QUADRANT, ARM = 0.9, 2.5
#: How many knots away from its place an edge is looked for.
REACH = 2
MISSING = -(10**6)


@dataclass(frozen=True)
class Edge:
    """A straight upright edge at `x`, in pixels, from row `start` to `stop`, between the inks `left` and `right`."""

    x: int
    start: int
    stop: int
    left: int
    right: int


@lru_cache(maxsize=64)
def upright_edges(drawing: Drawing) -> list[Edge]:
    """Return all upright edges at least five knots long, in order of x."""
    labels, inks = drawing.labels.astype(np.int64), drawing.inks
    code = np.where(labels[:, :-1] != labels[:, 1:], labels[:, :-1] * inks + labels[:, 1:], -1).T
    found = []
    for x, column in enumerate(code, start=1):
        if (column < 0).all():
            continue
        bounds = np.concatenate([[0], np.flatnonzero(np.diff(column)) + 1, [len(column)]])
        long = (np.diff(bounds) >= LEAST_EDGE * drawing.knot_height) & (column[bounds[:-1]] >= 0)
        for start, stop in zip(bounds[:-1][long].tolist(), bounds[1:][long].tolist(), strict=True):
            found.append(Edge(x, start, stop, *divmod(int(column[start]), inks)))
    return found


def rows_along(placed: Placed, start: float, stop: float) -> range:
    """Return the rows of knots whose middles lie at least a knot inside a stretch of pixel rows."""
    trim = placed.drawing.knot_height
    inner = np.flatnonzero((placed.row_centres >= start + trim) & (placed.row_centres <= stop - trim))
    return range(int(inner[0]), int(inner[-1]) + 1) if len(inner) else range(0)


def line_of(placed: Placed, edge: Edge, rows: range) -> NDArray[np.intp]:
    """Return for each row the column before which the edge is drawn, or MISSING where it is not within two knots."""
    at = float(placed.across(edge.x))
    places = np.arange(max(round(at) - REACH, 1), min(round(at) + REACH, placed.knots.shape[1] - 1) + 1)
    knots = placed.knots[rows.start : rows.stop]
    drawn = (knots[:, places - 1] == edge.left) & (knots[:, places] == edge.right)
    away = np.where(drawn, abs(places - at), np.inf)
    return np.where(drawn.any(axis=1), places[away.argmin(axis=1)], MISSING)


def mode(values: NDArray[np.intp]) -> int:
    found, counts = np.unique(values, return_counts=True)
    return int(found[counts.argmax()])


def dents(placed: Placed) -> Score:
    """Return the groups of rows off the modal line of straight edges, for each hundred knots of edge."""
    groups, length = 0, 0
    for sheet in (placed, placed.transposed):
        for edge in upright_edges(sheet.drawing):
            rows = rows_along(sheet, edge.start, edge.stop)
            if len(rows):
                line = line_of(sheet, edge, rows)
                kept = line[line != MISSING]
                off = line != (mode(kept) if len(kept) else 0)
                groups += int(off[0]) + int((off[1:] & ~off[:-1]).sum())
                length += len(rows)
    return Score(groups, length / 100)


@lru_cache(maxsize=64)
def upright_stripes(drawing: Drawing) -> list[tuple[Edge, Edge]]:
    """Return the pairs of upright edges that bound a stripe of one ink up to four knots wide and at least five long."""
    edges, found = upright_edges(drawing), []
    xs = np.array([edge.x for edge in edges])
    for number, first in enumerate(edges):
        last = int(np.searchsorted(xs, first.x + MOST_STRIPE * drawing.knot_width, side="right"))
        for second in edges[number + 1 : last]:
            start, stop = max(first.start, second.start), min(first.stop, second.stop)
            if stop - start < LEAST_EDGE * drawing.knot_height or second.left != first.right:
                continue
            if (drawing.labels[start:stop, first.x : second.x] == first.right).all():
                found.append((Edge(first.x, start, stop, first.left, first.right), second))
    return found


def stripes(placed: Placed) -> Score:
    """Return the stripes as wide as most of their class (widths within 4 % or a pixel's rounding), of all."""
    good = whole = 0
    for sheet in (placed, placed.transposed):
        pairs = sorted(upright_stripes(sheet.drawing), key=lambda pair: pair[1].x - pair[0].x)
        widths = [(second.x - first.x, drawn_width(sheet, first, second)) for first, second in pairs]
        start = 0
        for end in range(1, len(widths) + 1):
            narrowest = widths[start][0]
            if end == len(widths) or widths[end][0] > max(narrowest * 1.04, narrowest + 1):
                knots = Counter(width for _, width in widths[start:end])
                del knots[0]
                if end - start > 1:
                    good += max(knots.values(), default=0)
                    whole += end - start
                start = end
    return Score(good, whole)


def drawn_width(placed: Placed, first: Edge, second: Edge) -> int:
    """Return the commonest width of a stripe over its rows in knots, or 0 where it is lost."""
    rows = rows_along(placed, first.start, first.stop)
    if not len(rows):
        return 0
    one, other = line_of(placed, first, rows), line_of(placed, second, rows)
    width = np.where((one == MISSING) | (other == MISSING), 0, other - one)
    return max(mode(width), 0)


@dataclass(frozen=True)
class Corner:
    """A square corner at (`y`, `x`) in pixels: the quadrant below and right is `ink`, the rest is `ground`."""

    y: int
    x: int
    ground: int
    ink: int


@lru_cache(maxsize=256)
def corners_of(drawing: Drawing) -> list[Corner]:
    """Return the corners whose arms run down and right; the others are found in the flipped drawing."""
    labels, tall, wide = drawing.labels, drawing.knot_height, drawing.knot_width
    ground, ink = labels[:-1, :-1], labels[1:, 1:]
    is_corner = (ground == labels[:-1, 1:]) & (ground == labels[1:, :-1]) & (ground != ink)
    down, right, found = round(QUADRANT * tall), round(QUADRANT * wide), []
    arm_down, arm_right = round(ARM * tall), round(ARM * wide)
    for y, x in (np.argwhere(is_corner) + 1).tolist():
        if y < down or x < right or y + arm_down > labels.shape[0] or x + arm_right > labels.shape[1]:
            continue
        a, b = int(labels[y - 1, x - 1]), int(labels[y, x])
        if (
            (labels[y : y + arm_down, x - 1] == a).all()
            and (labels[y : y + arm_down, x] == b).all()
            and (labels[y - 1, x : x + arm_right] == a).all()
            and (labels[y, x : x + arm_right] == b).all()
            and (labels[y - down : y, x - right : x + right] == a).all()
            and (labels[y : y + down, x - right : x] == a).all()
            and (labels[y : y + down, x : x + right] == b).all()
        ):
            found.append(Corner(y, x, a, b))
    return found


@lru_cache(maxsize=64)
def turned_drawings(drawing: Drawing) -> dict[tuple[int, int], Drawing]:
    return {
        (down, across): Drawing(drawing.labels[::down, ::across], drawing.knot_height, drawing.knot_width, drawing.inks)
        for down in (1, -1)
        for across in (1, -1)
    }


def corners(placed: Placed) -> Score:
    """Return the square corners round which the 2 x 2 knots differ from the artwork's quadrants, of all."""
    wrong = whole = 0
    height, width = placed.labels.shape
    for (down, across), drawing in turned_drawings(placed.drawing).items():
        rows = placed.row_edges if down > 0 else height - placed.row_edges[::-1]
        columns = placed.column_edges if across > 0 else width - placed.column_edges[::-1]
        sheet = Placed(drawing, rows, columns, placed.knots[::down, ::across])
        for corner in corners_of(drawing):
            whole += 1
            wrong += not is_square(sheet, corner)
    return Score(wrong, whole)


def is_square(placed: Placed, corner: Corner) -> bool:
    """Return whether the 2 x 2 knots where the lines of a corner's arms meet are those of its quadrants."""
    at_y, at_x = float(placed.down(corner.y)), float(placed.across(corner.x))
    y = _crossing(placed.knots[:, min(int(at_x + 1.5), placed.knots.shape[1] - 1)], at_y, corner)
    x = _crossing(placed.knots[min(int(at_y + 1.5), placed.knots.shape[0] - 1)], at_x, corner)
    if y is None or x is None:
        return False
    a, b = corner.ground, corner.ink
    return placed.knots[y - 1 : y + 1, x - 1 : x + 1].tolist() == [[a, a], [a, b]]


def _crossing(line: Grid, at: float, corner: Corner) -> int | None:
    """Return the place nearest to `at` where a line of knots changes from a corner's ground to its ink."""
    places = np.arange(max(round(at) - REACH, 1), min(round(at) + REACH, len(line) - 1) + 1)
    drawn = places[(line[places - 1] == corner.ground) & (line[places] == corner.ink)]
    return int(drawn[abs(drawn - at).argmin()]) if len(drawn) else None
