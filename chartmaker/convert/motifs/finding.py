"""The motifs of flat artwork are compact areas of one ink, each with all that it encloses."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from chartmaker.artwork.artwork import ByteArray
from chartmaker.colours.areas import Areas, areas_of
from chartmaker.colours.labelling import OUTSIDE
from chartmaker.convert.flat.runs import Bits, Index

#: A motif covers at least this many knots, and is at most so many knots wide or high.
LEAST_KNOTS, LARGEST_KNOTS = 0.5, 64.0
#: An area is line work, which is left to the lines, if all but this share of it is narrower than this and it is longer
#: than that (in knots).
LINE_WIDTH, CORE_SHARE, LINE_LENGTH = 1.6, 0.05, 16.0
#: An area with more than this share of its outline along line work has its shape from the lines.
LINED_SHARE = 0.25
#: A motif has the same area along at least this share of its outline.
ALONE_SHARE = 0.75
#: A narrow area that is at least so many knots long is a stroke.
STROKE_KNOTS = 3.0
#: Pieces of an ink that cover less than this, in knots, are dust and do not count.
DUST_KNOTS = 0.25
#: Pixels that are counted at once.
_AT_ONCE_PX = 4_000_000


@dataclass(frozen=True, eq=False)
class Motif:
    """An area and what it encloses, by its number, its box in pixels, and the ink of each pixel in it, or OUTSIDE.

    In a cluster the others are not enclosed but lie beside it.
    """

    area: int
    top: int
    left: int
    inks: ByteArray
    enclosed: Index
    is_cluster: bool = False

    @cached_property
    def pixels(self) -> int:
        """How many pixels the motif covers."""
        return int((self.inks != OUTSIDE).sum())


@dataclass(frozen=True, eq=False)
class Motifs:
    """The areas that may be motifs, with those that each of them encloses.

    `able` says for each area whether it may be a motif, `thin` whether hardly any of it is wider than a line, and
    `lined` whether line work gives it its shape.
    """

    areas: Areas
    able: Bits
    thin: Bits
    lined: Bits
    knot_px: tuple[float, float]

    def motif(self, area: int) -> Motif:
        """Return an area with all that it encloses."""
        from scipy.ndimage import label

        top, left, bottom, right = self.areas.box[area].tolist()
        inside = self.areas.of_pixel[top:bottom, left:right]
        hull = inside == area
        enclosed = np.empty(0, dtype=np.intp)
        if self.encloses[area]:
            around = np.ones((bottom - top + 2, right - left + 2), dtype=bool)
            around[1:-1, 1:-1] = ~hull
            numbered = label(around)[0]
            hull = (numbered != numbered[0, 0])[1:-1, 1:-1]
            met = np.zeros(len(self.areas.ink), dtype=bool)
            met[inside[hull]] = True
            met[area] = False
            enclosed = np.flatnonzero(met)
        inks = np.where(hull, self.areas.ink[inside], OUTSIDE).astype(np.uint8)
        return Motif(area, top, left, inks, enclosed)

    def stands_alone(self, motif: Motif) -> bool:
        """Return whether one area lies nearly all round a motif, so that it shares no outline with other motifs."""
        own, beside, length = self._beside
        part = slice(*np.searchsorted(own, (motif.area, motif.area + 1)))
        outer = ~np.isin(beside[part], motif.enclosed)
        around = length[part][outer]
        return bool(len(around)) and bool(around.max() >= ALONE_SHARE * around.sum())

    @cached_property
    def lonely(self) -> Bits:
        """Which areas stand alone if they enclose nothing; it takes much less time than `stands_alone` for each."""
        own, _, length = self._beside
        most = np.zeros(len(self.areas.ink), dtype=np.int64)
        np.maximum.at(most, own, length)
        return np.asarray((most > 0) & (most >= ALONE_SHARE * np.bincount(own, length, minlength=len(most))))

    def has_stroke(self, motif: Motif) -> bool:
        """Return whether a stroke is among the areas of a cluster."""
        if not motif.is_cluster:
            return False
        own = np.array([motif.area, *motif.enclosed.tolist()])
        size = (self.areas.box[own, 2:] - self.areas.box[own, :2]) / self.knot_px
        return bool((self.thin[own] & (size >= STROKE_KNOTS).any(axis=1)).any())

    @cached_property
    def _beside(self) -> tuple[Index, Index, Index]:
        """The areas that touch each other, both ways round, ordered by the first, and along how many pixels they do."""
        areas = self.areas
        own = np.concatenate([areas.one, areas.other])
        order = np.argsort(own, kind="stable")
        beside, length = np.concatenate([areas.other, areas.one]), np.tile(areas.length, 2)
        return own[order], beside[order], length[order]

    @cached_property
    def encloses(self) -> Bits:
        """Which areas may enclose others, because they touch one whose box lies within their own."""
        areas = self.areas
        may = np.zeros(len(areas.ink), dtype=bool)
        for outer, inner in ((areas.one, areas.other), (areas.other, areas.one)):
            around = (areas.box[outer, :2] < areas.box[inner, :2]).all(axis=1)
            around &= (areas.box[outer, 2:] > areas.box[inner, 2:]).all(axis=1)
            may[outer[around]] = True
        return may


def motifs_in(inks: ByteArray, knot_px: tuple[float, float]) -> Motifs:
    """Return which areas may be motifs, of which none touches the rim.

    Parameters
    ----------
    inks : ndarray of uint8, shape (height, width)
    knot_px : tuple of float
        How many pixels high and wide a knot is.
    """
    areas = areas_of(inks)
    (tall, wide), box = knot_px, areas.box
    size = box[:, 2:] - box[:, :2]
    whole = (box[:, :2] > 0).all(axis=1) & (box[:, 2:] < inks.shape).all(axis=1) & (areas.ink != OUTSIDE)
    able = whole & (areas.pixels >= LEAST_KNOTS * tall * wide)
    able &= (size[:, 0] <= LARGEST_KNOTS * tall) & (size[:, 1] <= LARGEST_KNOTS * wide)
    outline = areas.upright * wide + areas.level * tall  # in knots, times the pixels of a knot
    core, thick = np.zeros(len(areas.ink), dtype=np.intp), _thick(inks, knot_px)
    for rows in np.array_split(np.arange(len(inks)), -(-inks.size // _AT_ONCE_PX)):
        part = slice(rows[0], rows[-1] + 1)
        core += np.bincount(areas.of_pixel[part][thick[part]], minlength=len(core))
    thin = core <= CORE_SHARE * areas.pixels
    line = thin & (outline >= 2 * LINE_LENGTH * tall * wide)
    found = Motifs(areas, able, thin, line, knot_px)
    line[able & (core > 0)] = False
    for area in np.flatnonzero(able & line & found.encloses):  # an outline round something is a motif, though narrow
        line[area] = not _holds_a_square(found.motif(int(area)).inks != OUTSIDE, knot_px)
    able &= ~line
    along = np.zeros(len(areas.ink), dtype=np.int64)
    for own, beside in ((areas.one, areas.other), (areas.other, areas.one)):
        np.add.at(along, own, np.where(line[beside], areas.length, 0))
    return Motifs(areas, able, thin, along > LINED_SHARE * (areas.upright + areas.level), knot_px)


def _thick(inks: ByteArray, knot_px: tuple[float, float]) -> Bits:
    """Return which pixels have only their own ink round them, as far as lines are wide."""
    from scipy.ndimage import maximum_filter1d, minimum_filter1d

    least, most = inks, inks
    for axis, pixels in enumerate(knot_px):
        size = 2 * int(LINE_WIDTH / 2 * pixels) + 1
        least = minimum_filter1d(least, size, axis=axis, mode="nearest")
        most = maximum_filter1d(most, size, axis=axis, mode="nearest")
    return np.asarray(least == most)


def _holds_a_square(mask: Bits, knot_px: tuple[float, float]) -> bool:
    """Return whether a square wider than lines are lies within a mask."""
    high, wide = (2 * int(LINE_WIDTH / 2 * pixels) + 1 for pixels in knot_px)
    if high > mask.shape[0] or wide > mask.shape[1]:
        return False
    total = np.pad(mask.cumsum(axis=0, dtype=np.int32).cumsum(axis=1), ((1, 0), (1, 0)))
    held = total[high:, wide:] - total[:-high, wide:] - total[high:, :-wide] + total[:-high, :-wide]
    return bool((held == high * wide).any())
