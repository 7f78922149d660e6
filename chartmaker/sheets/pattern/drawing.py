"""A traced design as the tufter's paper shows it, seen from the right side and with a number for each yarn."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from chartmaker.ground.units import FOOT_MM
from chartmaker.order.pattern import Side
from chartmaker.outlines.numbers import Place
from chartmaker.outlines.tracing import CentreLine, Outlines
from chartmaker.yarns.yarn import Yarn

#: The distance, from the middle out, of the lines whose crossings are marked, in millimetres.
CROSS_MM = float(FOOT_MM)
#: Points are told apart by one number, x times this and y; both are whole micrometres and less than ten metres.
_APART = 1e4


@dataclass(frozen=True, eq=False)
class Drawing:
    """What a pattern shows.

    Attributes
    ----------
    name, code : str
        The rug's name, and the code of its knot map.
    yarns : tuple of Yarn
        The number of each yarn is its place in this tuple, from 1.
    outlines : Outlines
        The fields as `side` shows them; from the back of the cloth, left and right are exchanged.
    side : str
    tolerance_mm : float
        How far a smooth edge may stray from the edges of the artwork's pixels.
    row_mm : float
        The distance from one row of tufts to the next.
    inlaid : bool
        Whether it is tufted into a woven rug, which shows everywhere else.
    """

    name: str
    code: str
    yarns: tuple[Yarn, ...]
    outlines: Outlines
    side: Side
    tolerance_mm: float
    row_mm: float
    inlaid: bool = False

    @property
    def width_mm(self) -> float:
        return self.outlines.width_mm

    @property
    def height_mm(self) -> float:
        return self.outlines.height_mm

    def number(self, label: int) -> str:
        """Return the number that is printed in the fields of a yarn."""
        return str(label + 1)

    def number_of(self, place: Place) -> str:
        """Return the number that is printed at a place."""
        return self.number(self.outlines.rings[place.field][0])


def turned_over(outlines: Outlines) -> Outlines:
    """Return the outlines as the cloth's other side shows them, with left and right exchanged and numbers upright."""
    width = outlines.width_mm
    return replace(
        outlines,
        rings=tuple((label, tuple(ring * [-1, 1] + [width, 0] for ring in rings)) for label, rings in outlines.rings),
        numbers=tuple(
            replace(place, x_mm=width - place.x_mm, at_x_mm=width - place.at_x_mm) for place in outlines.numbers
        ),
        lines=tuple(
            CentreLine(line.label, tuple((width - x, y) for x, y in line.points_mm), line.tuft_rows)
            for line in outlines.lines
        ),
    )


def edges_once(outlines: Outlines) -> Iterator[list[tuple[float, float]]]:
    """Yield the edges of all fields as lines of points, each edge between two fields only once."""
    rings = [ring for _, whole in outlines.rings for ring in whole]
    if not rings:
        return
    points = np.concatenate(rings).round(3)
    known, place = np.unique(points[:, 0] * _APART + points[:, 1], return_inverse=True)
    one, two = place[:-1], place[1:]
    begins = np.cumsum([0, *map(len, rings)])
    joins = np.zeros(len(one), dtype=bool)  # from the last point of a ring to the first of the next there is no edge
    joins[begins[1:-1] - 1] = True
    key = np.minimum(one, two) * len(known) + np.maximum(one, two)
    key[joins] = -1 - np.arange(int(joins.sum()))
    first = np.zeros(len(key), dtype=bool)
    first[np.unique(key, return_index=True)[1]] = True
    drawn = np.concatenate([[False], first & ~joins, [False]])
    starts, ends = np.flatnonzero(drawn[1:] & ~drawn[:-1]), np.flatnonzero(drawn[:-1] & ~drawn[1:])
    listed = list(zip(points[:, 0].tolist(), points[:, 1].tolist(), strict=True))
    for start, end in zip(starts.tolist(), ends.tolist(), strict=True):
        yield listed[start : end + 1]
