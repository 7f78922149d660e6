"""The pile: the length of yarn in a knot, and the metres and grams of every yarn."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.figures.heights import Heights, assumed_heights, base_heights, heights_of
from chartmaker.ground.basis import Assumption, Reached
from chartmaker.ground.errors import RugError
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import phrase, say
from chartmaker.ground.lengths import mm_words
from chartmaker.ground.ranges import Range, total
from chartmaker.ground.rounding import ceil_of, floor_of, half_up
from chartmaker.ground.sentence import Sentence, later, later_n
from chartmaker.ground.units import YarnCount
from chartmaker.order.bounds import PILE_TEX
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Workshop
from chartmaker.techniques.crafts import craft_of
from chartmaker.techniques.yarnsize import (
    LEAST_FILL,
    MOST_FILL,
    check_pile_yarn,
    default_pile_yarn,
    default_warp,
    fill_of,
    usual_tex,
)
from chartmaker.yarns.yarn import Yarn

#: How far a measured length or mass per knot may be off if [pile] spread is not given (estimate).
MEASURED_SPREAD = 0.05
#: How far the mass of a yarn chosen by density may be off from that of the yarn that the workshop takes (estimate).
DEFAULT_YARN_SPREAD = 0.25

#: Shearing and waste together lose 10 to 20 % of the yarn issued (common practice); above this something is odd.
MOST_LOST = 0.25

NOTHING_BOUND: Mapping[int, float] = {}
_METRES = phrase("knots x strands x length per knot, as tied")
_METRES_BOUND = phrase(
    "knots x strands x length per knot, as tied, and for the yarn that binds the sides the side binding"
)
_TOO_THIN = phrase(
    "{codes}: {count} x {strands} at {density} fills {fill:.1f} % of a knot's place; {least:g} to {most:g} % is "
    "usual (an estimate from a published costing). Grams here are for the yarn as it stands: once [pile] is changed, "
    "print all papers anew. The ground would show: {advice}."
)
_TOO_THICK = phrase(
    "{codes}: {count} x {strands} at {density} fills {fill:.1f} % of a knot's place; {least:g} to {most:g} % is "
    "usual (an estimate from a published costing). Grams here are for the yarn as it stands: once [pile] is changed, "
    "print all papers anew. The rows will hardly beat down: {advice}."
)
_ALL_TOO_THIN = phrase(
    "All yarns: {count} x {strands} at {density} fills {fill:.1f} % of a knot's place; {least:g} to {most:g} % is "
    "usual (an estimate from a published costing). Grams here are for the yarn as it stands: once [pile] is changed, "
    "print all papers anew. The ground would show: {advice}."
)
_ALL_TOO_THICK = phrase(
    "All yarns: {count} x {strands} at {density} fills {fill:.1f} % of a knot's place; {least:g} to {most:g} % is "
    "usual (an estimate from a published costing). Grams here are for the yarn as it stands: once [pile] is changed, "
    "print all papers anew. The rows will hardly beat down: {advice}."
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

    Lengths count every strand. "Net" is what the knots take as they are tied, with `binding_m` of side binding; the
    figures without "net" include the waste. `sheared_mass_g` is what is left in the rug once the pile is shorn and
    carved from `cut_mm` to `pile_mm`.
    """

    yarn: Yarn
    knots: int
    share: float
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
    def net_length_m(self) -> Range:
        return total(line.net_length_m for line in self.yarns)

    @property
    def mass_g(self) -> Range:
        return total(line.mass_g for line in self.yarns)

    @property
    def net_mass_g(self) -> Range:
        return total(line.net_mass_g for line in self.yarns)

    @property
    def sheared_mass_g(self) -> Range:
        return total(line.sheared_mass_g for line in self.yarns)

    @property
    def uneven(self) -> bool:
        """Whether some yarn is cut, or left standing, higher or lower than the rest."""
        return len({(line.cut_mm, line.pile_mm) for line in self.yarns}) > 1


def main_yarn(rug: Rug, workshop: Workshop) -> YarnCount:
    """Return the yarn of [pile], or the one that suits the density."""
    return workshop.pile.yarn or default_pile_yarn(rug.density)


@dataclass(frozen=True)
class KnotLength:
    """The length of one strand in a knot as it is tied, and how far length and mass may be off."""

    length_mm: float
    count: YarnCount
    heights: Heights
    length_factor: Range
    mass_factor: Range
    sheared_mm: float

    @property
    def sheared_share(self) -> float:
        """The share of the knot's yarn that stays in the rug after shearing and carving."""
        return self.sheared_mm / self.length_mm


