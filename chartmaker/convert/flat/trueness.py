"""How true a map of flat artwork is: which share of the ink that covers most of each knot the knots show."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.artwork.placing import Placement
from chartmaker.convert.flat.cells import Cells, cells_of
from chartmaker.convert.flat.coverage import cell_areas, coverages
from chartmaker.convert.flat.knotting import shares_of, yarns_in_order
from chartmaker.convert.flat.labelling import OUTSIDE, Labels
from chartmaker.convert.flat.tiles import FlatKnots, labels_under
from chartmaker.knots.knotmap import NO_KNOT

#: A place without a knot; inks are numbered from the darkest.
EMPTY = -1
#: Cells that are looked at together for what covers them.
_BAND_CELLS = 100_000


def ink_shown(knots: NDArray[np.int16], plane: ByteArray, cells: Cells) -> tuple[int, int]:
    """Return how much of their cells, in KNOTths, has the ink of the knots, and how much could have.

    Parameters
    ----------
    knots : ndarray of int16, shape (rows, columns)
        The ink of each knot, or EMPTY where none is tied.
    plane : ndarray of uint8, shape (height, width)
        The ink of each pixel, or OUTSIDE.
    cells : Cells
    """
    labels = Labels(plane, plane, np.broadcast_to(np.uint8(0), plane.shape))
    rows, columns = cells.shape
    step, true, most = max(1, _BAND_CELLS // columns), 0, 0
    for first in range(0, rows, step):
        seen = cells.part((slice(first, min(first + step, rows)), slice(0, columns)))
        own = knots[first : first + step]
        cover = coverages(labels_under(labels, seen), seen, max(int(own.max()), 0) + 1)[0]
        share = shares_of(cover, cell_areas(seen))
        tied = own != EMPTY
        most += int(share.max(axis=2)[tied].sum())
        true += int(np.take_along_axis(share, np.maximum(own, 0)[..., None].astype(np.intp), axis=2)[tied].sum())
    return true, most


def trueness(
    flat: FlatKnots, labels: Labels, palette: ByteArray, yarn_of: NDArray[np.intp], placement: Placement
) -> float:
    """Return the share of the ink that flat knots could show and do show."""
    yarns = yarns_in_order(palette, yarn_of)
    ink_of = np.full(NO_KNOT + 1, EMPTY, dtype=np.int16)
    ink_of[yarns.used] = np.arange(len(yarns.used))
    ink_of_label = np.full(OUTSIDE + 1, OUTSIDE, dtype=np.uint8)
    ink_of_label[: len(yarns.of_colour)] = yarns.of_colour
    true, most = ink_shown(ink_of[flat.knots], ink_of_label[labels.first], cells_of(placement))
    return true / max(most, 1)
