"""The rug of a hand loom with rods: yarn looped round a rod in each row, then cut along it or left as loops."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from chartmaker.ground.basis import Assumption, Basis, Reached
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import Dialect, phrase, say, told
from chartmaker.ground.measures import Measures
from chartmaker.ground.ranges import Range
from chartmaker.ground.sentence import Sentence, english, later
from chartmaker.ground.units import INCH_MM
from chartmaker.knots.strips import weavers_of
from chartmaker.order.rug import Rug, Technique
from chartmaker.order.workshop import Loom, Workshop
from chartmaker.techniques.craft import GIVEN_RATE_SPREAD, CraftWords, Line, Row
from chartmaker.techniques.foundation import Foundation, Material, foundation_of
from chartmaker.techniques.knotted import KNOTTED, Knotted

#: The model may be off by this share, since nothing is published about it (estimate).
MODEL_SPREAD = 0.20
#: A weaver weaves about this much in a day, give or take a half (estimate, without a source).
M2_PER_WEAVER_DAY, RATE_SPREAD = 1.0, 0.50
#: What a hand loom's weaver works from.
BAND_PAPERS = ("knots.png", "bands.pdf", "bands.csv", "yarns.csv", "proof.png", "proof.html", "summary.json")

_KEY = "[loom] days"
_WORDS = replace(
    KNOTTED.words,
    pace=phrase("{rate:,.0f} points per weaver per day"),
    pace_label=phrase("points per weaver per day"),
    days_reached=phrase("points / (weavers x points per day), rounded up to whole days; months up to tenths"),
    stitch_label=phrase("One point"),
    grid=phrase("{columns:,} points across x {rows:,} rods = {stitches:,} points"),
    whole=phrase("{size} in whole points"),
    mass=phrase("off the loom, with its ends, before shearing"),
    ground=phrase("Warp, weft and rods"),
)
_DIALECT = Dialect(
    words=(
        ("knot", "point"),
        ("knots", "points"),
        ("tie", "weave"),
        ("ties", "weaves"),
        ("tied", "woven"),
        ("untied", "unwoven"),
        ("row", "rod"),
        ("rows", "rods"),
    )
)


def reed_ends_per_m(reed: float) -> float:
    """Return the warp ends on a metre for a reed that is named by its ends on two inches, so that 10 gives 196.85."""
    return reed / (2 * float(INCH_MM) / 1000)


def pile_length(rod_mm: float, points_per_mm: float) -> float:
    """Return the length of pile yarn over the length of cloth that it lies on, 1 + 2 h r (our own, without a source).

    The yarn goes up and down by h at each of r points on a length. The points are the rods if the yarn runs with the
    warp, and the points along one rod if it is laid in with the weft. A weighed sample overrides this.
    """
    return 1 + 2 * rod_mm * points_per_mm


@dataclass(frozen=True)
class HandLoomed(Knotted):
    """The craft of the hand loom with rods; where it says nothing of its own, it is as in a knotted rug."""

    name: Technique = "hand-loomed"
    by_rows: bool = False
    by_colour: bool = False
    papers: tuple[str, ...] = BAND_PAPERS
    bound: bool = False
    words: CraftWords = _WORDS
    dialect: Dialect | None = _DIALECT
    model_spread: float = MODEL_SPREAD

    def one_yarn_along(self, loom: Loom) -> Line | None:
        """Return the line along which the yarn of the pile cannot change."""
        return "row" if loom.pile_yarn == "weft" else "column"

    def stitch_mm(
        self, rug: Rug, loom: Loom, cut_mm: float, warp_tex: float, yarn_tex: float, fibre: str | None
    ) -> float:
        """Return the yarn from one point to the next, (1 + 2 h r) / r for r points along the yarn."""
        across = loom.pile_yarn == "weft"
        pitch_mm = float(rug.density.knot_width_mm if across else rug.density.knot_height_mm)
        return pile_length(cut_mm, 1 / pitch_mm) * pitch_mm

    def stitch_assumed(self, rug: Rug) -> list[Assumption]:
        """Return nothing, because nothing is knotted and the model rests only on what is given anyway."""
        return []

    def stitch_spread_words(self, yarn_spread: float) -> Sentence:
        """Return how far off length and mass may be, in words."""
        return later(
            "length {spread:g} % either way, our own model until a sample is weighed; {more:g} % more in mass for a "
            "yarn without a count",
            spread=self.model_spread * 100,
            more=yarn_spread * 100,
        )

    def stitch_reached(self, rug: Rug) -> tuple[Sentence, Sentence]:
        """Return what that length is called, and how it is reckoned."""
        how = later(
            "(1 + 2 x rod height x points on a length) / points on a length, along the pile yarn; ours, weigh a sample"
        )
        return later("length per point"), how

    def ground(self, rug: Rug, workshop: Workshop, inside_share: float = 1.0) -> Foundation:
        """Return warp, weft and rods, with the ends counted by the reed and the passes of weft by the rod."""
        return _reeded(foundation_of(rug, workshop, inside_share), rug, workshop.loom)

    def ground_rows(self, ground: Foundation, measures: Measures) -> list[Row]:
        """Return reed, warp, weft and rods as lines of a table."""
        rows = super().ground_rows(ground, measures)
        rods = ("rods", say("rods woven"), f"{ground.weft_rows:,}", told("{rods:.2f} a dm", rods=ground.rows_per_dm))
        reed = (
            "reed",
            say("reed"),
            told("{reed:g} ends on 2 in", reed=ground.reed),
            told("{ends:.2f} ends a m", ends=reed_ends_per_m(ground.reed)),
        )
        kept = [row for row in rows if row[0] != "pitch"]
        return [kept[0], reed, *kept[1:], rods]

    def daily_rate(self, rug: Rug, loom: Loom) -> Range:
        """Return the points that one weaver makes in a day, by the days that are given or else by area."""
        if loom.days is not None:
            weavers = weavers_of(rug, Workshop(loom=loom))
            return Range.exact(rug.knots / (loom.days * weavers))
        if "knots_per_weaver_day" in loom.model_fields_set:
            return Range.around(loom.knots_per_weaver_day, GIVEN_RATE_SPREAD)
        return Range.around(M2_PER_WEAVER_DAY * float(rug.density.per_m2), RATE_SPREAD)

    def rate_reached(self, loom: Loom) -> tuple[Sentence, Basis]:
        """Return how far the rate may be off, in words, and what that rests on."""
        if loom.days is not None:
            return later("as given: [loom] days"), "given"
        given = "knots_per_weaver_day" in loom.model_fields_set
        share = (GIVEN_RATE_SPREAD if given else RATE_SPREAD) * 100
        return later("the rate {share:g} % either way", share=share), "estimate"

    def rate_assumed(self, loom: Loom) -> Assumption | None:
        """Return the rate that is assumed if none is given."""
        if loom.days is not None:
            return None
        value = later("{area_m2:g} m2 a weaver-day", area_m2=M2_PER_WEAVER_DAY)
        return Assumption(_KEY, value, later("no source gives a rate; give the days that you know"), "estimate")

    def rate_findings(self, loom: Loom, worker_days: float, area_m2: float) -> list[Finding]:
        """Return nothing, because there is no usual rate to compare it with."""
        return []


def _reeded(ground: Foundation, rug: Rug, loom: Loom) -> Foundation:
    """Return the ground with the warp ends of the reed in place of two for each point."""
    holding = round(ground.loom_width_mm / 1000 * reed_ends_per_m(loom.reed))
    ends = holding + loom.selvedge_ends
    share = ends / ground.warp_ends
    in_rug = ground.warp_mass_g * (1 - float(loom.loom_waste_mm) / 1000 / ground.warp_end_m)
    warp_g = ground.warp_mass_g * share
    how = later("width on the loom x [loom] reed / 2 inch + [loom] selvedge")
    kept = [each for each in ground.reached if english(each.figure) != "warp ends"]
    assumed = list(ground.assumptions)
    if "reed" not in loom.model_fields_set:
        assumed.append(Assumption("[loom] reed", f"{loom.reed:g}", later("ends on two inches"), "common practice"))
    return replace(
        ground,
        reed=loom.reed,
        warp_ends=ends,
        warp_pitch_mm=ground.loom_width_mm / ends,
        warp_length_m=ground.warp_length_m * share,
        warp_mass_g=warp_g,
        in_rug_g=ground.in_rug_g.plus(in_rug * (share - 1)),
        materials=(
            Material(phrase("warp"), "warp_per_kg", mass_g=Range.exact(warp_g)),
            *ground.materials[1:],
        ),
        reached=(*kept, Reached(later("warp ends"), how, "arithmetic")),
        assumptions=tuple(assumed),
        findings=tuple(_unheld(ground, rug, loom, holding)),
    )


def _unheld(ground: Foundation, rug: Rug, loom: Loom, ends: int) -> Iterator[Finding]:
    """Yield a remark if a rod has more points than warp ends to hold them, since its pile then takes less yarn.

    A loop that is laid in with the weft rises between two ends, so that it needs one of its own (common practice).
    """
    if loom.pile_yarn != "weft" or rug.columns <= ends:
        return
    what = later(
        "{points:,} points lie along a rod, but the reed has {ends:,} ends to hold them, and a loop rises between two "
        "ends. The grams are for all points: give at most {across:.1f} points on 10 cm in [rug] density, or a reed of "
        "at least {reed}.",
        points=rug.columns,
        ends=ends,
        across=math.floor(ends / float(rug.woven_width_mm) * 1000) / 10,
        reed=math.ceil(rug.columns / ground.loom_width_mm * 2 * float(INCH_MM)),
    )
    yield Finding(what, "[loom] reed", "warning")
