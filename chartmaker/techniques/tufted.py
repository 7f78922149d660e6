"""The hand-tufted rug: tufts shot through a backing cloth that is stretched in a frame."""

from __future__ import annotations

from dataclasses import dataclass

from chartmaker.ground.basis import Assumption, Basis, Reached
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import Dialect, phrase, say, told
from chartmaker.ground.lengths import cm_words
from chartmaker.ground.measures import Measures
from chartmaker.ground.ranges import Range, total
from chartmaker.ground.sentence import Sentence, later
from chartmaker.ground.units import FOOT_MM
from chartmaker.order.rug import Rug, Technique
from chartmaker.order.workshop import Loom, Workshop
from chartmaker.techniques.craft import DRAWN_PAPERS, GIVEN_RATE_SPREAD, CraftWords, Line, Row
from chartmaker.techniques.foundation import (
    NO_WEFT,
    Foundation,
    Material,
    density_words,
    on_the_loom,
    shrinkage_assumptions,
)
from chartmaker.techniques.yarnsize import default_warp, default_weft

#: Grams of pile on a square metre for each millimetre of its height; three data sheets say 179 to 205 (common practice;
#: dense low pile is heavier).
PILE_G_PER_M2_MM, LEAST_G_PER_M2_MM, MOST_G_PER_M2_MM = 200.0, 179.0, 205.0
#: Cloth, latex and second backing together weigh about 2.0 kg a square metre (common practice). How much of it each
#: is, and how far off it may be, are estimates.
GROUND_SPREAD = 0.20
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
    pace=phrase("{rate:,.0f} tufts per tufter per day"),
    pace_label=phrase("tufts per tufter per day"),
    days_reached=phrase("tufts / (tufters x tufts per day), rounded up to whole days; months up to tenths"),
    crowded=(
        phrase("{n} tufter has {seat}; usual are {needed}, and at least {least}."),
        phrase("{n} tufters have {seat} each; usual are {needed}, and at least {least}."),
    ),
    stitch_label=phrase("One tuft"),
    grid=phrase("{columns:,} columns x {rows:,} rows = {stitches:,} tufts"),
    whole=phrase("{size} in whole tufts"),
    mass=phrase("with cloth, latex and second backing, before shearing"),
    held=phrase("with cloth, latex and second backing"),
    ground=phrase("Backing"),
)
_DIALECT = Dialect(
    words=(
        ("knot", "tuft"),
        ("knots", "tufts"),
        ("tie", "tuft"),
        ("ties", "tufts"),
        ("tied", "tufted"),
        ("untied", "untufted"),
        ("weave", "tuft"),
        ("weaves", "tufts"),
        ("weaving", "tufting"),
        ("woven", "tufted"),
        ("weaver", "tufter"),
        ("weavers", "tufters"),
    ),
    sentences=(
        (
            "Row 1 is the first woven, column 1 the leftmost seen from the pile side.",
            "Row 1 is at the foot, column 1 the leftmost seen from the pile side.",
        ),
        ("Sections, first woven first", "Sections, from the foot up"),
        ("Pile cut", "Pile tufted"),
        ("cut {cut_mm}, finished {pile_mm} mm", "tufted {cut_mm}, finished {pile_mm} mm"),
        (
            "The pile of each knot is cut {cut} high at the loom; shorn and finished it is {pile}.",
            "The pile is tufted {cut} high; shorn and finished it is {pile}.",
        ),
        (
            "{own_code} is cut {own_cut_mm}, finished {own_pile_mm} mm.",
            "{own_code} is tufted {own_cut_mm}, finished {own_pile_mm} mm.",
        ),
        ("{unit} cut, finished", "{unit} tufted, finished"),
        ("mm cut", "mm tufted"),
    ),
)


