"""The lines that a carver follows on a rug, which are grooves and changes of height, each with its length."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from chartmaker.figures.carving import Carving
from chartmaker.outlines.borders import Border, borders_of
from chartmaker.outlines.lattice import OUTSIDE
from chartmaker.outlines.numbers import Place
from chartmaker.sheets.pattern.drawing import Drawing

#: The dashes by which the lines of grooves are told apart, in millimetres; further grooves are told only by colour.
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
    """The fields of a rug as the pile is seen, in the size at which it is carved, with what is cut into them.

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
        """The edges that each groove follows, in the order of the grooves; no edge is cut twice."""
        found: list[list[Border]] = [[] for _ in self.carving.grooves]
        for border in self.borders:
            groove = self.carving.groove_at(border.one, border.two)
            if groove is not None:
                found[self.carving.grooves.index(groove)].append(border)
        return tuple(map(tuple, found))

    @cached_property
    def groove_m(self) -> tuple[float, ...]:
        """The length of each groove in metres."""
        return tuple(sum(border.length_mm for border in borders) / 1000 for borders in self.grooves)

    @property
    def step_m(self) -> float:
        """The length in metres of all edges where the height changes."""
        return sum(border.length_mm for border in self.steps) / 1000

    def height_at(self, place: Place) -> str:
        """Return the finished height, as it is printed, of the field that a place belongs to."""
        return height_words(self.carving.finished_mm[self.drawing.outlines.rings[place.field][0]])


def height_words(height_mm: float) -> str:
    """Return a height in millimetres without its unit."""
    return f"{height_mm:g}"


def dash_of(number: int) -> tuple[float, ...]:
    """Return the dashes of a groove by its place in the guide."""
    return DASHES_MM[number % len(DASHES_MM)]
