"""The colours round which the pixels of a drawing gather after compression has roughened it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import Artwork, ByteArray
from chartmaker.colours.palette import covered, inside_of, mixture_residual
from chartmaker.ground.colour import FloatArray

#: A block of 2 x 2 pixels is calm if none of its channels varies by more than this.
CALM = 16
#: Colours are counted in steps of so many bytes a channel.
STEP = 4
#: Pixels whose colours are this near to the middle of a cloud in sRGB, as the crow flies, belong to the cloud.
CLOUD = 20.0
#: The middle is looked for among the colours that are this near in every channel.
MIDDLE = 8
#: No more clouds than this are looked for, and none with a smaller share of the calm pixels.
MOST_CLOUDS, LEAST_SHARE = 96, 3e-5
#: A cloud this near to another one, of which it has less than this share, is a halo that compression left round it ...
HALO_REACH, HALO_SHARE = 45.0, 0.15
#: ... unless at least LEAST_DEEP of its pixels lie in blocks of DEEP x DEEP pixels of that cloud, as in real areas.
LEAST_DEEP, DEEP = 0.25, 4
#: A colour this near to a mixture of two others in sRGB, and in no area, is one that compression smeared.
SMEARED = 36.0
#: Close colours are told apart only in clouds that have at least this share of their pixels in such blocks.
LEAST_WHOLE = 0.5
#: Means of blocks this near to one another have one colour, and a colour has at least this share of a cloud's blocks.
SAME, LEAST_APART = 9.0, 0.1
#: Clouds nearer than this are two colours only if between them lies at most this share of what lies round either.
NEIGHBOURS, VALLEY = 64.0, 0.25
#: In a painting more clouds than this, of those with at least such a share of the calm pixels, run into another one.
MOST_JOINED, THICK = 4, 0.02
#: At least this share of the calm pixels of a drawing belongs to the clouds of its colours ...
LEAST_GATHERED = 0.9
#: ... and this share if only the ground has areas and all else is thin lines, which a dull photograph looks like.
LEAST_ON_GROUND = 0.975
#: No more than this share of a drawing lies in blocks of DEEP x DEEP calm pixels that belong to none of its clouds.
MOST_UNEXPLAINED = 0.002

_LEVELS = 256 // STEP
_BAND_PIXELS = 2_000_000
_NO_CLOUD = 255


def gathered(artwork: Artwork) -> ByteArray | None:
    """Return the colours of a roughened drawing, shape (colours, 3), the commonest first; None if it is no drawing.

    Notes
    -----
    Compression turns each even colour into a small cloud of colours, and between the clouds are valleys in which
    hardly a pixel lies. In a painting one cloud runs into the next. The clouds are found as modes of the histogram by
    mean shift (Fukunaga and Hostetler 1975).
    """
    counts = np.zeros(_LEVELS**3)
    for band in _bands(artwork):
        counts += np.bincount(_codes(artwork.srgb[band])[_calm(artwork, band)], minlength=len(counts))
    histogram = _Histogram.of(counts)
    clouds = histogram.clouds()
    if clouds is None:
        return None
    areas = _Areas.of(artwork, histogram.table(clouds.middles), len(clouds.middles))
    real = clouds.real(histogram, areas.deep_share)
    parted = all(histogram.parted(*pair) for pair in combinations(clouds.middles[real], 2))
    in_areas = int((areas.deep_share[real] >= LEAST_DEEP).sum())
    least = LEAST_GATHERED if in_areas > 1 else LEAST_ON_GROUND
    if not parted or histogram.share_within(clouds.middles[real]) < least:
        return None
    if _unexplained(artwork, histogram.table(clouds.middles[real])) > MOST_UNEXPLAINED:
        return None
    colours = [colour for index in real for colour in areas.told_apart(index)]
    return np.asarray(np.round(colours), dtype=np.uint8)


@dataclass(frozen=True, eq=False)
class _Clouds:
    """The middles of clouds, shape (clouds, 3), the thickest first, and the share of calm pixels that each has."""

    middles: FloatArray
    shares: FloatArray

    def real(self, histogram: _Histogram, deep_share: FloatArray) -> list[int]:
        """Return which clouds are colours of their own, and neither halos nor mixtures along edges."""
        kept = list[int]()
        for index, middle in enumerate(self.middles):
            away = _away(self.middles, middle)
            stronger = self.shares[index] < HALO_SHARE * self.shares
            halo = stronger & (away <= HALO_REACH)
            shallow = deep_share[index] < LEAST_DEEP
            if shallow and (halo.any() or (len(kept) > 1 and _is_mixture(middle, self.middles[kept]))):
                continue
            if any(not histogram.parted(middle, self.middles[other]) for other in np.flatnonzero(halo)):
                continue
            kept.append(index)
        return kept


@dataclass(frozen=True, eq=False)
class _Histogram:
    """The colours that calm pixels have, shape (n, 3), and how many pixels have each."""

    colours: FloatArray
    pixels: FloatArray
    step: int = 1

    @classmethod
    def of(cls, counts: FloatArray) -> _Histogram:
        met = np.flatnonzero(counts)
        levels = np.stack(np.unravel_index(met, (_LEVELS,) * 3), axis=1)
        return cls(levels * STEP + (STEP - 1) / 2, counts[met], STEP)

    def clouds(self) -> _Clouds | None:
        """Return the clouds, or None if there are none or many run into one another, as in a painting."""
        from scipy.ndimage import uniform_filter

        left, every = self.pixels.copy(), self.pixels.sum()
        middles, shares = np.empty((0, 3)), np.empty(0)
        joined = 0
        at = tuple((self.colours // STEP).astype(np.intp).T)
        while len(middles) < MOST_CLOUDS:
            table = np.zeros((_LEVELS,) * 3)
            table[at] = left
            thickest = np.unravel_index(uniform_filter(table, 3).argmax(), table.shape)
            middle = np.array(thickest) * STEP + (STEP - 1) / 2
            for _ in range(5):
                near = left * (np.abs(self.colours - middle).max(axis=1) <= MIDDLE)
                middle = near @ self.colours / max(near.sum(), 1.0)
            own = _away(self.colours, middle) <= CLOUD
            share = float(left[own].sum() / max(every, 1.0))
            if share < LEAST_SHARE:
                break
            joined += share >= THICK and not all(self.parted(middle, other) for other in middles)
            if joined > MOST_JOINED:
                return None
            middles, shares = np.vstack([middles, middle]), np.append(shares, share)
            left[own] = 0
        return _Clouds(middles, shares) if len(middles) else None

    def parted(self, one: FloatArray, other: FloatArray) -> bool:
        """Return whether a valley lies between two colours, or so much else that they are nowhere near."""
        apart = float(np.sqrt(((one - other) ** 2).sum()))
        if apart > NEIGHBOURS:
            return True
        between, *ends = (self._within(colour, max(apart / 5, self.step)) for colour in ((one + other) / 2, one, other))
        return between <= VALLEY * min(ends)

    def _within(self, colour: FloatArray, reach: float) -> float:
        return float(self.pixels[_away(self.colours, colour) <= reach].sum())

    def share_within(self, middles: FloatArray) -> float:
        """Return the share of calm pixels that belong to the clouds round some middles."""
        return float(self.pixels[self._nearest(middles) != _NO_CLOUD].sum() / self.pixels.sum())

    def _nearest(self, middles: FloatArray) -> ByteArray:
        away = np.stack([_away(self.colours, middle) for middle in middles])
        return np.where(away.min(axis=0) > CLOUD, _NO_CLOUD, away.argmin(axis=0)).astype(np.uint8)

    def table(self, middles: FloatArray) -> ByteArray:
        """Return the cloud of each code, or _NO_CLOUD."""
        table = np.full(_LEVELS**3, _NO_CLOUD, dtype=np.uint8)
        table[_codes(self.colours)] = self._nearest(middles)
        return table


@dataclass(frozen=True, eq=False)
class _Areas:
    """The share of each cloud's pixels that are deep in areas of it, and the mean colour of those.

    `blocks` are the means of blocks of DEEP x DEEP pixels of one cloud, in which there is less noise, for each cloud.
    """

    deep_share: FloatArray
    colours: FloatArray
    blocks: tuple[_Histogram, ...]

    def told_apart(self, cloud: int) -> list[FloatArray]:
        """Return the colour of a cloud, or the colours if its blocks show that two or more lie close together."""
        blocks, found = self.blocks[cloud], list[FloatArray]()
        if self.deep_share[cloud] < LEAST_WHOLE:  # its blocks lie in lines, where there is much noise
            return [self.colours[cloud]]
        free, every = np.ones(len(blocks.pixels), dtype=bool), float(blocks.pixels.sum())
        while free.any():
            thickest = blocks.colours[np.flatnonzero(free)[blocks.pixels[free].argmax()]]
            own = free & (_away(blocks.colours, thickest) <= SAME)
            share = float(blocks.pixels[own].sum()) / every
            if share < LEAST_APART:
                break
            free &= ~own
            middle = blocks.pixels[own] @ blocks.colours[own] / blocks.pixels[own].sum()
            if all(blocks.parted(middle, other) for other in found):
                found.append(middle)
        return found if len(found) > 1 else [self.colours[cloud]]

    @classmethod
    def of(cls, artwork: Artwork, table: ByteArray, clouds: int) -> _Areas:
        """Return the areas of so many clouds; `table` has the cloud of each code."""
        # Sums for all pixels of a cloud come first, then those for its deep ones.
        pixels, sums = np.zeros((2, clouds)), np.zeros((2, clouds, 3))
        blocks: list[FloatArray] = [np.empty((0, 4))] * clouds
        for band in _bands(artwork):
            srgb, cloud = artwork.srgb[band], table[_codes(artwork.srgb[band])]
            cloud[~inside_of(artwork, band)] = _NO_CLOUD
            for kind, among in enumerate((cloud != _NO_CLOUD, _deep(cloud))):
                of = cloud[among]
                pixels[kind] += np.bincount(of, minlength=clouds)
                for channel in range(3):
                    sums[kind, :, channel] += np.bincount(of, srgb[among][:, channel], clouds)
            for index, more in _block_means(srgb, cloud):
                blocks[index] = _summed(np.vstack([blocks[index], more]))
        means = sums / np.maximum(pixels, 1)[..., None]
        enough = pixels[1] >= DEEP**2
        histograms = tuple(_Histogram(own[:, :3], own[:, 3]) for own in blocks)
        return cls(pixels[1] / np.maximum(pixels[0], 1), np.where(enough[:, None], means[1], means[0]), histograms)


def _block_means(srgb: ByteArray, cloud: ByteArray) -> Iterator[tuple[int, FloatArray]]:
    """Yield each cloud that has whole blocks, with their mean colours and how many have each, shape (n, 4)."""
    height, width = (size // DEEP for size in cloud.shape)

    def cut(plane: ByteArray) -> ByteArray:
        return plane[: height * DEEP, : width * DEEP].reshape(height, DEEP, width, DEEP, *plane.shape[2:])

    of = cut(cloud)
    whole = (of == of[:, :1, :, :1]).all(axis=(1, 3)) & (of[:, 0, :, 0] != _NO_CLOUD)
    means, of = np.round(cut(srgb).mean(axis=(1, 3)))[whole], of[:, 0, :, 0][whole]
    for index in np.unique(of):
        own = means[of == index]
        yield int(index), _summed(np.column_stack([own, np.ones(len(own))]))


def _summed(counted: FloatArray) -> FloatArray:
    """Return each colour once, with the sum of its counts."""
    colours, which = np.unique(counted[:, :3], axis=0, return_inverse=True)
    return np.column_stack([colours, np.bincount(which.ravel(), counted[:, 3], len(colours))])


def _bands(artwork: Artwork) -> list[slice]:
    step = max(4 * DEEP, _BAND_PIXELS // artwork.width)
    return [slice(top, min(top + step, artwork.height)) for top in range(0, artwork.height, step)]


def _codes(colours: NDArray[np.generic]) -> NDArray[np.intp]:
    """Return each colour as one number below _LEVELS to the third."""
    level = (colours // STEP).astype(np.intp)
    return np.asarray((level[..., 0] * _LEVELS + level[..., 1]) * _LEVELS + level[..., 2], dtype=np.intp)


def _calm(artwork: Artwork, band: slice) -> NDArray[np.bool_]:
    """Return which pixels lie in a calm block, all inside the rug."""
    return covered(spread_in_blocks(artwork.srgb[band]) <= CALM, 2) & inside_of(artwork, band)


def spread_in_blocks(srgb: ByteArray) -> ByteArray:
    """Return by how much the four pixels of each block of 2 x 2 differ at most in a channel."""
    four = [srgb[:-1, :-1], srgb[1:, :-1], srgb[:-1, 1:], srgb[1:, 1:]]
    return np.asarray((np.maximum.reduce(four) - np.minimum.reduce(four)).max(axis=-1))


def _unexplained(artwork: Artwork, table: ByteArray) -> float:
    """Return the share of pixels in calm areas of no cloud, which are those of a picture among what is drawn."""
    found = 0
    for band in _bands(artwork):
        lost = _calm(artwork, band) & (table[_codes(artwork.srgb[band])] == _NO_CLOUD)
        found += int(_deep(np.where(lost, 0, _NO_CLOUD).astype(np.uint8)).sum())
    return found / (artwork.height * artwork.width)


def _deep(cloud: ByteArray) -> NDArray[np.bool_]:
    """Return which pixels lie in a block of DEEP x DEEP pixels of one cloud."""
    height, width = (max(size - DEEP + 1, 0) for size in cloud.shape)
    corner = cloud[:height, :width]
    same = corner != _NO_CLOUD
    for down in range(DEEP):
        for right in range(DEEP):
            same &= cloud[down : down + height, right : right + width] == corner
    return covered(same, DEEP)[: cloud.shape[0], : cloud.shape[1]]


def _away(colours: FloatArray, colour: FloatArray) -> FloatArray:
    return np.asarray(np.sqrt(((colours - colour) ** 2).sum(axis=1)))


def _is_mixture(colour: FloatArray, colours: FloatArray) -> bool:
    return mixture_residual(colour, colours) <= SMEARED
