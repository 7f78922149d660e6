"""The steps of pixels become smooth curves, and corners of the drawing stay where they are.

A curve is a low frequency in the line of steps, and the steps themselves are a high one. So the corners of the graph
pass through a low-pass filter that does not shrink what it lets through (Taubin, "A signal processing approach to fair
surface design", SIGGRAPH 1995). Each round takes a step towards the middle of both neighbours, then a slightly longer
step back. No corner of the graph moves by more than a given reach. True corners of the drawing, which a filter would
round, are found first and kept.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from chartmaker.outlines.lattice import Index, Lattice, Points

#: Taubin's step inward; and for each pass how many cracks away the neighbours are, the step outward, how often both are
#: taken, and the most degrees by which a curve turns between two arms twice as long, for what turns more is left as it
#: is. The first pass smooths what repeats within some 13 pixels, as the steps of most slants do. The others smooth what
#: repeats within some 60 and 180, as the steps of edges do that are nearly upright or nearly level.
_INWARD = 0.5
_PASSES = ((1, -0.53, 10, 180.0), (4, -0.51, 12, 40.0), (12, -0.505, 8, 14.0))
#: The direction of an edge is measured over this many cracks, and over twice as many to tell a corner from a curve.
_ARM = 5
#: A corner turns by at least this much, in degrees. On a curve, twice the arm turns twice as far; at a corner, not.
_CORNER_DEGREES, _CORNER_SHARE = 40.0, 0.62
#: Where three areas meet, an edge runs on through the corner if it turns by less than this, in degrees.
_THROUGH_DEGREES = 50.0


def smoothed(lattice: Lattice, reach: float) -> Points:
    """Return the corners of the graph moved on to smooth curves, none of them by more than `reach` pixels.

    What lies on the edge of the picture stays on it, and nothing leaves the picture.
    """
    run = _runs(lattice)
    moving = np.flatnonzero((run[:, 0] >= 0) & ~_sharp(lattice.corners, run) & ~_kept(lattice))
    start = lattice.corners.view(np.complex128).ravel()  # x and y are fetched together
    places = start.copy()
    for arm, outward, rounds, degrees in _PASSES:
        if arm > 1:
            moving = moving[_gentle(places, run, moving, 2 * arm, degrees)]
        first = start[moving]
        rim = _rim(first, lattice.extent, reach)
        one, two, share = _weighed(run, moving, arm)
        for _ in range(rounds):
            for step in (_INWARD, outward):
                here, back = places[moving], places[two]
                places[moving] = here + step * (back + share * (places[one] - back) - here)
            places[moving] = first + _held(places[moving] - first, first, rim, lattice.extent, reach)
    return places.view(np.float64).reshape(-1, 2)


def _held(
    off: NDArray[np.complex128], first: NDArray[np.complex128], rim: Index, extent: tuple[int, int], reach: float
) -> NDArray[np.complex128]:
    """Return how far corners are off their first places, cut to the reach and to the picture.

    Those in `rim` are near enough to its edge to leave it.
    """
    far = np.flatnonzero(off.real**2 + off.imag**2 > reach**2)
    off[far] *= reach / np.abs(off[far])
    near, begin = off[rim], first[rim]
    for part, low, high in ((near.real, begin.real, extent[0]), (near.imag, begin.imag, extent[1])):
        np.clip(part, -low, high - low, out=part)
        part[(low == 0) | (low == high)] = 0
    off[rim] = near
    return off


def _gentle(places: NDArray[np.complex128], run: Index, moving: Index, arm: int, degrees: float) -> NDArray[np.bool_]:
    """Return which moving corners lie, with those within an arm, where two arms turn by less than so many degrees."""
    loose = np.full_like(run, -1)
    loose[moving] = run[moving]
    before, after = (_legs(loose, moving, run[moving, side], arm // 4, 4) for side in (0, 1))
    into, out = places[moving] - places[before[-1]], places[after[-1]] - places[moving]
    wide = np.ones(len(run), dtype=bool)
    wide[moving] = (into * out.conj()).real > np.cos(np.radians(degrees)) * np.abs(into) * np.abs(out)
    return np.asarray(np.logical_and.reduce([wide[at] for at in (moving, *before, *after)]))


def _weighed(run: Index, moving: Index, arm: int) -> tuple[Index, Index, Points]:
    """Return what lies up to `arm` steps before and after each moving corner, and the share of the first in a middle.

    That is the place on the line between both which the corner would have if it lay there.
    """
    loose = np.full_like(run, -1)
    loose[moving] = run[moving]
    one, before = _walk_counted(loose, moving, run[moving, 0], arm)
    two, after = _walk_counted(loose, moving, run[moving, 1], arm)
    return one, two, after / (before + after)


def _rim(places: NDArray[np.complex128], extent: tuple[int, int], reach: float) -> Index:
    """Return which places lie so near to the edge of the picture that they could leave it."""
    room = reach + 1.0
    inner = (places.real > room) & (places.real < extent[0] - room)
    return np.flatnonzero(~(inner & (places.imag > room) & (places.imag < extent[1] - room)))


def _kept(lattice: Lattice) -> NDArray[np.bool_]:
    """Return which corners stay: those of the whole picture, and those of areas too small to have a shape."""
    corners, sides = lattice.corners, np.bincount(lattice.areas + 1, minlength=len(lattice.labels) + 1)
    low, high = corners.min(axis=0, initial=np.inf), corners.max(axis=0, initial=-np.inf)
    kept = ((corners == low) | (corners == high)).all(axis=1)
    kept[lattice.starts[sides[lattice.areas + 1] <= 2 * _ARM]] = True
    return np.asarray(kept)


def _runs(lattice: Lattice) -> Index:
    """Return the two neighbours along the edge through each corner, shape (corners, 2); -1 where no edge runs through.

    Where three areas meet, the two edges that are most nearly in line are one run, and the third ends there.
    """
    beside = lattice.beside
    degree = (beside >= 0).sum(axis=1)
    run = np.where((degree == 2)[:, None], beside[:, :2], -1)
    joints = np.flatnonzero(degree == 3)
    if len(joints):
        ends = np.stack([_walk(run, joints, beside[joints, arm], _ARM) for arm in range(3)], axis=1)
        arms = lattice.corners[ends] - lattice.corners[joints][:, None]
        pairs = ((0, 1), (0, 2), (1, 2))
        turns = np.stack([_turn(-arms[:, one], arms[:, two]) for one, two in pairs], axis=1)
        best = turns.argmin(axis=1)
        least, second = np.sort(turns, axis=1)[:, :2].T
        through = (least < np.radians(_THROUGH_DEGREES)) & (second > least + 1e-6)  # if two tie, neither
        chosen = np.array(pairs)[best[through]]
        run[joints[through]] = np.take_along_axis(beside[joints[through]], chosen, axis=1)
    return run


def _walk(run: Index, start: Index, first: Index, steps: int) -> Index:
    """Return the corner that is `steps` steps along the edge from `start` by way of `first`, or the edge's end."""
    return _walk_counted(run, start, first, steps)[0]