def knot_length(yarn: Yarn, rug: Rug, workshop: Workshop) -> KnotLength:
    """Return the length of `yarn` in one knot, as measured in the rug file or else by the model.

    A measured length holds for the base cut height; in a yarn with a height of its own both ends are longer or shorter.
    The model's length is rounded to the hundredth of a millimetre that is printed, so that anyone can reckon on from
    it.

    Raises
    ------
    RugError
        If the yarn is too thick for the density, or is cut so low that nothing is left.
    """
    pile = workshop.pile
    default_count = yarn.count is None and pile.yarn is None
    count = yarn.count or main_yarn(rug, workshop)
    key = say("the count of yarn {code} on the card", code=yarn.code) if yarn.count is not None else "[pile] yarn"
    if not default_count:  # the default for a very coarse rug may be as thick as its knots are wide
        try:
            PILE_TEX.checked(count)
        except ValueError as error:
            raise RugError(str(error), where=key) from error
    tex = float(count.tex) * pile.strands
    check_pile_yarn(tex, yarn.fibre, rug.density, key)
    base, own = base_heights(rug, workshop), heights_of(yarn.code, rug, workshop)
    yarn_spread = DEFAULT_YARN_SPREAD if default_count else 0.0
    craft = craft_of(rug)
    if not pile.measured:
        warp = workshop.loom.warp or default_warp(rug.density)
        length_mm = round(craft.stitch_mm(rug, workshop.loom, own.cut_mm, float(warp.tex), tex, yarn.fibre), 2)
        factors = craft.stitch_factors(yarn_spread)
        return KnotLength(length_mm, count, own, *factors, craft.stitch_at(length_mm, own.cut_mm, own.pile_mm))
    spread = MEASURED_SPREAD if pile.spread is None else pile.spread
    if pile.length_per_knot_mm is not None:
        base_mm = float(pile.length_per_knot_mm)
        spreads = (spread, spread + yarn_spread)
    else:
        main_tex = float(main_yarn(rug, workshop).tex) * pile.strands
        base_mm = _weighed_g_per_1000(rug, workshop) * 1000 / main_tex
        spreads = (spread + yarn_spread, spread)
    length_mm = craft.stitch_at(base_mm, base.cut_mm, own.cut_mm)
    sheared_mm = craft.stitch_at(length_mm, own.cut_mm, own.pile_mm)
    if sheared_mm <= 0:
        message = say(
            "a cut height of {cut} for yarn {code}, shorn to {pile}, leaves nothing of the length per knot; the base "
            "cut height is {base}",
            cut=mm_words(own.cut_mm),
            code=yarn.code,
            pile=mm_words(own.pile_mm),
            base=mm_words(base.cut_mm),
        )
        raise RugError(message, where="[pile] heights" if yarn.code in pile.heights_mm else "[pile] cut")
    return KnotLength(length_mm, count, own, Range.around(1.0, spreads[0]), Range.around(1.0, spreads[1]), sheared_mm)


def _weighed_g_per_1000(rug: Rug, workshop: Workshop) -> float:
    """Return what a thousand knots weigh by the weighed sample."""
    pile = workshop.pile
    if pile.grams_per_1000_knots is not None:
        return pile.grams_per_1000_knots
    assert pile.grams_per_m2 is not None
    return pile.grams_per_m2 * 1000 / float(rug.density.per_m2)


def _line(yarn: Yarn, knots: int, tied: int, rug: Rug, workshop: Workshop, binding_m: float) -> YarnPile:
    knot = knot_length(yarn, rug, workshop)
    strands = workshop.pile.strands
    knots_m = knots * knot.length_mm * strands / 1000
    net_length_m = knot.length_factor.times(knots_m + binding_m)
    net_mass_g = knot.mass_factor.times(knot.count.mass_g(knots_m + binding_m))
    shorn_m = knots_m * (1 - knot.sheared_share)
    gross = 1 / (1 - workshop.pile.waste)
    return YarnPile(
        yarn=yarn,
        knots=knots,
        share=knots / tied if tied else 0.0,
        count=knot.count,
        strands=strands,
        cut_mm=knot.heights.cut_mm,
        pile_mm=knot.heights.pile_mm,
        length_per_knot_mm=knot.length_factor.times(knot.length_mm),
        binding_m=binding_m,
        net_length_m=net_length_m,
        net_mass_g=net_mass_g,
        length_m=net_length_m.times(gross),
        mass_g=net_mass_g.times(gross),
        sheared_mass_g=knot.mass_factor.times(knot.count.mass_g(knots_m + binding_m - shorn_m)),
    )


