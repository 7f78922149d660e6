"""What every craft provides: its words, what its pile and its ground take, and how fast the work goes.

Everything else deals with a craft through this one interface, so no other module needs to ask which craft it has.
A new craft is a module beside this one and a line in `crafts.py`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, Protocol

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
    """The words and sentences of a craft, which are looked up in the catalogue when they are said.

    Attributes
    ----------
    hands : tuple of str
        The people who make the rug, one and many: ``{n} weaver``, ``{n} weavers``.
    hand : str
        One of them by `number`, counted from the left.
    hands_label : str
        Their label on the cover and in the plan.
    hands_together : str
        Their label in the table of the time.
    pace : str
        What one worker does in a day, with the number as `rate`.
    pace_label : str
        The same, as a label in the table of the time.
    days_reached : str
        How the days are worked out.
    crowded : tuple of str
        One worker and many who have too little room: `seat` each, where one needs `needed`.
    stitch_label : str
        The label for the size of one stitch in the plan.
    grid : str
        The grid, with its `columns`, its `rows` and its `stitches` in all.
    whole : str
        The `size` that whole stitches give.
    mass, sheared : str
        What the mass of the rug includes and leaves out, as woven and as sheared.
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
    held: str
    ground: str

    def hands_of(self, number: int) -> str:
        """Return ``1 weaver``, ``3 weavers``."""
        return say_n(*self.hands, number)

    def pace_of(self, rate: float) -> str:
        """Return ``6,000 knots per weaver per day``."""
        return say(self.pace, rate=rate)


#: How far a rate given by the workshop may be off over a whole rug, as a share (estimate).
GIVEN_RATE_SPREAD = 0.15

#: The papers of a craft whose rugs are tied knot by knot.
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
#: The papers of a craft that follows a drawing.
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

#: What a rug has besides whose craft cannot weave all of it, so that the rest is tufted in.
INLAY_PAPERS = ("pattern.pdf", "guide.pdf", "pattern.svg")

#: The line along which the yarn of the pile stays the same.
Line = Literal["row", "column"]
#: A row of a table: the name by which it is found, its label, its figure, and a remark on it.
Row = tuple[str, str, str, str]


class Craft(Protocol):
    """A way to make a rug."""

    @property
    def name(self) -> Technique:
        """The name of the craft in [rug] technique."""

    @property
    def words(self) -> CraftWords:
        """The words and sentences of the craft."""

    @property
    def dialect(self) -> Dialect | None:
        """How the craft puts what is said of knots and weavers, or None if it says the same words."""

    @property
    def fringed(self) -> bool:
        """Whether warp hangs out at both ends of a rectangular rug."""

    @property
    def papers(self) -> tuple[str, ...]:
        """The files in a set of this craft, of which the summary comes last; other files are written on request."""

    def one_yarn_along(self, loom: Loom) -> Line | None:
        """Return the line along which the yarn of the pile cannot change, or None if it can change anywhere."""

    def loops_of(self, workshop: Workshop) -> tuple[str, ...]:
        """Return the codes of yarns whose pile is left in loops while the rest is cut."""

    @property
    def by_rows(self) -> bool:
        """Whether the rug is tied row by row across its whole width, so that a row can ask too much of a weaver."""

    @property
    def by_colour(self) -> bool:
        """Whether the rug is worked colour by colour, over its whole length, along a pattern in full size."""

    def stitch_mm(
        self, rug: Rug, loom: Loom, cut_mm: float, warp_tex: float, yarn_tex: float, fibre: str | None
    ) -> float:
        """Return the length of one strand in one stitch, in millimetres.

        Parameters
        ----------
        rug : Rug
        loom : Loom
        cut_mm : float
            The height at which the pile is cut.
        warp_tex, yarn_tex : float
            The tex of one warp end, and of all strands of the pile yarn together.
        fibre : str or None
            The fibre of the pile; wool if it is not known.
        """

    def stitch_at(self, length_mm: float, cut_mm: float, other_mm: float) -> float:
        """Return the yarn that a stitch takes at another height of the pile, if it takes `length_mm` at `cut_mm`."""

    def stitch_factors(self, yarn_spread: float) -> tuple[Range, Range]:
        """Return, as factors, how far off the length and the mass of a stitch may be that nobody measured.

        `yarn_spread` is the share by which the count may be off, 0 where it is known.
        """

    def stitch_reached(self, rug: Rug) -> tuple[Sentence, Sentence]:
        """Return the name of that length, and how it is worked out."""

    def stitch_spread_words(self, yarn_spread: float) -> Sentence:
        """Return, in words, how far off length and mass may be."""

    @property
    def sheared_reached(self) -> str:
        """How the grams of the sheared pile are reckoned."""

    def stitch_assumed(self, rug: Rug) -> list[Assumption]:
        """Return what is assumed in place of a measured stitch, besides the heights and the yarn of the pile."""

    @property
    def bound(self) -> bool:
        """Whether the sides are overcast with pile yarn."""

    def ground(self, rug: Rug, workshop: Workshop, inside_share: float = 1.0) -> Foundation:
        """Return what holds the pile: warp and weft, or a backing cloth.

        `inside_share` is the share of the grid's cells inside the rug's outline.

        Raises
        ------
        RugError
            If a yarn of the ground is too thick for the density.
        """

    def ground_rows(self, ground: Foundation, measures: Measures) -> list[Row]:
        """Return the ground as lines of a table."""

    def ground_facts(self, ground: Foundation) -> list[tuple[str, str]]:
        """Return what the cover of the chart says of the ground, as lines of a label and a value."""

    def daily_rate(self, rug: Rug, loom: Loom) -> Range:
        """Return the stitches that one worker makes in a day: low, best and high.

        Raises
        ------
        RugError
            If the given rate is more than anybody can make.
        """

    def rate_reached(self, loom: Loom) -> tuple[Sentence, Basis]:
        """Return, in words, how far the rate may be off, and what that rests on."""

    def rate_assumed(self, loom: Loom) -> Assumption | None:
        """Return the rate that is assumed if none is given, or None if a key of the craft's own gives one."""

    def rate_findings(self, loom: Loom, worker_days: float, area_m2: float) -> list[Finding]:
        """Return what is odd about a rate at which a rug of `area_m2` takes `worker_days`."""
