"""The yarn that a finished rug really used, turned into the length per knot for the next rug."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from chartmaker.figures.binding import binding_of
from chartmaker.figures.heights import base_heights
from chartmaker.figures.pile import MEASURED_SPREAD, knot_length
from chartmaker.ground.errors import RugError
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import phrase, say
from chartmaker.ground.sentence import later
from chartmaker.ground.units import parse_mass_g
from chartmaker.knots.knotmap import KnotMap
from chartmaker.order.workshop import Workshop
from chartmaker.techniques.crafts import craft_of

#: A rug that used the first number of times the estimate, or as many times less, cannot have been weighed right and is
#: refused; one that is off by more than the second number is remarked on (estimate).
IMPOSSIBLE_RATIO, ODD_RATIO = 5.0, 1.75
#: No calibration claims a smaller spread than this share, because scales and hands vary (estimate).
LEAST_SPREAD = 0.01

_USED = phrase("yarn used")


def used_of(words: Iterable[str]) -> dict[str, float]:
    """Return the grams by code that ``CODE=MASS`` words such as ``W-01=1.25 kg`` give; a bare number is grams.

    Raises
    ------
    RugError
        If a word is malformed, a mass is not above zero, or a code is there twice.
    """
    used: dict[str, float] = {}
    for word in words:
        code, equals, mass = (part.strip() for part in word.partition("="))
        if not (code and equals):
            message = say(
                "{word!r} cannot be read; write what a yarn used as CODE=MASS, such as W-01='1250 g'", word=word
            )
            raise RugError(message, where=_USED)
        if code in used:
            raise RugError(say("yarn {code} is there twice", code=code), where=_USED)
        try:
            used[code] = float(parse_mass_g(mass, "g"))
        except RugError as error:
            raise RugError(say("yarn {code}: {fault}", code=code, fault=error.message), where=_USED) from error
    return used


@dataclass(frozen=True)
class YarnUse:
    """What the use of one yarn says: the length per knot at the base cut height, without waste."""

    code: str
    knots: int
    used_g: float
    length_per_knot_mm: float
    estimated_g: float


@dataclass(frozen=True)
class Calibration:
    """The length per knot at the base cut height, and the share by which it may be off."""

    length_per_knot_mm: float
    spread: float
    yarns: tuple[YarnUse, ...]
    used_g: float
    estimated_g: float
    waste: float

    @property
    def ratio(self) -> float:
        """How many times the estimate was used."""
        return self.used_g / self.estimated_g

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What is odd about the calibration."""
        if 1 / ODD_RATIO <= self.ratio <= ODD_RATIO:
            return ()
        what = later(
            "{ratio:.2g} times the estimate was used: are the count, the strands and the cut height those of this rug, "
            "and did all of the yarn go into it?",
            ratio=self.ratio,
        )
        return (Finding(what, later("yarn used"), "warning"),)

    @property
    def rug_file_lines(self) -> tuple[str, ...]:
        """What to write into [pile] for the next rug of this kind."""
        return (
            f'length_per_knot = "{self.length_per_knot_mm:.2f} mm"',
            f'spread = "{math.ceil(self.spread * 1000) / 10:g}%"',
            f"waste = {self.waste:g}",
        )


@dataclass(frozen=True)
class _Share:
    """One yarn's part of the equation used = (length + extra) x grams per millimetre + the side binding."""

    knots: int
    g_per_mm: float
    extra_mm: float
    binding_g: float
    estimated_g: float


def _shares(knot_map: KnotMap, workshop: Workshop) -> dict[str, _Share]:
    rug, craft = knot_map.rug, craft_of(knot_map.rug)
    gross = 1 / (1 - workshop.pile.waste)
    base_mm = base_heights(rug, workshop).cut_mm
    shares = {}
    binding = binding_of(knot_map, workshop)
    for index, (yarn, knots) in enumerate(zip(knot_map.yarns, knot_map.counts.tolist(), strict=True)):
        knot = knot_length(yarn, rug, workshop)
        g_per_mm = knots * workshop.pile.strands * float(knot.count.tex) / 1e6 * gross
        extra_mm = craft.stitch_at(0.0, base_mm, knot.heights.cut_mm)
        times = craft.stitch_at(1.0, base_mm, knot.heights.cut_mm) - extra_mm
        binding_g = knot.count.mass_g(binding.net_length_m) * gross if index == binding.yarn else 0.0
        estimated_g = g_per_mm * knot.length_mm + binding_g
        shares[yarn.code] = _Share(knots, g_per_mm * times, extra_mm / times, binding_g, estimated_g)
    return shares


