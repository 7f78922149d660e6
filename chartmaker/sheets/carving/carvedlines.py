"""The lines that a carver follows on a rug, grooves and edges of what is lowered, with their lengths and side marks."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from chartmaker.figures.carving import Carving
from chartmaker.ground.language import say
from chartmaker.outlines.borders import Border, borders_of
from chartmaker.outlines.lattice import OUTSIDE
from chartmaker.outlines.numbers import Place
from chartmaker.outlines.sidemarks import Mark, marks_beside
from chartmaker.sheets.pattern.drawing import Drawing

#: Grooves are red, edges of lowered fields blue and all other edges grey, on the guide and in full size; what tells
#: them apart is their form, which a copier keeps.
GROOVE, STEP, QUIET = (0.85, 0.05, 0.05), (0.0, 0.2, 1.0), (0.55, 0.55, 0.55)
GROOVE_MM, STEP_MM, TICK_MM, RING_MM, QUIET_MM = 0.8, 0.5, 0.35, 0.25, 0.15
#: The dashes by which the lines of grooves are told apart, in millimetres; a seventh groove has those of the first.
DASHES_MM: tuple[tuple[float, ...], ...] = (
    (8, 2),
    (8, 2, 1, 2),
    (3, 2),
    (1, 1.5),
    (16, 3),
    (8, 2, 1, 2, 1, 2),
)
#: How far apart ticks and rings stand along a line, and how far they reach from it: the longest that stays in its field
#: is taken, or else the last.
TICKS_MM, TICK_REACHES_MM = 6.0, (2.2, 1.1, 0.6)
RINGS_MM, RING_REACHES_MM = 24.0, (3.4, 1.7, 0.9)


@dataclass(frozen=True, eq=False)
class CarvedDrawing:
    """The fields of a rug as the pile is seen, in the size at which it is carved, with what is cut into them.

    The fields' numbers are the heights of the finished pile in millimetres, see `field_words`. `origins` says by which
    keys the heights came about.
    """

    drawing: Drawing
    carving: Carving
    origins: str = ""

    @cached_property
    def _every(self) -> tuple[Border, ...]:
        """All edges of fields, those of the rug's outline too."""
        return borders_of(self.drawing.outlines)

    @cached_property
    def borders(self) -> tuple[Border, ...]:
        """All edges between two fields."""
        return tuple(border for border in self._every if border.two != OUTSIDE)

    @cached_property
    def steps(self) -> tuple[Border, ...]:
        """The edges at which the lowering of a field ends."""
        return tuple(border for border in self.borders if self.carving.lowers_at(border.one, border.two))

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
    def grooved_steps(self) -> tuple[Border, ...]:
        """The edges at which lowering ends and along which a groove runs besides."""
        return tuple(each for each in self.steps if self.carving.groove_at(each.one, each.two) is not None)

    @cached_property
    def uneven_grooves(self) -> tuple[Border, ...]:
        """The edges along which a groove runs between two heights at which the pile was tufted, not lowered."""
        finished = self.carving.finished_mm
        return tuple(
            each
            for borders in self.grooves
            for each in borders
            if finished[each.one] != finished[each.two] and not self.carving.lowers_at(each.one, each.two)
        )

    @cached_property
    def grooved_yarns(self) -> tuple[int, ...]:
        """The yarns that a groove meets, the lowest pile first."""
        grooved = {yarn for borders in self.grooves for each in borders for yarn in (each.one, each.two)}
        return tuple(sorted(grooved, key=lambda yarn: (self.carving.finished_mm[yarn], yarn)))

    @cached_property
    def lowered_and_grooved(self) -> int | None:
        """The yarn left lowest of those that are lowered and that a groove meets, or None if there is none."""
        return next((yarn for yarn in self.grooved_yarns if self.carving.lowered[yarn]), None)

    @cached_property
    def bare_steps(self) -> tuple[Border, ...]:
        """The edges at which lowering ends and no groove runs."""
        return tuple(each for each in self.steps if self.carving.groove_at(each.one, each.two) is None)

    @cached_property
    def quiet(self) -> tuple[Border, ...]:
        """The edges at which nothing is cut."""
        return tuple(border for border in self.borders if not self._is_cut(border))

    @cached_property
    def groove_m(self) -> tuple[float, ...]:
        """The length of each groove in metres."""
        return tuple(_metres(borders) for borders in self.grooves)

    @property
    def step_m(self) -> float:
        """The length in metres of all edges at which lowering ends."""
        return _metres(self.steps)

    def groove_loops(self, number: int) -> tuple[int, ...]:
        """Return the yarns in loops along which a groove runs, by its place among the grooves."""
        found = {yarn for border in self.grooves[number] for yarn in (border.one, border.two)}
        return tuple(sorted(yarn for yarn in found if self.carving.loops[yarn]))

    @cached_property
    def ticks(self) -> tuple[Mark, ...]:
        """The ticks that stand on the lowered side of the edges at which lowering ends."""
        return marks_beside(self._every, self.steps, self.carving.lowered, TICKS_MM, TICK_REACHES_MM)

    @cached_property
    def rings(self) -> tuple[Mark, ...]:
        """The places of the rings that stand on loops, along cuts and along plain edges of cut pile, which is shorn."""
        loops = self.carving.loops
        near = [each for each in self.borders if self._is_cut(each) or loops[each.one] != loops[each.two]]
        return marks_beside(self._every, near, loops, RINGS_MM, RING_REACHES_MM)

    def field_words(self, field: int) -> str:
        """Return what is printed in a field, by its place among the fields."""
        return field_words(self.carving, self.drawing.outlines.rings[field][0])

    def words_at(self, place: Place) -> str:
        """Return what is printed of the field that a place belongs to."""
        return self.field_words(place.field)

    def _is_cut(self, border: Border) -> bool:
        one, two = border.one, border.two
        return self.carving.lowers_at(one, two) or self.carving.groove_at(one, two) is not None


def _metres(borders: Iterable[Border]) -> float:
    return sum(border.length_mm for border in borders) / 1000


def height_words(height_mm: float) -> str:
    """Return a height in millimetres without its unit."""
    return f"{round(height_mm, 4):g}"


def field_words(carving: Carving, yarn: int) -> str:
    """Return what is printed in the fields of a yarn: its finished height, and whether it is lowered or left in loops.

    Heights that are reached by lowering say so, since far from its edges nothing else on a field does.
    """
    height = height_words(carving.finished_mm[yarn])
    if carving.loops[yarn]:
        return say("{height} L", height=height)
    return say("to {height}", height=height) if carving.lowered[yarn] else height


def dash_of(number: int) -> tuple[float, ...]:
    """Return the dashes of a groove by its place in the guide."""
    return DASHES_MM[number % len(DASHES_MM)]
