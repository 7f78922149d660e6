"""The hand-knotted rug: knots tied row by row on the warps of a loom, with weft beaten in between."""

from __future__ import annotations

import math
from dataclasses import dataclass

from chartmaker.ground.basis import Assumption, Basis
from chartmaker.ground.errors import RugError
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import Dialect, field, phrase, say, told, told_n
from chartmaker.ground.lengths import cm_number
from chartmaker.ground.measures import Measures
from chartmaker.ground.ranges import Range
from chartmaker.ground.sentence import Sentence, later
from chartmaker.ground.units import INCH_MM, YARD_MM, YarnCount
from chartmaker.order.rug import Rug, Technique
from chartmaker.order.workshop import Loom, Workshop
from chartmaker.techniques.craft import GIVEN_RATE_SPREAD, KNOT_PAPERS, CraftWords, Line, Row
from chartmaker.techniques.foundation import Foundation, density_words, foundation_of
from chartmaker.techniques.yarnsize import PACKING, diameter_mm

#: The path of a knot's yarn besides its two cut ends: how many warp pitches it runs along, and how often it turns round
#: a warp. The asymmetric knot turns fully round one warp and passes behind the other. Taken from drawings of the knots,
#: not from a published table.
WRAP = {"symmetric": (2.0, 1.0), "asymmetric": (2.0, 0.75), "looped": (2.0, 1.0)}
#: Published sustained rates of one weaver run from 5,000 to 14,000 knots a day.
RATE_LOW, RATE_HIGH = 5_000, 14_000
#: An expert's peak is one knot a second (common practice).
PEAK_PER_HOUR = 3_600
#: The model may be off by this share, because the knot's path is drawn and not measured (estimate).
MODEL_SPREAD = 0.20

_KEY = "[loom] knots_per_weaver_day"
_WORDS = CraftWords(
    hands=(phrase("{n} weaver"), phrase("{n} weavers")),
    hand=phrase("weaver {number}"),
    hands_label=phrase("Weavers"),
    hands_together=phrase("weavers side by side"),
    pace=phrase("{rate:,.0f} knots per weaver per day"),
    pace_label=phrase("knots per weaver per day"),
    days_reached=phrase("knots / (weavers x knots per day), rounded up to whole days; months up to tenths"),
    crowded=(
        phrase("{n} weaver has {seat}; usual are {needed}, and at least {least}."),
        phrase("{n} weavers have {seat} each; usual are {needed}, and at least {least}."),
    ),
    stitch_label=phrase("One knot"),
    grid=phrase("{columns:,} columns x {rows:,} rows = {stitches:,} knots"),
    whole=phrase("{size} in whole knots"),
    mass=phrase("off the loom, with its ends, before shearing"),
    held=phrase("with its ends"),
    ground=phrase("Foundation"),
)


def warp_pitch_mm(rug: Rug) -> float:
    """Return the distance from one warp to the next in the finished rug; a knot sits on two."""
    return float(rug.density.knot_width_mm) / 2


