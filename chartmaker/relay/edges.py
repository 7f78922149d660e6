"""Straight edges within a border, such as those of its corner blocks, come to lie between knots, not within one.

An edge in the middle of a knot belongs to neither side of it: what decides there is the least thing beside it, so that
a block loses knots at its corners and gets single ones elsewhere.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from chartmaker.artwork.artwork import ByteArray
from chartmaker.convert.laying.keys import Edges
from chartmaker.convert.repeats.frames import Box, Side

#: Edges nearer to each other, or to a frame, than this many knots have no room for a knot between them.
LEAST_APART_KNOTS = 0.5
#: Edges of opposite sides that are at most so many pixels nearer to their frames at one of them are drawn alike.
ALIKE_PX = 1.5


@dataclass(frozen=True)
class DepthEdge:
    """A straight edge along a side of a band, so many pixels inward from its outer frame.

    Its knots are settled as if it lay at `drawn`, so that those of opposite sides that are alike get the same ones.
    """

    at: float
    drawn: float


def edges_within(
    inks: ByteArray, edges: tuple[Edges, Edges], frames: tuple[Box, Box], knot_px: tuple[float, float]
) -> dict[Side, tuple[DepthEdge, ...]]:
    """Return the straight edges within a band, at each of its sides.

    Parameters
    ----------
    inks : ByteArray
        The ink of each pixel.
    edges : (Edges, Edges)
        The straight edges of the drawing, the level and the upright ones.
    frames : (Box, Box)
        Those that the band lies between, on whole pixels.
    knot_px : (float, float)
        The height and the width of a knot in pixels.
    """
    outer, inner = frames
    across, along = (outer.left, outer.right), (outer.top, outer.bottom)
    level, upright, turned = edges[0], edges[1], np.ascontiguousarray(inks.T)
    least = LEAST_APART_KNOTS * knot_px[0], LEAST_APART_KNOTS * knot_px[1]
    top = _inward(inks, level, (outer.top, inner.top), across, least[0])
    foot = _inward(inks, level, (outer.bottom, inner.bottom), across, least[0])
    left = _inward(turned, upright, (outer.left, inner.left), along, least[1])
    right = _inward(turned, upright, (outer.right, inner.right), along, least[1])
    return {
        "top": _paired(top, foot),
        "bottom": _paired(foot, top),
        "left": _paired(left, right),
        "right": _paired(right, left),
    }


def _inward(
    inks: ByteArray, edges: Edges, depth: tuple[float, float], reach: tuple[float, float], least_px: float
) -> tuple[float, ...]:
    """Return how far the level edges between two frames lie from the outer one, those that are longest if some meet."""
    outer, inner = depth
    low, high = min(depth), max(depth)
    own = np.flatnonzero(
        (edges.place > low) & (edges.place < high) & (edges.first >= reach[0] - 1) & (edges.end <= reach[1] + 1)
    )
    length: dict[int, int] = {}
    for number in own.tolist():
        first, end = int(edges.first[number]), int(edges.end[number])
        line = _line_of(inks, float(edges.place[number]), first, end)
        length[line] = length.get(line, 0) + end - first
    kept: list[float] = []
    for line in sorted(length, key=lambda line: (-length[line], abs(line - outer))):
        away = abs(line - outer)
        if all(abs(away - other) >= least_px for other in (0.0, abs(inner - outer), *kept)):
            kept.append(away)
    return tuple(sorted(kept))


def _line_of(inks: ByteArray, place: float, first: int, end: int) -> int:
    """Return between which rows of pixels an edge lies that was measured to a part of a pixel."""
    near = [line for line in range(round(place) - 1, round(place) + 2) if 0 < line < len(inks)]
    unlike = {line: int((inks[line - 1, first:end] != inks[line, first:end]).sum()) for line in near}
    return max(near, key=lambda line: (unlike[line], -abs(line - place)))


def _paired(own: tuple[float, ...], opposite: tuple[float, ...]) -> tuple[DepthEdge, ...]:
    """Return the edges of a side, each taken to be drawn half-way between its place and that of its like opposite."""
    found = []
    for edge in own:
        like = min(opposite, key=lambda other: abs(other - edge), default=edge)
        found.append(DepthEdge(edge, (edge + like) / 2 if abs(like - edge) <= ALIKE_PX else edge))
    return tuple(found)


def on_lines(edges: Sequence[DepthEdge], length: float, knots: int) -> tuple[tuple[float, float, int], ...]:
    """Return the stretches between the edges of a band with how many whole knots each gets, from the outer frame on.

    Parameters
    ----------
    edges : sequence of DepthEdge
        In the order in which they lie inward.
    length : float
        The width of the band in pixels.
    knots : int
        Its width in knots. If that is too little for a knot between all edges, none of them is heeded.

    Returns
    -------
    tuple of (float, float, int)
        From where to where each stretch goes, and its knots: as near as can be to what it is drawn with. Of two that
        are equally far from that the inner one gets the odd knot.

    Examples
    --------
    >>> on_lines((DepthEdge(16, 16), DepthEdge(88, 88)), 104, 10)
    ((0.0, 16, 1), (16, 88, 7), (88, 104, 2))
    """
    if not edges or len(edges) >= knots:
        return ((0.0, length, knots),)
    stops = pairwise((0.0, *(edge.at for edge in edges), length))
    drawn = [
        round((end - first) / length * knots, 6) for first, end in pairwise((0.0, *(e.drawn for e in edges), length))
    ]
    given = [max(1, int(each)) for each in drawn]
    while sum(given) != knots:
        step = 1 if sum(given) < knots else -1
        free = [at for at in range(len(given)) if given[at] + step >= 1]
        best = max(free, key=lambda at: (round(step * (drawn[at] - given[at]), 6), at))
        given[best] += step
    return tuple((first, end, number) for (first, end), number in zip(stops, given, strict=True))
