"""The yarns that a conversion may use: the card's, those chosen from it, or shades to be dyed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from chartmaker.colours.boxing import gathered
from chartmaker.colours.choosing import Chosen, choose
from chartmaker.colours.matching import nearest_yarns
from chartmaker.ground.colour import FloatArray, ciede2000, lab_from_srgb8, srgb8_from_lab
from chartmaker.ground.errors import CardError, RugError
from chartmaker.ground.language import say, say_n
from chartmaker.ground.memory import Values, memory
from chartmaker.ground.textsafe import guess
from chartmaker.knots.knotmap import MOST_YARNS
from chartmaker.order.design import YarnChoice
from chartmaker.yarns.yarn import Yarn, lab_of

#: No two shades to be dyed are closer than this, by CIEDE2000. A dye lot may be off by about 1 (common practice), so
#: two shades 3 apart are never taken for each other at the loom, even if each is off towards the other.
SHADES_APART_DE00 = 3.0
#: How many yarns are chosen from a card larger than a map can hold if the rug file does not say how many.
DEFAULT_CHOICE = 24
#: If there are more combinations of a colour and a yarn than this, near colours are gathered until there are not, so
#: that choosing from the largest card takes about a minute and less than a gigabyte, however large the rug. Up to
#: 40,000 knots are weighed one by one with any card.
_MOST_TRIES = 800_000_000
#: How many of the artwork's colours the shades to be dyed are chosen from.
_MOST_SHADES = 1500


@dataclass(frozen=True)
class Choosing:
    """Which yarns were chosen, and how far they are from the best conceivable choice.

    `mean_de00` is the knot-weighted mean CIEDE2000 of the choice, and no choice of the same number of yarns has a mean
    below `bound_de00`. `exact` says that the colour of every knot was weighed, not groups of colours. `left_out` are
    the yarns that would have been chosen in place of those to be kept, and `free_de00` is the mean that a choice
    without any to be kept would have. `nearer` names, for a chosen yarn, an allowed one that is nearer (CIEDE2000) to
    some of the colours that the chosen one stands for; of several it names the one that would improve the match most.
    """

    codes: tuple[str, ...]
    mean_de00: float
    bound_de00: float
    exact: bool
    left_out: tuple[str, ...] = ()
    free_de00: float | None = None
    nearer: tuple[tuple[str, str], ...] = ()

    @property
    def gap(self) -> float:
        """How far the choice is above the bound, as a share of the bound."""
        return self.mean_de00 / self.bound_de00 - 1 if self.bound_de00 > 0 else 0.0


def check_on_card(wanted: Iterable[str], card: tuple[Yarn, ...], where: str) -> None:
    """Refuse a code that the card does not have; the message names the nearest that it has.

    Raises
    ------
    RugError
        At the first such code; `where` is the key that names it.
    """
    codes = [yarn.code for yarn in card]
    for code in wanted:
        if code not in codes:
            near = guess(code.upper(), codes)
            message = "{code!r} is not on the card; did you mean {near}?" if near else "{code!r} is not on the card"
            raise RugError(say(message, code=code, near=near), where=where)


def allowed_yarns(card: tuple[Yarn, ...], choice: YarnChoice) -> tuple[Yarn, ...]:
    """Return the card without the yarns to skip, in the card's order.

    Raises
    ------
    RugError
        If `choice` names a code that is not on the card, keeps and skips the same one, or keeps more than it may.
    CardError
        If no yarn is left.
    """
    for key, wanted in (("keep", choice.keep), ("skip", choice.skip)):
        check_on_card(wanted, card, f"[yarns] {key}")
    both = sorted(set(choice.keep) & set(choice.skip))
    if both:
        raise RugError(say("[yarns] keep and skip both name {code!r}; leave it in one of them", code=both[0]))
    if choice.colours is not None and len(set(choice.keep)) > choice.colours:
        one = "[yarns] keep names {n} yarn, and colours allows {colours}"
        many = "[yarns] keep names {n} yarns, and colours allows {colours}"
        raise RugError(say_n(one, many, len(set(choice.keep)), colours=choice.colours))
    allowed = tuple(yarn for yarn in card if yarn.code not in choice.skip)
    if card and not allowed:
        raise CardError(say("no yarn is left to choose from; leave some out of [yarns] skip"))
    return allowed


def number_to_choose(allowed: tuple[Yarn, ...], choice: YarnChoice, real_colours: int | None) -> int | None:
    """Return how many yarns must be chosen; None when all that are allowed may be used.

    Raises
    ------
    RugError
        If there is neither a card nor a number of shades to dye.
    """
    if not allowed:
        if choice.colours is None and real_colours is None:
            raise RugError(say("[yarns] needs a card, or colours = the number of shades to dye"))
        return choice.colours or real_colours
    if choice.colours is None:
        return DEFAULT_CHOICE if len(allowed) > MOST_YARNS else None
    return min(choice.colours, len(allowed))


def chosen_yarns(
    allowed: tuple[Yarn, ...], keep: tuple[str, ...], number: int, colours: FloatArray, weights: FloatArray, exact: bool
) -> tuple[tuple[Yarn, ...], Choosing]:
    """Return the `number` best yarns, or shades to be dyed when none are `allowed`, for the artwork's colours.

    Parameters
    ----------
    colours : ndarray, shape (n, 3)
        CIELAB of what the knots show.
    weights : ndarray, shape (n,)
        Knots of each.
    exact : bool
        Whether `colours` are the knots' own.
    """
    if allowed:  # sorted, so that the order of the card's lines does not matter
        card, apart = tuple(sorted(allowed, key=lambda yarn: (yarn.lab, yarn.code))), 0.0
    else:
        card, apart = _possible_shades(colours, weights), SHADES_APART_DE00
    most = _MOST_TRIES // len(card)
    if len(colours) > most:
        colours, weights, _ = gathered(colours, weights, most, 1.0)
        exact = False
    kept = [index for index, yarn in enumerate(card) if yarn.code in keep]
    found, owner = _tied_choice(colours, weights, lab_of(card), number, kept, apart)
    yarns = tuple(card[index] for index in found.indices)
    codes = [yarn.code for yarn in yarns]
    yarns = tuple(yarn for yarn in allowed if yarn in yarns) if allowed else _named(yarns)
    made = Choosing(tuple(yarn.code for yarn in yarns), found.mean_de00, found.bound_de00, exact)
    if not allowed:
        return yarns, made
    made = replace(made, nearer=tuple(_nearer(colours, weights, card, codes, owner)))
    if kept:
        free, _ = _tied_choice(colours, weights, lab_of(card), number, [], apart)
        left = tuple(card[index].code for index in free.indices if card[index].code not in codes)
        made = replace(made, left_out=left, free_de00=free.mean_de00)
    return yarns, made


def _tied_choice(
    colours: FloatArray, weights: FloatArray, card_lab: FloatArray, number: int, kept: list[int], apart: float
) -> tuple[Chosen, NDArray[np.intp]]:
    """Return a choice in which `number` yarns are tied, if there are that many, and each colour's place in it.

    A yarn that must be kept but is nearest to no colour takes no other yarn's place.
    """
    of = (colours, weights, card_lab, number, tuple(kept), apart)
    indices, owner, worth = memory().recall(
        "choice", of, lambda: _chosen(colours, weights, card_lab, number, kept, apart)
    )
    return Chosen(indices, *worth.tolist()), owner


def _chosen(
    colours: FloatArray, weights: FloatArray, card_lab: FloatArray, number: int, kept: list[int], apart: float
) -> Values:
    """Return the chosen indices, the place of each colour, and the mean of the choice with its bound."""
    asked = number
    while True:
        found = choose(colours, weights, card_lab, asked, kept, apart)
        owner = nearest_yarns(colours, card_lab[found.indices]).astype(np.intp)
        idle = len(found.indices) - len(np.unique(owner))
        if not kept or asked - idle >= number or asked >= min(len(card_lab), number + len(kept)):
            return found.indices, owner, np.array([found.mean_de00, found.bound_de00])
        asked += 1


def _nearer(
    colours: FloatArray, weights: FloatArray, card: tuple[Yarn, ...], codes: list[str], owner: NDArray[np.intp]
) -> Iterator[tuple[str, str]]:
    """Yield (chosen code, code of the yarn that would most improve what it stands for), where there is such a yarn."""
    place = {yarn.code: index for index, yarn in enumerate(card)}
    chosen, lab = np.array([place[code] for code in codes]), lab_of(card)
    of = (colours, weights, lab, chosen, owner)
    (better,) = memory().recall("nearer yarns", of, lambda: _betterers(colours, weights, lab, chosen, owner))
    for code, index in zip(codes, better.tolist(), strict=True):
        if index >= 0:
            yield code, card[index].code


def _betterers(
    colours: FloatArray, weights: FloatArray, lab: FloatArray, yarns: NDArray[np.intp], owner: NDArray[np.intp]
) -> Values:
    """Return for each of the chosen `yarns` the one that would most improve what it stands for, or -1 for none."""
    chosen = yarns[owner]
    nearest = nearest_yarns(colours, lab).astype(np.intp)
    other = np.flatnonzero(nearest != chosen)
    gain = weights[other] * (
        ciede2000(colours[other], lab[chosen[other]]) - ciede2000(colours[other], lab[nearest[other]])
    )
    pairs, member = np.unique(owner[other] * len(lab) + nearest[other], return_inverse=True)
    gains = np.bincount(member.ravel(), gain, minlength=len(pairs))
    better = np.full(len(yarns), -1)
    for number in range(len(yarns)):
        own = np.flatnonzero(pairs // len(lab) == number)
        if len(own) and gains[own].max() > 0:
            better[number] = pairs[own[gains[own].argmax()]] % len(lab)
    return (better,)


def _possible_shades(colours: FloatArray, weights: FloatArray) -> tuple[Yarn, ...]:
    """Return the artwork's own colours as candidates for dyeing, gathered into at most _MOST_SHADES."""
    mean = gathered(colours, weights, _MOST_SHADES, 0.5, 1.3).lab
    srgb = np.unique(srgb8_from_lab(mean), axis=0)
    return tuple(_shade(tuple(int(v) for v in colour), "") for colour in srgb)


def _shade(srgb: tuple[int, ...], code: str) -> Yarn:
    l, a, b = (float(v) for v in lab_from_srgb8(srgb))  # noqa: E741
    return Yarn(code, f"Shade {int(code[1:])}" if code else "", (srgb[0], srgb[1], srgb[2]), (l, a, b))


def _named(shades: tuple[Yarn, ...]) -> tuple[Yarn, ...]:
    """Return the shades numbered from light to dark."""
    ordered = sorted(shades, key=lambda shade: (-shade.lab[0], shade.srgb))
    return tuple(_shade(shade.srgb, f"S{number:02d}") for number, shade in enumerate(ordered, 1))
