"""How high the pile of each yarn is cut at the loom, and how high it is once it is shorn and carved."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from chartmaker.ground.basis import Assumption
from chartmaker.ground.errors import RugError
from chartmaker.ground.language import say
from chartmaker.ground.lengths import mm_words
from chartmaker.ground.sentence import later
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Workshop
from chartmaker.techniques.crafts import craft_of

#: The cut height if neither [pile] cut nor [rug] pile is given (common practice).
DEFAULT_CUT_MM = 10.0
#: The ratio of the cut height to the finished pile if only one of them is given. With the default waste it makes up the
#: 10 to 20 % of the yarn that clipping and shearing together take (common practice; the split is an estimate).
CUT_OVER_PILE = 1.15


@dataclass(frozen=True)
class Heights:
    """The height at which the knife cuts the tufts, and that of the finished pile."""

    cut_mm: float
    pile_mm: float

    @property
    def shorn_mm(self) -> float:
        """What shears and carver take off each end of a knot, in millimetres."""
        return self.cut_mm - self.pile_mm


@dataclass(frozen=True)
class Assumed:
    """Which heights of a yarn nobody gave: the one at which it is cut, and those that are left by shears and carver."""

    cut: bool
    shorn: bool
    finished: bool


def base_heights(rug: Rug, workshop: Workshop) -> Heights:
    """Return the heights of yarns that have none of their own; what is not given is estimated to the half millimetre.

    Raises
    ------
    RugError
        If the pile would be higher than it was cut.
    """
    given_cut, given_pile = workshop.pile.cut_mm, rug.pile_mm
    if workshop.pile.loops and (given_cut is None or given_pile is None):  # nothing is shorn
        height_mm = float(given_cut or given_pile or DEFAULT_CUT_MM)
        return Heights(height_mm, height_mm)
    if given_cut is None and given_pile is not None:
        pile_mm = float(given_pile)
        return Heights(math.ceil(pile_mm * CUT_OVER_PILE * 2 - 1e-9) / 2, pile_mm)
    cut_mm = DEFAULT_CUT_MM if given_cut is None else float(given_cut)
    if given_pile is None:
        return Heights(cut_mm, math.floor(cut_mm / CUT_OVER_PILE * 2) / 2 or cut_mm)
    if given_pile > cut_mm:
        message = say(
            "the pile is cut at {cut}, and after shearing it cannot be {pile} high; the cut is the height as the knife "
            "leaves it, before shearing",
            cut=mm_words(cut_mm),
            pile=mm_words(given_pile),
        )
        raise RugError(message, where="[pile] cut")
    return Heights(cut_mm, float(given_pile))


def is_loop(code: str, rug: Rug, workshop: Workshop) -> bool:
    """Return whether the pile of the yarn `code` is left in loops."""
    return workshop.pile.loops or code in craft_of(rug).loops_of(workshop)


def shorn_heights(code: str, rug: Rug, workshop: Workshop) -> Heights:
    """Return the heights of the yarn `code` as the shears leave it, before anything is carved.

    A yarn in `[pile] heights` is tied and cut at a height of its own: the shears take from a higher one what they take
    from the rest, and do not reach a lower one. A yarn whose tufts are left in loops is not shorn: it is tufted at the
    finished height unless it has one of its own.
    """
    base = base_heights(rug, workshop)
    looped = code in craft_of(rug).loops_of(workshop)
    own_mm = float(workshop.pile.heights_mm.get(code, base.pile_mm if looped else base.cut_mm))
    if looped:
        return Heights(own_mm, own_mm)
    return Heights(own_mm, own_mm - base.shorn_mm if own_mm >= base.cut_mm else min(own_mm, base.pile_mm))


def heights_of(code: str, rug: Rug, workshop: Workshop) -> Heights:
    """Return the heights of the yarn `code`, cut and finished.

    A yarn in `[pile] carved` is tied and cut like any other and then carved down, so that it uses as much yarn as the
    full height does. Loops are never carved, because a loop that is cut pulls out (common practice).

    Raises
    ------
    RugError
        If a height after shearing or carving is above the cut height, or loops would be carved.
    """
    shorn, carved = shorn_heights(code, rug, workshop), workshop.pile.carved_mm.get(code)
    if carved is None:
        return shorn
    if is_loop(code, rug, workshop):
        message = say(
            "the pile of yarn {code} is left in loops, which cannot be carved: a loop that is cut pulls out. A part "
            "that is lower than the rest belongs in heights",
            code=code,
        )
        raise RugError(message, where="[pile] carved")
    carved_mm = float(carved)
    if carved_mm > shorn.pile_mm:
        message = say(
            "yarn {code} is {level} high before it is carved and cannot be carved to {carved}; a part that is tied "
            "higher than the rest belongs in heights",
            code=code,
            level=mm_words(shorn.pile_mm),
            carved=mm_words(carved_mm),
        )
        raise RugError(message, where="[pile] carved")
    return Heights(shorn.cut_mm, carved_mm)


def assumed_of(code: str, rug: Rug, workshop: Workshop) -> Assumed:
    """Return which heights of the yarn `code` are reckoned because the rug file gives none; as `base_heights` and
    `shorn_heights` reckon them."""
    base, own = base_heights(rug, workshop), workshop.pile.heights_mm.get(code)
    no_cut, no_pile = workshop.pile.cut_mm is None, rug.pile_mm is None
    if code in craft_of(rug).loops_of(workshop):
        none = own is None and no_pile
        return Assumed(none, none, none)
    shorn = no_pile and (own is None or own > base.pile_mm)
    if own is not None and own >= base.cut_mm:  # the shears take as much off it as off the rest
        shorn = base.shorn_mm > 0
    return Assumed(own is None and no_cut, shorn, shorn and code not in workshop.pile.carved_mm)


def assumed_heights(codes: Iterable[str], rug: Rug, workshop: Workshop) -> list[Assumption]:
    """Return the heights assumed if [pile] cut or [rug] pile is not given, and those of yarns that are cut higher."""
    base, assumed = base_heights(rug, workshop), []
    if workshop.pile.cut_mm is None and rug.pile_mm is None:
        assumed.append(Assumption("[pile] cut", mm_words(base.cut_mm), later("a usual height"), "common practice"))
    elif workshop.pile.cut_mm is None:
        why = later(
            "estimated as [rug] pile and {share:.0f} % for shearing, up to the next half millimetre",
            share=(CUT_OVER_PILE - 1) * 100,
        )
        assumed.append(Assumption("[pile] cut", mm_words(base.cut_mm), why, "estimate"))
    if rug.pile_mm is None:
        why = later(
            "estimated as [pile] cut divided by {times:g} for shearing, down to the next half millimetre",
            times=CUT_OVER_PILE,
        )
        assumed.append(Assumption("[rug] pile", mm_words(base.pile_mm), why, "estimate"))
    for code in codes:
        own = heights_of(code, rug, workshop)
        if own.cut_mm > base.cut_mm and own.shorn_mm > 0 and code not in workshop.pile.carved_mm:
            what = later("{code} finished", code=code)
            why = later("the shears take as much off it as off the rest")
            assumed.append(Assumption(what, mm_words(own.pile_mm), why, "estimate"))
    return assumed
