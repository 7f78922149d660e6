"""The pile: the length per knot, and the metres and grams of every yarn."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.basis import Assumption, Reached
from chartmaker.ground.errors import RugError
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import phrase, say
from chartmaker.ground.lengths import mm_words
from chartmaker.ground.ranges import Range, total
from chartmaker.ground.sentence import Sentence, later
from chartmaker.ground.units import YarnCount
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Workshop
from chartmaker.techniques.crafts import craft_of
from chartmaker.techniques.yarnsize import check_pile_yarn, default_pile_yarn, default_warp
from chartmaker.yarns.yarn import Yarn

#: Cut height where neither [pile] cut nor [rug] pile is given (common practice).
DEFAULT_CUT_MM = 10.0

#: How far the model may be off, as a share: the knot's path is drawn, not measured (estimate).
MODEL_SPREAD = 0.20
#: How far a measured length or mass per knot may be off where [pile] spread is not given (estimate).
MEASURED_SPREAD = 0.05
#: How far a yarn chosen by density may be off the one that the workshop takes, in mass (estimate).
DEFAULT_YARN_SPREAD = 0.25

_MODEL_SPREAD_WORDS = phrase(
    "length {spread:g} % either way, as the knot is drawn and not measured; {more:g} % more in mass for a yarn "
    "without a count"
)
_GIVEN_SPREAD_WORDS = phrase(
    "[pile] spread, {spread:g} % either way; {more:g} % more in mass for a yarn without a count"
)
_MEASURED_SPREAD_WORDS = phrase(
    "{spread:g} % either way for a measured knot; {more:g} % more in mass for a yarn without a count"
)


@dataclass(frozen=True)
class YarnPile:
    """What one yarn puts into the pile.

    Lengths count every strand. "Net" is in the knots as tied, the plain figures hold the waste too.
    """

    yarn: Yarn
    knots: int
    share: float
    count: YarnCount
    strands: int
    cut_mm: float
    length_per_knot_mm: Range
    net_length_m: Range
    net_mass_g: Range
    length_m: Range
    mass_g: Range


@dataclass(frozen=True)
class PileFigures:
    """The pile of a rug, with a line for each yarn in the map's order."""

    yarns: tuple[YarnPile, ...]
    reached: tuple[Reached, ...]
    assumptions: tuple[Assumption, ...]
    findings: tuple[Finding, ...]

    @property
    def knots(self) -> int:
        return sum(line.knots for line in self.yarns)

    @property
    def length_m(self) -> Range:
        return total(line.length_m for line in self.yarns)

    @property
    def mass_g(self) -> Range:
        return total(line.mass_g for line in self.yarns)

    @property
    def net_mass_g(self) -> Range:
        return total(line.net_mass_g for line in self.yarns)


def base_cut_mm(rug: Rug, workshop: Workshop) -> float:
    """Return the height at which the knots are cut, where a yarn has no height of its own."""
    height_mm = workshop.pile.cut_mm or rug.pile_mm
    return DEFAULT_CUT_MM if height_mm is None else float(height_mm)


def main_yarn(rug: Rug, workshop: Workshop) -> YarnCount:
    """Return the yarn of [pile], or the one that suits the density."""
    return workshop.pile.yarn or default_pile_yarn(rug.density)


@dataclass(frozen=True)
class KnotLength:
    """The length of yarn in one knot, strand by strand, and how far length and mass may be off."""

    length_mm: float
    count: YarnCount
    cut_mm: float
    length_spread: float
    mass_spread: float


def knot_length(yarn: Yarn, rug: Rug, workshop: Workshop) -> KnotLength:
    """Return the length of `yarn` in one knot, by the rug file's measure or else by the model.

    A measure holds for the base cut height; a yarn with a height of its own has two ends longer or shorter.

    Raises
    ------
    RugError
        If the yarn is too thick for the density, or is cut so low that nothing is left.
    """
    pile = workshop.pile
    default_count = yarn.count is None and pile.yarn is None
    count = yarn.count or main_yarn(rug, workshop)
    key = say("the count of yarn {code} on the card", code=yarn.code) if yarn.count is not None else "[pile] yarn"
    tex = float(count.tex) * pile.strands
    check_pile_yarn(tex, yarn.fibre, rug.density, key)
    base_mm = base_cut_mm(rug, workshop)
    cut_mm = float(pile.heights_mm.get(yarn.code, base_mm))
    yarn_spread = DEFAULT_YARN_SPREAD if default_count else 0.0
    if pile.length_per_knot_mm is None and pile.grams_per_1000_knots is None:
        warp = workshop.loom.warp or default_warp(rug.density)
        length_mm = craft_of(rug).stitch_mm(rug, cut_mm, float(warp.tex), tex, yarn.fibre)
        return KnotLength(length_mm, count, cut_mm, MODEL_SPREAD, MODEL_SPREAD + yarn_spread)
    spread = MEASURED_SPREAD if pile.spread is None else pile.spread
    if pile.length_per_knot_mm is not None:
        length_mm = float(pile.length_per_knot_mm) + 2 * (cut_mm - base_mm)
        spreads = (spread, spread + yarn_spread)
    else:
        assert pile.grams_per_1000_knots is not None
        main_tex = float(main_yarn(rug, workshop).tex) * pile.strands
        length_mm = pile.grams_per_1000_knots * 1000 / main_tex + 2 * (cut_mm - base_mm)
        spreads = (spread + yarn_spread, spread)
    if length_mm <= 0:
        message = say(
            "a cut height of {cut} for yarn {code} leaves nothing of the length per knot; the base height is {base}",
            cut=mm_words(cut_mm),
            code=yarn.code,
            base=mm_words(base_mm),
        )
        raise RugError(message, where="[pile] heights")
    return KnotLength(length_mm, count, cut_mm, *spreads)


