"""How true a map of flat artwork is: which share of the ink that covers most of each knot the knots show."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.artwork.cells import KNOT, Cells, cells_of
from chartmaker.artwork.placing import Placement
from chartmaker.colours.labelling import Labels
from chartmaker.convert.flat.coverage import cell_areas, coverages
from chartmaker.convert.flat.knotting import EMPTY, shares_of, yarns_in_order
from chartmaker.convert.flat.lines import LEAST_COVERAGE
from chartmaker.convert.flat.tiles import FlatKnots, labels_under

#: Cells that are looked at together for what covers them.
_BAND_CELLS = 100_000
#: A map is judged by about so many knots a side in its middle.
MOST_JUDGED = 512
#: A knot of a drawing that is repeated is invented if its ink covers less than this of its cell, in KNOTths.
LEAST_SHOWN = KNOT // 20


def ink_shown(
    knots: NDArray[np.int16], labels: Labels, cells: Cells, least: int = LEAST_COVERAGE
) -> tuple[int, int, int]:
    """Return how much of their cells, in KNOTths, has the ink of the knots, how much could have, and what is invented.

    A knot is invented if its ink covers less than the `least` of its cell.

    Parameters
    ----------
    knots : ndarray of int16, shape (rows, columns)
        The ink of each knot, or EMPTY where none is tied.
    labels : Labels
        The ink of each pixel.
    cells : Cells
    least : int, optional
        In KNOTths.
    """
    rows, columns = cells.shape
    step, true, most = max(1, _BAND_CELLS // columns), 0, 0
    invented = 0
    for first in range(0, rows, step):
        seen = cells.part((slice(first, min(first + step, rows)), slice(0, columns)))
        own = knots[first : first + step]
        cover = coverages(labels_under(labels, seen), seen, max(int(own.max()), 0) + 1)[0]
        share = shares_of(cover, cell_areas(seen))
        tied = own != EMPTY
        most += int(share.max(axis=2)[tied].sum())
        shown = np.take_along_axis(share, np.maximum(own, 0)[..., None].astype(np.intp), axis=2)[tied]
        true += int(shown.sum())
        invented += int((shown < least).sum())
    return true, most, invented


def pure(plane: ByteArray, top: int = 0, left: int = 0) -> Labels:
    """Return labels for pixels of one ink each."""
    return Labels(plane, plane, np.broadcast_to(np.uint8(0), plane.shape), top, left)


def trueness(
    flat: FlatKnots, labels: Labels, palette: ByteArray, yarn_of: NDArray[np.intp], placement: Placement
) -> tuple[float, float]:
    """Return the share of the ink that flat knots could show and do show, and the share of them that is invented.

    Those in the middle are judged.
    """
    yarns = yarns_in_order(palette, yarn_of)
    first = [max((size - MOST_JUDGED) // 2, 0) for size in flat.knots.shape]
    down, across = (slice(low, size - low) for low, size in zip(first, flat.knots.shape, strict=True))
    cells = cells_of(placement).part((down, across))
    seen = labels_under(labels, cells)
    plane = pure(yarns.inks_of_pixels(seen.first), seen.top, seen.left)
    true, most, invented = ink_shown(yarns.inks(flat.knots[down, across]), plane, cells, LEAST_SHOWN)
    return true / max(most, 1), invented / flat.knots[down, across].size
