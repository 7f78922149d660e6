"""The lines of the knot grid are moved, by less than a knot, on to the keys of a drawing."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, fields, replace
from math import fsum

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.placing import greatest_scale_change
from chartmaker.convert.laying.keys import JOINED_KNOTS, Keys
from chartmaker.ground.colour import FloatArray

#: No line of the grid moves further than this, in knots, from where it would lie on an even grid.
MOST_SHIFT = 0.75
#: Over placing.SCALE_KNOTS knots, the scale changes by no more than this.
MOST_SCALE = 0.04
#: Stripes whose widths differ by no more than this share were meant to be equal.
SAME_WIDTH = 0.04
#: Gaps wider than this, in knots, are ground, where a knot more or less is not seen.
WIDEST_STRIPE = 20.0
#: The costs of a shift, of a change of width, and of a width unlike that of its class.
SHIFT_COST, WIDTH_COST, CLASS_COST = 0.3, 0.6, 2.0
#: Keys are settled in turn: those of at least the first of these weights, then those of the next, and so on. Lighter
#: keys, mostly the backs of curves, have no say, because a line of the grid runs through, and bends, the whole drawing.
LEVELS = (0.25, 0.06, 0.03)
#: Only between keys of FRAME_WEIGHT, which run along most cells, may cells be narrower or wider than this, in knots.
NARROWEST, WIDEST, FRAME_WEIGHT = 0.75, 1.33, 0.5
#: Keys count as mirrored if this share of their weight is.
MIRRORED_SHARE = 0.95
#: Costs are whole multiples of the first of these, so that sums do not depend on their order. Edges are whole multiples
#: of the second, and places in knots of the third, so that mirror images are exact.
_COST_STEP, _EDGE_STEP_PX, _PLACE_STEP = 2.0**-30, 2.0**-12, 2.0**-20
#: How often shifts are made more costly while the scale changes too much.
_TRIALS = 6
_NEVER = 2**60


@dataclass(frozen=True)
class Line:
    """A side of the grid, which is a number of knots between `first` and `end`, in pixels of the artwork."""

    first: float
    end: float
    knots: int

    @property
    def knot_px(self) -> float:
        return (self.end - self.first) / self.knots

    @property
    def even_edges(self) -> FloatArray:
        return np.asarray(self.first + (self.end - self.first) * np.arange(self.knots + 1) / self.knots)

    def in_knots(self, place: FloatArray) -> FloatArray:
        """Return places in pixels as places in knots from the first edge."""
        at = (place - self.first) * self.knots / (self.end - self.first)
        return np.asarray(np.round(at / _PLACE_STEP) * _PLACE_STEP)


def fitted_edges(line: Line, keys: Keys, *, closed: bool = False, mirror: bool = True) -> FloatArray:
    """Return the edges of the knots along a line, with a whole knot beginning at each key wherever possible.

    Dynamic programming over (key, line) finds which line of the grid each key takes. A choice has costs for how far the
    keys are shifted, for how much the stripes between them change their width, and for how much stripes of one width
    differ. If the keys are mirrored, one half is solved and the other is its image. The axis then lies on an edge of a
    knot if the number of knots is even, and in the middle of one if it is odd.

    Parameters
    ----------
    line : Line
    keys : Keys
        In pixels.
    closed : bool
        Whether the line goes on from its end to its beginning, as a repeat does. Its ends then are no rims beside
        which stripes lie, but for the keys that lie there.
    mirror : bool
        Whether keys that mirror have to stay mirrored; two inks may well take turns in stripes of one width.

    Returns
    -------
    ndarray of float, shape (knots + 1,)
        Rising places in pixels, of which the first and the last are the ends of the line.
    """
    own = keys.only(_inside(line.in_knots(keys.place), line) & (keys.weight >= LEVELS[-1]))
    mirrored = mirrored_keys(line, own) if mirror else None
    own = own if mirrored is None else mirrored
    rim = _at_ends(line, keys) if closed else np.ones(keys.along.shape[1], dtype=bool)
    while True:
        edges, lines = _laid(line, own, rim, mirrored is not None)
        given_up = _crowding(line, edges, own.weight, lines)
        if not given_up.any():
            return edges
        own = own.only(~(given_up | given_up[::-1] if mirrored is not None else given_up))


def _at_ends(line: Line, keys: Keys) -> NDArray[np.bool_]:
    """Return beside which parts the keys run that lie at one of the ends of a line."""
    at = line.in_knots(keys.place)
    near = np.minimum(np.abs(at), np.abs(line.knots - at)) <= JOINED_KNOTS
    return np.asarray(keys.along[near].any(axis=0))


def mirrored_keys(line: Line, keys: Keys) -> Keys | None:
    """Return the keys, moved so that they mirror exactly, if they nearly do, or None if they do not."""
    if not len(keys):
        return None
    turned = (line.first + line.end) - keys.place[::-1]
    behind = np.clip(np.searchsorted(turned, keys.place), 0, len(turned) - 1)
    before = np.maximum(behind - 1, 0)
    nearer = np.abs(turned[before] - keys.place) <= np.abs(turned[behind] - keys.place)
    nearest = np.where(nearer, before, behind)
    partner = len(keys) - 1 - nearest
    paired = (partner[partner] == np.arange(len(keys))) & (
        np.abs(turned[nearest] - keys.place) <= JOINED_KNOTS * line.knot_px
    )
    if keys.weight[paired].sum() < MIRRORED_SHARE * keys.weight.sum():
        return None
    place = (keys.place[paired] + turned[nearest[paired]]) / 2
    weight = (keys.weight[paired] + keys.weight[partner[paired]]) / 2
    return Keys(place, weight, keys.along[paired] | keys.along[partner[paired]])


def class_widths(gaps: FloatArray) -> tuple[FloatArray, NDArray[np.intp]]:
    """Return the width, in whole knots, that each gap between keys should have, and the size of its class.

    Gaps within SAME_WIDTH of each other form one class, which is rounded once and never to less than one knot.
    """
    order = np.argsort(gaps, kind="stable")
    rising, width, many = gaps[order].tolist(), list[float](), list[int]()
    end = 0
    while (first := end) < len(rising):
        end = bisect_right(rising, rising[first] * (1 + SAME_WIDTH), first)
        width.append(max(1.0, float(round(fsum(rising[first:end]) / (end - first)))))
        many.append(end - first)
    wanted, size = np.empty(len(gaps)), np.empty(len(gaps), dtype=np.intp)
    wanted[order], size[order] = np.repeat(width, many), np.repeat(many, many)
    return wanted, size


def _inside(at: FloatArray, line: Line) -> NDArray[np.bool_]:
    """Return which places, in knots, are clear of the ends, and of the axis if a knot lies astride it."""
    off = (at > JOINED_KNOTS) & (at < line.knots - JOINED_KNOTS)
    central = np.abs(at - line.knots / 2) <= JOINED_KNOTS
    return np.asarray(off & ~central if line.knots % 2 else off)


def _laid(line: Line, keys: Keys, rim: NDArray[np.bool_], mirror: bool) -> tuple[FloatArray, NDArray[np.intp]]:
    """Return edges through the keys, and each key's line; shifts become more costly until the scale is kept."""
    for trial in range(_TRIALS + 1):
        most = MOST_SHIFT if trial < _TRIALS else 0.5
        lines = _settled(line, keys, rim, (SHIFT_COST * 4.0**trial, most), mirror)
        edges = _edges_through(line, keys.place, lines, keys.weight, mirror)
        if greatest_scale_change(edges) <= MOST_SCALE:
            break
    return edges, lines


