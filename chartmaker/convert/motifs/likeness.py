"""Which motifs are congruent, even if mirrored or turned, and which are their own mirror images."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.colours.labelling import OUTSIDE
from chartmaker.convert.flat.runs import Bits, Index
from chartmaker.convert.motifs.finding import Motif
from chartmaker.convert.motifs.summing import Whole

#: A motif's box is divided into this many parts a side, each seen at so many points a side; FULL is a full part.
PARTS, POINTS = 16, 3
FULL = 4 * POINTS**2
#: Double the place of each point along a side, counted in points; the part that each pair of points lies in.
_TWICE = 2 * np.arange(PARTS * POINTS) + 1
_PART = np.add.outer(*(times * np.tile(np.arange(PARTS).repeat(POINTS), 2) for times in (PARTS, 1)))
#: Congruent motifs differ by at most this many pixels in size, this share of their area, and this share of the whole.
SIZE_PX, AREA_SHARE, UNLIKE = 2, 0.06, 0.08
#: A motif that differs from its own image by no more than this share was meant to equal it.
UNLIKE_IMAGE = 0.06
#: A motif of few pixels may differ by more, namely by this share of a pixel all along its outlines, where they fall on
#: the pixels otherwise, if no more than that share of the whole lies further than a pixel from its like.
OUTLINE_PX, FURTHER = 0.45, 0.02
#: Small motifs whose areas differ by more than this share are not compared at all.
AREA_LOOSE = 0.25
#: Pixels that are compared at once.
_AT_ONCE = 2_000_000
#: A motif counts as not turned if no other turn would suit it better by more than this.
HARDLY = 0.02

#: What is seen of some motifs.
Views = NDArray[np.int16]
#: A turn by so many quarters, perhaps after flipping left to right.
Turn = tuple[bool, int]
FLIPS: tuple[Turn, ...] = ((False, 0), (True, 0), (False, 2), (True, 2))
TURNS: tuple[Turn, ...] = (*FLIPS, (False, 1), (True, 1), (False, 3), (True, 3))


def turned(plane: NDArray[Any], turn: Turn) -> NDArray[Any]:
    """Return a plane, whose first two axes run down and across, flipped and turned."""
    flipped = plane[:, ::-1] if turn[0] else plane
    if turn[1] == 2:
        return flipped[::-1, ::-1]
    if turn[1]:
        across = flipped.swapaxes(0, 1)
        return across[::-1] if turn[1] == 1 else across[:, ::-1]
    return flipped


def back(turn: Turn) -> Turn:
    """Return the turn that undoes a turn."""
    return turn if turn[0] else (False, -turn[1] % 4)


def after(first: Turn, second: Turn) -> Turn:
    """Return the turn that does the same as `first` and then `second`."""
    quarters = second[1] + (-first[1] if second[0] else first[1])
    return first[0] != second[0], quarters % 4


def closed(turns: Sequence[Turn]) -> tuple[Turn, ...]:
    """Return all turns that some turns make together."""
    group = {(False, 0), *turns}
    while True:
        more = group | {after(one, other) for one in group for other in group}
        if more == group:
            return tuple(turn for turn in TURNS if turn in group)
        group = more


def seen(motif: Motif, inks: Sequence[int]) -> Whole:
    """Return how full the parts of a motif's box are of each ink, and at last of none, shape (PARTS, PARTS, inks + 1).

    Each part is seen at several points. A point that falls between two pixels has a share of both, so that mirror
    images are exact.
    """
    number = np.full(OUTSIDE + 1, len(inks), dtype=np.intp)
    number[np.asarray(inks, dtype=np.intp)] = np.arange(len(inks))
    rows, columns = (
        np.concatenate([(_TWICE * size) // (2 * len(_TWICE)), -(-(_TWICE * size) // (2 * len(_TWICE))) - 1])
        for size in motif.inks.shape
    )
    met = number[motif.inks[rows][:, columns]]
    met += _PART * (len(inks) + 1)
    full = np.bincount(met.ravel(), minlength=PARTS * PARTS * (len(inks) + 1))
    return full.reshape(PARTS, PARTS, len(inks) + 1)


def shape_of(plane: NDArray[np.integer], turns: Sequence[Turn] = TURNS) -> tuple[tuple[int, int], bytes]:
    """Return what a plane of inks and its images by some turns have in common."""
    images = [turned(plane, turn) for turn in turns]
    return min(((own.shape[0], own.shape[1]), own.tobytes()) for own in images)


@dataclass(frozen=True, eq=False)
class Kind:
    """Congruent motifs, whose `members` are numbers of motifs; each is the first of them turned as `turns` says.

    `images` are the turns by which the first is its own image.
    """

    members: tuple[int, ...]
    turns: tuple[Turn, ...]
    images: tuple[Turn, ...]


def kinds_of(motifs: Sequence[Motif], ink: Sequence[int], *, quarters: bool, least: float = 0) -> list[Kind]:
    """Return the kinds of some motifs; neither their order nor the way they are turned makes a difference.

    Motifs that cover fewer than `least` pixels and that no other resembles in size are left out.

    Parameters
    ----------
    motifs : sequence of Motif
    ink : sequence of int
        The ink of the area that each is made of.
    quarters : bool
        Whether knots are square, so that a motif may be turned by a quarter.
    """
    kinds = []
    for own in sorted(set(ink)):
        group = np.flatnonzero(np.asarray(ink) == own).tolist()
        worth = _worth([motifs[number] for number in group], least)
        group = [number for number, keep in zip(group, worth, strict=True) if keep]
        if not group:
            continue
        inks = sorted({int(i) for number in group for i in np.unique(motifs[number].inks)} - {OUTSIDE})
        kinds += _kinds_among([motifs[n] for n in group], group, inks, TURNS if quarters else FLIPS)
    return kinds


def _worth(motifs: list[Motif], least: float) -> Bits:
    """Return which motifs cover at least so many pixels or have another of their size, whichever way round."""
    sides = np.array([sorted(motif.inks.shape) for motif in motifs]).reshape(-1, 2)
    pixels = np.array([motif.pixels for motif in motifs])
    worth = pixels >= least
    for number in np.flatnonzero(~worth).tolist():
        near = np.abs(pixels - pixels[number]) <= AREA_LOOSE * np.maximum(pixels, pixels[number])
        near &= (np.abs(sides - sides[number]) <= SIZE_PX).all(axis=1)
        worth[number] = near.sum() > 1
    return worth


def _kinds_among(motifs: list[Motif], number: list[int], inks: list[int], allowed: tuple[Turn, ...]) -> list[Kind]:
    size = np.array([motif.inks.shape for motif in motifs])
    pixels = np.array([motif.pixels for motif in motifs])
    views = np.stack([seen(motif, inks) for motif in motifs]).astype(np.int16)
    order = _in_order(views, pixels, size, allowed)
    left = np.ones(len(motifs), dtype=bool)
    kinds = []
    for first in order:
        if not left[first]:
            continue
        most = OUTLINE_PX * outline_px(motifs[first].inks) / motifs[first].pixels
        near = left & (np.abs(pixels - pixels[first]) <= max(AREA_SHARE, most) * np.maximum(pixels, pixels[first]))
        unlike = np.full((len(allowed), len(motifs)), np.inf)
        for k, turn in enumerate(allowed):
            wanted = size[first][::-1] if turn[1] % 2 else size[first]
            rivals = np.flatnonzero(near & (np.abs(size - wanted) <= SIZE_PX).all(axis=1))
            if len(rivals):
                unlike[k, rivals] = _difference(views[rivals], turned(views[first], turn))
        alike = unlike <= UNLIKE
        alike[:, first] = unlike[:, first] <= UNLIKE_IMAGE
        for k, turn in enumerate(allowed):
            unsure = np.flatnonzero(~alike[k] & (unlike[k] <= most))
            if len(unsure):
                own = turned(motifs[first].inks, turn)
                alike[k, unsure] = _within_a_pixel(own, [motifs[n].inks for n in unsure])
        images = closed([turn for k, turn in enumerate(allowed) if alike[k, first]])
        members, turns = [first], [(False, 0)]
        for n in np.flatnonzero(alike.any(axis=0)):
            best = [allowed[k] for k in np.flatnonzero(unlike[:, n] == unlike[:, n].min())]
            best = [(False, 0)] if unlike[0, n] <= unlike[:, n].min() + HARDLY else best
            if n != first and all(after(turn, back(best[0])) in images for turn in best):
                members.append(int(n))
                turns.append(best[0])
        left[members] = False
        kinds.append(Kind(tuple(number[n] for n in members), tuple(turns), images))
    return kinds


def outline_px(inks: ByteArray) -> int:
    """Return how many pixels long the outlines of a motif are, those between its inks included."""
    padded = np.pad(inks, 1, constant_values=OUTSIDE)
    return sum(int(np.count_nonzero(a != b)) for a, b in ((padded[1:], padded[:-1]), (padded[:, 1:], padded[:, :-1])))


def _within_a_pixel(own: ByteArray, others: Sequence[ByteArray]) -> Bits:
    """Return which planes of inks have hardly a pixel further than one from its like, laid middle on middle."""
    result = np.zeros(len(others), dtype=bool)
    for shape in sorted({other.shape for other in others}):
        of_shape = [number for number, other in enumerate(others) if other.shape == shape]
        step = max(1, _AT_ONCE // own.size)
        for start in range(0, len(of_shape), step):
            part = of_shape[start : start + step]
            planes = np.stack([others[number] for number in part])
            far = _far(own[None], planes) + _far(planes, own[None])
            result[part] = far <= FURTHER * 2 * np.count_nonzero(own != OUTSIDE)
    return result


def _far(planes: ByteArray, others: ByteArray) -> Index:
    """Return how many pixels of each plane have no like within a pixel in the other, middle on middle."""
    (high, wide), (tall, broad) = planes.shape[1:], others.shape[1:]
    rim = SIZE_PX + 1
    around = np.pad(others, ((0, 0), (rim, rim), (rim, rim)), constant_values=OUTSIDE)
    met = np.zeros((max(len(planes), len(others)), high, wide), dtype=bool)
    for top in _beside(high, tall):
        for left in _beside(wide, broad):
            met |= planes == around[:, rim + top : rim + top + high, rim + left : rim + left + wide]
    return np.asarray((~met & (planes != OUTSIDE)).sum(axis=(1, 2)))


def _beside(size: int, other: int) -> range:
    """Return by how many pixels the other's pixels lie further on that are within one pixel of the own."""
    return range(-((size - other) // 2) - 1, (other - size) // 2 + 2)


def _in_order(views: Views, pixels: Index, size: Index, allowed: tuple[Turn, ...]) -> list[int]:
    """Return the numbers of motifs by size and, of one size, by how they look whichever way they are turned."""
    sides = (size.min(axis=1).tolist(), size.max(axis=1).tolist(), size[:, 0].tolist())
    sizes = list(zip(pixels.tolist(), *sides, strict=True))
    times = Counter(sizes)

    def key(number: int) -> tuple[tuple[int, ...], bytes]:
        own = sizes[number]
        alone = times[own] == 1
        return own, b"" if alone else min(turned(views[number], turn).tobytes() for turn in allowed)

    return sorted(range(len(sizes)), key=key)


def _difference(views: Views, other: Views) -> NDArray[np.float64]:
    """Return which share of a motif differs, for each of several views: what is not the same of what either has."""
    same = np.minimum(views, other)
    whole = FULL * PARTS * PARTS
    unlike = whole - same.reshape(len(views), -1).sum(axis=1, dtype=np.int64)
    either = whole - same[..., -1].sum(axis=(1, 2), dtype=np.int64)
    return np.asarray(unlike / np.maximum(either, 1))
