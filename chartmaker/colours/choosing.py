"""The best few yarns of a card for a given set of colours."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from chartmaker.colours.matching import nearest_yarns
from chartmaker.colours.quick import quick_de00
from chartmaker.ground.colour import FloatArray, ciede2000
from chartmaker.ground.engines import engine

#: The search runs on so many groups of colours; the last swaps are made on all colours.
GROUPS = 3000
#: Kicks out of a local optimum that are tried, on the groups and then on all colours, and the seed that makes them
#: the same in every run.
GROUP_KICKS, KICKS, SEED = 1, 16, 1
#: Stages of the lower bound's ascent, on the groups and then on all colours. A stage climbs for so many rounds with
#: the most promising yarns, so many for each to choose, before all yarns have their say.
GROUP_STAGES, STAGES, ROUNDS, PROMISING = 5, 3, 50, 4
#: Swaps of one choice at most: each helps, so they come to an end well before, whatever rounding does.
MOST_SWAPS = 1000
#: A choice this share above its bound is good enough to leave it at swaps.
CLOSE = 2e-4
#: What the bound is lowered by for distances in 32 bits.
ROUNDING_DE00 = 5e-4
#: Distances that are computed at a time.
_BLOCK = 1 << 15

Float32 = NDArray[np.float32]


@dataclass(frozen=True, eq=False)
class Chosen:
    """The chosen yarns, rising indices into the card.

    `mean_de00` is the weighted mean CIEDE2000 of the colours to the nearest chosen yarn; no choice of as many yarns
    can have less than `bound_de00`.
    """

    indices: NDArray[np.intp]
    mean_de00: float
    bound_de00: float


def choose(
    lab: FloatArray,
    weights: FloatArray,
    card_lab: FloatArray,
    number: int,
    keep: Iterable[int] = (),
    least_apart: float = 0.0,
) -> Chosen:
    """Return the `number` yarns with about the least weighted mean CIEDE2000 to their nearest colours.

    Greedy choice, then the best swap of one yarn for another until none helps (Teitz, Bart, Operations Research 16
    (1968)), restarted from kicked choices. The bound is the Lagrangian relaxation of the p-median problem, by
    subgradient ascent (Cornuejols, Fisher, Nemhauser, Management Science 23 (1977)): it holds whatever the ascent does.

    Parameters
    ----------
    lab : ndarray, shape (n, 3)
    weights : ndarray, shape (n,)
        Knots of each colour.
    card_lab : ndarray, shape (yarns, 3)
    number : int
        At least the length of `keep`.
    keep : indices into the card
        Yarns that are chosen in any case.
    least_apart : float
        No two chosen yarns are closer than this. The bound disregards it, which keeps it a bound.
    """
    kept = np.array(sorted(set(keep)), dtype=np.intp)
    if number >= len(card_lab) and not least_apart:
        every = np.arange(len(card_lab))
        mean = _exact_mean(lab, weights, card_lab)
        return Chosen(every, mean, mean)
    share = weights / weights.sum()
    distance = _distances(lab, card_lab)
    clash = _clashes(card_lab, least_apart)
    order, starts = _groups(lab)
    small = _Problem(*_grouped(distance, share, order, starts), kept, clash)
    chosen = _search(small, min(number, len(card_lab)), GROUP_KICKS)
    whole = _Problem(distance, share.astype(np.float32), kept, clash)
    pay = _ascent(small, len(chosen), small.value(chosen), small.nearest(chosen), GROUP_STAGES).pay
    member = np.empty(len(order), dtype=np.intp)
    member[order] = np.repeat(np.arange(len(starts)), np.diff(np.append(starts, len(order))))
    pay = np.maximum(pay[member] + whole.nearest(chosen) - small.nearest(chosen)[member], 0)
    value = whole.value(chosen)
    proof = _ascent(whole, len(chosen), value, pay, STAGES)
    likely = np.union1d(np.flatnonzero(proof.margin <= value - proof.bound + ROUNDING_DE00), chosen)
    few = whole.only(likely)
    kicks = KICKS if value > proof.bound * (1 + CLOSE) else 0
    chosen = likely[np.sort(_improved(few, np.searchsorted(likely, chosen), kicks))]
    mean = _exact_mean(lab, weights, card_lab[chosen])
    return Chosen(chosen, mean, min(proof.bound - ROUNDING_DE00, mean))


def _exact_mean(lab: FloatArray, weights: FloatArray, yarns_lab: FloatArray) -> float:
    nearest = nearest_yarns(lab, yarns_lab)
    return float((ciede2000(lab, yarns_lab[nearest]) * weights).sum() / weights.sum())


def _distances(lab: FloatArray, card_lab: FloatArray) -> Float32:
    """Return CIEDE2000 of each colour with each yarn to about 1e-3, shape (n, yarns)."""
    result = np.empty((len(lab), len(card_lab)), dtype=np.float32)
    colours, yarns = lab.astype(np.float32), card_lab.astype(np.float32)
    step = max(1, _BLOCK // len(card_lab))

    def work(first: int) -> None:
        part = slice(first, first + step)
        result[part] = quick_de00(colours[part, None], yarns[None])[0]

    engine().each(work, range(0, len(lab), step))
    return result


def _clashes(card_lab: FloatArray, least_apart: float) -> NDArray[np.bool_] | None:
    if not least_apart:
        return None
    clash = ciede2000(card_lab[:, None], card_lab[None]) < least_apart
    np.fill_diagonal(clash, False)
    return np.asarray(clash)


def _groups(lab: FloatArray) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return an order that brings near colours together, with where each of at most GROUPS groups starts in it."""
    side = 1.0
    while True:
        place = np.floor(lab / side).astype(np.int64) + 1024
        code = (place[:, 0] * 4096 + place[:, 1]) * 4096 + place[:, 2]
        order = np.argsort(code, kind="stable")
        starts = np.flatnonzero(np.append(True, np.diff(code[order]) != 0))
        if len(starts) <= GROUPS:
            return order, starts
        side *= 1.25


