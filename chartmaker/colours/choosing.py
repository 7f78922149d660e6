"""The best few yarns of a card for a given set of colours."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from chartmaker.colours.boxing import boxed, gathered
from chartmaker.colours.matching import nearest_yarns
from chartmaker.colours.proving import Demand, Proof, climbed, proof_of
from chartmaker.colours.reach import de00_table, pairs_within
from chartmaker.colours.swapping import FAR_DE00, Choice, greedy
from chartmaker.ground.colour import FloatArray, ciede2000

#: The search runs on this many groups of colours and starts among this many yarns; only its last steps see them all.
GROUPS, STARTERS = 1500, 1500
#: How many kicks out of a local optimum are tried on the groups, and then on all colours.
GROUP_KICKS, KICKS = 16, 2
#: How many stages the bound rises in on the groups, with how many rounds each, and then the same on all colours.
GROUP_STAGES, GROUP_ROUNDS, STAGES, ROUNDS = 3, 150, 3, 30
#: With more pairs than this, the bound is first raised in a few rounds, and yarns that no better choice can contain
#: are left out before it is raised further.
MANY_PAIRS, FIRST_ROUNDS = 1_000_000, 30
#: Where there are more combinations of a colour and a yarn than this, so many of the most promising yarns are searched
#: first, and then those that a bound does not rule out, if they are no more than that. What the others cost in that
#: bound is reckoned for so many combinations at a time.
MANY_TRIES, FIRST_YARNS, LIKELY_YARNS = 50_000_000, 1500, 3000
#: Kicks bring in the most promising yarns, this many for each yarn to be chosen.
PROMISING = 4
#: The search stops once its choice is above the bound by no more than this share.
CLOSE = 3.5e-4
#: A colour's payment may rise this far above the distance to its second nearest chosen yarn.
HEADROOM_DE00 = 0.75
#: When all colours are searched, each looks at yarns up to this far beyond what it paid in the bound of the groups.
#: A smaller headroom would make the bound worse.
PAY_HEADROOM_DE00 = 2.0
#: A choice of a single yarn looks at all pairs, up to this many.
MOST_ALONE = 10_000_000
#: The bound is lowered by this much, because distances are rounded.
ROUNDING_DE00 = 1e-6


@dataclass(frozen=True, eq=False)
class Chosen:
    """The chosen yarns, as rising indices into the card.

    `mean_de00` is the weighted mean CIEDE2000 from each colour to its nearest chosen yarn. No choice of the same number
    of yarns can have a mean below `bound_de00`.
    """

    indices: NDArray[np.intp]
    mean_de00: float
    bound_de00: float


@dataclass(frozen=True, eq=False)
class _Found:
    """A choice with its mean, what colours pay in the bound, and by how much each yarn raised the bound at first."""

    chosen: NDArray[np.intp]
    value: float
    bound: float
    pay: FloatArray
    margin: FloatArray


@dataclass(frozen=True, eq=False)
class _Task:
    """Colours with their shares, the card to choose from, and what a choice must obey."""

    lab: FloatArray
    share: FloatArray
    card_lab: FloatArray
    number: int
    kept: NDArray[np.intp]
    least_apart: float

    def choice(self, chosen: NDArray[np.intp], near: FloatArray, pay: FloatArray | None = None) -> Choice:
        """Return `chosen` as a choice that can be improved.

        `near` holds the distances of each colour to its two nearest chosen yarns, shape (n, 2). Where it is roughly
        known what each colour will `pay` in the bound, pairs far above that are not looked at.
        """
        alone = len(chosen) == 1 and self.lab.size * len(self.card_lab) <= MOST_ALONE  # then any yarn may improve it
        reach = np.full(len(self.lab), FAR_DE00) if alone else near[:, 1] + HEADROOM_DE00
        if pay is not None and not alone:
            reach = np.minimum(reach, np.maximum(pay, near[:, 0]) + PAY_HEADROOM_DE00)
        pairs = pairs_within(self.lab, reach, self.card_lab)
        demand = Demand(pairs, self.share, reach, len(self.card_lab), self.kept)
        return Choice(demand, self.lab, self.card_lab, chosen, self.least_apart)

    def among(self, yarns: NDArray[np.intp]) -> _Task:
        """Return the same task with a card that has only `yarns`, which stand rising and hold those that are kept."""
        return replace(self, card_lab=self.card_lab[yarns], kept=np.searchsorted(yarns, self.kept))

    def priced(self, pay: FloatArray) -> Proof:
        """Return the bound that the payments `pay`, shape (n,), prove for the whole card, some yarns at a time."""
        step = max(1, MANY_TRIES // len(self.lab))
        costs = []
        for first in range(0, len(self.card_lab), step):
            card = self.card_lab[first : first + step]
            costs.append(Demand(pairs_within(self.lab, pay, card), self.share, pay, len(card), self.kept).costs(pay))
        return proof_of(np.concatenate(costs), float(self.share @ pay), pay, self.number, self.kept)

    def of(self, lab: FloatArray, share: FloatArray) -> _Task:
        """Return the same task for other colours."""
        return _Task(lab, share, self.card_lab, self.number, self.kept, self.least_apart)

    def two_nearest(self, chosen: NDArray[np.intp]) -> FloatArray:
        """Return the distances of each colour to its nearest and its second nearest chosen yarn, shape (n, 2)."""
        own = de00_table(self.lab, self.card_lab[chosen])
        return np.sort(own, axis=1)[:, [0, min(1, len(chosen) - 1)]]


def choose(
    lab: FloatArray,
    weights: FloatArray,
    card_lab: FloatArray,
    number: int,
    keep: Iterable[int] = (),
    least_apart: float = 0.0,
) -> Chosen:
    """Return the `number` yarns that come nearest to the colours on average, or close to the best such choice.

    What is made small is the weighted mean CIEDE2000 from each colour to its nearest chosen yarn. The colours are
    gathered into groups first. A choice for the groups is made among yarns spread over the card and improved by swaps
    and kicks. Then a lower bound for the groups is raised step by step (`proving`): yarns that are costly in it are
    left out, and promising ones come in. The same is done once more with all colours. No step compares all colours
    with all yarns, because bounds rule out what is out of reach (`reach`).

    Parameters
    ----------
    lab : ndarray, shape (n, 3)
    weights : ndarray, shape (n,)
        Knots of each colour.
    card_lab : ndarray, shape (yarns, 3)
    number : int
        At least as many as `keep` names.
    keep : indices into the card
        Yarns that are chosen in any case.
    least_apart : float
        No two chosen yarns are closer than this. The bound leaves this out of account, so it remains a bound.
    """
    kept = np.array(sorted(set(keep)), dtype=np.intp)
    whole = _Task(lab, weights / weights.sum(), card_lab, min(number, len(card_lab)), kept, least_apart)
    if number >= len(card_lab) and not least_apart:
        every = np.arange(len(card_lab))
        mean = _mean(whole, every)
        return Chosen(every, mean, mean)
    means, share, member = gathered(whole.lab, whole.share, GROUPS, 1.0)
    groups = whole.of(means, share)
    found = _of_groups(groups)
    near, group_near = whole.two_nearest(found.chosen), groups.two_nearest(found.chosen)
    found = replace(found, pay=np.maximum(found.pay[member] + near[:, 0] - group_near[member, 0], 0))
    if least_apart or len(lab) * len(card_lab) <= MANY_TRIES:
        found = _searched(whole, found, near, STAGES)
    else:
        found = _searched_in_part(whole, found, near)
    chosen = np.sort(found.chosen)
    mean = _mean(whole, chosen)
    return Chosen(chosen, mean, max(0.0, min(found.bound - ROUNDING_DE00, mean)))


def _mean(task: _Task, chosen: NDArray[np.intp]) -> float:
    yarns = task.card_lab[chosen]
    return float(task.share @ ciede2000(task.lab, yarns[nearest_yarns(task.lab, yarns)]))


def _of_groups(groups: _Task) -> _Found:
    """Return the choice for the groups."""
    yarns = _starters(groups)
    card = groups.card_lab[yarns]
    clash = _clashes(card, groups.least_apart) if groups.least_apart else None
    table = de00_table(groups.lab, card)
    start = yarns[greedy(table, groups.share, groups.number, np.searchsorted(yarns, groups.kept), clash)]
    near = groups.two_nearest(start)
    choice = groups.choice(start, near)
    choice.swap()
    return _bettered(groups, choice, near.mean(axis=1), GROUP_STAGES, GROUP_ROUNDS, GROUP_KICKS)


def _searched(task: _Task, start: _Found, near: FloatArray, stages: int) -> _Found:
    """Return the choice that swaps and kicks make of the one in `start`, whose payments the bound rises from.

    `near` holds the distances of each colour to the two nearest yarns of that choice, shape (n, 2).
    """
    choice = task.choice(start.chosen, near, start.pay)
    choice.swap()
    return _bettered(task, choice, start.pay, stages, ROUNDS, KICKS)


def _searched_in_part(whole: _Task, start: _Found, near: FloatArray) -> _Found:
    """Return the choice that a search among promising yarns finds, with a bound that holds for the whole card.

    The yarns that raised the bound of the groups least are searched first. The payments found with them prove a bound
    for the whole card, and the yarns that this one does not rule out are searched in earnest, unless it is too weak.
    """

    def among(yarns: NDArray[np.intp], start: _Found, near: FloatArray, stages: int) -> _Found:
        part = np.union1d(yarns, start.chosen)
        found = _searched(whole.among(part), replace(start, chosen=np.searchsorted(part, start.chosen)), near, stages)
        return replace(found, chosen=part[found.chosen])

    first = among(np.argsort(start.margin, kind="stable")[:FIRST_YARNS], start, near, 1)
    proof = whole.priced(first.pay)
    likely = _likely(proof, first.value)
    if len(likely) > LIKELY_YARNS:
        return replace(first, bound=proof.bound)
    return among(likely, first, whole.two_nearest(first.chosen), STAGES)


def _bettered(task: _Task, choice: Choice, pay: FloatArray, stages: int, rounds: int, kicks: int) -> _Found:
    """Return the improved choice with its bound.

    Kicks try the yarns that the rising bound has not ruled out. The bound starts from the payments `pay`, shape (n,).
    If pairs of other yarns are left out, it remains a bound: a choice that contains such a yarn is no better than the
    one that there is.
    """
    bound, number = -np.inf, len(choice.chosen)
    many = len(choice.demand.pairs.yarn) > MANY_PAIRS and not task.least_apart
    steps = [FIRST_ROUNDS] * many + [rounds // 3 if task.least_apart else rounds] * stages
    margins = list[FloatArray]()
    for step, climb in enumerate(steps, start=not many):
        proof = climbed(choice.demand, number, choice.value, pay, climb)
        margins.append(proof.margin)
        rise, bound, pay = proof.bound - bound, max(bound, proof.bound), proof.pay
        if task.least_apart or choice.value <= bound * (1 + CLOSE):  # the bound of shades only says how good they are
            break
        before, likely = choice.value, _likely(proof, choice.value)
        if many:
            choice.demand = choice.demand.only(np.union1d(likely, choice.chosen))
        if step:
            choice.kick(kicks, likely[: PROMISING * number])
            if choice.value == before and rise < CLOSE * bound:
                break
    return _Found(choice.chosen, choice.value, bound, pay, margins[0])


def _likely(proof: Proof, value: float) -> NDArray[np.intp]:
    """Return the yarns that a choice better than `value` may contain, the most promising first."""
    within = np.flatnonzero(proof.margin <= value - proof.bound + ROUNDING_DE00)
    return within[np.argsort(proof.margin[within], kind="stable")]


def _starters(task: _Task) -> NDArray[np.intp]:
    """Return about STARTERS yarns in rising order: all that are kept, and others spread over those near colours."""
    if len(task.card_lab) <= STARTERS:
        return np.arange(len(task.card_lab))
    low, high = task.lab.min(axis=0) - 8, task.lab.max(axis=0) + 8
    within = np.flatnonzero(((task.card_lab >= low) & (task.card_lab <= high)).all(axis=1))
    if len(within) < task.number:
        within = np.arange(len(task.card_lab))
    side = 0.5
    first = within
    while len(first) > STARTERS:
        first = within[boxed(task.card_lab[within], side).first]
        side *= 1.25
    return np.union1d(first, task.kept)


def _clashes(card_lab: FloatArray, least_apart: float) -> NDArray[np.bool_]:
    clash = de00_table(card_lab, card_lab) < least_apart
    np.fill_diagonal(clash, False)
    return np.asarray(clash)
