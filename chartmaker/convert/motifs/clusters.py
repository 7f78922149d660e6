"""Areas of several inks that touch each other and lie together on one ground, such as a leaf of two tones."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from chartmaker.colours.labelling import OUTSIDE
from chartmaker.convert.motifs.finding import DUST_KNOTS, LARGEST_KNOTS, LEAST_KNOTS, Motif, Motifs


def clusters_in(found: Motifs) -> list[Motif]:
    """Return the clusters of areas, each as one motif, which is named after the largest area of its commonest ink.

    The ground round them is larger than a motif, and no line. An area that stands there alone, with what it encloses,
    is a motif without this.
    """
    areas = found.areas
    tall, wide = found.knot_px
    size = areas.box[:, 2:] - areas.box[:, :2]
    large = (size[:, 0] > LARGEST_KNOTS * tall) | (size[:, 1] > LARGEST_KNOTS * wide)
    grounds = np.flatnonzero(large & found.encloses & ~found.thin & (areas.ink != OUTSIDE))
    return [cluster for ground in grounds.tolist() for cluster in _on(ground, found)]


def _on(ground: int, found: Motifs) -> Iterator[Motif]:
    """Yield the clusters on a ground, from the top down."""
    from scipy.ndimage import find_objects, label

    areas, (tall, wide) = found.areas, found.knot_px
    top, left, bottom, right = areas.box[ground].tolist()
    of_pixel = areas.of_pixel[top:bottom, left:right]
    beside = np.zeros(len(areas.ink), dtype=bool)
    for one, other in ((areas.one, areas.other), (areas.other, areas.one)):
        beside[other[one == ground]] = True
    beside &= areas.pixels >= DUST_KNOTS * tall * wide
    numbered = label(of_pixel != ground)[0]
    for number, (rows, columns) in enumerate(find_objects(numbered), start=1):
        high, broad = rows.stop - rows.start, columns.stop - columns.start
        inside = rows.start > 0 and columns.start > 0 and rows.stop < bottom - top and columns.stop < right - left
        if not inside or high > LARGEST_KNOTS * tall or broad > LARGEST_KNOTS * wide:
            continue
        own = numbered[rows, columns] == number
        if own.sum() < LEAST_KNOTS * tall * wide:
            continue
        met = np.unique(of_pixel[rows, columns][own])
        if beside[met].sum() > 1 and (areas.ink[met] != OUTSIDE).all():
            inks = np.where(own, areas.ink[of_pixel[rows, columns]], OUTSIDE).astype(np.uint8)
            first = _first(met, found)
            yield Motif(first, top + rows.start, left + columns.start, inks, met[met != first], is_cluster=True)


def _first(met: np.ndarray, found: Motifs) -> int:
    """Return the largest area of the ink that has most pixels, of equal inks the first and of equal areas any."""
    ink, pixels = found.areas.ink[met], found.areas.pixels[met]
    commonest = np.bincount(ink, pixels).argmax()
    return int(met[np.where(ink == commonest, pixels, 0).argmax()])
