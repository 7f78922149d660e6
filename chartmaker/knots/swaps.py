"""Recolouring of a knot map without converting again."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.colour import ciede2000, hex_of
from chartmaker.ground.errors import CardError
from chartmaker.ground.language import say, say_n
from chartmaker.ground.textsafe import guess, inert
from chartmaker.knots.knotmap import NO_KNOT, KnotMap, without_unused
from chartmaker.yarns.yarn import Yarn, lab_of

#: How the yarns of a new card are found: the same code, the nearest colour by CIEDE2000, or the nearest while no two
#: yarns become one.
By = Literal["code", "nearest", "distinct"]


@dataclass(frozen=True)
class Swap:
    """One yarn replaced by another: `knots` knots of it, and `de00` (CIEDE2000) between the two colours."""

    before: Yarn
    after: Yarn
    knots: int
    de00: float


def _index(knot_map: KnotMap, code: str) -> int:
    codes = [yarn.code for yarn in knot_map.yarns]
    if code not in codes:
        near, code = guess(code, codes), inert(code)
        if near:
            raise CardError(say("this map ties no yarn {code}; did you mean {near}?", code=code, near=near))
        raise CardError(say("this map ties no yarn {code}; it ties {codes}", code=code, codes=", ".join(codes)))
    return codes.index(code)


def _of_card(card: Sequence[Yarn], code: str) -> Yarn:
    for yarn in card:
        if yarn.code == code:
            return yarn
    near, code = guess(code, [yarn.code for yarn in card]), inert(code)
    if near:
        raise CardError(say("the card has no yarn {code}; did you mean {near}?", code=code, near=near))
    raise CardError(say("the card has no yarn {code}", code=code))


def retied(knot_map: KnotMap, yarns: Sequence[Yarn]) -> KnotMap:
    """Return the map with yarn i's knots tied in `yarns[i]`; the same code twice makes one yarn of two.

    Parameters
    ----------
    knot_map : KnotMap
    yarns : sequence of Yarn
        One for each of the map's. Its order is kept; a yarn that two become stands where the first stood.
    """
    order: dict[str, int] = {}
    for yarn in yarns:
        order.setdefault(yarn.code, len(order))
    first = {yarn.code: yarn for yarn in reversed(yarns)}
    lookup = np.full(NO_KNOT + 1, NO_KNOT, dtype=np.uint16)
    lookup[: len(yarns)] = [order[yarn.code] for yarn in yarns]
    knots = lookup[knot_map.knots]
    return without_unused(KnotMap(knots, tuple(first[code] for code in order), knot_map.rug))


def exchanged_or_merged(
    knot_map: KnotMap, merges: Iterable[tuple[str, str]], exchanges: Iterable[tuple[str, str]]
) -> KnotMap:
    """Return the map after all `merges` (the first yarn goes into the second) with all `exchanges`, done at once.

    The yarns keep their order.

    Raises
    ------
    CardError
        If the map does not tie a code, or a code is asked for twice so that the order would matter.
    """
    merges, exchanges = list(merges), list(exchanges)
    sources = [a for a, _ in merges] + [code for pair in exchanges for code in pair]
    for a, b in merges + exchanges:
        if a == b:
            raise CardError(say("{first}:{second} names one yarn twice", first=inert(a), second=inert(b)))
    twice = {code for code in sources if sources.count(code) > 1} | ({b for _, b in merges} & set(sources))
    if twice:
        code = inert(min(twice))
        raise CardError(say("{code} is in two swaps, whose order would matter; do one, then the other", code=code))
    lookup = np.arange(NO_KNOT + 1, dtype=np.uint16)
    for a, b in merges:
        lookup[_index(knot_map, a)] = _index(knot_map, b)
    for a, b in exchanges:
        first, second = _index(knot_map, a), _index(knot_map, b)
        lookup[first], lookup[second] = second, first
    return without_unused(KnotMap(lookup[knot_map.knots], knot_map.yarns, knot_map.rug))


def recoloured(knot_map: KnotMap, pairs: Iterable[tuple[str, str]], card: Sequence[Yarn]) -> KnotMap:
    """Return the map with the first yarn's knots of each pair of codes tied in the second, a yarn of `card`.

    Raises
    ------
    CardError
        If the map does not tie the first, the card does not have the second, a code is asked for twice, or the map
        ties the second in another colour than the card's.
    """
    yarns = list(knot_map.yarns)
    tied = {yarn.code: yarn for yarn in yarns}
    done: set[int] = set()
    for before, after in pairs:
        index = _index(knot_map, before)
        if index in done:
            raise CardError(say("{code} is recoloured twice", code=inert(before)))
        done.add(index)
        yarns[index] = _of_card(card, after)
        known = tied.get(after)
        if known is not None and known.srgb != yarns[index].srgb:
            raise CardError(
                say(
                    "the map ties {code} in {tied}, and the card has it in {dyed}; take the whole map to this card "
                    "first (--by code)",
                    code=after,
                    tied=hex_of(known.srgb),
                    dyed=hex_of(yarns[index].srgb),
                )
            )
    return retied(knot_map, yarns)


def onto_card(knot_map: KnotMap, card: Sequence[Yarn], by: By) -> KnotMap:
    """Return the map with every yarn replaced by one of `card`.

    Raises
    ------
    CardError
        If `by` is ``code`` and the card misses a code, or ``distinct`` and it has too few yarns.
    """
    if by == "code":
        missing = [yarn.code for yarn in knot_map.yarns if yarn.code not in {each.code for each in card}]
        if missing:
            raise CardError(
                say_n(
                    "the card has no yarn {codes}; recolour it by name (--recolour A:B), or all by --by nearest or "
                    "--by distinct",
                    "the card has none of the yarns {codes}; recolour these by name (--recolour A:B), or all by "
                    "--by nearest or --by distinct",
                    len(missing),
                    codes=", ".join(missing),
                )
            )
        return retied(knot_map, [_of_card(card, yarn.code) for yarn in knot_map.yarns])
    away = ciede2000(lab_of(knot_map.yarns)[:, None], lab_of(tuple(card))[None])
    chosen = away.argmin(axis=1) if by == "nearest" else _distinct(away, knot_map.counts)
    return retied(knot_map, [card[index] for index in chosen])


def _distinct(away: NDArray[np.floating], counts: NDArray[np.int64]) -> NDArray[np.intp]:
    """Return a different yarn of the card for each of the map's, with the least sum of squares over the knots."""
    from scipy.optimize import linear_sum_assignment

    yarns, on_card = away.shape
    if yarns > on_card:
        one = "the card has {n} yarn, which is too few to keep {yarns} apart; use --by nearest"
        many = "the card has {n} yarns, which are too few to keep {yarns} apart; use --by nearest"
        raise CardError(say_n(one, many, on_card, yarns=yarns))
    _, chosen = linear_sum_assignment(away**2 * counts[:, None])
    return np.asarray(chosen)


def swaps_between(before: KnotMap, after: KnotMap) -> tuple[Swap, ...]:
    """Return what each yarn of `before` became in `after`, a map made from it by the functions above."""
    swaps = []
    for index, place in sorted(_first_places(before).items()):
        yarn, now = before.yarns[index], after.yarns[int(after.knots.flat[place])]
        if now != yarn:
            de00 = float(ciede2000(np.array(yarn.lab), np.array(now.lab)))
            swaps.append(Swap(yarn, now, int(before.counts[index]), de00))
    return tuple(swaps)


def _first_places(knot_map: KnotMap) -> dict[int, int]:
    """Return the flat index of one knot of every yarn."""
    places: dict[int, int] = {}
    for row in range(knot_map.rows):
        indices, columns = np.unique(knot_map.knots[row], return_index=True)
        for index, column in zip(indices.tolist(), columns.tolist(), strict=True):
            if index != NO_KNOT:
                places.setdefault(index, row * knot_map.columns + column)
        if len(places) == len(knot_map.yarns):
            break
    return places
