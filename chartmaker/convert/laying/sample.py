"""How pure and how regular the cells between edges would be, measured on some lines through the artwork."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.ground.colour import FloatArray

#: At most this many lines are looked at.
LINES = 256
#: Repeats longer than this, in knots, are not looked for; from this many in a row on, they are regular.
LONGEST_PERIOD, LEAST_REPEATS = 32, 10
#: A drawing mirrors if this share of its pixels does.
MIRRORED_SHARE = 0.97
#: Cells are looked at in blocks of so many, so that a palace carpet takes little memory.
_CELLS_AT_ONCE = 512


def mirrors(inks: ByteArray) -> bool:
    """Return whether a drawing is nearly its own image from left to right, judging by some of its lines."""
    seen = _some(inks)
    return bool((seen == seen[:, ::-1]).mean() >= MIRRORED_SHARE)


def _some(inks: ByteArray) -> ByteArray:
    step = max(1, len(inks) // LINES)
    return inks[step // 2 :: step]


class Sample:
    """Some evenly spread lines through the artwork, all along one side of the grid.

    Parameters
    ----------
    inks : ndarray of uint8, shape (any, pixels along the side)
    """

    def __init__(self, inks: ByteArray) -> None:
        seen = _some(inks)
        self.mirrors = mirrors(inks)
        met = np.unique(seen)
        # The axis of the pixels comes first, so that the cells' edges are picked line by line.
        self._counts = np.zeros((seen.shape[1] + 1, len(met), seen.shape[0]), dtype=np.float32)
        for pixel, inks_there in enumerate(np.ascontiguousarray(seen.T)):
            np.add(self._counts[pixel], inks_there == met[:, None], out=self._counts[pixel + 1])
        self._last: tuple[bytes, NDArray[np.float32], NDArray[np.intp]] | None = None

    def purity(self, edges: FloatArray) -> float:
        """Return the mean share of the commonest ink in the cells between `edges`."""
        return float((self._commonest(edges)[0] / np.diff(edges)).mean())

    def regularity(self, edges: FloatArray) -> float:
        """Return the share of the changes of ink from a cell to the next that belong to regular repeats.

        A repeat is regular if the cells of the line equal those a period further on, LEAST_REPEATS times in a row.
        """
        inks = self._commonest(edges)[1]
        changes = np.diff(inks, axis=1) != 0
        regular = np.zeros_like(changes)
        for period in range(2, min(LONGEST_PERIOD, inks.shape[1] // LEAST_REPEATS) + 1):
            least = (LEAST_REPEATS - 1) * period
            equal = np.zeros((inks.shape[0], inks.shape[1] - period + 2), dtype=np.int8)
            equal[:, 1:-1] = inks[:, period:] == inks[:, :-period]
            steps = np.diff(equal.ravel())
            first, end = np.flatnonzero(steps == 1), np.flatnonzero(steps == -1)
            line, start = np.divmod(first, equal.shape[1])
            for run in np.flatnonzero(end - first >= least):
                regular[line[run], start[run] : start[run] + int(end[run] - first[run]) + period - 1] = True
        return float((regular & changes).sum() / max(changes.sum(), 1))

    def _commonest(self, edges: FloatArray) -> tuple[NDArray[np.float32], NDArray[np.intp]]:
        """Return how many pixels of its commonest ink each cell holds, and which that is, both of shape (lines, cells).

        The last ones are kept, for whoever asks for the purity and then for the regularity.
        """
        if self._last is not None and self._last[0] == edges.tobytes():
            return self._last[1:]
        pixels, cells, lines = len(self._counts) - 1, len(edges) - 1, self._counts.shape[2]
        at = np.clip(edges, 0, pixels)
        low = np.minimum(np.floor(at).astype(np.intp), pixels - 1)
        part = (at - low).astype(np.float32)[:, None, None]
        most, inks = np.empty((lines, cells), dtype=np.float32), np.empty((lines, cells), dtype=np.intp)
        for first in range(0, cells, _CELLS_AT_ONCE):
            here = slice(first, first + _CELLS_AT_ONCE + 1)
            before = self._counts[low[here]] * (1 - part[here]) + self._counts[low[here] + 1] * part[here]
            shares = np.diff(before, axis=0)
            most[:, first : first + len(shares)] = shares.max(axis=1).T
            inks[:, first : first + len(shares)] = shares.argmax(axis=1).T
        self._last = edges.tobytes(), most, inks
        return most, inks
