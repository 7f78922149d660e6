"""Small motifs of a drawing fill the places that are bald where its pattern goes on, as masters strew them.

What the edge of a field or the outline of a medallion would cut is left out whole, and so are the crumbs of it. Each
place that is then emptier than the drawing is anywhere gets one of its free small motifs, the largest that has room as
it has it in the drawing.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.ground.colour import FloatArray

Mask = NDArray[np.bool_]

#: A free motif is at least so many knots long both ways.
LEAST_KNOTS = 4.0
#: It is about as wide as high, and fills its box so far, so that it can stand anywhere.
MOST_UNEVEN, LEAST_FILLED = 1.35, 0.5
#: It takes at most this share of the field's shorter side.
MOST_SHARE = 0.15
#: Kinds that are strewn, the commonest ones.
MOST_KINDS = 12
#: A place is bald if it is emptier than this share of all the empty places of the drawing.
BALD = 0.95
#: It may stand on a mirror line of the field if so much of it agrees with its mirror image.
MIRRORED = 0.85
#: Knots of plain ground that stay round a motif at least.
LEAST_CLEAR_KNOTS = 1.5
#: Fillers take turns if they are at least so large beside the largest that has room.
ALIKE = 0.7
#: What is smaller than this share of the drawing's smallest motif is a crumb.
CRUMB = 0.8
#: Decimals of a distance that count, so that every processor finds the same place the emptiest.
PLACES = 6


@dataclass(frozen=True)
class Filler:
    """A free small motif: its number in the mask, its box in pixels of the field down and across.

    `mirrored` is whether it is much like its own mirror image, down and across.
    """

    number: int
    down: tuple[int, int]
    across: tuple[int, int]
    mirrored: tuple[bool, bool] = (False, False)

    @property
    def radius(self) -> float:
        return max(self.down[1] - self.down[0], self.across[1] - self.across[0]) / 2


@dataclass(frozen=True, eq=False)
class Strewn:
    """What can be strewn: the numbers of the field's motifs by pixel, those that are fillers, the largest first.

    `clear` is how much ground they have round them, and `bald` how far the middle of an empty place is from anything at
    most, both in pixels of the drawing. `smallest` is the smallest motif of all in knots, `thinnest` the smallest that
    is drawn in thin lines only.
    """

    mask: NDArray[np.int32]
    fillers: tuple[Filler, ...]
    clear: float
    bald: float
    smallest: float
    thinnest: float


@dataclass(frozen=True)
class Place:
    """Where a filler goes: the knot of the field that its top left corner lies on, and how many knots it takes.

    On the `axis` that runs across or along, it is its own mirror image down or across.
    """

    filler: Filler
    row: int
    column: int
    high: int
    wide: int
    axis: tuple[bool, bool]


def strewn_of(inks: ByteArray, pieces: NDArray[np.int32], knot_px: tuple[float, float]) -> Strewn | None:
    """Return what can be strewn on the field of a drawing; None if no small motif stands free in it.

    Parameters
    ----------
    inks : ndarray of uint8, shape (height, width)
    pieces : ndarray of int32, shape (height, width)
        The number of its piece for each pixel, 0 beside them.
    knot_px : (float, float)
        The height and the width of a knot in pixels.
    """
    from scipy import ndimage

    ground = int(np.bincount(inks[pieces == 0]).argmax())
    standing = (inks != ground) | (pieces > 0)
    mask, _ = ndimage.label(standing, np.ones((3, 3), int))
    mask = mask.astype(np.int32)
    areas = np.bincount(mask.ravel())
    taken = set(np.unique(mask[pieces > 0]).tolist()) | set(_touching(mask))
    knot = knot_px[0] * knot_px[1]
    kinds: dict[tuple[object, ...], list[Filler]] = {}
    smallest = np.inf
    for number, (rows, columns) in enumerate(ndimage.find_objects(mask), start=1):
        if number in taken:
            continue
        smallest = min(smallest, float(areas[number] / knot))
        filler = Filler(number, (rows.start, rows.stop), (columns.start, columns.stop))
        if _stands_free(filler, areas[number], inks.shape, knot_px):
            own = np.where(mask[rows, columns] == number, inks[rows, columns], ground).astype(np.uint8)
            alike = (own == own[::-1]).mean(), (own == own[:, ::-1]).mean()
            filler = replace(filler, mirrored=(bool(alike[0] >= MIRRORED), bool(alike[1] >= MIRRORED)))
            kinds.setdefault(_kind(filler, own, knot_px), []).append(filler)
    common = sorted(kinds.values(), key=lambda those: (-len(those), those[0].number))[:MOST_KINDS]
    if not common:
        return None
    fillers = sorted((those[0] for those in common), key=lambda filler: (-filler.radius, filler.number))
    centres = tuple(
        ((np.arange(int(size / px)) + 0.5) * px).astype(int) for size, px in zip(inks.shape, knot_px, strict=True)
    )
    by_knot = standing[np.ix_(*centres)]
    away = _away(by_knot, knot_px)
    peaks = away[(away == ndimage.maximum_filter(away, 5)) & (away > 0)]
    clear = float(np.median([_clear(standing, mask, filler, knot_px) for filler in fillers]))
    bald = round(float(np.quantile(peaks, BALD)), PLACES) if len(peaks) else 0.0
    sizes, thin = _groups(by_knot)[1:]
    thinnest = float(sizes[thin].min(initial=np.iinfo(np.int64).max))
    return Strewn(mask, tuple(fillers), max(clear, LEAST_CLEAR_KNOTS * min(knot_px)), bald, smallest, thinnest)


def _groups(standing: Mask) -> tuple[NDArray[np.intp], NDArray[np.intp], Mask]:
    """Return the number of the motif that each knot belongs to, the knots of each, and which are only thin lines."""
    from scipy import ndimage

    groups, number = ndimage.label(standing, np.ones((3, 3), int))
    sizes = np.bincount(groups.ravel(), minlength=number + 1)
    thin = np.ones(number + 1, dtype=bool)
    thin[np.unique(groups[ndimage.minimum_filter(standing, 3)])] = False
    thin[0] = False
    return groups, sizes, thin


def _touching(mask: NDArray[np.int32]) -> list[int]:
    """Return the numbers that reach the edge of a mask."""
    rim = np.concatenate([mask[0], mask[-1], mask[:, 0], mask[:, -1]])
    return [int(number) for number in np.unique(rim) if number]


def _stands_free(filler: Filler, area: int, shape: tuple[int, ...], knot_px: tuple[float, float]) -> bool:
    """Whether a motif is small and round enough to stand anywhere."""
    high, wide = filler.down[1] - filler.down[0], filler.across[1] - filler.across[0]
    large_enough = high >= LEAST_KNOTS * knot_px[0] and wide >= LEAST_KNOTS * knot_px[1]
    small_enough = max(high, wide) <= MOST_SHARE * min(shape)
    even = max(high / wide, wide / high) <= MOST_UNEVEN
    return large_enough and small_enough and even and area >= LEAST_FILLED * high * wide


def _kind(filler: Filler, own: ByteArray, knot_px: tuple[float, float]) -> tuple[object, ...]:
    """Return what motifs of one kind have in common: their size in knots, and the inks that they are drawn in."""
    shares = np.bincount(own.ravel()) / own.size
    high, wide = filler.down[1] - filler.down[0], filler.across[1] - filler.across[0]
    return round(high / knot_px[0]), round(wide / knot_px[1]), tuple(np.flatnonzero(shares > 0.05).tolist())


def _clear(standing: Mask, mask: NDArray[np.int32], filler: Filler, knot_px: tuple[float, float]) -> float:
    """Return how far a motif stands from the next, in pixels."""
    from scipy import ndimage

    reach = 3 * int(filler.radius)
    rows = slice(max(0, filler.down[0] - reach), filler.down[1] + reach)
    columns = slice(max(0, filler.across[0] - reach), filler.across[1] + reach)
    own = mask[rows, columns] == filler.number
    others = standing[rows, columns] & ~own
    if not others.any():
        return float(reach)
    return float(ndimage.distance_transform_edt(~others)[own].min())


def _away(standing: Mask, knot_px: tuple[float, float]) -> FloatArray:
    """Return how far each knot is from what stands, or from the edge, in pixels."""
    from scipy import ndimage

    padded = np.pad(standing, 1, constant_values=True)
    away = ndimage.distance_transform_edt(~padded, sampling=knot_px)[1:-1, 1:-1]
    return np.asarray(np.round(away, PLACES))


def cut_motifs(standing: Mask, covered: Mask, strewn: Strewn | None) -> Mask:
    """Return the knots of motifs that the edge of a field or its pieces cut, and of crumbs.

    Parameters
    ----------
    standing : ndarray of bool, shape (rows, columns)
        Which knots of the field are not ground.
    covered : ndarray of bool, shape (rows, columns)
        Which knots its pieces lie on.
    strewn : Strewn, optional
        What is known of the motifs of the drawing: smaller ones than those are crumbs.
    """
    from scipy import ndimage

    bodies, number = ndimage.label(ndimage.minimum_filter(standing, 3), np.ones((3, 3), int))
    grown = np.where(standing, ndimage.maximum_filter(bodies, 3), 0)  # vines between bodies are too thin for one
    met = np.zeros(number + 1, dtype=bool)
    met[np.unique(grown[covered])] = True
    met[_touching(grown)] = True
    met[0] = False
    cut = met[grown]
    cut |= ndimage.binary_dilation(cut, np.ones((3, 3))) & standing & (grown == 0) & _rim(grown, met)
    if strewn is None:
        return np.asarray(cut)
    groups, sizes, thin = _groups(standing & ~cut & ~covered)
    crumbs = sizes < CRUMB * np.where(thin, max(strewn.smallest, strewn.thinnest), strewn.smallest)
    crumbs[0] = False
    return np.asarray(cut | crumbs[groups])


def _rim(grown: NDArray[np.intp], met: Mask) -> Mask:
    """Return the knots beside bodies that are cut and beside no other: what is left of their outlines."""
    from scipy import ndimage

    others = np.where(met[grown], 0, grown) > 0
    return ~np.asarray(ndimage.binary_dilation(others, np.ones((3, 3))))


def places_of(standing: Mask, strewn: Strewn, knot_px: tuple[float, float]) -> Iterator[Place]:
    """Yield where fillers go in the upper left quarter of a field, the emptiest place first.

    The field is its own mirror image both ways; what goes on a mirror line stands in the middle of it.
    """
    shape = standing.shape[0], standing.shape[1]
    away = _away(standing, knot_px)[: (shape[0] + 1) // 2, : (shape[1] + 1) // 2]
    number = 0
    while True:
        row, column = divmod(int(away.argmax()), away.shape[1])
        most = float(away[row, column])
        if most <= strewn.bald:
            return
        place = _place_at((row, column), most, strewn, shape, knot_px, number)
        if place is None:
            away[row, column] = 0
            continue
        number += 1
        yield place
        away = np.minimum(away, _from(place, shape, away.shape, knot_px))


def _place_at(
    at: tuple[int, int], most: float, strewn: Strewn, shape: tuple[int, int], knot_px: tuple[float, float], number: int
) -> Place | None:
    """Return how a filler goes on a knot that is so far from anything, kinds taking turns; None if none has room."""
    from_axis = [(size / 2 - own - 0.5) * px for size, own, px in zip(shape, at, knot_px, strict=True)]
    fitting = []
    for filler in strewn.fillers:
        reach = filler.radius + strewn.clear
        axis = from_axis[0] < reach, from_axis[1] < reach
        moved = math.sqrt((from_axis[0] * axis[0]) ** 2 + (from_axis[1] * axis[1]) ** 2)
        if reach + moved <= most and all(own or not on for own, on in zip(filler.mirrored, axis, strict=True)):
            fitting.append((filler, axis))
    if not fitting:
        return None
    alike = [each for each in fitting if each[0].radius >= ALIKE * fitting[0][0].radius]
    filler, axis = alike[number % len(alike)]
    firsts, sizes = [], []
    for own, on, size, knots in zip(at, axis, shape, _knots(filler, knot_px), strict=True):
        sizes.append(knots + ((size - knots) % 2 if on else 0))
        firsts.append((size - sizes[-1]) // 2 if on else own - sizes[-1] // 2)
    if min(firsts) < 0:
        return None
    return Place(filler, firsts[0], firsts[1], sizes[0], sizes[1], axis)


def _from(place: Place, shape: tuple[int, int], quarter: tuple[int, ...], knot_px: tuple[float, float]) -> FloatArray:
    """Return how far the knots of a quarter are from a filler and from its mirror images, in pixels."""
    middles = place.row + place.high / 2, place.column + place.wide / 2
    ways = []
    for middle, size, own, px in zip(middles, shape, quarter, knot_px, strict=True):
        knots = np.arange(own) + 0.5
        ways.append(np.minimum(abs(knots - middle), abs(knots - (size - middle))) * px)
    away = np.sqrt((ways[0] ** 2)[:, None] + (ways[1] ** 2)[None, :])
    return np.asarray(np.round(np.maximum(away - place.filler.radius, 0), PLACES))


def _knots(filler: Filler, knot_px: tuple[float, float]) -> tuple[int, int]:
    """Return how many knots a filler takes, down and across."""
    high, wide = filler.down[1] - filler.down[0], filler.across[1] - filler.across[0]
    return int(np.ceil(high / knot_px[0])) + 1, int(np.ceil(wide / knot_px[1])) + 1
