"""What a carver follows on a rug: lines where the height changes, and grooves, each measured."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from chartmaker.figures.carving import Carving
from chartmaker.outlines.borders import Border, borders_of
from chartmaker.outlines.lattice import OUTSIDE
from chartmaker.outlines.numbers import Place
from chartmaker.sheets.pattern.drawing import Drawing

#: How the lines of grooves are told apart: dashes in millimetres, and beyond these their colour is all that they have.
DASHES_MM: tuple[tuple[float, ...], ...] = (
    (8, 2),
    (8, 2, 1, 2),
    (3, 2),
    (1, 1.5),
    (16, 3),
    (8, 2, 1, 2, 1, 2),
)


@dataclass(frozen=True, eq=False)
class CarvedDrawing:
    """The fields of a rug from the pile side, in the size that it has when it is carved, with what is cut into them.

    The fields' numbers are the heights of the finished pile in millimetres.
    """

    drawing: Drawing
    carving: Carving

    @cached_property
    def borders(self) -> tuple[Border, ...]:
        """All edges between two fields."""
        return tuple(border for border in borders_of(self.drawing.outlines) if border.two != OUTSIDE)

    @cached_property
    def steps(self) -> tuple[Border, ...]:
        """The edges where the finished height changes."""
        heights = self.carving.finished_mm
        return tuple(border for border in self.borders if heights[border.one] != heights[border.two])

    @cached_property
    def grooves(self) -> tuple[tuple[Border, ...], ...]:
        """The edges that each groove runs along, in the grooves' order; no edge is cut twice."""
        found: list[list[Border]] = [[] for _ in self.carving.grooves]
        for border in self.borders:
            groove = self.carving.groove_at(border.one, border.two)
            if groove is not None:
                found[self.carving.grooves.index(groove)].append(border)
        return tuple(map(tuple, found))

    @cached_property
    def groove_m(self) -> tuple[float, ...]:
        """The metres of each groove."""
        return tuple(sum(border.length_mm for border in borders) / 1000 for borders in self.grooves)

    @property
    def step_m(self) -> float:
        """The metres of edge where the height changes."""
        return sum(border.length_mm for border in self.steps) / 1000

    def height_at(self, place: Place) -> str:
        """Return the finished height of the field of a place, as it is printed."""
        return height_words(self.carving.finished_mm[self.drawing.outlines.rings[place.field][0]])


def height_words(height_mm: float) -> str:
    """Return a height in millimetres without its unit."""
    return f"{height_mm:g}"


def dash_of(number: int) -> tuple[float, ...]:
    """Return the dashes of a groove by its place in the guide."""
    return DASHES_MM[number % len(DASHES_MM)]