def _assumptions(yarns: tuple[Yarn, ...], rug: Rug, workshop: Workshop) -> list[Assumption]:
    pile, given = workshop.pile, workshop.pile.model_fields_set
    assumed = []
    if pile.yarn is None and any(yarn.count is None for yarn in yarns):
        why = later("covers the ground as in a published costing (Ahrari 1705), scaled by the knot's area")
        assumed.append(Assumption("[pile] yarn", main_yarn(rug, workshop).notation, why, "estimate"))
    if any(yarn.fibre is None for yarn in yarns):
        why = later("most pile is wool")
        assumed.append(Assumption(later("fibre on the card"), later("wool"), why, "common practice"))
    assumed += assumed_heights((yarn.code for yarn in yarns), rug, workshop)
    assumed += [] if pile.measured else craft_of(rug).stitch_assumed(rug)
    if "strands" not in given:
        why = later("one strand of the yarn with this count")
        assumed.append(Assumption("[pile] strands", "1", why, "common practice"))
    if "waste" not in given:
        why = later("clipped ends and handling; with shearing, which is in the cut, 10 to 20 % is usual")
        assumed.append(Assumption("[pile] waste", f"{pile.waste * 100:g} %", why, "estimate"))
    return assumed


def _reached(rug: Rug, workshop: Workshop, *, bound: bool) -> tuple[Reached, ...]:
    pile = workshop.pile
    if pile.length_per_knot_mm is not None:
        length = Reached(later("length per knot"), later("as measured: [pile] length_per_knot"), "given")
    elif pile.grams_per_1000_knots is not None:
        how = later("the weighed sample ([pile] grams_per_1000_knots) by the count of [pile] yarn")
        length = Reached(later("length per knot"), how, "given")
    elif pile.grams_per_m2 is not None:
        how = later("the weighed sample ([pile] grams_per_m2) by knots per square metre and the count of [pile] yarn")
        length = Reached(later("length per knot"), how, "given")
    else:
        length = Reached(*craft_of(rug).stitch_reached(rug), "estimate")
    return (
        Reached(later("knots"), later("counted on the knot map"), "measured here"),
        length,
        Reached(later("net metres"), later(_METRES_BOUND if bound else _METRES), "arithmetic"),
        Reached(later("net grams"), later("net metres x tex / 1000 (ASTM D2260 counts)"), "published"),
        Reached(
            later("with waste, metres and grams"),
            later("net / (1 - [pile] waste of {waste:g} %)", waste=pile.waste * 100),
            "arithmetic",
        ),
        Reached(
            later("pile as sheared"),
            later(craft_of(rug).sheared_reached),
            "arithmetic",
        ),
        Reached(later("range of yarn"), _spread_words(rug, workshop), "estimate"),
    )


def _spread_words(rug: Rug, workshop: Workshop) -> Sentence:
    pile = workshop.pile
    if not pile.measured:
        return craft_of(rug).stitch_spread_words(DEFAULT_YARN_SPREAD)
    if pile.spread is not None:
        spread, template = pile.spread, _GIVEN_SPREAD_WORDS
    else:
        spread, template = MEASURED_SPREAD, _MEASURED_SPREAD_WORDS
    return later(template, spread=spread * 100, more=DEFAULT_YARN_SPREAD * 100)


def _findings(lines: tuple[YarnPile, ...], rug: Rug, workshop: Workshop) -> tuple[Finding, ...]:
    return (*_untied_heights(lines, workshop), *_shorn_twice(lines, workshop), *odd_fills(lines, rug))


def _untied_heights(lines: tuple[YarnPile, ...], workshop: Workshop) -> Iterator[Finding]:
    """Yield a note for each height given for a yarn that the map does not tie."""
    codes = {line.yarn.code for line in lines}
    for key, heights in (("heights", workshop.pile.heights_mm), ("carved", workshop.pile.carved_mm)):
        for code in heights:
            if code not in codes:
                what = later("A height is given for {code}, which this map does not tie.", code=code)
                yield Finding(what, f"[pile] {key}", "note")


