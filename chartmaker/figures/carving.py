"""What is carved: the height of every yarn before and after, and where grooves run."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from chartmaker.figures.heights import Assumed, assumed_of, heights_of, is_loop, shorn_heights
from chartmaker.ground.errors import RugError
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import say
from chartmaker.ground.lengths import mm_words
from chartmaker.ground.sentence import later
from chartmaker.order.carve import CarvedWhen, Profile, groove_codes
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Workshop
from chartmaker.yarns.yarn import Yarn

#: What is carved off must be more than this, in millimetres, to count.
LEAST_CARVED_MM = 1e-6


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

    `cut_mm` is the height at which each yarn is cut at the loom, `shorn_mm` the one as the shears leave it,
    `finished_mm` once it is carved, and `assumed` says which of these nobody gave; `loops` says of which yarns the pile
    is left in loops, which nothing may cut. Grooves are `depth_mm` deep and `width_mm` wide; where the pile beside them
    has two heights, the depth counts from the lower one.
    """

    cut_mm: tuple[float, ...]
    shorn_mm: tuple[float, ...]
    finished_mm: tuple[float, ...]
    loops: tuple[bool, ...]
    assumed: tuple[Assumed, ...]
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

    @property
    def lowered(self) -> tuple[bool, ...]:
        """Of which yarns the pile is carved down."""
        pairs = zip(self.shorn_mm, self.finished_mm, strict=True)
        return tuple(shorn - finished > LEAST_CARVED_MM for shorn, finished in pairs)

    def lowers_at(self, one: int, two: int) -> bool:
        """Return whether lowering ends along the edge of two yarns: one is lowered, the other not, or not so far."""
        return (self.lowered[one] or self.lowered[two]) and (
            self.lowered[one] != self.lowered[two] or self.finished_mm[one] != self.finished_mm[two]
        )

    def groove_at(self, one: int, two: int) -> GrooveLine | None:
        """Return the first groove along the edge of two yarns."""
        return next((groove for groove in self.grooves if groove.runs_between(one, two)), None)


def carving_of(yarns: tuple[Yarn, ...], rug: Rug, workshop: Workshop) -> Carving:
    """Return what is carved of a rug of these yarns.

    Raises
    ------
    RugError
        If a height is impossible, a groove has no depth or no width, one is deeper than the pile beside it, or one
        would cut loops on both of its sides.
    """
    carve, codes = workshop.carve, [yarn.code for yarn in yarns]
    carve.check()
    finished = tuple(heights_of(code, rug, workshop).pile_mm for code in codes)
    shorn = [shorn_heights(code, rug, workshop) for code in codes]
    loops = tuple(is_loop(code, rug, workshop) for code in codes)
    grooves = tuple(_grooves(carve.grooves, codes))
    _check_loops(grooves, loops, codes)
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
        tuple(each.cut_mm for each in shorn),
        tuple(each.pile_mm for each in shorn),
        finished,
        loops,
        tuple(assumed_of(code, rug, workshop) for code in codes),
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


def _check_loops(grooves: tuple[GrooveLine, ...], loops: tuple[bool, ...], codes: list[str]) -> None:
    """Refuse grooves that would run between two yarns in loops: one side at least must be cut pile."""
    for groove in grooves:
        others = range(len(codes)) if groove.other is None else [groove.other]
        beside = [codes[other] for other in others if loops[other] and other != groove.yarn]
        if loops[groove.yarn] and beside:
            message = say(
                "the groove {groove} would run between {one} and {other}, which are both left in loops; a loop that is "
                "cut pulls out. Name the cut pile that it runs along",
                groove=groove.name,
                one=codes[groove.yarn],
                other=beside[0],
            )
            raise RugError(message, where="[carve] grooves")


def _findings(names: tuple[str, ...], codes: list[str]) -> Iterator[Finding]:
    for name in names:
        missing = [code for code in groove_codes(name) if code is not None and code not in codes]
        if missing:
            what = later("The groove {groove} names {code}, which this map does not tie.", groove=name, code=missing[0])
            yield Finding(what, "[carve] grooves", "warning")
