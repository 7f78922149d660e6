"""Measures whether slanting and curved outlines take regular steps, and whether thin strokes keep one width."""

from __future__ import annotations

from functools import lru_cache
from itertools import groupby

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree
from skimage.measure import find_contours

from support.drawing_measures.guards import pieces_of
from support.drawing_measures.placed import Drawing, Floats, Grid, Placed, Score

#: An outline has a corner where it bends by more than this within a knot and a half either way.
CORNER_DEGREES, CORNER_REACH = 50.0, 1.5
#: Steps within this many knots of a corner or of the rug's edge are not judged.
AWAY_FROM_CORNER, AWAY_FROM_RIM = 2.0, 1.5

#: The directions of a walk round an area that lies on the right hand: east, south, west, north.
_STEPS = ((0, 1), (1, 0), (0, -1), (-1, 0))

#: A run of steps: its direction, its length, and where its middle lies.
Run = tuple[int, int, tuple[float, float]]


def outlines_of(mask: NDArray[np.bool_]) -> list[list[Run]]:
    """Return the closed outlines of an area of knots as runs of steps along the edges of knots."""
    padded = np.pad(mask, 1)
    core = padded[1:-1, 1:-1]
    # The edges of knots that have no neighbour above, to the right, below, and to the left.
    starts = [
        (core & ~padded[:-2, 1:-1], 0, 0),
        (core & ~padded[1:-1, 2:], 0, 1),
        (core & ~padded[2:, 1:-1], 1, 1),
        (core & ~padded[1:-1, :-2], 1, 0),
    ]
    leaving: dict[tuple[int, int], list[int]] = {}
    for way, (edge, down, across) in enumerate(starts):
        for y, x in np.argwhere(edge).tolist():
            leaving.setdefault((y + down, x + across), []).append(way)
    outlines = []
    while leaving:
        at, ways = next(iter(leaving.items()))
        way, walk = ways[0], []
        while at in leaving:
            ways = leaving[at]
            # Where two areas touch at a corner the walk turns right, which keeps them apart.
            way = next(turn for turn in ((way + 1) % 4, way, (way - 1) % 4, (way + 2) % 4) if turn in ways)
            ways.remove(way)
            if not ways:
                del leaving[at]
            walk.append((way, at))
            at = (at[0] + _STEPS[way][0], at[1] + _STEPS[way][1])
        outlines.append(_runs(walk))
    return outlines


def _runs(walk: list[tuple[int, tuple[int, int]]]) -> list[Run]:
    runs = []
    turn = next((i for i in range(len(walk)) if walk[i][0] != walk[i - 1][0]), 0)
    for way, steps in groupby(walk[turn:] + walk[:turn], key=lambda step: step[0]):
        places = [place for _, place in steps]
        half = len(places) / 2
        middle = (places[0][0] + half * _STEPS[way][0], places[0][1] + half * _STEPS[way][1])
        runs.append((way, len(places), middle))
    return runs


@lru_cache(maxsize=64)
def bends_of(drawing: Drawing) -> tuple[Floats, ...]:
    """Return for each ink where its outlines bend sharply, in pixels, shape (n, 2)."""
    knot = (drawing.knot_height * drawing.knot_width) ** 0.5
    found = []
    for ink in range(drawing.inks):
        places = [np.empty((0, 2))]
        for contour in find_contours(np.pad(drawing.labels == ink, 1).astype(np.float32), 0.5):
            line = contour[:-1] - 0.5
            reach = round(CORNER_REACH * knot * 1.2)  # An outline of pixels has about 1.2 points a pixel.
            if len(line) > 4 * reach:
                ahead, behind = np.roll(line, -reach, axis=0) - line, line - np.roll(line, reach, axis=0)
                dot, cross = (ahead * behind).sum(1), ahead[:, 0] * behind[:, 1] - ahead[:, 1] * behind[:, 0]
                places.append(line[np.degrees(abs(np.arctan2(cross, dot))) > CORNER_DEGREES])
            else:
                places.append(line)  # too small to have anything but corners
        found.append(np.concatenate(places))
    return tuple(found)


def is_irregular(before: int, run: int, after: int) -> bool:
    """Return whether a run of steps sticks out from both neighbours, by two knots and by two thirds or two fifths."""
    least, most = min(before, after), max(before, after)
    return (run <= least - 2 and run <= 0.6 * least) or (run >= most + 2 and run >= 1.67 * most)


def irregular_runs(placed: Placed) -> Score:
    """Return the runs of steps that stick out from both neighbours, of all inside one flight of stairs."""
    irregular = whole = 0
    rows, columns = placed.knots.shape
    for ink, bends in enumerate(bends_of(placed.drawing)):
        near = cKDTree(np.column_stack([placed.down(bends[:, 0]), placed.across(bends[:, 1])])) if len(bends) else None
        flights = []
        for runs in outlines_of(placed.knots == ink):
            count = len(runs)
            for i in range(count if count >= 5 else 0):
                (d0, n0, _), (m0, s0, _), (d1, n1, at) = runs[i - 2], runs[i - 1], runs[i]
                (m1, s1, _), (d2, n2, _) = runs[(i + 1) % count], runs[(i + 2) % count]
                inside = (
                    AWAY_FROM_RIM < at[0] < rows - AWAY_FROM_RIM and AWAY_FROM_RIM < at[1] < columns - AWAY_FROM_RIM
                )
                if d0 == d1 == d2 and m0 == m1 and s0 == s1 == 1 and inside:
                    flights.append((at, is_irregular(n0, n1, n2)))
        if flights:
            away = near.query([at for at, _ in flights])[0] if near else np.full(len(flights), np.inf)
            judged = [bad for (_, bad), distance in zip(flights, away, strict=True) if distance > AWAY_FROM_CORNER]
            irregular, whole = irregular + sum(judged), whole + len(judged)
    return Score(irregular, whole)


def run_lengths(knots: Grid) -> NDArray[np.intp]:
    """Return for each knot the length of the run of its ink along its row."""
    change = np.ones((knots.shape[0], knots.shape[1] + 1), dtype=bool)
    change[:, 1:-1] = knots[:, 1:] != knots[:, :-1]
    first = np.flatnonzero(change[:, :-1].ravel())
    lengths = np.diff(np.append(first, knots.size))
    return np.repeat(lengths, lengths).reshape(knots.shape)


def thin_width(placed: Placed) -> Score:
    """Return the knots of strokes up to 1.5 knots wide whose narrower run is unlike most of the stroke's, of all."""
    width = np.minimum(run_lengths(placed.knots), run_lengths(placed.knots.T).T)
    rows, columns = placed.knots.shape
    off = whole = 0
    for piece in pieces_of(placed.drawing):
        r = np.clip(placed.down(piece.rows + 0.5).astype(int), 0, rows - 1)
        c = np.clip(placed.across(piece.columns + 0.5).astype(int), 0, columns - 1)
        cells = np.unique(r * columns + c)
        cells = cells[placed.knots.ravel()[cells] == piece.colour]
        if len(cells):
            own = width.ravel()[cells]
            off += len(own) - int(np.bincount(own).max())
            whole += len(own)
    return Score(off, whole)