def _grouped(
    distance: Float32, share: FloatArray, order: NDArray[np.intp], starts: NDArray[np.intp]
) -> tuple[Float32, Float32]:
    """Return each group's mean distance to each yarn, with the groups' shares."""
    ends = np.append(starts[1:], len(order))
    shares = np.add.reduceat(share[order], starts)
    means = np.empty((len(starts), distance.shape[1]), dtype=np.float32)
    for group, (start, end) in enumerate(zip(starts, ends, strict=True)):
        rows = order[start:end]
        means[group] = (share[rows] / shares[group]).astype(np.float32) @ distance[rows]
    return means, shares.astype(np.float32)


class _Problem:
    """Colours with their shares, the distance from each to each yarn, and what a choice must obey."""

    def __init__(
        self, distance: Float32, share: Float32, kept: NDArray[np.intp], clash: NDArray[np.bool_] | None
    ) -> None:
        self.distance, self.share, self.kept, self.clash = distance, share, kept, clash
        step = max(1, (1 << 21) // distance.shape[1])
        self.blocks = [slice(first, first + step) for first in range(0, len(distance), step)]

    def only(self, yarns: NDArray[np.intp]) -> _Problem:
        """Return the problem with some of the yarns; `yarns` rises and has those kept in it."""
        clash = None if self.clash is None else self.clash[np.ix_(yarns, yarns)]
        distance = np.ascontiguousarray(self.distance[:, yarns])
        return _Problem(distance, self.share, np.searchsorted(yarns, self.kept), clash)

    def sums(self, of: Callable[[slice], Any]) -> Any:
        """Return the sum of `of` over all blocks of colours, always in the same order."""
        return sum(engine().each(of, self.blocks))

    def nearest(self, chosen: NDArray[np.intp]) -> Float32:
        return np.asarray(self.distance[:, chosen].min(axis=1))

    def value(self, chosen: NDArray[np.intp]) -> float:
        return float((self.nearest(chosen).astype(np.float64) * self.share).sum())

    def greedy(self, number: int) -> NDArray[np.intp]:
        """Return `number` yarns, or as many as may be together, chosen one after the other."""
        chosen = list(self.kept)
        nearest = self.nearest(self.kept) if chosen else np.full(len(self.share), 200, dtype=np.float32)
        while len(chosen) < number:

            def value(part: slice, nearest: Float32 = nearest) -> Any:
                return self.share[part] @ np.minimum(self.distance[part], nearest[part, None])

            after = self.sums(value)
            after[chosen] = np.inf
            if self.clash is not None and chosen:
                after[self.clash[:, chosen].any(axis=1)] = np.inf
            best = int(after.argmin())
            if not np.isfinite(after[best]):
                break
            chosen.append(best)
            nearest = np.minimum(nearest, self.distance[:, best])
        return np.array(chosen, dtype=np.intp)

    def swapped(self, chosen: NDArray[np.intp]) -> NDArray[np.intp]:
        """Return the choice after the best swaps, one at a time, until none helps or MOST_SWAPS were made."""
        chosen = chosen.copy()
        for _ in range(MOST_SWAPS):
            gain = self._swap_gains(chosen)
            out, into = np.unravel_index(int(gain.argmin()), gain.shape)
            if gain[out, into] >= -1e-6:
                break
            chosen[out] = into
        return chosen

    def _swap_gains(self, chosen: NDArray[np.intp]) -> NDArray[np.float64]:
        """Return what the mean changes by when each chosen yarn (rows) is swapped for each yarn of the card."""
        own = self.distance[:, chosen]
        owner = own.argmin(axis=1)
        ordered = np.partition(own, 1, axis=1) if len(chosen) > 1 else np.hstack([own, np.full_like(own, 200)])
        first, second = ordered[:, 0], ordered[:, 1]

        def gains(part: slice) -> Any:
            order = np.argsort(owner[part], kind="stable")
            distance, weight = self.distance[part][order], self.share[part][order, None]
            low, high = first[part][order, None], second[part][order, None]
            joining = (np.minimum(distance, low) - low) * weight
            leaving = (np.minimum(distance, high) - low) * weight
            leaving -= joining
            present, starts = np.unique(owner[part][order], return_index=True)
            result = np.zeros((len(chosen), distance.shape[1]))
            result[present] = np.add.reduceat(leaving, starts, axis=0)
            return result + joining.sum(axis=0, dtype=np.float64)

        gain = np.asarray(self.sums(gains), dtype=np.float64)
        gain[np.isin(chosen, self.kept)] = np.inf
        gain[:, chosen] = np.inf
        if self.clash is not None:
            touching = self.clash[:, chosen]
            gain[(touching.sum(axis=1)[:, None] - touching > 0).T] = np.inf
        return gain


def _search(problem: _Problem, number: int, kicks: int) -> NDArray[np.intp]:
    """Return the best choice that greedy, swaps and kicks find."""
    return _improved(problem, problem.greedy(number), kicks)


def _improved(problem: _Problem, chosen: NDArray[np.intp], kicks: int) -> NDArray[np.intp]:
    """Return the best choice that swaps find from `chosen`, and from it with a few yarns replaced at random."""
    best = problem.swapped(chosen)
    value = problem.value(best)
    random = np.random.default_rng(SEED)
    loose = np.flatnonzero(~np.isin(best, problem.kept))
    spare = problem.distance.shape[1] - len(best)
    for _ in range(kicks if len(loose) and spare and problem.clash is None else 0):
        kicked = best.copy()
        number = min(3, len(loose), spare)
        places = random.choice(np.flatnonzero(~np.isin(kicked, problem.kept)), size=number, replace=False)
        free = np.setdiff1d(np.arange(problem.distance.shape[1]), kicked)
        kicked[places] = random.choice(free, size=number, replace=False)
        tried = problem.swapped(kicked)
        if (now := problem.value(tried)) < value - 1e-7:
            best, value = tried, now
    return best


@dataclass(frozen=True, eq=False)
class _Proof:
    """A lower bound; what each colour pays in it; by how much choosing each yarn raises it, shape (yarns,).

    `opened` are the yarns that the bound would choose.
    """

    bound: float
    pay: Float32
    margin: NDArray[np.float64]
    opened: NDArray[np.intp]


def _ascent(problem: _Problem, number: int, value: float, start: Float32, stages: int) -> _Proof:
    """Return the best lower bound met on the way up from `start`, knowing a choice that reaches `value`."""
    best = _prove(problem, number, start)
    for _ in range(stages):
        likely = np.argsort(best.margin, kind="stable")[: PROMISING * number]
        pay = _climbed(problem.only(np.union1d(likely, problem.kept)), number, value, best.pay)
        now = _prove(problem, number, pay)
        if now.bound > best.bound:
            best = now
    return best


def _prove(problem: _Problem, number: int, pay: Float32) -> _Proof:
    """Return the lower bound that holds when each colour pays `pay`, shape (n,): any such payments prove one."""

    def reduced(part: slice) -> Any:
        return problem.share[part] @ np.minimum(problem.distance[part] - pay[part, None], 0)

    cost = np.asarray(problem.sums(reduced), dtype=np.float64)
    rank = cost.copy()
    rank[problem.kept] = -np.inf
    opened = np.argsort(rank, kind="stable")[:number]
    bound = float((problem.share.astype(np.float64) * pay).sum() + cost[opened].sum())
    gap = np.zeros(len(rank))
    loose = np.isfinite(rank)
    gap[loose] = np.maximum(rank[loose] - rank[opened[-1]], 0)
    return _Proof(bound, pay, gap, opened)


def _climbed(problem: _Problem, number: int, value: float, start: Float32) -> Float32:
    """Return payments that prove a better bound than `start` does, by subgradient ascent with a little momentum."""
    best = _prove(problem, number, start)
    pay, scale, idle = best.pay, 1.0, 0
    trend = np.zeros(len(pay))
    for _ in range(ROUNDS):
        now = _prove(problem, number, pay)
        idle += 1
        if now.bound > best.bound + 1e-9:
            best, idle = now, 0
        elif idle >= 6:
            scale, idle, pay = scale / 2, 0, best.pay
        served = (problem.distance[:, now.opened] < pay[:, None]).sum(axis=1)
        trend = 0.3 * trend + (1.0 - served)
        norm = float((problem.share * trend**2).sum())
        if norm <= 1e-12 or scale < 1e-4:
            break
        pay = np.maximum(pay + scale * max(value - now.bound, 1e-4) / norm * trend, 0).astype(np.float32)
    return best.pay
