"""The remark on artwork that is coarser than the knots."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.findings import Finding
from chartmaker.ground.sentence import later
from chartmaker.knots.knotmap import KnotArray, KnotMap

#: The fewest lines of change, in each direction, whose spacing says anything.
LEAST_LINES = 25
#: The share of the gaps between them that must be of the same width.
ALIKE = 0.95
#: Larger blocks, in knots, are a geometric design rather than pixels (common practice).
LARGEST_BLOCK = 6
_BAND_CELLS = 4_000_000


def changing_lines(knots: KnotArray) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return the rows, and the columns, across whose lower or left edge any yarn changes."""
    rows = [row for row in range(1, len(knots)) if (knots[row] != knots[row - 1]).any()]
    columns = np.zeros(knots.shape[1] - 1, dtype=bool)
    step = max(1, _BAND_CELLS // knots.shape[1])
    for row in range(0, len(knots), step):
        band = knots[row : row + step]
        columns |= (band[:, 1:] != band[:, :-1]).any(axis=0)
    return np.array(rows, dtype=np.intp), np.flatnonzero(columns) + 1


def _block(lines: NDArray[np.intp]) -> float:
    """Return the width, in knots, of the blocks in a design with changes at `lines`; 1 if there are no blocks."""
    gaps = np.diff(lines)
    if len(gaps) < LEAST_LINES:
        return 1.0
    mean = float(gaps.mean())
    usual = (gaps >= np.floor(mean)) & (gaps <= np.ceil(mean))
    return mean if 1.5 <= mean <= LARGEST_BLOCK and usual.mean() >= ALIKE and (gaps > 1).mean() >= 0.5 else 1.0


def blocks(knot_map: KnotMap) -> Iterator[Finding]:
    """Yield a finding if the design is made of even blocks of knots, as from an enlarged artwork."""
    rows, columns = changing_lines(knot_map.knots)
    high, wide = _block(rows), _block(columns)
    if high > 1 and wide > 1:
        yield Finding(
            later(
                "The design is made of blocks of about {wide:.2g} x {high:.2g} knots, as from an artwork that was "
                "enlarged: the rug could show finer drawing than the artwork holds.",
                wide=wide,
                high=high,
            ),
            later("the whole rug"),
            "note",
        )
