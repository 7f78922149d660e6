"""The edges of fields as lines, each with the labels on both of its sides."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from chartmaker.outlines.lattice import OUTSIDE, Points
from chartmaker.outlines.tracing import Outlines

Point = tuple[float, float]


@dataclass(frozen=True)
class Border:
    """A line between two labels, with its points in millimetres; beyond the last field the label is OUTSIDE.

    `one_left` says whether the label `one` lies to the left of the line as its points run.
    """

    one: int
    two: int
    points_mm: tuple[Point, ...]
    one_left: bool

    @property
    def length_mm(self) -> float:
        return float(np.hypot(*np.diff(np.array(self.points_mm), axis=0).T).sum())


def borders_of(outlines: Outlines) -> tuple[Border, ...]:
    """Return every edge between two fields once, in pieces along which both labels stay the same."""
    rings = [
        (label, [(x, y) for x, y in ring.round(3).tolist()], _turns_left(ring) == (place == 0))
        for label, whole in outlines.rings
        for place, ring in enumerate(whole)
    ]
    beside: dict[tuple[Point, Point], list[int]] = {}
    for label, points, _ in rings:
        for one, two in pairwise(points):
            beside.setdefault((one, two) if one < two else (two, one), []).append(label)
    return tuple(_walked(rings, beside))


def _turns_left(ring: Points) -> bool:
    """Return whether a closed ring runs against the clock, so that what it encloses lies to its left."""
    x, y = ring[:, 0], ring[:, 1]
    return float((x[:-1] * y[1:] - x[1:] * y[:-1]).sum()) > 0


def _walked(
    rings: list[tuple[int, list[Point], bool]], beside: dict[tuple[Point, Point], list[int]]
) -> Iterator[Border]:
    drawn: set[tuple[Point, Point]] = set()
    for label, points, left in rings:
        run: list[Point] = []
        other = OUTSIDE
        for one, two in pairwise(points):
            key = (one, two) if one < two else (two, one)
            labels = beside[key]
            across = OUTSIDE if len(labels) < 2 else labels[1] if labels[0] == label else labels[0]
            if key in drawn or (run and across != other):
                if run:
                    yield Border(label, other, tuple(run), left)
                run = []
            if key not in drawn:
                drawn.add(key)
                run = run or [one]
                run.append(two)
                other = across
        if run:
            yield Border(label, other, tuple(run), left)
