"""The pile: length per knot, metres, grams of every yarn."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.figures.basis import Assumption, Reached
from chartmaker.figures.yarnsize import PACKING, check_pile_yarn, default_pile_yarn, default_warp, diameter_mm
from chartmaker.ground.errors import RugError
from chartmaker.ground.findings import Finding
from chartmaker.ground.ranges import Range, total
from chartmaker.ground.units import YarnCount
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Workshop
from chartmaker.yarns.yarn import Yarn

#: Cut height where neither [pile] cut nor [rug] pile is given (common practice).
DEFAULT_CUT_MM = 10.0

#: What a knot's yarn goes through besides its two cut ends: warp pitches along, turns round a warp. The
#: asymmetric knot turns fully round one warp and passes behind the other. From the knots' drawings, not
#: from a published table.
WRAP = {"symmetric": (2.0, 1.0), "asymmetric": (2.0, 0.75), "looped": (2.0, 1.0)}

#: How far the model may be off, as a share: the knot's path is drawn, not measured (estimate).
MODEL_SPREAD = 0.20
#: How far a measured length or mass per knot may be off where [pile] spread is not given (estimate).
MEASURED_SPREAD = 0.05
#: How far a yarn chosen by density may be off the one that the workshop takes, in mass (estimate).
DEFAULT_YARN_SPREAD = 0.25


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
    """The pile of a rug, a line a yarn in the map's order."""

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


def warp_pitch_mm(rug: Rug) -> float:
    """Return the distance from one warp to the next in the finished rug; a knot sits on two."""
    return float(rug.density.knot_width_mm) / 2


def model_length_mm(rug: Rug, cut_mm: float, warp_tex: float, yarn_tex: float, fibre: str | None) -> float:
    """Return the length of yarn in one knot (strand by strand), or in one tuft of a tufted rug.

    A knot takes two cut heights, two warp pitches, and `WRAP`'s turns of pi x (warp + yarn diameter). A tuft
    takes two cut heights with the stitch between them. This is this project's own estimate; a measured
    length or a weighed sample overrides it.
    """
    if rug.technique == "tufted":
        return 2 * cut_mm + float(rug.density.knot_height_mm)
    pitches, turns = WRAP[rug.knot]
    thickness_mm = diameter_mm(warp_tex, "cotton") + diameter_mm(yarn_tex, fibre)
    return 2 * cut_mm + pitches * warp_pitch_mm(rug) + turns * math.pi * thickness_mm


def base_cut_mm(rug: Rug, workshop: Workshop) -> float:
    """Return the height at which the knots are cut, single yarns' own heights apart."""
    height_mm = workshop.pile.cut_mm or rug.pile_mm
    return DEFAULT_CUT_MM if height_mm is None else float(height_mm)


def main_yarn(rug: Rug, workshop: Workshop) -> YarnCount:
    """Return the yarn of [pile], or the one that suits the density."""
    return workshop.pile.yarn or default_pile_yarn(rug.density)


@dataclass(frozen=True)
class KnotLength:
    """The length of yarn in a knot by yarn, strand by strand, with how far length and mass may be off."""

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
    key = f"the count of yarn {yarn.code} on the card" if yarn.count is not None else "[pile] yarn"
    tex = float(count.tex) * pile.strands
    check_pile_yarn(tex, yarn.fibre, rug.density, key)
    base_mm = base_cut_mm(rug, workshop)
    cut_mm = float(pile.heights_mm.get(yarn.code, base_mm))
    yarn_spread = DEFAULT_YARN_SPREAD if default_count else 0.0
    if pile.length_per_knot_mm is None and pile.grams_per_1000_knots is None:
        warp = workshop.loom.warp or default_warp(rug.density)
        length_mm = model_length_mm(rug, cut_mm, float(warp.tex), tex, yarn.fibre)
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
        raise RugError(
            f"a cut height of {cut_mm:g} mm for yarn {yarn.code} leaves nothing of the length per knot; "
            f"the base height is {base_mm:g} mm",
            where="[pile] heights",
        )
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
        why = "covers the ground as the yarn of a published costing does (Ahrari 1705), scaled by the knot's area"
        assumed.append(Assumption("[pile] yarn", main_yarn(rug, workshop).notation, why, "estimate"))
    if any(yarn.fibre is None for yarn in yarns):
        assumed.append(Assumption("fibre on the card", "wool", "most pile is wool", "common practice"))
    if pile.cut_mm is None:
        if rug.pile_mm is None:
            assumed.append(Assumption("[pile] cut", f"{DEFAULT_CUT_MM:g} mm", "usual height", "common practice"))
        else:
            why = "taken as [rug] pile; what clipping takes off is in [pile] waste"
            assumed.append(Assumption("[pile] cut", f"{float(rug.pile_mm):g} mm", why, "estimate"))
    if "strands" not in given:
        assumed.append(Assumption("[pile] strands", "1", "one strand of the yarn as counted", "common practice"))
    if "waste" not in given:
        why = "clipping and shearing take 10 to 20 % of the yarn issued"
        assumed.append(Assumption("[pile] waste", f"{pile.waste * 100:g} %", why, "common practice"))
    return assumed


def _reached(rug: Rug, workshop: Workshop) -> tuple[Reached, ...]:
    pile = workshop.pile
    if pile.length_per_knot_mm is not None:
        length = Reached("length per knot", "as measured: [pile] length_per_knot", "given")
    elif pile.grams_per_1000_knots is not None:
        how = "the weighed sample ([pile] grams_per_1000_knots) by the count of [pile] yarn"
        length = Reached("length per knot", how, "given")
    elif rug.technique == "tufted":
        length = Reached("length per tuft", "2 x cut height + one stitch", "estimate")
    else:
        turns = WRAP[rug.knot][1]
        how = (
            f"2 x cut height + 2 x warp pitch + {turns:g} x pi x (warp + yarn diameter) for the {rug.knot} knot, "
            f"diameters from count and fibre density at {PACKING:g} packing (Peirce)"
        )
        length = Reached("length per knot", how, "estimate")
    return (
        Reached("knots", "counted on the knot map", "measured here"),
        length,
        Reached("metres", "knots x strands x length per knot", "arithmetic"),
        Reached("grams", "metres x tex / 1000 (ASTM D2260 counts)", "published"),
        Reached("with waste", "net / (1 - [pile] waste)", "arithmetic"),
        Reached("range of yarn", _spread_words(workshop), "estimate"),
    )


def _spread_words(workshop: Workshop) -> str:
    pile = workshop.pile
    if pile.length_per_knot_mm is None and pile.grams_per_1000_knots is None:
        words = f"length {MODEL_SPREAD * 100:g} % either way, as the knot is drawn and not measured"
    elif pile.spread is not None:
        words = f"[pile] spread, {pile.spread * 100:g} % either way"
    else:
        words = f"{MEASURED_SPREAD * 100:g} % either way for a measured knot"
    return f"{words}; {DEFAULT_YARN_SPREAD * 100:g} % more in mass for a yarn without a count"


def _findings(yarns: tuple[Yarn, ...], workshop: Workshop) -> tuple[Finding, ...]:
    codes = {yarn.code for yarn in yarns}
    return tuple(
        Finding(f"a height is given for {code}, which this map does not tie", "[pile] heights", "note")
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
