"""What a craft is: how it is spoken of, what its pile and its ground take, and how fast it goes.

Everything else reckons with a craft through this one face, so that no other module asks which craft it has before it.
A new craft is a module beside this one and a line in `crafts.py`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from chartmaker.ground.basis import Assumption, Basis
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import Dialect, say, say_n
from chartmaker.ground.measures import Measures
from chartmaker.ground.ranges import Range
from chartmaker.ground.sentence import Sentence
from chartmaker.order.rug import Rug, Technique
from chartmaker.order.workshop import Loom, Workshop
from chartmaker.techniques.foundation import Foundation


@dataclass(frozen=True)
class CraftWords:
    """How a craft is spoken of, in whole words and sentences that are looked up as they are said.

    Attributes
    ----------
    hands : tuple of str
        One and many of those who make the rug: ``{n} weaver``, ``{n} weavers``.
    hand : str
        One of them by `number`, counted from the left.
    hands_label : str
        Their label on the cover and in the plan.
    hands_together : str
        Their label in the table of time.
    pace : str
        What one does in a day, with the number as `rate`.
    pace_label : str
        The same as a label of the table of time.
    days_reached : str
        How the days are reckoned.
    crowded : tuple of str
        One and many of those who have too little room, `seat` each where one needs `needed`.
    stitch_label : str
        The label of the size of one stitch in the plan.
    grid : str
        The grid, with its `columns`, its `rows` and its `stitches` in all.
    whole : str
        The `size` that whole stitches give.
    mass, sheared : str
        What the mass of the rug holds and leaves out, as woven and as sheared.
    ground : str
        The title of the table of the ground.
    """

    hands: tuple[str, str]
    hand: str
    hands_label: str
    hands_together: str
    pace: str
    pace_label: str
    days_reached: str
    crowded: tuple[str, str]
    stitch_label: str
    grid: str
    whole: str
    mass: str
    sheared: str
    ground: str

    def hands_of(self, number: int) -> str:
        """Return ``1 weaver``, ``3 weavers``."""
        return say_n(*self.hands, number)

    def pace_of(self, rate: float) -> str:
        """Return ``6,000 knots a weaver a day``."""
        return say(self.pace, rate=rate)


#: How far a rate that the workshop gave may be off over a whole rug, as a share (estimate).
GIVEN_RATE_SPREAD = 0.15

#: What a craft that is tied knot by knot works from.
KNOT_PAPERS = (
    "knots.png",
    "chart.pdf",
    "rows.pdf",
    "rows.csv",
    "yarns.csv",
    "proof.png",
    "proof.html",
    "summary.json",
)
#: What a craft that follows a drawing works from.
DRAWN_PAPERS = (
    "knots.png",
    "pattern.pdf",
    "guide.pdf",
    "pattern.svg",
    "yarns.csv",
    "proof.png",
    "proof.html",
    "summary.json",
)

#: A label with its figure, and what there is to say besides.
Row = tuple[str, str, str]


class Craft(Protocol):
    """A way to make a rug."""

    @property
    def name(self) -> Technique:
        """What [rug] technique calls it."""

    @property
    def words(self) -> CraftWords:
        """How it is spoken of."""

    @property
    def dialect(self) -> Dialect | None:
        """How it puts what is said of knots and weavers; none where it is said as it stands."""

    @property
    def fringed(self) -> bool:
        """Whether warp hangs out at both ends of a rectangular rug."""

    @property
    def papers(self) -> tuple[str, ...]:
        """The files that its set has, the summary last; the others come on request."""

    @property
    def by_rows(self) -> bool:
        """Whether the rug is tied row by row across its whole width, so that a row can be too much for a weaver."""

    def stitch_mm(self, rug: Rug, cut_mm: float, warp_tex: float, yarn_tex: float, fibre: str | None) -> float:
        """Return the length of yarn in one stitch, strand by strand, in millimetres.

        Parameters
        ----------
        rug : Rug
        cut_mm : float
            The height at which the pile is cut.
        warp_tex, yarn_tex : float
            Of one warp end, and of all strands of the pile together.
        fibre : str or None
            Of the pile; wool where it is not known.
        """

    def stitch_at(self, length_mm: float, cut_mm: float, other_mm: float) -> float:
        """Return what a stitch that takes `length_mm` at one height of the pile takes at another."""

    def stitch_factors(self, yarn_spread: float) -> tuple[Range, Range]:
        """Return how far off the length and the mass of a stitch may be that nobody measured, as factors.

        `yarn_spread` is the share by which the count may be off, 0 where it is known.
        """

    def stitch_reached(self, rug: Rug) -> tuple[Sentence, Sentence]:
        """Return what that length is called, and how it is reckoned."""

    def stitch_spread_words(self, yarn_spread: float) -> Sentence:
        """Return how far off length and mass may be, in words."""

    @property
    def sheared_reached(self) -> str:
        """How the grams of the sheared pile are reckoned."""

    def stitch_assumed(self) -> list[Assumption]:
        """Return what stands in for a measured stitch besides the pile's heights and its yarn."""

    @property
    def bound(self) -> bool:
        """Whether its sides are overcast with yarn of the pile."""

    def ground(self, rug: Rug, workshop: Workshop, inside_share: float = 1.0) -> Foundation:
        """Return what holds the pile: warp and weft, or a backing cloth.

        `inside_share` is the share of the grid's cells inside the rug's outline.

        Raises
        ------
        RugError
            If a yarn of it is too thick for the density.
        """

    def ground_rows(self, ground: Foundation, measures: Measures) -> list[Row]:
        """Return the ground as lines of a table."""

    def ground_facts(self, ground: Foundation) -> list[tuple[str, str]]:
        """Return what the cover of the chart says of the ground, a label and a value a line."""

    def daily_rate(self, rug: Rug, loom: Loom) -> Range:
        """Return the stitches that one makes in a day: low, best and high.

        Raises
        ------
        RugError
            If the rate given is more than anybody makes.
        """

    def rate_reached(self, loom: Loom) -> tuple[Sentence, Basis]:
        """Return how far the rate may be off, in words, and what that rests on."""

    def rate_assumed(self, loom: Loom) -> Assumption:
        """Return the rate that stands in where none is given."""

    def rate_findings(self, loom: Loom, worker_days: float, area_m2: float) -> list[Finding]:
        """Return what is odd about a rate by which the rug, `area_m2` of it, takes `worker_days`."""
