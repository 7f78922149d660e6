"""The narrow strokes within a motif, such as a stem or a vein, and whether a drawing in knots follows them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.cells import KNOT
from chartmaker.convert.flat.runs import Bits, Index
from chartmaker.convert.motifs.finding import LINE_WIDTH, Motif
from chartmaker.convert.motifs.likeness import TURNS, Turn, back, turned

#: Strokes at least so wide and so long, in knots, have to be followed, but for this share of their length.
LEAST_WIDE, LEAST_LONG, UNFOLLOWED = 0.3, 3.0, 0.03
#: A knot follows a stroke as far as this from its middle, in KNOT units.
REACH = KNOT * 7 // 8

_ALL_ROUND = np.ones((3, 3), dtype=bool)


@dataclass(frozen=True, eq=False)
class Stroke:
    """What is narrow of an area, of the ink with this number among a motif's.

    `twice` is double the places along its middle, shape (any, 2), down and across from the middle of the motif, whose
    `size` is given in pixels too.
    """

    ink: int
    twice: Index
    size: tuple[int, int]

    def turned(self, turn: Turn) -> Stroke:
        """Return the stroke as it lies in the motif when that is turned."""
        down, across = self.twice[:, 0], -self.twice[:, 1] if turn[0] else self.twice[:, 1]
        ways = ((down, across), (-across, down), (-down, -across), (across, -down))
        size = self.size[::-1] if turn[1] % 2 else self.size
        return Stroke(self.ink, np.stack(ways[turn[1]], axis=1), size)

    def is_followed(
        self, pieces: Index, start: tuple[int, int], twice: tuple[int, int], extent: tuple[int, int]
    ) -> bool:
        """Return whether one piece of knots is near hardly less than all of the stroke.

        Parameters
        ----------
        pieces : ndarray of int
            The pieces of knots of the stroke's ink, numbered from 1.
        start : (int, int)
            The row and the column that the pieces begin at.
        twice, extent : (int, int)
            Double the middle of the motif, and its size, down and across, in KNOT units.
        """
        knots = np.argwhere(pieces)
        if not len(knots):
            return False
        near = np.ones((len(self.twice), len(knots)), dtype=bool)
        for axis, (first, middle, length, pixels) in enumerate(zip(start, twice, extent, self.size, strict=True)):
            centre = (2 * (knots[:, axis] + first) + 1) * KNOT - middle
            near &= np.abs(centre * pixels - self.twice[:, axis, None] * length) <= 2 * pixels * REACH
        number = pieces[knots[:, 0], knots[:, 1]]
        least = (1 - UNFOLLOWED) * len(self.twice)
        return any(np.count_nonzero(near[:, number == one].any(axis=1)) >= least for one in np.unique(number))


def strokes_of(motif: Motif, inks: Sequence[int], knot_px: tuple[float, float]) -> list[Stroke]:
    """Return the strokes within a motif, which are the same however it is turned.

    Parameters
    ----------
    motif : Motif
    inks : sequence of int
        The inks of the motif.
    knot_px : (float, float)
        How many pixels high and wide a knot is.
    """
    planes = {turn: turned(motif.inks, turn) for turn in TURNS}
    keys = {turn: (plane.shape, plane.tobytes()) for turn, plane in planes.items()}
    least, found = min(keys.values()), []
    for turn in (turn for turn in TURNS if keys[turn] == least):
        plane = planes[turn]
        for number, ink in enumerate(inks):
            for at in _middles(plane == ink, (knot_px[0] * knot_px[1]) ** 0.5):
                own = Stroke(number, 2 * at + 1 - np.array(plane.shape), (plane.shape[0], plane.shape[1]))
                found.append(own.turned(back(turn)))
    return found


def pieces_of(pattern: NDArray[np.int16], ink: int) -> Index:
    """Return the pieces of knots of an ink, which may hang together at corners, numbered from 1."""
    from scipy.ndimage import label

    return np.asarray(label(pattern == ink, _ALL_ROUND)[0], dtype=np.intp)


def _middles(own: Bits, knot_px: float) -> Iterator[Index]:
    """Yield the pixels along the middle of each stroke of a mask, from joint to joint."""
    from scipy.ndimage import correlate, distance_transform_edt, label
    from skimage.morphology import skeletonize

    padded = np.pad(own, 1)
    width = (2 * distance_transform_edt(padded) - 1) / knot_px
    bone = np.asarray(skeletonize(padded, method="lee") > 0)
    thin = bone & (width >= LEAST_WIDE) & (width <= LINE_WIDTH)
    if not thin.any():
        return
    ways = _WAYS[correlate(bone.astype(np.intp), _POWERS, mode="constant")]
    numbered = label(thin & (ways < 3), _ALL_ROUND)[0]
    for number in np.unique(numbered)[1:].tolist():
        at = np.argwhere(numbered == number)
        if len(at) >= LEAST_LONG * knot_px / 2**0.5 and np.ptp(at, axis=0).sum() >= LEAST_LONG * knot_px:
            yield at - 1


def _ways() -> Index:
    """Return, for each way that the eight neighbours of a pixel may be set, how many pieces they fall into."""
    bits = np.arange(256)[:, None] >> np.arange(8) & 1
    return np.asarray((bits < np.roll(bits, -1, axis=1)).sum(axis=1))


_POWERS = np.array([[1, 2, 4], [128, 0, 8], [64, 32, 16]])
_WAYS = _ways()