def _legs(run: Index, start: Index, first: Index, steps: int, legs: int) -> list[Index]:
    """Return the corners that are `steps`, twice as many, and so on up to `legs` times as many steps away."""
    before, here, found = start, first, []
    for leg in range(legs):
        before, here, _ = _stepped(run, before, here, steps - (leg == 0))
        found.append(here)
    return found


def _walk_counted(run: Index, start: Index, first: Index, steps: int) -> tuple[Index, Index]:
    """Return the corner that `_walk` returns, and how many steps away it is."""
    _, here, taken = _stepped(run, start, first, steps - 1)
    return here, taken + 1


def _stepped(run: Index, before: Index, here: Index, steps: int) -> tuple[Index, Index, Index]:
    """Go on along edges; return the corners before those that are reached, these, and the steps that could be taken."""
    taken = np.zeros(len(here), dtype=np.int64)
    for _ in range(steps):
        one, two = run[here, 0], run[here, 1]
        after = np.where(one == before, two, np.where(two == before, one, -1))
        goes = after >= 0
        before, here = np.where(goes, here, before), np.where(goes, after, here)
        taken += goes
    return before, here, taken


def _turn(into: Points, out: Points) -> Points:
    """Return the angle between two directions, in radians from 0 to pi."""
    cross = into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0]
    return np.asarray(np.abs(np.arctan2(cross, (into * out).sum(axis=1))))


def _sharp(corners: Points, run: Index) -> NDArray[np.bool_]:
    """Return which corners of the graph are corners of the drawing."""
    along = np.flatnonzero(run[:, 0] >= 0)
    calm = corners.copy()
    one, two = run[along, 0], run[along, 1]
    for _ in range(2):  # the steps of pixels are not corners
        calm[along] = (calm[along] + (calm[one] + calm[two]) / 2) / 2
    turns = []
    for arm in (_ARM, 2 * _ARM):
        before, after = _walk(run, along, one, arm), _walk(run, along, two, arm)
        turns.append(_turn(calm[along] - calm[before], calm[after] - calm[along]))
    turn = np.zeros(len(corners))
    turn[along] = np.where(turns[0] > _CORNER_SHARE * turns[1], turns[0], 0)
    sharp = turn > np.radians(_CORNER_DEGREES)
    for distance in (1, 2, 3):
        for side in (one, two):
            sharp[along] &= turn[along] >= turn[_walk(run, along, side, distance)] - 1e-9
    return np.asarray(sharp)
