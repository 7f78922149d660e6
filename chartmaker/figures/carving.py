"""What is carved: the height of every yarn before and after, and where grooves run."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from chartmaker.figures.heights import base_heights, heights_of
from chartmaker.ground.errors import RugError
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import say
from chartmaker.ground.lengths import mm_words
from chartmaker.ground.sentence import later
from chartmaker.order.carve import CarvedWhen, Profile, groove_codes
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Workshop
from chartmaker.yarns.yarn import Yarn


@dataclass(frozen=True)
class GrooveLine:
    """A groove by its name in the rug file, and the two yarns that it runs between; `other` None is any other yarn."""

    name: str
    yarn: int
    other: int | None

    def runs_between(self, one: int, two: int) -> bool:
        """Return whether it runs along an edge of these two yarns; yarns count from 0, below that nothing is tied."""
        if one == two or min(one, two) < 0:
            return False
        return self.yarn in (one, two) if self.other is None else {one, two} == {self.yarn, self.other}


@dataclass(frozen=True)
class Carving:
    """What is cut into the pile of a map's yarns.

    `shorn_mm` is the height of each yarn as the shears leave it, `finished_mm` once it is carved. Grooves are
    `depth_mm` deep and `width_mm` wide.
    """

    shorn_mm: tuple[float, ...]
    finished_mm: tuple[float, ...]
    grooves: tuple[GrooveLine, ...]
    depth_mm: float
    width_mm: float
    profile: Profile
    when: CarvedWhen | None
    lit: bool
    findings: tuple[Finding, ...]

    @property
    def uneven(self) -> bool:
        """Whether the finished pile has more than one height."""
        return len(set(self.finished_mm)) > 1

    @property
    def shows(self) -> bool:
        """Whether there is anything to see of it."""
        return self.uneven or bool(self.grooves)

    def groove_at(self, one: int, two: int) -> GrooveLine | None:
        """Return the first groove along the edge of two yarns."""
        return next((groove for groove in self.grooves if groove.runs_between(one, two)), None)


def carving_of(yarns: tuple[Yarn, ...], rug: Rug, workshop: Workshop) -> Carving:
    """Return what is carved of a rug of these yarns.

    Raises
    ------
    RugError
        If a height is impossible, a groove has no depth or no width, or one is deeper than the pile beside it.
    """
    carve, codes = workshop.carve, [yarn.code for yarn in yarns]
    carve.check()
    heights = [heights_of(code, rug, workshop) for code in codes]
    finished = tuple(each.pile_mm for each in heights)
    shorn_mm = base_heights(rug, workshop).shorn_mm
    level = tuple(max(each.cut_mm - shorn_mm, each.pile_mm) for each in heights)
    grooves = tuple(_grooves(carve.grooves, codes))
    depth_mm = float(carve.depth_mm or 0)
    for groove in grooves:
        beside = [groove.yarn] if groove.other is None else [groove.yarn, groove.other]
        lowest = min(finished[yarn] for yarn in beside)
        if depth_mm >= lowest:
            message = say(
                "{depth} is deeper than the pile beside {groove}, which stands {pile} high: the ground would be cut",
                depth=mm_words(depth_mm),
                groove=groove.name,
                pile=mm_words(lowest),
            )
            raise RugError(message, where="[carve] depth")
    return Carving(
        level,
        finished,
        grooves,
        depth_mm,
        float(carve.width_mm or 0),
        carve.profile,
        carve.when,
        carve.relief,
        tuple(_findings(carve.grooves, codes)),
    )


def _grooves(names: tuple[str, ...], codes: list[str]) -> Iterator[GrooveLine]:
    """Yield the grooves whose yarns are there."""
    for name in names:
        one, other = groove_codes(name)
        if one in codes and (other is None or other in codes):
            yield GrooveLine(name, codes.index(one), None if other is None else codes.index(other))


def _findings(names: tuple[str, ...], codes: list[str]) -> Iterator[Finding]:
    for name in names:
        missing = [code for code in groove_codes(name) if code is not None and code not in codes]
        if missing:
            what = later("The groove {groove} names {code}, which this map does not tie.", groove=name, code=missing[0])
            yield Finding(what, "[carve] grooves", "warning")