def _check(used_g: Mapping[str, float], shares: Mapping[str, _Share]) -> None:
    for code, grams in used_g.items():
        if code not in shares or not shares[code].knots:
            message = say("yarn {code} is not tied in this rug; it ties {codes}", code=code, codes=", ".join(shares))
            raise RugError(message, where=_USED)
        if not (math.isfinite(grams) and grams > 0):
            message = say("yarn {code}: {grams:g} g; give what was issued less what came back", code=code, grams=grams)
            raise RugError(message, where=_USED)
    if not used_g:
        raise RugError(say("there is nothing to calibrate from; give the grams used, by yarn or in all"), where=_USED)


def _check_ratio(used_g: float, estimated_g: float) -> None:
    """Refuse an amount of yarn that cannot have gone into the rug."""
    if not 1 / IMPOSSIBLE_RATIO <= used_g / estimated_g <= IMPOSSIBLE_RATIO:
        message = say(
            "{used:,.0f} g is {ratio:.3g} times the {estimated:,.0f} g that the knots are estimated to take; give what "
            "this rug alone used, with its unit",
            used=used_g,
            ratio=used_g / estimated_g,
            estimated=estimated_g,
        )
        raise RugError(message, where=_USED)


def _positive(length_mm: float) -> float:
    if length_mm <= 0:
        raise RugError(say("so little yarn leaves no length for the knots; are these grams?"), where=_USED)
    return length_mm


def calibrate_by_yarn(knot_map: KnotMap, workshop: Workshop, used_g: Mapping[str, float]) -> Calibration:
    """Return the calibration from the grams that single yarns really used, waste included.

    The length is the one that accounts for the sum of what was used; the spread is the standard deviation of the single
    yarns about it, each weighted by its mass.

    Raises
    ------
    RugError
        If a code is not in the rug, or a mass is not above zero.
    """
    shares = _shares(knot_map, workshop)
    _check(used_g, shares)
    uses, weighed = [], []
    for code, grams in used_g.items():
        share = shares[code]
        _check_ratio(grams, share.estimated_g)
        own_mm = _positive((grams - share.binding_g) / share.g_per_mm - share.extra_mm)
        uses.append(YarnUse(code, share.knots, grams, own_mm, share.estimated_g))
        weighed.append((share.g_per_mm, own_mm))
    whole = math.fsum(weight for weight, _ in weighed)
    length_mm = math.fsum(weight * own_mm for weight, own_mm in weighed) / whole
    off = math.fsum(weight * (own_mm - length_mm) ** 2 for weight, own_mm in weighed)
    spread = math.sqrt(off / whole) / length_mm if len(uses) > 1 else MEASURED_SPREAD
    return Calibration(
        length_per_knot_mm=length_mm,
        spread=max(spread, LEAST_SPREAD),
        yarns=tuple(uses),
        used_g=math.fsum(use.used_g for use in uses),
        estimated_g=math.fsum(use.estimated_g for use in uses),
        waste=workshop.pile.waste,
    )


def calibrate_in_all(knot_map: KnotMap, workshop: Workshop, used_g: float) -> Calibration:
    """Return the calibration from the grams of all pile yarn together, waste included.

    One number has no spread of its own, so the usual spread of a measurement is taken.

    Raises
    ------
    RugError
        If the mass is not above zero, or no knot is tied.
    """
    shares = tuple(_shares(knot_map, workshop).values())
    whole = math.fsum(share.g_per_mm for share in shares)
    if not (math.isfinite(used_g) and used_g > 0) or not whole:
        message = say(
            "{used_g:g} g were used for {knots:,} knots; both must be above zero", used_g=used_g, knots=knot_map.tied
        )
        raise RugError(message, where=_USED)
    estimated_g = math.fsum(share.estimated_g for share in shares)
    _check_ratio(used_g, estimated_g)
    extra_g = math.fsum(share.g_per_mm * share.extra_mm + share.binding_g for share in shares)
    return Calibration(
        length_per_knot_mm=_positive((used_g - extra_g) / whole),
        spread=MEASURED_SPREAD,
        yarns=(),
        used_g=used_g,
        estimated_g=estimated_g,
        waste=workshop.pile.waste,
    )
