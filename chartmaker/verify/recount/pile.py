"""The pile yarn, reckoned anew: its length in a knot, and the metres and grams of every yarn with their ranges.

All that follows from the workshop's settings is reckoned here from the formulas and not asked of `figures`. The length
of a knot comes from its drawing (two cut ends, two warps, the turns round them), the diameters of yarns from Peirce,
and masses from ASTM D2260.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from chartmaker.ground.ranges import Range
from chartmaker.ground.units import YarnCount
from chartmaker.knots.knotmap import NO_KNOT, KnotMap
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Workshop
from chartmaker.techniques.crafts import craft_of
from chartmaker.verify.recount.outline import bound_edge_mm
from chartmaker.yarns.yarn import Yarn

#: Grams in a cubic centimetre of fibre (Morton and Hearle, from memory); the share of fibre in a yarn (Peirce, 1937).
DENSITIES = {"wool": 1.31, "mohair": 1.31, "cashmere": 1.31, "silk": 1.34, "cotton": 1.52, "linen": 1.5, "jute": 1.44}
DENSITIES |= {"viscose": 1.52, "nylon": 1.14, "polyester": 1.39, "acrylic": 1.19}
PACKED = 0.6
#: The published costing that yarns are scaled from (Ahrari 1705, 1718, 1726, 1819): its knot's side in mm, and tex.
KNOT_MM, PILE_TEX, WARP_TEX, WEFT_TEX = Fraction(13, 8), Fraction(250), Fraction(375), Fraction(7087, 10)
COARSEST_WARP_TEX = Fraction(5315, 10)
#: Turns of the yarn round a warp, by the first word of the knot.
TURNS = {"symmetric": 1.0, "asymmetric": 0.75, "looped": 1.0}
#: The length of a drawn knot, that of a measured one, and the mass of a yarn without a count may be off by this much.
DRAWN, MEASURED, UNCOUNTED = 0.20, 0.05, 0.25
#: Grams of tufted pile on a square metre for each millimetre of its height; data sheets say 179 to 205.
TUFTED, LEAST_TUFTED, MOST_TUFTED = 200.0, 179.0, 205.0
#: The usual cut in mm, the cut as a multiple of the finished pile, and the usual width of a bound edge in mm.
CUT_MM, OVER, BOUND_MM = 10.0, 1.15, 5.0


@dataclass(frozen=True)
class Line:
    """What one yarn puts into the pile; ranges are low, best and high, and single figures include the waste."""

    yarn: Yarn
    knots: int
    count: YarnCount
    strands: int
    cut_mm: float
    pile_mm: float
    length_per_knot_mm: Range
    binding_m: float
    net_length_m: Range
    net_mass_g: Range
    length_m: Range
    mass_g: Range
    sheared_mass_g: Range


def thick_mm(tex: float, fibre: str | None) -> float:
    """Return the diameter of a round yarn in mm, where tex / 1000 is its cross-section times density and packing."""
    words = (fibre or "wool").lower()
    density = next((grams for name, grams in DENSITIES.items() if name in words), DENSITIES["wool"])
    return 2 * math.sqrt(tex / 1000 / (density * PACKED) / math.pi)


def two_figures(tex: Fraction) -> YarnCount:
    """Return a yarn of about `tex`, rounded to two figures."""
    step = 10 ** max(len(str(math.floor(tex))) - 2, 0)
    return YarnCount(Fraction(round(tex / step) * step), 1, f"tex {round(tex / step) * step}")


def plain_pile(rug: Rug, workshop: Workshop) -> YarnCount:
    """Return the count of a yarn that has none: that of the rug file, or the published one scaled by a knot's area."""
    place = rug.density.knot_width_mm * rug.density.knot_height_mm
    return workshop.pile.yarn or two_figures(PILE_TEX * place / KNOT_MM**2)


def plain_warp(rug: Rug, workshop: Workshop) -> YarnCount:
    """Return the warp of the rug file, or the published one scaled by the square of a knot's width."""
    tex = min(WARP_TEX * (rug.density.knot_width_mm / KNOT_MM) ** 2, COARSEST_WARP_TEX)
    return workshop.loom.warp or two_figures(tex)