def _crowding(line: Line, edges: FloatArray, weight: FloatArray, lines: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Return which keys, the lighter of two, to give up because cells beside them are too narrow or too wide."""
    heaviest = np.zeros(line.knots + 1)
    np.maximum.at(heaviest, lines, weight)
    heaviest[[0, -1]] = np.inf
    taken = np.flatnonzero(heaviest)
    low, high = heaviest[taken[:-1]], heaviest[taken[1:]]
    cell = np.round(np.diff(edges[taken]) / np.diff(taken) / line.knot_px, 6)
    bad = ((cell < NARROWEST) | (cell > WIDEST)) & (np.minimum(low, high) < FRAME_WEIGHT)
    light = np.concatenate([taken[:-1][bad & (low <= high)], taken[1:][bad & (high <= low)]])
    return np.asarray(np.isin(lines, light))


def _settled(
    line: Line, keys: Keys, rim: NDArray[np.bool_], shifts: tuple[float, float], mirror: bool
) -> NDArray[np.intp]:
    """Return the line that each key takes, level by level; `shifts` are the cost of a shift and the most of one."""
    at = line.in_knots(keys.place)
    lines = np.full(len(keys), -1, dtype=np.intp)
    if mirror and line.knots % 2 == 0:
        lines[np.abs(at - line.knots / 2) < _EDGE_STEP_PX] = line.knots // 2
    for level in LEVELS:
        own = np.flatnonzero((keys.weight >= level) | (lines >= 0))
        chain = _Chain(at[own], keys.weight[own], keys.along[own], lines[own], rim, line.knots, *shifts, mirror)
        lines[own] = _chosen(chain)
    return lines


@dataclass(frozen=True, eq=False)
class _Gaps:
    """The gaps between keys, with their widths as drawn and as wanted, in knots; a gap that is `alone` has no equal."""

    drawn: FloatArray
    wanted: FloatArray
    alone: NDArray[np.bool_]
    seen: FloatArray
    heavy: FloatArray

    def costs(self, knots: NDArray[np.intp]) -> NDArray[np.int64]:
        """Return the cost of making each of the first gaps so many `knots` wide, shape (gaps, ...)."""
        first = (slice(len(knots)), *(None for _ in knots.shape[1:]))
        drawn = self.drawn[first]
        cost = self.heavy[first] * WIDTH_COST * (knots - drawn) ** 2 / np.maximum(drawn, JOINED_KNOTS)
        unlike = np.where(self.alone[first], (knots < 1) * 1.0, np.abs(knots - self.wanted[first]))
        return np.where(knots < 0, _NEVER, _whole(cost + self.seen[first] * CLASS_COST * unlike))

    def only(self, gap: int) -> _Gaps:
        """Return only one of the gaps."""
        return _Gaps(*(getattr(self, field.name)[gap : gap + 1] for field in fields(self)))


@dataclass(frozen=True, eq=False)
class _Chain:
    """Keys along a line of so many knots, at rising places `at` in knots; `given` is a key's line, -1 for none yet.

    `rim` says beside which parts the ends of the line run.
    """

    at: FloatArray
    weight: FloatArray
    along: NDArray[np.bool_]
    given: NDArray[np.intp]
    rim: NDArray[np.bool_]
    knots: int
    shift_cost: float
    most_shift: float
    mirror: bool

    def gaps(self) -> _Gaps:
        """Return the gap before each key, and the gap behind the last key.

        Only keys that run side by side have a stripe between them whose width can be seen.
        """
        drawn = np.diff(self.at, prepend=0.0, append=float(self.knots))
        wanted, size = class_widths(drawn)
        runs = np.vstack([self.rim, self.along, self.rim])
        beside = (runs[1:] & runs[:-1]).mean(axis=1)
        heavy = np.minimum(np.append(1.0, self.weight), np.append(self.weight, 1.0))
        seen = np.where(drawn <= WIDEST_STRIPE, beside, 0.0)
        alone = size <= (2 if self.mirror else 1)
        return _Gaps(drawn, wanted, alone, seen, heavy)

    @property
    def turned(self) -> _Chain:
        """The chain seen from its other end."""
        given = np.where(self.given < 0, -1, self.knots - self.given)[::-1]
        return replace(
            self, at=self.knots - self.at[::-1], weight=self.weight[::-1], along=self.along[::-1], given=given
        )

    def lines(self) -> tuple[NDArray[np.intp], list[int]]:
        """Return the lines that each key may take, shape (keys, 2), and how many of the two there are."""
        own = self.given >= 0
        first = np.maximum(np.ceil(self.at - self.most_shift), 0).astype(np.intp)
        last = np.minimum(np.floor(self.at + self.most_shift), self.knots).astype(np.intp)
        first, count = np.where(own, self.given, first), np.where(own, 1, last - first + 1)
        return first[:, None] + np.arange(2), count.tolist()

    def shift_costs(self, lines: NDArray[np.intp]) -> NDArray[np.int64]:
        """Return the cost for each of the first keys of taking each of its `lines`, shape (keys, 2)."""
        weight, at = self.weight[: len(lines), None], self.at[: len(lines), None]
        return _whole(self.shift_cost * weight * (lines - at) ** 2)


def _whole(cost: FloatArray) -> NDArray[np.int64]:
    return np.round(cost / _COST_STEP).astype(np.int64)


def _chosen(chain: _Chain) -> NDArray[np.intp]:
    """Return the line of each key of a chain."""
    if not len(chain.at):
        return np.empty(0, dtype=np.intp)
    if chain.mirror:
        half = int(np.searchsorted(chain.at, chain.knots / 2 + _EDGE_STEP_PX))  # a key on the axis is in both halves
        whole = half > 0 and bool(abs(chain.at[half - 1] - chain.knots / 2) < _EDGE_STEP_PX)
        low = _cheapest(chain, half, whole)
        return np.concatenate([low, chain.knots - low[::-1][1 if whole else 0 :]])
    forth, back = _cheapest(chain), chain.knots - _cheapest(chain.turned)[::-1]
    return min((forth, back), key=lambda lines: _from_middle(lines, chain.weight, chain.knots))


def _from_middle(lines: NDArray[np.intp], weight: FloatArray, knots: int) -> tuple[int, int]:
    """Return what tells two choices of the same cost apart, the same from whichever end they are seen."""
    away = np.abs(2 * lines - knots)
    return int((np.round(weight / 2.0**-16).astype(np.int64) * away).sum()), int((away**2).sum())


def _cheapest(chain: _Chain, half: int | None = None, whole: bool = False) -> NDArray[np.intp]:
    """Return the cheapest line of each key from the first end on, or of only `half` of the keys if they mirror.

    The axis of the mirror halves the gap behind those keys, unless the last of them lies on the axis (`whole`).
    """
    gaps, keys = chain.gaps(), len(chain.at) if half is None else half
    lines, count = chain.lines()
    lines = np.concatenate([np.zeros((1, 2), dtype=np.intp), lines[:keys]])  # before the first key lies the first end
    between = gaps.costs(lines[1:, :, None] - lines[:-1, None, :]).tolist()
    shifts = chain.shift_costs(lines[1:])
    costs, came = [0], list[list[int]]()
    for wide, shift, many in zip(between, shifts.tolist(), count[:keys], strict=True):
        here = [[min(gap + cost, _NEVER) for gap, cost in zip(row, costs, strict=False)] for row in wide[:many]]
        came.append([row.index(min(row)) for row in here])
        costs = [min(row) + own for row, own in zip(here, shift, strict=False)]
    if not whole:
        scale, end = (1, float(chain.knots)) if half is None else (2, chain.knots / 2)
        rest = gaps.only(keys).costs((scale * (end - lines[-1:])).astype(np.intp))[0].tolist()
        costs = [cost + gap for cost, gap in zip(costs, rest, strict=False)]
    step = costs.index(min(costs))
    chosen = []
    for key in range(keys, 0, -1):
        chosen.append(int(lines[key, step]))
        step = came[key - 1][step]
    return np.array(chosen[::-1], dtype=np.intp)


def _edges_through(
    line: Line, places: FloatArray, lines: NDArray[np.intp], weight: FloatArray, mirror: bool
) -> FloatArray:
    """Return edges that go through the places and are evenly spread between them; keys of one line meet midway."""
    anchors = {0: line.first, line.knots: line.end}
    for number in np.unique(lines[(lines > 0) & (lines < line.knots)]).tolist():
        own = lines == number
        mean = (places[own] * weight[own]).sum() / weight[own].sum()
        anchors[number] = float(np.round(mean / _EDGE_STEP_PX) * _EDGE_STEP_PX)
    at = np.array(sorted(anchors))
    place = np.array([anchors[number] for number in at])
    edge = np.arange(line.knots + 1)
    before = np.minimum(np.searchsorted(at, edge, side="right") - 1, len(at) - 2)
    low, high = at[before], at[before + 1]
    edges = (place[before] * (high - edge) + place[before + 1] * (edge - low)) / (high - low)
    edges = np.round(edges / _EDGE_STEP_PX) * _EDGE_STEP_PX
    edges[0], edges[-1] = line.first, line.end
    if mirror:
        half = line.knots // 2
        edges[line.knots - half :] = (line.first + line.end) - edges[half::-1][: half + 1]
    return np.asarray(edges)
