"""Where a drawing that repeats, and each motif in it, is its own mirror image.

A motif is woven as its own image only if its axis falls on a line of the grid or on the middle of a knot. Where the
motifs of a repeat have several axes, that hangs on how many knots a repeat takes.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from chartmaker.artwork.artwork import ByteArray
from chartmaker.colours.areas import Areas, areas_of
from chartmaker.colours.labelling import OUTSIDE
from chartmaker.convert.laying.axes import Axis, axis_of
from chartmaker.convert.laying.sample import mirrors
from chartmaker.ground.colour import FloatArray

#: A motif mirrors if this share of what it and its image cover is covered by both.
MIRRORED_SHARE = 0.95
#: Motifs cover at least this share of a repeat, and are looked for in so many repeats in the middle of the drawing, or
#: in so many pixels if those are more.
LEAST_SHARE, REPEATS, SEEN_PX = 0.002, 3, 1500
#: Motifs have a say if one of so many mirrors, such as those of a drawing of which every second row is turned by a
#: quarter, and are kept if this share of their axes lies well.
SAY_ONE_IN, LEAST_KEPT = 3, 0.9
#: An axis lies well if it is no further than this, in knots, from a line or from the middle of a knot.
NEAR_KNOTS = 0.1
_DIGITS = 6


@dataclass(frozen=True)
class Mirrorings:
    """In which places, in pixels, a drawing and its motifs mirror in one direction.

    The drawing mirrors in its very middle if `own` says so, or else in its `axis`, if it has one. `motifs` are the axes
    of single motifs, and `others` is how many motifs have none.
    """

    middle_px: float = 0.0
    own: bool = False
    axis: Axis | None = None
    motifs: tuple[float, ...] = ()
    others: int = 0

    @property
    def held(self) -> float | None:
        """The axis that lies well however many knots a repeat takes, or None."""
        if self.own:
            return self.middle_px
        return None if self.axis is None else self.axis.place

    def keeps(self, knots: int, period_px: Fraction) -> bool:
        """Return whether the axes of all motifs can lie well where a repeat takes so many knots.

        It is not so if few motifs mirror.
        """
        return bool(self._good(knots, period_px))

    def keeping(self, knots: int, period_px: Fraction) -> float | None:
        """Return the axis next to the middle such that those of all motifs lie well if it does, or None.

        There is none either if two are as near, so that the image of a drawing has the image of its axis.
        """
        good = sorted(self._good(knots, period_px), key=lambda place: abs(place - self.middle_px))
        if not good or (len(good) > 1 and abs(good[0] - self.middle_px) == abs(good[1] - self.middle_px)):
            return None
        return good[0]

    def _good(self, knots: int, period_px: Fraction) -> list[float]:
        if not self.motifs or SAY_ONE_IN * len(self.motifs) < len(self.motifs) + self.others:
            return []
        places = np.array(self.motifs)
        tried = np.unique(places) if self.held is None else np.array([self.held])
        away = np.round(np.subtract.outer(tried, places) * (2 * knots) / float(period_px), _DIGITS)
        well = (np.abs(away - np.rint(away)) <= 2 * NEAR_KNOTS).sum(axis=1)
        good: list[float] = tried[(well == well.max()) & (well >= LEAST_KEPT * len(places))].tolist()
        return good

    @property
    def kept(self) -> FloatArray:
        """All this as numbers, for `mirrorings_again`."""
        axis = (np.nan, 0) if self.axis is None else (self.axis.place, self.axis.plain)
        return np.array([self.middle_px, self.own, *axis, self.others, *self.motifs])


def mirrorings_again(kept: FloatArray) -> Mirrorings:
    """Return what `Mirrorings.kept` gave as numbers."""
    middle, own, place, plain, others, *motifs = kept.tolist()
    axis = None if np.isnan(place) else Axis(place, bool(plain))
    return Mirrorings(middle, bool(own), axis, tuple(motifs), int(others))


def mirrorings_of(inks: ByteArray, period_px: tuple[Fraction, Fraction]) -> tuple[Mirrorings, Mirrorings]:
    """Return where a drawing mirrors, down and across.

    Parameters
    ----------
    inks : ndarray of uint8, shape (height, width)
    period_px : (Fraction, Fraction)
        How long a repeat is, down and across.
    """
    high, wide = float(period_px[0]), float(period_px[1])
    seen = middle_of(inks.shape[0], round(REPEATS * high)), middle_of(inks.shape[1], round(REPEATS * wide))
    areas = areas_of(inks[seen])
    top_left, bottom_right = areas.box[:, :2], areas.box[:, 2:]
    motif = (top_left > 0).all(axis=1) & (bottom_right < areas.of_pixel.shape).all(axis=1) & (areas.ink != OUTSIDE)
    motif &= (bottom_right - top_left <= (high, wide)).all(axis=1) & (areas.pixels >= LEAST_SHARE * high * wide)
    motifs = np.flatnonzero(motif)
    result = list[Mirrorings]()
    for way, plane in enumerate((inks.T, inks)):
        own = mirrors(plane)
        axis = None if own else axis_of(plane, (high, wide)[way])
        mirrored = [area for area in motifs.tolist() if _mirrors(areas, area, way)]
        places = seen[way].start + (areas.box[mirrored, way] + areas.box[mirrored, way + 2]) / 2
        middle = inks.shape[way] / 2
        result.append(Mirrorings(middle, own, axis, tuple(places.tolist()), len(motifs) - len(mirrored)))
    return result[0], result[1]


def lies_well(edges: FloatArray, axis: float | None) -> bool:
    """Return whether an axis lies on one of the edges of knots or in the middle between two, as none always does."""
    return axis is None or halves_before(edges, axis) is not None


def halves_before(edges: FloatArray, axis: float) -> int | None:
    """Return how many half knots lie before an axis, or None if it lies neither on an edge nor in a middle."""
    halves = round(2 * float(np.interp(axis, edges, np.arange(len(edges)))), _DIGITS)
    nearest = round(halves)
    return nearest if abs(halves - nearest) <= 2 * NEAR_KNOTS else None


def middle_of(size: int, most: int) -> slice:
    """Return the middle of a side, of `most` pixels or SEEN_PX if that is more."""
    first = max((size - max(most, SEEN_PX)) // 2, 0)
    return slice(first, size - first)


def _mirrors(areas: Areas, area: int, way: int) -> bool:
    """Return whether an area is its own image, upside down or from left to right."""
    top, left, bottom, right = areas.box[area].tolist()
    own = areas.of_pixel[top:bottom, left:right] == area
    image = np.flip(own, way)
    return bool((own & image).sum() >= MIRRORED_SHARE * (own | image).sum())