@dataclass(frozen=True)
class Tufted:
    """The craft of the hand-tufted rug."""

    name: Technique = "tufted"
    by_rows: bool = False
    by_colour: bool = True
    papers: tuple[str, ...] = DRAWN_PAPERS
    bound: bool = False
    words: CraftWords = _WORDS
    dialect: Dialect | None = _DIALECT
    fringed: bool = False
    sheared_reached: str = phrase("net grams x pile height / cut height")

    def one_yarn_along(self, loom: Loom) -> Line | None:
        """Return None: any yarn can stand anywhere."""
        return None

    def loops_of(self, workshop: Workshop) -> tuple[str, ...]:
        """Return the codes of yarns whose pile is left in loops."""
        return workshop.pattern.loops

    def stitch_mm(
        self, rug: Rug, loom: Loom, cut_mm: float, warp_tex: float, yarn_tex: float, fibre: str | None
    ) -> float:
        """Return the length of yarn in the pile of one tuft, which is its grams, by area and height, over its tex."""
        place_mm2 = float(rug.density.knot_width_mm * rug.density.knot_height_mm)
        return PILE_G_PER_M2_MM * cut_mm * place_mm2 / yarn_tex

    def stitch_at(self, length_mm: float, cut_mm: float, other_mm: float) -> float:
        """Return the length at another height, because the yarn of a tuft is in proportion to its height."""
        return length_mm * other_mm / cut_mm

    def stitch_factors(self, yarn_spread: float) -> tuple[Range, Range]:
        """Return the spread of the metres, which adds that of the count, and the spread of the mass by area."""
        mass = Range(LEAST_G_PER_M2_MM / PILE_G_PER_M2_MM, 1.0, MOST_G_PER_M2_MM / PILE_G_PER_M2_MM)
        return Range(mass.low * (1 - yarn_spread), 1.0, mass.high * (1 + yarn_spread)), mass

    def stitch_spread_words(self, yarn_spread: float) -> Sentence:
        """Return, in words, how far mass and length may be off."""
        return later(
            "mass at {least:g} and {most:g} g per square metre and millimetre of pile; {more:g} % more either way in "
            "length for a yarn without a count",
            least=LEAST_G_PER_M2_MM,
            most=MOST_G_PER_M2_MM,
            more=yarn_spread * 100,
        )

    def stitch_assumed(self, rug: Rug) -> list[Assumption]:
        """Return the mass by area and height, which is assumed."""
        value = later("{grams:g} g for each mm of its height", grams=PILE_G_PER_M2_MM)
        why = later(
            "data sheets run from {least:g} to {most:g}; dense low pile is heavier, so weigh a sample "
            "([pile] grams_per_m2)",
            least=LEAST_G_PER_M2_MM,
            most=MOST_G_PER_M2_MM,
        )
        return [Assumption(later("pile on a square metre"), value, why, "common practice")]

    def stitch_reached(self, rug: Rug) -> tuple[Sentence, Sentence]:
        """Return the name of that length, and how it is worked out."""
        how = later(
            "{grams:g} g per square metre and millimetre x cut height x area of a tuft / tex of all strands "
            "(data sheets)",
            grams=PILE_G_PER_M2_MM,
        )
        return later("length per tuft"), how

    def ground(self, rug: Rug, workshop: Workshop, inside_share: float = 1.0) -> Foundation:
        """Return cloth, latex and second backing."""
        return backing_of(rug, workshop, inside_share)

    def ground_rows(self, ground: Foundation, measures: Measures) -> list[Row]:
        """Return the backing cloth as lines of a table."""
        density = density_words(ground)
        return [
            ("size", say("size in the frame"), measures.size(ground.loom_width_mm, ground.loom_length_mm), density),
            ("backing", say("backing cloth"), measures.area.text(ground.backing_cloth_m2), say("with margins")),
            *(
                (
                    "material",
                    say("{material} in the rug", material=say(material.what)),
                    measures.mass.text(material.in_rug_g.best),
                    measures.mass.range_text(material.in_rug_g),
                )
                for material in ground.materials
                if material.in_rug_g is not None
            ),
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
        """Return, in words, how far the rate may be off, and what that rests on."""
        given = "knots_per_weaver_day" in loom.model_fields_set
        share = (GIVEN_RATE_SPREAD if given else RATE_SPREAD) * 100
        return later("the rate {share:g} % either way", share=share), "estimate"

    def rate_assumed(self, loom: Loom) -> Assumption:
        """Return the rate that is assumed if none is given."""
        value = later("{area_m2:.2f} m2 per worker-day", area_m2=M2_PER_WORKER_DAY)
        return Assumption(_KEY, value, later("a 5 x 8 ft rug takes about ten worker-days"), "common practice")

    def rate_findings(self, loom: Loom, worker_days: float, area_m2: float) -> list[Finding]:
        """Return a warning if the rate is far from common practice."""
        usual = area_m2 / M2_PER_WORKER_DAY
        if usual / 2 <= worker_days <= usual * 2:
            return []
        what = later(
            "This rate gives {ours:.3g} worker-days; common practice (ten for 5 x 8 ft) gives {usual:.3g}.",
            ours=worker_days,
            usual=usual,
        )
        return [Finding(what, _KEY, "warning")]


def _materials(rug: Rug, loom: Loom, cloth_m2: float, inside_share: float) -> tuple[Material, ...]:
    """Return how much is bought of cloth, latex and second backing, and how much is in the finished rug."""
    area_m2 = rug.knots * inside_share / float(rug.density.per_m2)

    def in_rug_g(per_m2_g: float, key: str) -> Range:
        return Range.around(area_m2 * per_m2_g, 0.0 if key in loom.model_fields_set else GROUND_SPREAD)

    cloth_g = in_rug_g(float(loom.cloth_per_m2_g), "cloth_per_m2_g")
    latex_g = in_rug_g(float(loom.latex_per_m2_g), "latex_per_m2_g")
    second_g = in_rug_g(float(loom.second_backing_per_m2_g), "second_backing_per_m2_g")
    return (
        Material(phrase("backing cloth"), "backing_per_m2", area_m2=cloth_m2, in_rug_g=cloth_g),
        Material(phrase("latex"), "latex_per_kg", mass_g=latex_g, in_rug_g=latex_g),
        Material(phrase("second backing"), "second_backing_per_m2", area_m2=area_m2, in_rug_g=second_g),
    )


def _assumptions(loom: Loom, margin_mm: float) -> tuple[Assumption, ...]:
    assumed = shrinkage_assumptions(loom)
    given = loom.model_fields_set
    if "backing_margin_mm" not in given:
        why = later("cloth to hold in the frame, on every side")
        assumed.append(Assumption("[loom] backing_margin", cm_words(margin_mm), why, "common practice"))
    why = later(
        "cloth, latex and second backing together are about 2.0 kg per square metre (common practice); how they share "
        "it is an estimate"
    )
    for key, name in (
        ("[loom] cloth_per_m2", "cloth_per_m2_g"),
        ("[loom] latex_per_m2", "latex_per_m2_g"),
        ("[loom] second_backing_per_m2", "second_backing_per_m2_g"),
    ):
        if name not in given:
            assumed.append(Assumption(key, f"{float(getattr(loom, name)):g} g", why, "estimate"))
    return tuple(assumed)


def backing_of(rug: Rug, workshop: Workshop, inside_share: float = 1.0) -> Foundation:
    """Return what holds the tufts, which is latex, a second backing, and a cloth with a margin on every side.

    `inside_share` is the share of the grid's cells inside the rug's outline; latex and second backing lie only there.
    """
    loom = workshop.loom
    width_mm = on_the_loom(float(rug.woven_width_mm), loom.shrinkage_across)
    length_mm = on_the_loom(float(rug.woven_length_mm), loom.shrinkage_along)
    margin_mm = float(loom.backing_margin_mm)
    cloth_m2 = (width_mm + 2 * margin_mm) * (length_mm + 2 * margin_mm) / 1e6
    materials = _materials(rug, loom, cloth_m2, inside_share)
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
        in_rug_g=total(material.in_rug_g for material in materials if material.in_rug_g is not None),
        backing_cloth_m2=cloth_m2,
        materials=materials,
        reached=(
            Reached(later("size in the frame"), later("finished / (1 - shrinkage), each way"), "arithmetic"),
            Reached(later("backing cloth"), later("(width + 2 x margin) x (length + 2 x margin)"), "arithmetic"),
            Reached(
                later("latex and second backing"),
                later("area inside the outline x mass per square metre"),
                "arithmetic",
            ),
        ),
        assumptions=_assumptions(loom, margin_mm),
        findings=(),
    )