@dataclass(frozen=True)
class Knotted:
    """The craft of the hand-knotted rug."""

    name: Technique = "knotted"
    by_rows: bool = True
    by_colour: bool = False
    papers: tuple[str, ...] = KNOT_PAPERS
    bound: bool = True
    words: CraftWords = _WORDS
    dialect: Dialect | None = None
    fringed: bool = True
    model_spread: float = MODEL_SPREAD
    sheared_reached: str = phrase("net grams x (length per knot - 2 x (cut height - pile height)) / length per knot")

    def one_yarn_along(self, loom: Loom) -> Line | None:
        """Return None, because any yarn can stand anywhere."""
        return None

    def loops_of(self, workshop: Workshop) -> tuple[str, ...]:
        """Return no codes: every knot is cut."""
        return ()

    def stitch_mm(
        self, rug: Rug, loom: Loom, cut_mm: float, warp_tex: float, yarn_tex: float, fibre: str | None
    ) -> float:
        """Return the sum of two cut heights, two warp pitches, and pi x (warp + yarn diameter) for each turn in `WRAP`.

        This is the project's own estimate; a measured length or a weighed sample overrides it.
        """
        pitches, turns = WRAP[rug.knot_kind]
        thickness_mm = diameter_mm(warp_tex, "cotton") + diameter_mm(yarn_tex, fibre)
        return 2 * cut_mm + pitches * warp_pitch_mm(rug) + turns * math.pi * thickness_mm

    def stitch_at(self, length_mm: float, cut_mm: float, other_mm: float) -> float:
        """Return the length of a stitch whose two ends are longer or shorter."""
        return length_mm + 2 * (other_mm - cut_mm)

    def stitch_factors(self, yarn_spread: float) -> tuple[Range, Range]:
        """Return the spread of the length, which is the model's, and of the mass, which adds that of the count."""
        return Range.around(1.0, self.model_spread), Range.around(1.0, self.model_spread + yarn_spread)

    def stitch_spread_words(self, yarn_spread: float) -> Sentence:
        """Return how far off length and mass may be, in words."""
        return later(
            "length {spread:g} % either way, because the knot is not measured; {more:g} % more in mass for a yarn "
            "without a count",
            spread=self.model_spread * 100,
            more=yarn_spread * 100,
        )

    def stitch_assumed(self, rug: Rug) -> list[Assumption]:
        """Return the kind of knot if the order does not say it, for the model rests on that."""
        if "knot" in rug.model_fields_set:
            return []
        why = later("the knot decides how much yarn it takes; all weavers of a rug tie one knot, open to one side")
        return [Assumption("[rug] knot", later(rug.knot), why, "common practice")]

    def stitch_reached(self, rug: Rug) -> tuple[Sentence, Sentence]:
        """Return the name of that length, and how it is worked out."""
        how = later(
            "2 x cut height + 2 x warp pitch + {turns:g} x pi x (warp + yarn diameter) for the {knot} knot, diameters "
            "from count and fibre density at {packing:g} packing (Peirce)",
            turns=WRAP[rug.knot_kind][1],
            knot=rug.knot_kind,
            packing=PACKING,
        )
        return later("length per knot"), how

    def ground(self, rug: Rug, workshop: Workshop, inside_share: float = 1.0) -> Foundation:
        """Return warp and weft."""
        return foundation_of(rug, workshop, inside_share)

    def ground_rows(self, ground: Foundation, measures: Measures) -> list[Row]:
        """Return warp, weft and the size on the loom as lines of a table."""
        mass, length = measures.mass, measures.yarn_length
        density = density_words(ground)
        pitch = field("detail", f"{ground.warp_pitch_mm / float(INCH_MM):.4f} in")
        end = field("detail", f"{ground.warp_end_m * 1000 / float(YARD_MM):.2f} yd")
        wefts_m = ground.weft_length_m
        passes = told(
            "{all_picks:,} picks, {picks} per row, {count}",
            picks=ground.picks,
            all_picks=ground.weft_rows * ground.picks,
            count=_count(ground.weft),
        )
        return [
            ("size", say("size on the loom"), measures.size(ground.loom_width_mm, ground.loom_length_mm), density),
            (
                "pitch",
                say("warp pitch on the loom"),
                f"{ground.warp_pitch_mm:.3f} mm",
                pitch,
            ),
            ("ends", say("warp ends"), f"{ground.warp_ends:,}", _count(ground.warp)),
            ("end", say("length of one warp end"), f"{ground.warp_end_m:.2f} m", end),
            (
                "warp",
                say("warp in all"),
                length.text(ground.warp_length_m),
                field("detail", mass.text(ground.warp_mass_g)),
            ),
            ("weft-rows", say("rows with weft"), f"{ground.weft_rows:,}", passes),
            *_weft_parts(ground, measures),
            (
                "weft",
                say("weft in all"),
                length.text(wefts_m.best),
                length.range_text(wefts_m),
            ),
            ("weft-mass", say("weft mass"), mass.text(ground.weft_mass_g.best), mass.range_text(ground.weft_mass_g)),
        ]

    def ground_facts(self, ground: Foundation) -> list[tuple[str, str]]:
        """Return what the cover of the chart says of warp, weft and the size on the loom."""
        warp = told(
            "{warp_ends:,} ends, {warp_count}; length of one end {warp_end_m:.2f} m",
            warp_ends=ground.warp_ends,
            warp_end_m=ground.warp_end_m,
            warp_count=ground.warp.notation,
        )
        weft = told_n(
            "{weft_count}, {picks} pass per row",
            "{weft_count}, {picks} passes per row",
            ground.picks,
            picks=ground.picks,
            weft_count=ground.weft.notation,
        )
        picks = told(
            "{weft_rows:,} rows, {all_picks:,} picks",
            weft_rows=ground.weft_rows,
            all_picks=ground.weft_rows * ground.picks,
        )
        outside: list[tuple[str, str]] = []
        if ground.wefts.outside_m.best:
            words = told_n(
                "about {outside_picks} pass in the height of a row",
                "about {outside_picks} passes in the height of a row",
                ground.outside_picks,
                outside_picks=ground.outside_picks,
            )
            outside = [(say("Weft outside"), words)]
        return [
            (say("Warp"), warp),
            (say("Weft"), weft),
            (say("Rows with weft"), picks),
            *outside,
            (say("Width on the loom"), told("{loom_width} cm", loom_width=cm_number(ground.loom_width_mm))),
            (say("Length on the loom"), told("{loom_length} cm", loom_length=cm_number(ground.loom_length_mm))),
        ]

    def daily_rate(self, rug: Rug, loom: Loom) -> Range:
        """Return the knots that one weaver ties in a day: low, best and high.

        Raises
        ------
        RugError
            If the given rate is above one knot a second for the whole day.
        """
        if "knots_per_weaver_day" not in loom.model_fields_set:
            return Range(RATE_LOW, loom.knots_per_weaver_day, RATE_HIGH)
        most = PEAK_PER_HOUR * loom.hours_per_day
        if loom.knots_per_weaver_day > most:
            message = say(
                "{rate:,} knots a day is more than one a second for {hours:g} hours ({most:,.0f}); sustained rates are "
                "{low:,} to {high:,}",
                rate=loom.knots_per_weaver_day,
                hours=loom.hours_per_day,
                most=most,
                low=RATE_LOW,
                high=RATE_HIGH,
            )
            raise RugError(message, where=_KEY)
        return Range.around(loom.knots_per_weaver_day, GIVEN_RATE_SPREAD)

    def rate_reached(self, loom: Loom) -> tuple[Sentence, Basis]:
        """Return, in words, how far the rate may be off, and what that rests on."""
        if "knots_per_weaver_day" in loom.model_fields_set:
            return later("the rate {share:g} % either way", share=GIVEN_RATE_SPREAD * 100), "estimate"
        return later("at the published {low:,} and {high:,} knots a day", low=RATE_LOW, high=RATE_HIGH), "published"

    def rate_assumed(self, loom: Loom) -> Assumption | None:
        """Return the rate that is assumed if none is given."""
        why = later("published sustained rates run from {low:,} to {high:,} a day", low=RATE_LOW, high=RATE_HIGH)
        return Assumption(_KEY, f"{loom.knots_per_weaver_day:,}", why, "published")

    def rate_findings(self, loom: Loom, worker_days: float, area_m2: float) -> list[Finding]:
        """Return a note if the given rate lies outside the published ones."""
        given = "knots_per_weaver_day" in loom.model_fields_set
        if not given or RATE_LOW <= loom.knots_per_weaver_day <= RATE_HIGH:
            return []
        what = later(
            "{rate:,} knots a day lies outside the published {low:,} to {high:,}.",
            rate=loom.knots_per_weaver_day,
            low=RATE_LOW,
            high=RATE_HIGH,
        )
        return [Finding(what, _KEY, "note")]


