"""Artwork that is a smaller one enlarged by whole factors, pixel by pixel, taken back to its own size."""

from __future__ import annotations

from math import gcd

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import Artwork
from chartmaker.artwork.placing import Placement

_BAND_PIXELS = 250_000


def at_own_size(artwork: Artwork, placement: Placement) -> tuple[Artwork, Placement]:
    """Return the artwork that `artwork` enlarges by whole factors down and across, with the placement on that.

    Pixels on an edge, mixed of two inks, are told from real colours by lying alone: an enlargement hides that. What is
    no enlargement comes back as it is.
    """
    down, across = _factor(artwork, 0), _factor(artwork, 1)
    if down == across == 1:
        return artwork, placement
    coverage, regions = (
        None if plane is None else plane[::down, ::across] for plane in (artwork.coverage, artwork.regions)
    )
    small = Artwork(np.ascontiguousarray(artwork.srgb[::down, ::across]), coverage, regions)
    return small, Placement(placement.column_edges / across, placement.row_edges / down)


def back_on(artwork: Artwork, small: Artwork, placement: Placement) -> Placement:
    """Return a `placement` on the `small` artwork as one on the artwork that enlarges it."""
    across, down = artwork.width // small.width, artwork.height // small.height
    return Placement(placement.column_edges * across, placement.row_edges * down)


def _factor(artwork: Artwork, axis: int) -> int:
    """Return the greatest whole factor by which pixels are repeated along an axis."""
    extra = (plane for plane in (artwork.coverage, artwork.regions) if plane is not None)
    planes = [artwork.srgb, *(plane[..., None] for plane in extra)]
    size, other = artwork.srgb.shape[axis], artwork.srgb.shape[1 - axis]
    factor, step = int(size), max(1, _BAND_PIXELS // other)
    for first in range(0, size - 1, step):
        changes = [_changes(plane, axis, first, min(first + step, size - 1)) for plane in planes]
        for place in np.flatnonzero(np.logical_or.reduce(changes)) + first + 1:
            factor = gcd(factor, int(place))
        if factor == 1:
            break
    return factor


def _changes(plane: NDArray[np.uint8], axis: int, first: int, end: int) -> NDArray[np.bool_]:
    """Return whether lines `first` .. `end` differ from the next one."""
    lines = plane[first : end + 1] if axis == 0 else plane[:, first : end + 1].swapaxes(0, 1)
    return np.asarray((lines[1:] != lines[:-1]).any(axis=(1, 2)))
