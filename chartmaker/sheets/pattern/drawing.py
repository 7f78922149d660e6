"""A traced design as the tufter's paper shows it, seen from the right side and with a number for each yarn."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise

from chartmaker.ground.units import FOOT_MM
from chartmaker.order.workshop import Side
from chartmaker.outlines.lattice import Points
from chartmaker.outlines.numbers import Place
from chartmaker.outlines.tracing import CentreLine, Outlines
from chartmaker.yarns.yarn import Yarn

#: The distance, from the middle out, of the lines whose crossings are marked, in millimetres.
CROSS_MM = float(FOOT_MM)


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
    """

    name: str
    code: str
    yarns: tuple[Yarn, ...]
    outlines: Outlines
    side: Side
    tolerance_mm: float
    row_mm: float

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
    drawn: set[tuple[tuple[float, float], tuple[float, float]]] = set()
    for _, rings in outlines.rings:
        for ring in rings:
            run: list[tuple[float, float]] = []
            points = _listed(ring)
            for one, two in pairwise(points):
                key = (one, two) if one < two else (two, one)
                if key in drawn:
                    if run:
                        yield run
                    run = []
                    continue
                drawn.add(key)
                run = run or [one]
                run.append(two)
            if run:
                yield run


def _listed(ring: Points) -> list[tuple[float, float]]:
    return [(x, y) for x, y in ring.round(3).tolist()]