def plain_weft(rug: Rug, workshop: Workshop) -> YarnCount:
    """Return the weft of the rug file, or the published one scaled by the square of a row's height, but no coarser."""
    a_row = WEFT_TEX * min((rug.density.knot_height_mm / KNOT_MM) ** 2, Fraction(1))
    return workshop.loom.weft or two_figures(a_row / workshop.loom.picks)


def yarn_heights(code: str, rug: Rug, workshop: Workshop) -> tuple[float, float, float]:
    """Return the cut and the finished height of a yarn, and the cut of yarns that have no height of their own."""
    pile = workshop.pile
    finished = None if rug.pile_mm is None else float(rug.pile_mm)
    if pile.loops and (pile.cut_mm is None or finished is None):  # nothing is shorn
        cut = finished = float(pile.cut_mm or rug.pile_mm or CUT_MM)
    elif pile.cut_mm is not None:
        cut = float(pile.cut_mm)
    else:
        cut = CUT_MM if finished is None else math.ceil(finished * OVER * 2 - 1e-9) / 2
    if finished is None:
        finished = math.floor(cut / OVER * 2) / 2 or cut
    looped = is_tufted(rug, workshop) and code in workshop.pattern.loops
    own = float(pile.heights_mm.get(code, finished if looped else cut))
    level = own - (cut - finished) if own >= cut else min(own, finished)
    level = own if looped else level
    return own, float(pile.carved_mm.get(code, level)), cut


def ungiven(code: str, rug: Rug, workshop: Workshop) -> tuple[bool, bool, bool]:
    """Return whether nobody gave the height at which a yarn is cut, to which it is shorn, and which it has finished.

    Shears take from a yarn that is cut higher than the rest what they take from the rest, which is a guess of ours.
    """
    pile, finished_given = workshop.pile, rug.pile_mm is not None
    _, finished, cut = yarn_heights("", rug, workshop)
    if is_tufted(rug, workshop) and code in workshop.pattern.loops:
        unsaid = code not in pile.heights_mm and not finished_given
        return unsaid, unsaid, unsaid
    shorn = not finished_given
    if code in pile.heights_mm:
        own = float(pile.heights_mm[code])
        shorn = (own >= cut > finished) or (finished < own < cut and not finished_given)
    return code not in pile.heights_mm and pile.cut_mm is None, shorn, shorn and code not in pile.carved_mm


@dataclass(frozen=True)
class _Knot:
    """A yarn in one knot: its length as tied and as shorn, its count, and factors for how far each may be off."""

    length_mm: float
    shorn_mm: float
    count: YarnCount
    length_off: Range
    mass_off: Range


def is_tufted(rug: Rug, workshop: Workshop) -> bool:
    """Return whether tufts are shot through a cloth, rather than tied row by row or laid over rods."""
    return not craft_of(rug).by_rows and craft_of(rug).one_yarn_along(workshop.loom) is None


def _at(length: float, cut: float, other: float, *, tufted: bool) -> float:
    """Return the length of a knot cut at another height: its two ends change, while a tuft changes in proportion."""
    return length * other / cut if tufted else length + 2 * (other - cut)


def _knot(yarn: Yarn, rug: Rug, workshop: Workshop) -> _Knot:
    pile, count = workshop.pile, yarn.count or plain_pile(rug, workshop)
    unsure = UNCOUNTED if yarn.count is None and pile.yarn is None else 0.0
    own, finished, cut = yarn_heights(yarn.code, rug, workshop)
    tufted = is_tufted(rug, workshop)
    if not pile.measured:
        length = round(_drawn(yarn, float(count.tex) * pile.strands, own, rug, workshop), 2)
        if not tufted:
            offs = Range.around(1.0, DRAWN), Range.around(1.0, DRAWN + unsure)
        else:
            mass = Range(LEAST_TUFTED / TUFTED, 1.0, MOST_TUFTED / TUFTED)
            offs = Range(mass.low * (1 - unsure), 1.0, mass.high * (1 + unsure)), mass
        return _Knot(length, _at(length, own, finished, tufted=tufted), count, *offs)
    known = MEASURED if pile.spread is None else pile.spread
    length_off, mass_off = known + unsure, known
    if pile.length_per_knot_mm is not None:
        length = float(pile.length_per_knot_mm)
        length_off, mass_off = known, known + unsure
    else:
        grams = (pile.grams_per_1000_knots or 0.0) / 1000
        if pile.grams_per_m2 is not None:
            grams = pile.grams_per_m2 * float(rug.density.knot_width_mm * rug.density.knot_height_mm) / 1e6
        length = grams * 1e6 / (float(plain_pile(rug, workshop).tex) * pile.strands)
    length = _at(length, cut, own, tufted=tufted)
    offs = Range.around(1.0, length_off), Range.around(1.0, mass_off)
    return _Knot(length, _at(length, own, finished, tufted=tufted), count, *offs)