def _weft_parts(ground: Foundation, measures: Measures) -> list[Row]:
    """Return the weft by its place in the rug, unless all of it lies between the knots in one thickness."""
    wefts, length = ground.wefts, measures.yarn_length
    thin = "" if ground.thin_weft is None else _count(ground.thin_weft)
    of_picks = told("{thin} of {picks} passes, {count}", thin=ground.thin_picks, picks=ground.picks, count=thin)
    outside = told_n("{n} pass per row, no knots", "{n} passes per row, no knots", ground.outside_picks)
    parts = [
        ("weft-knots", say("weft between knots"), wefts.knots_m.best, ""),
        ("weft-thin", say("of that, thin weft"), wefts.thin_m.best, of_picks),
        ("weft-outside", say("weft outside the outline"), wefts.outside_m.best, outside),
        ("weft-kilim", say("weft of the kilim ends"), wefts.kilim_m.best, say("both ends together")),
    ]
    found = [(name, label, length.text(metres), detail) for name, label, metres, detail in parts if metres]
    return found if len(found) > 1 else []


def _count(count: YarnCount) -> str:
    tex = told("{tex:.0f} tex", tex=float(count.tex))
    return tex if count.notation.startswith("tex") else told("{count} ({tex})", count=count.notation, tex=tex)


#: The craft itself, which others build on.
KNOTTED = Knotted()
