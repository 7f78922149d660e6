"""The hand-tufted rug: tufts shot through a backing cloth that is stretched in a frame."""

from __future__ import annotations

from dataclasses import dataclass

from chartmaker.ground.basis import Assumption, Basis, Reached
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import phrase, say, told
from chartmaker.ground.lengths import cm_words
from chartmaker.ground.measures import Measures
from chartmaker.ground.ranges import Range
from chartmaker.ground.sentence import Sentence, later
from chartmaker.ground.units import FOOT_MM
from chartmaker.order.rug import Rug, Technique
from chartmaker.order.workshop import Loom, Workshop
from chartmaker.techniques.craft import DRAWN_PAPERS, GIVEN_RATE_SPREAD, CraftWords, Row
from chartmaker.techniques.foundation import NO_WEFT, Foundation, Material, on_the_loom, shrinkage_assumptions
from chartmaker.techniques.yarnsize import default_warp, default_weft

#: A 5 x 8 ft rug takes about ten worker-days (common practice).
M2_PER_WORKER_DAY = float(40 * FOOT_MM**2) / 1e6 / 10
#: How far the common rate of tufting may be off, as a share (estimate).
RATE_SPREAD = 0.30

_KEY = "[loom] knots_per_weaver_day"
_WORDS = CraftWords(
    hands=(phrase("{n} tufter"), phrase("{n} tufters")),
    hand=phrase("tufter {number}"),
    hands_label=phrase("Tufters"),
    hands_together=phrase("tufters side by side"),
    pace=phrase("{rate:,.0f} tufts a tufter a day"),
    pace_label=phrase("tufts a tufter a day"),
    days_reached=phrase("tufts / (tufters x tufts a day), up to whole days; months up to tenths"),
    crowded=(
        phrase("{n} tufter has {seat}; one needs about {needed}."),
        phrase("{n} tufters have {seat} each; one needs about {needed}."),
    ),
    stitch_label=phrase("One tuft"),
    grid=phrase("{columns:,} columns x {rows:,} rows = {stitches:,} tufts"),
    whole=phrase("{size} in whole tufts"),
    mass=phrase("pile only, without backing"),
    sheared=phrase("pile only, without backing"),
    ground=phrase("Backing"),
)


@dataclass(frozen=True)
class Tufted:
    """The craft of the hand-tufted rug."""

    name: Technique = "tufted"
    by_rows: bool = False
    papers: tuple[str, ...] = DRAWN_PAPERS
    bound: bool = False
    words: CraftWords = _WORDS

    def stitch_mm(self, rug: Rug, cut_mm: float, warp_tex: float, yarn_tex: float, fibre: str | None) -> float:
        """Return two cut heights with the stitch between them."""
        return 2 * cut_mm + float(rug.density.knot_height_mm)

    def stitch_reached(self, rug: Rug) -> tuple[Sentence, Sentence]:
        """Return what that length is called, and how it is reckoned."""
        return later("length per tuft"), later("2 x cut height + one stitch")

    def ground(self, rug: Rug, workshop: Workshop, inside_share: float = 1.0) -> Foundation:
        """Return the backing cloth."""
        return backing_of(rug, workshop)

    def ground_rows(self, ground: Foundation, measures: Measures) -> list[Row]:
        """Return the backing cloth as lines of a table."""
        density = say(
            "{across:.2f} knots x {along:.2f} rows per dm", across=ground.knots_across_per_dm, along=ground.rows_per_dm
        )
        return [
            (say("size in the frame"), measures.size(ground.loom_width_mm, ground.loom_length_mm), density),
            (say("backing cloth"), measures.area.text(ground.backing_cloth_m2), say("with margins")),
        ]

    def ground_facts(self, ground: Foundation) -> list[tuple[str, str]]:
        """Return what the cover of the chart says of the backing cloth."""
        return [(say("Backing cloth"), told("{backing_m2:.2f} m2", backing_m2=ground.backing_cloth_m2))]

    def daily_rate(self, rug: Rug, loom: Loom) -> Range:
        """Return the tufts that one tufter makes in a day: low, best and high."""
        if "knots_per_weaver_day" in loom.model_fields_set:
            return Range.around(loom.knots_per_weaver_day, GIVEN_RATE_SPREAD)
        return Range.around(M2_PER_WORKER_DAY * float(rug.density.per_m2), RATE_SPREAD)

    def rate_reached(self, loom: Loom) -> tuple[Sentence, Basis]:
        """Return how far the rate may be off, in words, and what that rests on."""
        given = "knots_per_weaver_day" in loom.model_fields_set
        share = (GIVEN_RATE_SPREAD if given else RATE_SPREAD) * 100
        return later("the rate {share:g} % either way", share=share), "estimate"

    def rate_assumed(self, loom: Loom) -> Assumption:
        """Return the rate that stands in where none is given."""
        value = later("{area_m2:.2f} m2 a worker-day", area_m2=M2_PER_WORKER_DAY)
        return Assumption(_KEY, value, later("a 5 x 8 ft rug takes about ten worker-days"), "common practice")

    def rate_findings(self, loom: Loom, worker_days: float, area_m2: float) -> list[Finding]:
        """Return a warning where the rate is far from common practice."""
        usual = area_m2 / M2_PER_WORKER_DAY
        if usual / 2 <= worker_days <= usual * 2:
            return []
        what = later(
            "This rate gives {ours:.3g} worker-days; common practice (ten for 5 x 8 ft) gives {usual:.3g}.",
            ours=worker_days,
            usual=usual,
        )
        return [Finding(what, _KEY, "warning")]


def backing_of(rug: Rug, workshop: Workshop) -> Foundation:
    """Return the backing cloth of a tufted rug: its size in the frame, with a margin on every side."""
    loom = workshop.loom
    width_mm = on_the_loom(float(rug.woven_width_mm), loom.shrinkage_across)
    length_mm = on_the_loom(float(rug.woven_length_mm), loom.shrinkage_along)
    margin_mm = float(loom.backing_margin_mm)
    cloth_m2 = (width_mm + 2 * margin_mm) * (length_mm + 2 * margin_mm) / 1e6
    assumed = shrinkage_assumptions(loom)
    if "backing_margin_mm" not in loom.model_fields_set:
        why = later("cloth to hold in the frame, on every side")
        assumed.append(Assumption("[loom] backing_margin", cm_words(margin_mm), why, "common practice"))
    return Foundation(
        loom_width_mm=width_mm,
        loom_length_mm=length_mm,
        warp_pitch_mm=0.0,
        knots_across_per_dm=rug.columns * 100 / width_mm,
        rows_per_dm=rug.rows * 100 / length_mm,
        warp=loom.warp or default_warp(rug.density),
        weft=loom.weft or default_weft(rug.density, loom.picks),
        thin_weft=None,
        warp_ends=0,
        warp_end_m=0.0,
        warp_length_m=0.0,
        warp_mass_g=0.0,
        weft_rows=0,
        picks=0,
        thin_picks=0,
        outside_picks=0,
        wefts=NO_WEFT,
        weft_length_m=Range.exact(0.0),
        weft_mass_g=Range.exact(0.0),
        in_rug_g=Range.exact(0.0),
        backing_cloth_m2=cloth_m2,
        materials=(Material(phrase("backing cloth"), "backing_per_m2", area_m2=cloth_m2),),
        reached=(
            Reached(later("size in the frame"), later("finished / (1 - shrinkage), each way"), "arithmetic"),
            Reached(later("backing cloth"), later("(width + 2 x margin) x (length + 2 x margin)"), "arithmetic"),
        ),
        assumptions=tuple(assumed),
        findings=(),
    )
