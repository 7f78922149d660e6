"""A thin line on the axis of a mirror is drawn in the half that is copied, so that mirroring does not cut it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.cells import KNOT, Window, cells_of
from chartmaker.artwork.placing import Placement
from chartmaker.colours.labelling import Labels
from chartmaker.convert.flat.coverage import cell_areas, coverages
from chartmaker.convert.flat.lines import LEAST_COVERAGE
from chartmaker.convert.flat.tiles import FlatKnots, labels_under
from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.knots.symmetry import master_edges
from chartmaker.order.design import Mirror


def with_axis_lines(
    part: FlatKnots, labels: Labels, yarn_of: NDArray[np.intp], placement: Placement, window: Window, mirror: Mirror
) -> FlatKnots:
    """Return the flat knots of a window with the lines that straddle an axis drawn on the copied side of it too.

    Such a line lies in the cells of one side only, and if that is the side that is not copied, nothing is left of it.
    With its image it is then two knots wide, or three on a row or column that is woven once. Lines that merely cross
    the axis are left as they are: they have one knot beside it.

    Parameters
    ----------
    part : FlatKnots
        The knots of the window.
    labels : Labels
        The palette colour of each pixel.
    yarn_of : ndarray, shape (colours,)
        The yarn of each palette colour.
    placement : Placement
        That of the whole rug.
    window : (slice, slice)
        Raster rows and columns of the rug.
    mirror : Mirror
        How the whole rug is mirrored.
    """
    knots, colours, held, kept = part.knots.copy(), part.colours.copy(), part.held.copy(), part.lines_kept
    cells = cells_of(placement)
    for axis, edge, beyond in master_edges(placement.rows, placement.columns, mirror):
        along, own = window[1 - axis], window[axis]
        if not own.start <= min(edge, beyond) < max(edge, beyond) < own.stop:
            continue
        master, line = (_lane(axis, place - own.start) for place in (edge, beyond))
        seen = (along, slice(edge, edge + 1)) if axis else (slice(edge, edge + 1), along)
        beside = cells.part(seen)
        covered = coverages(labels_under(labels, beside), beside, len(yarn_of))[0].reshape(-1, len(yarn_of))
        cover = np.where(yarn_of == knots[line][:, None], covered, 0).sum(axis=1)
        same = knots[line][1:] == knots[line][:-1]
        lost = held[line] & ~held[master] & (knots[line] != knots[master]) & (knots[master] != NO_KNOT)
        lost &= np.append(False, same) | np.append(same, False)
        lost &= cover * KNOT >= LEAST_COVERAGE * cell_areas(beside).ravel()
        for plane in (knots, colours, held):
            plane[master] = np.where(lost, plane[line], plane[master])
        kept += int(lost.sum())
    return replace(part, knots=knots, colours=colours, held=held, lines_kept=kept)


def _lane(axis: int, place: int) -> tuple[slice | int, slice | int]:
    """Return the index of one row or column."""
    return (slice(None), place) if axis else (place, slice(None))
