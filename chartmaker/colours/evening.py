"""A drawing that compression roughened gets its even colours back, as if it had been saved without loss."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import Artwork, ByteArray
from chartmaker.colours.gathering import CALM, gathered, spread_in_blocks
from chartmaker.colours.labelling import OUTSIDE, Labels, label_pixels, of_labels
from chartmaker.colours.palette import even_pixels
from chartmaker.colours.sharpening import LONGEST, sharpened
from chartmaker.ground.memory import Values, memory

#: What was saved without loss has fewer uneven ones than this among its calm blocks of 2 x 2 pixels.
MOST_UNEVEN = 0.05
#: A speck has less than this share of a knot's pixels, and no even block of its colour within so many pixels.
SPECK_SHARE, SPECK_REACH = 1 / 6, 3
#: With so many pixels a knot, lines without a block of 2 x 2 pixels are too thin to be woven, and are specks as well.
LEAST_FOR_THIN = 16.0
#: Specks are filled from their sides so many times.
SPECK_ROUNDS = 6
#: Rows beyond a band that a smeared edge across its end reaches into.
HALO = LONGEST + 1
_BAND_PIXELS = 2_000_000


def evened(artwork: Artwork, pixels_a_knot: float) -> tuple[Artwork, int]:
    """Return an artwork in its even colours and their mixtures along edges, and how many colours there are.

    What was saved without loss, and what is painted or photographed, comes back as it is, with 0.

    Parameters
    ----------
    artwork : Artwork
    pixels_a_knot : float
        Specks that are much smaller than a knot are noise.
    """
    of = (artwork.srgb, artwork.coverage, pixels_a_knot)
    even, colours = memory().recall("evened", of, lambda: _evened(artwork, pixels_a_knot))
    return (replace(artwork, srgb=even), len(colours)) if len(colours) else (artwork, 0)


def _evened(artwork: Artwork, pixels_a_knot: float) -> Values:
    """Return the even pixels and the colours, or two empty arrays."""
    colours = gathered(artwork) if _is_rough(artwork) else None
    if colours is None:
        return np.empty((0, 0, 3), np.uint8), np.empty((0, 3), np.uint8)
    labels = _without_specks(artwork, label_pixels(artwork, colours), colours, pixels_a_knot)
    table = of_labels(colours).astype(np.float32)
    even = artwork.srgb.copy()
    step = max(1, _BAND_PIXELS // artwork.width)
    for top in range(0, artwork.height, step):  # in bands, since mixtures take many bytes a pixel
        low, end = max(top - HALO, 0), min(top + step, artwork.height)
        band = sharpened(labels.part(slice(low, min(end + HALO, artwork.height)), slice(0, artwork.width)))
        one, other, of_one = (plane[top - low : end - low] for plane in (band.low, band.high, band.of_low))
        mixture = table[one] * of_one[..., None] + table[other] * (1 - of_one[..., None])
        inside = labels.first[top:end] != OUTSIDE
        even[top:end][inside] = np.round(mixture)[inside].astype(np.uint8)
    return even, colours


def _without_specks(artwork: Artwork, labels: Labels, colours: ByteArray, pixels_a_knot: float) -> Labels:
    """Return the labels without colours that smeared edges only seem to have; the likelier one beside takes over."""
    speck = _specks(labels, len(colours), pixels_a_knot)
    if not speck.any():
        return labels
    first, second, share = labels.first.copy(), labels.second.copy(), labels.second_share.copy()
    beside = np.where(speck, OUTSIDE, first)
    table = of_labels(colours).astype(np.int64)
    y, x = np.nonzero(speck)
    for _ in range(SPECK_ROUNDS):  # each time from the pixels round what is left of a speck
        found, nearest = np.full(len(y), OUTSIDE, dtype=np.uint8), np.full(len(y), np.iinfo(np.int64).max)
        for down, right in ((-1, 0), (0, -1), (0, 1), (1, 0)):
            there = np.clip(y + down, 0, len(first) - 1), np.clip(x + right, 0, first.shape[1] - 1)
            away = ((table[beside[there]] - artwork.srgb[y, x]) ** 2).sum(axis=1)
            nearer = (beside[there] != OUTSIDE) & (away < nearest)
            found, nearest = np.where(nearer, beside[there], found), np.where(nearer, away, nearest)
        beside[y, x] = found
        met = found != OUTSIDE
        first[y[met], x[met]] = second[y[met], x[met]] = found[met]
        share[y[met], x[met]] = 0
        y, x = y[~met], x[~met]
    return replace(labels, first=first, second=second, second_share=share)


def _specks(labels: Labels, colours: int, pixels_a_knot: float) -> NDArray[np.bool_]:
    """Return which pixels have no block of their colour near them, and are too few or too thin to be woven."""
    from scipy.ndimage import label, maximum_filter

    thin = pixels_a_knot >= LEAST_FOR_THIN
    block = even_pixels(labels.first, (labels.first != OUTSIDE) & (thin | (labels.second_share == 0)))
    doubtful = labels.first != OUTSIDE
    for colour in range(colours):
        near = maximum_filter(block & (labels.first == colour), 2 * SPECK_REACH + 1)
        doubtful &= ~((labels.first == colour) & near)
    if thin:
        return np.asarray(doubtful)
    number, count = label(doubtful, np.ones((3, 3)))
    small = np.bincount(number.ravel(), minlength=count + 1) < SPECK_SHARE * pixels_a_knot
    small[0] = False
    return np.asarray(small[number])


def _is_rough(artwork: Artwork) -> bool:
    """Return whether too many of the calm blocks of 2 x 2 pixels vary a little."""
    calm = uneven = 0
    step = max(2, _BAND_PIXELS // artwork.width)
    for top in range(0, artwork.height, step):
        spread = spread_in_blocks(artwork.srgb[top : top + step])
        calm += int((spread <= CALM).sum())
        uneven += int(((spread > 0) & (spread <= CALM)).sum())
    return uneven > MOST_UNEVEN * calm
