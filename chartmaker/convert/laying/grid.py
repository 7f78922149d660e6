"""The lines of the knot grid over flat artwork lie on the keys of the drawing, or else where its cells are purest."""

from __future__ import annotations

import numpy as np

from chartmaker.artwork.artwork import ByteArray
from chartmaker.artwork.placing import Placement
from chartmaker.convert.flat.labelling import Labels
from chartmaker.convert.laying.fitting import LEVELS, Line, fitted_edges
from chartmaker.convert.laying.keys import LEAST_KNOTS, Keys, keys_of, level_edges, upright_edges
from chartmaker.convert.laying.phase import phased_edges
from chartmaker.convert.laying.sample import Sample
from chartmaker.ground.colour import FloatArray
from chartmaker.ground.memory import Values, memory
from chartmaker.order.design import Mirror

#: The keys of each level may cost this share of purity, and all of them this share of regularity.
LOST_PURITY, LOST_REGULARITY = (0.002, 0.002, 0.0), 0.002


def laid(labels: Labels, even: Placement, mirror: Mirror) -> Placement:
    """Return the placement whose lines follow the drawing.

    Parameters
    ----------
    labels : Labels
        The ink of each pixel.
    even : Placement
        The placement in which all knots have one size.
    mirror : Mirror
        What is made symmetric afterwards. There only the keys of the master count, which is the left or the lower half.
    """
    of = (labels.first, labels.second, labels.second_share, even.column_edges, even.row_edges, mirror)
    return Placement(*memory().recall("grid", of, lambda: _laid(labels, even, mirror)))


def _laid(labels: Labels, even: Placement, mirror: Mirror) -> Values:
    """Return the edges of the columns, and then those of the rows."""
    height, width = labels.first.shape
    high, wide = even.knot_height, even.knot_width
    columns = keys_of(upright_edges(labels, LEAST_KNOTS * high), wide, high, height)
    rows = keys_of(level_edges(labels, LEAST_KNOTS * wide), high, wide, width)
    across = Line(float(even.column_edges[0]), float(even.column_edges[-1]), even.columns)
    down = Line(float(even.row_edges[-1]), float(even.row_edges[0]), even.rows)
    if mirror in ("across", "both"):
        columns = _doubled(across, columns, left=True)
    if mirror in ("along", "both"):
        rows = _doubled(down, rows, left=False)
    column_edges = _edges(across, columns, labels.first, mirror in ("across", "both"))
    raster_row_edges = _edges(down, rows, labels.first.T, mirror in ("along", "both"))
    return column_edges, raster_row_edges[::-1]


def _edges(line: Line, keys: Keys, inks: ByteArray, mirror: bool) -> FloatArray:
    """Return the edges along a line, on the heaviest keys and then on lighter ones as long as the drawing gains."""
    sample, even = Sample(inks), line.even_edges
    edges, pure, regular = even, sample.purity(even), sample.regularity(even)
    for least, lost in zip(LEVELS, LOST_PURITY, strict=True):
        trial = fitted_edges(line, keys.only(keys.weight >= least))
        purity, regularity = sample.purity(trial), sample.regularity(trial)
        if purity >= pure - lost and regularity >= regular - LOST_REGULARITY:
            edges, pure, regular = trial, purity, regularity
    return phased_edges(line, sample) if np.array_equal(edges, even) and not mirror else edges


def _doubled(line: Line, keys: Keys, *, left: bool) -> Keys:
    """Return the keys of one half of a line with their mirror images."""
    middle = (line.first + line.end) / 2
    own = keys.only(keys.place < middle if left else keys.place > middle)
    place = np.concatenate([own.place, line.first + line.end - own.place])
    order = np.argsort(place, kind="stable")
    return Keys(place, np.tile(own.weight, 2), np.tile(own.along, (2, 1))).only(order)