def _shorn_twice(lines: tuple[YarnPile, ...], workshop: Workshop) -> Iterator[Finding]:
    """Yield a warning if shearing and waste together take far more than is usual."""
    issued_g = sum(line.mass_g.best for line in lines)
    plain = [line for line in lines if line.yarn.code not in workshop.pile.carved_mm]
    lost = [1 - line.sheared_mass_g.best / line.mass_g.best for line in plain if line.mass_g.best]
    if not issued_g or not lost or min(lost) <= MOST_LOST:
        return
    line = plain[0]
    what = later(
        "Shearing from {cut} to {pile} is already in the yarn of the knots, and {waste:g} % of waste comes on top: "
        "{lost:.0f} % of the yarn issued is lost in all, where 10 to 20 % is usual. Is shearing counted twice?",
        cut=mm_words(line.cut_mm),
        pile=mm_words(line.pile_mm),
        waste=workshop.pile.waste * 100,
        lost=min(lost) * 100,
    )
    yield Finding(what, "[pile] waste", "warning")


def odd_fills(lines: tuple[YarnPile, ...], rug: Rug) -> Iterator[Finding]:
    """Yield a warning for each thickness of yarn that fills far too little or too much of a knot's place."""
    alike: dict[tuple[str, str, int], list[YarnPile]] = {}
    for line in lines:
        alike.setdefault((line.yarn.fibre or "", line.count.notation, line.strands), []).append(line)
    for (fibre, notation, strands), group in alike.items():
        tex = float(group[0].count.tex)
        fill = fill_of(tex * strands, fibre, rug.density)
        if LEAST_FILL <= fill <= MOST_FILL:
            continue
        template, of_all = (_TOO_THIN, _ALL_TOO_THIN) if fill < LEAST_FILL else (_TOO_THICK, _ALL_TOO_THICK)
        # rounded away from what is usual, so that a yarn just beyond it is not told as if it were within
        shown = (floor_of if fill < LEAST_FILL else ceil_of)(fill * 1000) / 10
        named = {"codes": ", ".join(line.yarn.code for line in group)}
        what = later(
            of_all if len(group) == len(lines) else template,
            **({} if len(group) == len(lines) else named),
            count=notation,
            strands=strands,
            density=rug.density.notation,
            fill=shown,
            least=LEAST_FILL * 100,
            most=MOST_FILL * 100,
            advice=_advice(tex, strands, fibre, rug),
        )
        yield Finding(what, "[pile] yarn", "warning")


def _advice(tex: float, strands: int, fibre: str, rug: Rug) -> Sentence:
    """Return how many strands of the same yarn fill the place as usual, or else the count of a yarn that does."""
    wanted_tex = usual_tex(fibre, rug.density)
    number = max(half_up(wanted_tex / tex), 1)
    if number != strands and LEAST_FILL <= fill_of(tex * number, fibre, rug.density) <= MOST_FILL:
        return later_n("take {n} strand", "take {n} strands", number)
    return later("take about {tex:.0f} tex in all (Nm {nm:.2g})", tex=wanted_tex, nm=1000 / wanted_tex)


def pile_figures(
    yarns: tuple[Yarn, ...],
    counts: NDArray[np.int64],
    rug: Rug,
    workshop: Workshop,
    binding_m: Mapping[int, float] = NOTHING_BOUND,
) -> PileFigures:
    """Return the pile of `counts` knots of each of `yarns`.

    Parameters
    ----------
    yarns : tuple of Yarn
    counts : ndarray of int64, shape (yarns,)
        The `counts` of a whole map, or of a part of it.
    rug : Rug
    workshop : Workshop
    binding_m : mapping of int to float
        The metres that bind the sides, by the index of the yarn.

    Raises
    ------
    RugError
        If a yarn is too thick for the density.
    """
    tied = int(counts.sum())
    lines = tuple(
        _line(yarn, int(knots), tied, rug, workshop, binding_m.get(index, 0.0))
        for index, (yarn, knots) in enumerate(zip(yarns, counts, strict=True))
    )
    return PileFigures(
        yarns=lines,
        reached=_reached(rug, workshop, bound=any(line.binding_m for line in lines)),
        assumptions=tuple(_assumptions(yarns, rug, workshop)),
        findings=_findings(lines, rug, workshop),
    )
