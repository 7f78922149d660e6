"""A choice of yarns that is made one by one and then improved by swapping yarns."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from chartmaker.colours.proving import Demand
from chartmaker.colours.reach import de00_table
from chartmaker.ground.colour import FloatArray

#: One choice makes at most this many swaps. Each swap helps, so they end well before that, whatever rounding does.
MOST_SWAPS = 1000
#: A kick replaces this many yarns; the seed makes kicks the same in every run.
KICKED, SEED = 3, 1
#: A swap must gain this much. Gains are rounded before they are compared, so that no processor's last bit decides.
LEAST_GAIN, DECIMALS = 1e-7, 9
#: A distance greater than that of any two colours.
FAR_DE00 = 200.0

Yarns = NDArray[np.intp]


def greedy(table: FloatArray, share: FloatArray, number: int, kept: Yarns, clash: NDArray[np.bool_] | None) -> Yarns:
    """Return `number` yarns, or as many as may stand together, each the one that helps most after those before it.

    Parameters
    ----------
    table : ndarray, shape (n, yarns)
        CIEDE2000 of each colour with each yarn.
    share : ndarray, shape (n,)
    kept : indices
        Yarns that every choice has.
    clash : ndarray of bool, shape (yarns, yarns)
        Which two may not stand together.
    """
    chosen = kept.tolist()
    nearest = table[:, kept].min(axis=1) if chosen else np.full(len(share), FAR_DE00)
    while len(chosen) < number:
        after = np.round(share @ np.minimum(table, nearest[:, None]), DECIMALS)
        after[chosen] = np.inf
        if clash is not None and chosen:
            after[clash[:, chosen].any(axis=1)] = np.inf
        best = int(after.argmin())
        if not np.isfinite(after[best]):
            break
        chosen.append(best)
        nearest = np.minimum(nearest, table[:, best])
    return np.array(chosen, dtype=np.intp)


class Choice:
    """A choice of yarns, with the distance of every colour to each of them kept up to date from swap to swap.

    A yarn out of a colour's reach counts as no help to it. So no gain is ever overrated, and a swap looks only at the
    pairs of the demand.
    """

    def __init__(
        self, demand: Demand, lab: FloatArray, card_lab: FloatArray, chosen: Yarns, least_apart: float
    ) -> None:
        self.demand, self.chosen = demand, chosen.copy()
        self._lab, self._card, self._least_apart = lab, card_lab, least_apart
        self._own = de00_table(lab, card_lab[chosen])
        self._touching = self._touched(chosen)

    @property
    def value(self) -> float:
        """The weighted mean distance to the nearest chosen yarn."""
        return float(self.demand.share @ self._own.min(axis=1))

    def two_nearest(self) -> FloatArray:
        """Return the distances of each colour to its nearest and its second nearest chosen yarn, shape (n, 2)."""
        last = min(1, len(self.chosen) - 1)
        return np.asarray(np.partition(self._own, last, axis=1)[:, [0, last]])

    def swap(self) -> None:
        """Make the best swap again and again, until none helps or MOST_SWAPS were made.

        The method is that of Teitz and Bart, Operations Research 16 (1968).
        """
        for _ in range(MOST_SWAPS):
            gain = np.round(self._gains(), DECIMALS)
            out, into = np.unravel_index(int(gain.argmin()), gain.shape)
            if gain[out, into] >= -LEAST_GAIN:
                return
            self._put(int(out), int(into))

    def kick(self, kicks: int, among: Yarns) -> None:
        """Try `kicks` times to leave a local optimum, by replacing a few yarns at random with some of `among`."""
        random = np.random.default_rng(SEED)
        for _ in range(0 if self._least_apart else kicks):
            before, own, value = self.chosen.copy(), self._own.copy(), self.value
            loose = np.flatnonzero(~np.isin(before, self.demand.kept))
            spare = np.setdiff1d(among, before)
            number = min(KICKED, len(loose), len(spare))
            if not number:
                return
            places, yarns = (random.choice(of, size=number, replace=False) for of in (loose, spare))
            for out, into in zip(places, yarns, strict=True):
                self._put(int(out), int(into))
            self.swap()
            if self.value >= value - LEAST_GAIN:
                self.chosen, self._own = before, own

    def _put(self, out: int, into: int) -> None:
        self.chosen[out] = into
        self._own[:, out] = de00_table(self._lab, self._card[into][None])[:, 0]
        if self._least_apart:
            self._touching[out] = self._touched(self.chosen[[out]])[0]

    def _touched(self, yarns: Yarns) -> NDArray[np.bool_]:
        """Return which yarns of the card are too near to each of `yarns`, shape (yarns, card)."""
        if not self._least_apart:
            return np.zeros((0, 0), dtype=bool)
        return np.asarray(de00_table(self._card[yarns], self._card) < self._least_apart)

    def _gains(self) -> FloatArray:
        """Return how the mean changes when each chosen yarn (rows) is swapped for each yarn of the card (columns).

        A colour that keeps its yarn may be nearer to the new one; a colour that loses its yarn takes the nearer of the
        new one and its second nearest.
        """
        near, owner = self.two_nearest(), self._own.argmin(axis=1)
        if len(self.chosen) == 1:
            near[:, 1] = FAR_DE00
        pairs, share = self.demand.pairs, self.demand.share
        useful = np.flatnonzero(pairs.de00 < near[pairs.colour, 1])
        colour, yarn, de00 = pairs.colour[useful], pairs.yarn[useful], pairs.de00[useful]
        joining = np.minimum(de00 - near[colour, 0], 0) * share[colour]
        leaving = (de00 - near[colour, 1]) * share[colour] - joining
        size = (len(self.chosen), self.demand.yarns)
        place = owner[colour] * size[1] + yarn
        gain = np.bincount(place, leaving, minlength=size[0] * size[1]).reshape(size)
        gain += np.bincount(yarn, joining, minlength=size[1])
        gain += np.bincount(owner, share * (near[:, 1] - near[:, 0]), minlength=size[0])[:, None]
        gain[np.isin(self.chosen, self.demand.kept)] = np.inf
        gain[:, self.chosen] = np.inf
        if self._least_apart:
            gain[self._touching.sum(axis=0) - self._touching > 0] = np.inf
        return np.asarray(gain)