def _drawn(yarn: Yarn, tex: float, cut: float, rug: Rug, workshop: Workshop) -> float:
    """Return the length in mm of a knot of `tex` in all by its drawing, or of a tuft by the mass of the pile."""
    density = rug.density
    if is_tufted(rug, workshop):
        return TUFTED * cut * float(density.knot_width_mm * density.knot_height_mm) / tex
    if not craft_of(rug).by_rows:  # up and down over the rod at each point, and on to the next
        return float(density.knot_width_mm if workshop.loom.pile_yarn == "weft" else density.knot_height_mm) + 2 * cut
    thick = thick_mm(float(plain_warp(rug, workshop).tex), "cotton") + thick_mm(tex, yarn.fibre)
    return 2 * cut + float(density.knot_width_mm) + TURNS[rug.knot.split(",")[0]] * math.pi * thick


def _binding(knot_map: KnotMap, workshop: Workshop, counts: Sequence[int]) -> tuple[int, float]:
    """Return which yarn overcasts the edges, and how many metres of it, counting every strand."""
    rug, loom, strands = knot_map.rug, workshop.loom, workshop.pile.strands
    usual = BOUND_MM if rug.shape == "rectangle" else 0.0
    wide = usual if loom.binding_mm is None else float(loom.binding_mm)
    if not craft_of(rug).bound or not sum(counts) or not wide:
        return 0, 0.0
    codes = [yarn.code for yarn in knot_map.yarns]
    if loom.binding_yarn is not None:
        index = codes.index(loom.binding_yarn)
    else:
        sides = np.concatenate((knot_map.knots[:, 0], knot_map.knots[:, -1]))
        tied = [int((sides == each).sum()) for each in range(len(codes))]
        index = int(np.argmax(tied if (sides != NO_KNOT).any() else counts))
    yarn = knot_map.yarns[index]
    thick = thick_mm(float((yarn.count or plain_pile(rug, workshop)).tex) * strands, yarn.fibre)
    round_mm = 2 * (wide + thick_mm(float(plain_warp(rug, workshop).tex), "cotton") + thick)
    return index, bound_edge_mm(knot_map) / thick * round_mm * strands / 1000


def pile_lines(knot_map: KnotMap, workshop: Workshop, counts: Sequence[int]) -> tuple[Line, ...]:
    """Return what each yarn of the map puts into the pile.

    Parameters
    ----------
    knot_map : KnotMap
    workshop : Workshop
    counts : sequence of int
        The knots of each yarn, as they were counted.
    """
    rug, strands = knot_map.rug, workshop.pile.strands
    binder, bound_m = _binding(knot_map, workshop, counts)
    lines = []
    for index, (yarn, knots) in enumerate(zip(knot_map.yarns, counts, strict=True)):
        knot = _knot(yarn, rug, workshop)
        cut, finished, _ = yarn_heights(yarn.code, rug, workshop)
        binding = bound_m if index == binder else 0.0
        metres = knots * knot.length_mm * strands / 1000 + binding
        gross, g_per_m = 1 / (1 - workshop.pile.waste), float(knot.count.tex) / 1000
        shorn = knots * knot.shorn_mm * strands / 1000 + binding
        lines.append(
            Line(
                yarn,
                knots,
                knot.count,
                strands,
                cut,
                finished,
                knot.length_off.times(knot.length_mm),
                binding,
                knot.length_off.times(metres),
                knot.mass_off.times(metres * g_per_m),
                knot.length_off.times(metres * gross),
                knot.mass_off.times(metres * gross * g_per_m),
                knot.mass_off.times(shorn * g_per_m),
            )
        )
    return tuple(lines)
