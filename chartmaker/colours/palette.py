"""The real colours of an artwork, which are those of its even areas."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from chartmaker.artwork.artwork import Artwork, ByteArray
from chartmaker.ground.colour import FloatArray, ciede2000, lab_from_srgb8
from chartmaker.ground.memory import Values, memory

#: Drawings with more colours than this are treated as shaded.
MOST_COLOURS = 64
#: Two even areas whose colours are closer than this are taken for one colour: the eye sees no difference of 1.
SAME_DE00 = 1.0
#: A colour this close to one that is far commoner is noise of that one, as compression leaves it.
NOISE_DE00, NOISE_SHARE = 6.0, 0.03
#: At least this share of a real colour's pixels lies in even blocks; mixtures along edges hardly ever do.
LEAST_EVEN_SHARE = 0.25
#: Compression moves the colours of even areas by up to this much, in sRGB bytes.
NEAR = 12
#: Within this distance in sRGB a colour counts as a mixture of two others, or as the same as another.
MIXTURE_REACH = 24.0

_CODES = 1 << 24
_BAND_PIXELS = 8_000_000


@dataclass(frozen=True, eq=False)
class Palette:
    """The real colours of an artwork, the commonest first.

    Attributes
    ----------
    srgb : ndarray of uint8, shape (colours, 3)
    pixels : ndarray, shape (colours,)
        How many pixels each colour has in even blocks.
    even_share : float
        The share of all pixels that lie in even blocks.
    explained : float
        The share of those that have one of the colours.
    near_share : float
        The share of all pixels that are within NEAR of one of the colours.
    """

    srgb: ByteArray
    pixels: NDArray[np.int64]
    even_share: float
    explained: float
    near_share: float


def packed(srgb: ByteArray) -> NDArray[np.int32]:
    """Return each colour as one number, red in the high byte."""
    wide = srgb.astype(np.int32)
    return np.asarray((wide[..., 0] << 16) | (wide[..., 1] << 8) | wide[..., 2], dtype=np.int32)


def unpacked(packed_colours: ArrayLike) -> ByteArray:
    """Return the bytes of packed colours, shape (..., 3)."""
    codes = np.asarray(packed_colours)
    return np.stack([codes >> 16 & 255, codes >> 8 & 255, codes & 255], axis=-1).astype(np.uint8)


def find_palette(artwork: Artwork, pixels_a_knot: float) -> Palette:
    """Return the artwork's real colours, at most MOST_COLOURS + 1 of them.

    Parameters
    ----------
    artwork : Artwork
    pixels_a_knot : float
        Colours with fewer pixels than this do not count as areas.
    """
    of = (artwork.srgb, artwork.coverage, pixels_a_knot)
    srgb, pixels, shares = memory().recall("palette", of, lambda: _palette(artwork, pixels_a_knot))
    return Palette(srgb, pixels, *shares.tolist())


def _palette(artwork: Artwork, pixels_a_knot: float) -> Values:
    """Return the colours, their pixels, and the three shares of a palette."""
    seen = _histogram(artwork)
    pixels, every = int(seen.total.sum()), int(seen.even.sum())
    real = np.flatnonzero((seen.even > 0) & (seen.even >= LEAST_EVEN_SHARE * seen.total))
    real = real[np.argsort(-seen.even[real], kind="stable")][:20_000]
    leaders, explained = _leaders(unpacked(seen.codes[real]), seen.even[real], max(pixels_a_knot, 4.0))
    chosen = _with_line_colours([int(real[index]) for index in leaders], seen, max(pixels_a_knot, 5e-4 * pixels))
    srgb = unpacked(seen.codes[chosen])
    shares = every / max(pixels, 1), explained / max(every, 1), _near(seen, srgb) / max(pixels, 1)
    return srgb, seen.even[chosen], np.array(shares)


@dataclass(frozen=True, eq=False)
class _Histogram:
    """The packed colours that occur, in rising order: how often each occurs, and how often in even 2 x 2 blocks."""

    codes: NDArray[np.int64]
    total: NDArray[np.int64]
    even: NDArray[np.int64]


def _histogram(artwork: Artwork) -> _Histogram:
    step = max(1, _BAND_PIXELS // artwork.width)
    parts = [_band_histogram(artwork, top, min(top + step, artwork.height)) for top in range(0, artwork.height, step)]
    codes, place = np.unique(np.concatenate([part.codes for part in parts]), return_inverse=True)
    total, even = (
        np.bincount(place, np.concatenate(counts), len(codes)).astype(np.int64)
        for counts in ([part.total for part in parts], [part.even for part in parts])
    )
    return _Histogram(codes, total, even)


def _band_histogram(artwork: Artwork, first: int, end: int) -> _Histogram:
    low = max(first - 1, 0)  # one row more on either side, so that blocks across the edges of bands are found
    band, own = slice(low, end + 1), slice(first - low, end - low)
    code, inside = packed(artwork.srgb[band]), inside_of(artwork, band)
    line, block, inside = code[own].ravel(), even_pixels(code, inside)[own].ravel(), inside[own].ravel()
    runs = np.flatnonzero(np.append(True, line[1:] != line[:-1]))
    many = len(runs) * 3 > len(line)  # a photograph
    if many and len(line) > _CODES // 4:  # counting in a table is faster than sorting
        total, even = (np.bincount(line[kept], minlength=_CODES) for kept in (inside, block))
        met = np.flatnonzero(total)
        return _Histogram(met, total[met], even[met])
    own_codes = line if many else line[runs]
    codes = np.unique(own_codes)
    place = np.searchsorted(codes, own_codes)  # the colours are few, so that this is faster than sorting all
    total, even = (
        np.bincount(place, kept if many else np.add.reduceat(kept, runs, dtype=np.int64), len(codes))
        for kept in (inside, block)
    )
    met = np.flatnonzero(total)
    return _Histogram(codes[met].astype(np.int64), total[met].astype(np.int64), even[met].astype(np.int64))


def inside_of(artwork: Artwork, rows: slice) -> NDArray[np.bool_]:
    """Return which pixels are fully inside the rug's outline."""
    if artwork.coverage is None:
        return np.ones(artwork.srgb[rows].shape[:2], dtype=bool)
    return np.asarray(artwork.coverage[rows] == 255)


