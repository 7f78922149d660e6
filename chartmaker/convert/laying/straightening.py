"""Long straight edges between two inks get one place all along, however their pixels are mixed."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.artwork.placing import Placement
from chartmaker.colours.labelling import OUTSIDE, Labels
from chartmaker.convert.laying.keys import LEAST_KNOTS, stretches

#: Only areas wider than this, in knots, have their edges evened; thinner strokes are drawn by their middle.
LEAST_WIDTH_KNOTS = 1.6


def straightened(labels: Labels, even: Placement) -> Labels:
    """Return labels in which straight edges of areas, of at least LEAST_KNOTS knots, have one mixture all along.

    The edge of an area that slants by next to nothing goes by steps of a pixel. Mixed pixels would let its knots take
    their step anywhere along a straight stretch; so they take it where the pixels do.
    """
    if labels.second is labels.first:
        return labels
    planes = labels.first, labels.second, labels.second_share
    turned = labels.first.T, labels.second.T, labels.second_share.T
    knot = even.knot_height, even.knot_width
    level, upright = (
        _asked(*planes, LEAST_KNOTS * knot[1], LEAST_WIDTH_KNOTS * knot[0]),
        _asked(*turned, LEAST_KNOTS * knot[0], LEAST_WIDTH_KNOTS * knot[1]),
    )
    width = labels.first.shape[1]
    at = np.concatenate([level[0] * width + level[1], upright[1] * width + upright[0]])
    other, share = (np.concatenate([level[part], upright[part]]) for part in (2, 3))
    if not len(at):
        return labels
    del level, upright  # which are as large as the planes that follow
    order = np.argsort(at, kind="stable")
    at, other, share = at[order], other[order], share[order]
    del order
    # A pixel to which two edges lay claim stays as it is.
    lone = np.append(at[1:] != at[:-1], True) & np.append(True, at[1:] != at[:-1])
    at, other, share = at[lone], other[lone], share[lone]
    second, shares = labels.second.copy(), labels.second_share.copy()
    own, mixed = labels.first.ravel()[at], labels.second.ravel()[at]
    fit = (mixed == own) | (mixed == other)
    at, other, share, own = at[fit], other[fit], share[fit], own[fit]
    second.ravel()[at] = np.where(share > 0, other, own)
    shares.ravel()[at] = share
    return Labels(labels.first, second, shares, labels.top, labels.left)


def _asked(
    first: ByteArray, second: ByteArray, share: ByteArray, least_px: float, wide_px: float
) -> tuple[NDArray[np.intp], NDArray[np.intp], ByteArray, ByteArray]:
    """Return the line and the place of each pixel along straight edges, with the ink beyond and its mean share.

    Both areas are wider than `wide_px`, as far as a few places along the edge tell.
    """
    line, start, end, inks = stretches(first, least_px)
    inner = (inks >> 8 != OUTSIDE) & (inks & 255 != OUTSIDE)
    quarter, half, deep = (end - start) // 4, (end - start) // 2, round(wide_px)
    for step, own in ((1 - deep, inks >> 8), (deep, inks & 255)):
        at = line + step
        inner &= (at >= 0) & (at < len(first))
        for place in (start + quarter, start + half, end - 1 - half, end - 1 - quarter):
            inner &= first[np.clip(at, 0, len(first) - 1), place] == own
    line, start, end, inks = line[inner], start[inner], end[inner], inks[inner]
    length = end - start
    edge = np.repeat(np.arange(len(line)), length)
    place = np.arange(len(edge)) - np.repeat(np.cumsum(length) - length, length) + start[edge]
    parts = []
    for step, other in ((0, inks & 255), (1, inks >> 8)):
        at = line[edge] + step
        own = np.where(second[at, place] == other[edge], share[at, place], 0)
        mean = np.rint(np.bincount(edge, own, len(line)) / np.maximum(length, 1))
        parts.append((at, place, other[edge].astype(np.uint8), mean[edge].astype(np.uint8)))
    return tuple(np.concatenate(both) for both in zip(*parts, strict=True))  # type: ignore[return-value]
