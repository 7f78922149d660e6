"""How good a choice of yarns can be at best, as a lower bound that holds for every choice."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from chartmaker.colours.reach import Pairs
from chartmaker.ground.colour import FloatArray

#: Figures are rounded to this many decimals before they are compared, so that no processor's last bit decides.
DECIMALS = 10


@dataclass(frozen=True, eq=False)
class Proof:
    """A lower bound on the mean difference of any choice, with the payments that prove it.

    `pay` is what each colour pays, shape (n,), `margin` by how much choosing each yarn raises the bound, shape
    (yarns,), and `opened` are the yarns that the bound itself would choose.
    """

    bound: float
    pay: FloatArray
    margin: FloatArray
    opened: NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class Demand:
    """The colours that a choice must serve, with their shares.

    `pairs` are the colours and yarns within `reach` of each other; `kept` are the yarns that are chosen in any case.
    """

    pairs: Pairs
    share: FloatArray
    reach: FloatArray
    yarns: int
    kept: NDArray[np.intp]

    def costs(self, pay: FloatArray) -> FloatArray:
        """Return what choosing each yarn costs the bound, shape (yarns,), where each colour pays `pay`, shape (n,).

        A cost is never above zero: what a yarn saves the colours that pay more than their distance to it.
        """
        pairs = self.pairs
        saved = np.minimum(pairs.de00 - pay[pairs.colour], 0) * self.share[pairs.colour]
        return np.bincount(pairs.yarn, saved, minlength=self.yarns).astype(np.float64)

    def only(self, yarns: NDArray[np.intp]) -> Demand:
        """Return the same demand without the pairs of all yarns but these."""
        wanted = np.isin(np.arange(self.yarns), yarns)[self.pairs.yarn]
        pairs = Pairs(self.pairs.colour[wanted], self.pairs.yarn[wanted], self.pairs.de00[wanted])
        return replace(self, pairs=pairs)


def prove(demand: Demand, number: int, pay: FloatArray) -> Proof:
    """Return the lower bound that holds when each colour pays `pay`, shape (n,), and none pays more than its reach.

    The Lagrangian relaxation of the p-median problem (Cornuejols, Fisher, Nemhauser, Management Science 23 (1977)):
    any such payments prove a bound, and pairs beyond a colour's reach add nothing to it.
    """
    return proof_of(demand.costs(pay), float(demand.share @ pay), pay, number, demand.kept)


def proof_of(cost: FloatArray, paid: float, pay: FloatArray, number: int, kept: NDArray[np.intp]) -> Proof:
    """Return the bound that follows from what choosing each yarn `cost`s, shape (yarns,), and all colours `paid`."""
    rank = np.round(cost, DECIMALS)
    rank[kept] = -np.inf
    opened = np.argsort(rank, kind="stable")[:number]
    bound = paid + float(cost[opened].sum())
    gap = np.zeros(len(rank))
    loose = np.isfinite(rank)
    gap[loose] = np.maximum(rank[loose] - rank[opened[-1]], 0)
    return Proof(bound, pay, gap, opened)


def climbed(demand: Demand, number: int, value: float, start: FloatArray, rounds: int) -> Proof:
    """Return the best bound found while the payments rise from `start`, given a choice that reaches `value`.

    This is subgradient ascent with a little momentum: a colour that is served twice pays less in the next round, and
    one that is not served pays more.
    """
    best = prove(demand, number, np.minimum(start, demand.reach))
    pay, scale, idle = best.pay, 1.0, 0
    trend = np.zeros(len(pay))
    pairs = demand.pairs
    for _ in range(rounds):
        now = prove(demand, number, pay)
        idle += 1
        if now.bound > best.bound + 1e-9:
            best, idle = now, 0
        elif idle >= 6:
            scale, idle, pay = scale / 2, 0, best.pay
        is_open = np.zeros(demand.yarns, dtype=bool)
        is_open[now.opened] = True
        serving = is_open[pairs.yarn] & (pairs.de00 < pay[pairs.colour])
        served = np.bincount(pairs.colour[serving], minlength=len(pay))
        trend = 0.3 * trend + (1.0 - served)
        norm = float((demand.share * trend**2).sum())
        if norm <= 1e-12 or scale < 1e-4 or value - best.bound <= 1e-9:
            break
        pay = np.clip(pay + scale * max(value - now.bound, 1e-4) / norm * trend, 0, demand.reach)
    return best