def _near(seen: _Histogram, colours: ByteArray) -> int:
    """Return how many pixels are within NEAR of one of `colours` in every channel."""
    channels = np.ascontiguousarray(unpacked(seen.codes).T).astype(np.int16)
    near = np.zeros(len(seen.codes), dtype=bool)
    for red, green, blue in colours.astype(np.int16):
        here = np.flatnonzero(np.abs(channels[0] - red) <= NEAR)
        within = (np.abs(channels[1, here] - green) <= NEAR) & (np.abs(channels[2, here] - blue) <= NEAR)
        near[here[within]] = True
    return int(seen.total[near].sum())


def even_pixels(code: NDArray[np.integer], seen: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return which pixels belong to a block of 2 x 2 equal ones that are all `seen`."""
    down, right = code[1:] == code[:-1], code[:, 1:] == code[:, :-1]
    corner = down[:, :-1] & right[:-1] & right[1:]
    corner &= seen[:-1, :-1] & seen[1:, :-1] & seen[:-1, 1:] & seen[1:, 1:]
    return covered(corner, 2)


def covered(corners: NDArray[np.bool_], size: int) -> NDArray[np.bool_]:
    """Return which pixels lie in a block of size x size pixels whose top left corner is marked."""
    height, width = corners.shape
    found = np.zeros((height + size - 1, width + size - 1), dtype=bool)
    for down in range(size):
        for right in range(size):
            found[down : down + height, right : right + width] |= corners
    return found


def _leaders(colours: ByteArray, even: NDArray[np.int64], least: float) -> tuple[list[int], int]:
    """Return the colours that others gather round, and the number of even pixels that have one of them.

    `colours`, shape (n, 3), stand commonest first, and `even` says how many even pixels each has.
    """
    lab = lab_from_srgb8(colours)
    free, leaders, explained = np.ones(len(colours), dtype=bool), list[int](), 0
    for index in range(len(colours)):
        if not free[index]:
            continue
        if even[index] < least or len(leaders) > MOST_COLOURS:
            break
        leaders.append(index)
        rest = np.flatnonzero(free)
        apart = ciede2000(lab[rest], lab[index])
        near = rest[(apart < SAME_DE00) | ((apart < NOISE_DE00) & (even[rest] < NOISE_SHARE * even[index]))]
        free[near] = False
        explained += int(even[near].sum())
    return leaders, explained


def _with_line_colours(leaders: list[int], seen: _Histogram, least: float) -> NDArray[np.intp]:
    """Add the colours that occur only in lines too thin for an even block, yet are no mixture of two others."""
    found = list(leaders)
    common = np.flatnonzero(seen.total >= least)
    common = common[np.argsort(-seen.total[common], kind="stable")][:1000]
    for index in common if leaders else ():
        others, own = unpacked(seen.codes[found]).astype(np.float64), unpacked(seen.codes[index]).astype(np.float64)
        if len(found) <= MOST_COLOURS and mixture_residual(own, others) > MIXTURE_REACH:
            found.append(int(index))
    return np.array(found, dtype=np.intp)


def mixture_residual(colour: FloatArray, colours: FloatArray) -> float:
    """Return how far, in sRGB bytes, `colour` is from the nearest mixture of any two of `colours`."""
    start, step = colours[:, None], colours[None] - colours[:, None]
    length = np.maximum((step**2).sum(-1), 1e-9)
    share = np.clip(((colour - start) * step).sum(-1) / length, 0, 1)
    return float(np.sqrt(((start + share[..., None] * step - colour) ** 2).sum(-1)).min())