def _line(yarn: Yarn, knots: int, tied: int, rug: Rug, workshop: Workshop) -> YarnPile:
    knot = knot_length(yarn, rug, workshop)
    strands = workshop.pile.strands
    best_m = knots * knot.length_mm * strands / 1000
    net_length_m = Range.around(best_m, knot.length_spread)
    net_mass_g = Range.around(knot.count.mass_g(best_m), knot.mass_spread)
    gross = 1 / (1 - workshop.pile.waste)
    return YarnPile(
        yarn=yarn,
        knots=knots,
        share=knots / tied if tied else 0.0,
        count=knot.count,
        strands=strands,
        cut_mm=knot.cut_mm,
        length_per_knot_mm=Range.around(knot.length_mm, knot.length_spread),
        net_length_m=net_length_m,
        net_mass_g=net_mass_g,
        length_m=net_length_m.times(gross),
        mass_g=net_mass_g.times(gross),
    )


def _assumptions(yarns: tuple[Yarn, ...], rug: Rug, workshop: Workshop) -> list[Assumption]:
    pile, given = workshop.pile, workshop.pile.model_fields_set
    assumed = []
    if pile.yarn is None and any(yarn.count is None for yarn in yarns):
        why = later(
            "covers the ground as the yarn of a published costing does (Ahrari 1705), scaled by the knot's area"
        )
        assumed.append(Assumption("[pile] yarn", main_yarn(rug, workshop).notation, why, "estimate"))
    if any(yarn.fibre is None for yarn in yarns):
        why = later("most pile is wool")
        assumed.append(Assumption(later("fibre on the card"), later("wool"), why, "common practice"))
    if pile.cut_mm is None:
        if rug.pile_mm is None:
            value = mm_words(DEFAULT_CUT_MM)
            assumed.append(Assumption("[pile] cut", value, later("a usual height"), "common practice"))
        else:
            why = later("taken as [rug] pile; what clipping takes off is in [pile] waste")
            assumed.append(Assumption("[pile] cut", mm_words(rug.pile_mm), why, "estimate"))
    if "strands" not in given:
        why = later("one strand of the yarn as counted")
        assumed.append(Assumption("[pile] strands", "1", why, "common practice"))
    if "waste" not in given:
        why = later("clipping and shearing take 10 to 20 % of the yarn issued")
        assumed.append(Assumption("[pile] waste", f"{pile.waste * 100:g} %", why, "common practice"))
    return assumed


def _reached(rug: Rug, workshop: Workshop) -> tuple[Reached, ...]:
    pile = workshop.pile
    if pile.length_per_knot_mm is not None:
        length = Reached(later("length per knot"), later("as measured: [pile] length_per_knot"), "given")
    elif pile.grams_per_1000_knots is not None:
        how = later("the weighed sample ([pile] grams_per_1000_knots) by the count of [pile] yarn")
        length = Reached(later("length per knot"), how, "given")
    else:
        length = Reached(*craft_of(rug).stitch_reached(rug), "estimate")
    return (
        Reached(later("knots"), later("counted on the knot map"), "measured here"),
        length,
        Reached(later("metres"), later("knots x strands x length per knot"), "arithmetic"),
        Reached(later("grams"), later("metres x tex / 1000 (ASTM D2260 counts)"), "published"),
        Reached(later("with waste"), later("net / (1 - [pile] waste)"), "arithmetic"),
        Reached(later("range of yarn"), _spread_words(workshop), "estimate"),
    )


def _spread_words(workshop: Workshop) -> Sentence:
    pile = workshop.pile
    if pile.length_per_knot_mm is None and pile.grams_per_1000_knots is None:
        spread, template = MODEL_SPREAD, _MODEL_SPREAD_WORDS
    elif pile.spread is not None:
        spread, template = pile.spread, _GIVEN_SPREAD_WORDS
    else:
        spread, template = MEASURED_SPREAD, _MEASURED_SPREAD_WORDS
    return later(template, spread=spread * 100, more=DEFAULT_YARN_SPREAD * 100)


def _findings(yarns: tuple[Yarn, ...], workshop: Workshop) -> tuple[Finding, ...]:
    codes = {yarn.code for yarn in yarns}
    return tuple(
        Finding(
            later("A height is given for {code}, which this map does not tie.", code=code), "[pile] heights", "note"
        )
        for code in workshop.pile.heights_mm
        if code not in codes
    )


def pile_figures(yarns: tuple[Yarn, ...], counts: NDArray[np.int64], rug: Rug, workshop: Workshop) -> PileFigures:
    """Return the pile of `counts` knots of each of `yarns`.

    Parameters
    ----------
    yarns : tuple of Yarn
    counts : ndarray of int64, shape (yarns,)
        A whole map's `counts`, or those of a part of it.
    rug : Rug
    workshop : Workshop

    Raises
    ------
    RugError
        If a yarn is too thick for the density.
    """
    tied = int(counts.sum())
    lines = tuple(_line(yarn, int(n), tied, rug, workshop) for yarn, n in zip(yarns, counts, strict=True))
    return PileFigures(
        yarns=lines,
        reached=_reached(rug, workshop),
        assumptions=tuple(_assumptions(yarns, rug, workshop)),
        findings=_findings(yarns, workshop),
    )
