"""Painted or photographed parts of an artwork are told from those drawn in even colours, block by block."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import Artwork, ByteArray
from chartmaker.artwork.placing import Placement
from chartmaker.colours.labelling import REACH, nearest_table
from chartmaker.colours.palette import MIXTURE_REACH, Palette, even_pixels, packed
from chartmaker.ground.colour import FloatArray
from chartmaker.ground.memory import memory

#: A block has this many knots to a side, but at least this many pixels; there are at most so many blocks to a side.
BLOCK_KNOTS, BLOCK_PIXELS, MOST_BLOCKS = 3.0, 12, 100
#: An even pixel has a real colour if it is this near to it in every channel.
NEAR_REAL = 6
#: A block is drawn if this share of it is even and has real colours.
LEAST_EVEN = 0.5
#: Any other block is painted if more than this share of it has no real colour and is no mixture of two beside it.
MOST_UNEXPLAINED = 0.3
#: Painted or drawn areas of fewer blocks than this, or of a smaller share of the artwork, go with what is round them.
LEAST_BLOCKS, LEAST_SHARE = 12, 0.005
#: Painted parts, and drawn parts, are at least this many knots thick; thinner strokes on painted ground are painted.
LEAST_THICK_KNOTS = (1.0, 1.5)

#: At most this many rows of pixels are looked at in a row of blocks.
MOST_STRIP = 20
#: About this many pixels of a block are looked at.
SAMPLES = 36
#: An edge is sharp if the colours this many pixels on either side differ by more than so many sRGB bytes in a channel.
EDGE_PIXELS, SHARP = 2, 30
#: At least this share of a drawn part's edge is sharp where it borders on something painted.
LEAST_SHARP = 0.5

_NONE = 255

Bits = NDArray[np.bool_]
Bounds = NDArray[np.intp]


def painted_part(artwork: Artwork, placement: Placement, palette: Palette) -> Bits | None:
    """Return which pixels are painted or photographed, shape (height, width), or None if all of them or none are.

    Parameters
    ----------
    artwork : Artwork
        Its transparent pixels are neither.
    placement : Placement
    palette : Palette
        The artwork's real colours.
    """
    of = (artwork.srgb, artwork.coverage, palette.srgb, palette.pixels, placement.knot_height, placement.knot_width)
    (painted,) = memory().recall("painted part", of, lambda: (_painted_part(artwork, placement, palette),))
    return painted if painted.size else None


def _painted_part(artwork: Artwork, placement: Placement, palette: Palette) -> Bits:
    """Return the same as `painted_part`, with an empty array in place of None."""
    nothing = np.empty((0, 0), dtype=bool)
    if not 0 < len(palette.srgb) < _NONE:
        return nothing
    blocks = _Blocks.of(artwork, placement, palette)
    even, area = blocks.counted()
    drawn = (even >= LEAST_EVEN * area) & (area > 0)
    doubtful = (area > 0) & ~drawn
    if not blocks.matters(drawn) or not blocks.matters(doubtful):
        return nothing
    painted = np.zeros_like(drawn)
    for row in np.flatnonzero(doubtful.any(axis=1)):
        painted[row] = doubtful[row] & (blocks.unexplained(int(row)) > MOST_UNEXPLAINED)
    painted = blocks.cleaned(painted, area > 0)
    if not painted.any() or not blocks.matters(~painted & (area > 0)):
        return nothing
    found = blocks.to_the_pixel(painted)
    return nothing if found.all() or not found.any() else found


@dataclass(frozen=True, eq=False)
class _Blocks:
    """An artwork cut into blocks at rows and columns of pixels, with its real colours.

    `srgb` are the real colours, of which those in `lines` occur in no even area.
    """

    artwork: Artwork
    rows: Bounds
    columns: Bounds
    knot: tuple[float, float]
    srgb: ByteArray
    lines: Bits
    table: ByteArray

    @classmethod
    def of(cls, artwork: Artwork, placement: Placement, palette: Palette) -> _Blocks:
        """Return the blocks of an artwork, each about as large as a few knots."""
        knot = placement.knot_height, placement.knot_width
        bounds = []
        for size, knot_px in zip(artwork.srgb.shape[:2], knot, strict=True):
            number = int(min(size / max(BLOCK_KNOTS * knot_px, BLOCK_PIXELS), MOST_BLOCKS))
            bounds.append(np.arange(max(number, 1) + 1) * size // max(number, 1))
        lines = palette.pixels < max(knot[0] * knot[1], 4.0)
        return cls(artwork, bounds[0], bounds[1], knot, palette.srgb, lines, nearest_table(palette.srgb))

    def matters(self, which: Bits) -> bool:
        """Return whether some of the blocks form an area that is large enough to be a part."""
        from scipy.ndimage import label

        number, count = label(which)
        least = max(LEAST_BLOCKS, LEAST_SHARE * which.size)
        return bool(count and np.bincount(number.ravel())[1:].max() >= least)

    def cleaned(self, painted: Bits, seen: Bits) -> Bits:
        """Return which blocks are painted, after small areas of either kind went to what is round them."""
        from scipy.ndimage import label

        least = max(LEAST_BLOCKS, LEAST_SHARE * painted.size)
        for kind in (True, False):
            number, count = label((painted == kind) & seen)
            small = np.bincount(number.ravel(), minlength=count + 1) < least
            small[0] = False
            painted = np.where(small[number], not kind, painted)
        return np.asarray(painted)

    def counted(self) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Return how many pixels of each block are even with a real colour, and how many lie inside the rug."""
        even = np.zeros((len(self.rows) - 1, len(self.columns) - 1), dtype=np.int64)
        area = np.zeros_like(even)
        for row in range(len(even)):
            colour, inside = self._seen(*self._strip(row))
            even[row] = np.add.reduceat((colour != _NONE).sum(axis=0), self.columns[:-1])
            area[row] = np.add.reduceat(inside.sum(axis=0), self.columns[:-1])
        return even, area

    def unexplained(self, row: int) -> FloatArray:
        """Return the share of each block in a row that has no real colour and is no mixture of two beside it.

        Only a lattice of about SAMPLES pixels is looked at in each block.
        """
        top, end = self._strip(row)
        low, high = max(0, top - REACH), min(self.artwork.height, end + REACH)
        colour, inside = self._seen(low, high)
        step = max(1, int(((end - top) * (self.columns[1] - self.columns[0]) / SAMPLES) ** 0.5))
        lattice = np.zeros_like(inside)
        lattice[top - low : end - low : step, ::step] = True
        lattice &= inside
        seen = np.bincount(self._block_of(np.nonzero(lattice)[1]), minlength=len(self.columns) - 1)
        y, x = np.nonzero(lattice & (colour == _NONE))
        pixels = self.artwork.srgb[y + low, x].astype(np.int64)
        beside = self._beside(colour, y, x)
        unknown = np.ones(len(y), dtype=bool)
        for line in np.flatnonzero(self.lines):
            unknown &= np.abs(pixels - self.srgb[line]).max(axis=1) > NEAR_REAL
        for one in np.flatnonzero(beside.any(axis=0)):
            for other in range(len(self.srgb)):
                if other < one and not self.lines[other]:
                    continue  # met before
                at = np.flatnonzero(unknown & beside[:, one] & (beside[:, other] | self.lines[other]))
                if len(at):
                    unknown[at] = _residual(pixels[at], self.srgb[one], self.srgb[other]) > MIXTURE_REACH
        found = np.bincount(self._block_of(x[unknown]), minlength=len(self.columns) - 1)
        return np.asarray(found / np.maximum(seen, 1))

    def _strip(self, row: int) -> tuple[int, int]:
        """Return the first and the end row of the pixels in the middle of a row of blocks that stand for all of it."""
        top, end = int(self.rows[row]), int(self.rows[row + 1])
        spare = max(0, end - top - MOST_STRIP) // 2
        return top + spare, min(end, top + spare + MOST_STRIP)

    def _block_of(self, x: NDArray[np.intp]) -> NDArray[np.intp]:
        return np.searchsorted(self.columns, x, side="right") - 1

    def _beside(self, colour: ByteArray, y: NDArray[np.intp], x: NDArray[np.intp]) -> Bits:
        """Return which real colours have an even pixel within REACH of each of some pixels, shape (n, colours)."""
        beside, index = np.zeros((len(y), len(self.srgb)), dtype=bool), np.arange(len(y))
        height, width = colour.shape
        for down in range(-REACH, REACH + 1):
            for right in range(-REACH, REACH + 1):
                near = colour[np.clip(y + down, 0, height - 1), np.clip(x + right, 0, width - 1)]
                met = near != _NONE
                beside[index[met], near[met]] = True
        return beside

    def to_the_pixel(self, painted: Bits) -> Bits:
        """Return which pixels are painted, with the borders of painted blocks moved to where the even colours end."""
        from scipy.ndimage import binary_dilation

        colour = np.concatenate(
            [self._seen(int(top), int(end))[0] for top, end in zip(self.rows[:-1], self.rows[1:], strict=True)]
        )
        zone = binary_dilation(painted, np.ones((3, 3)))
        near = zone.repeat(np.diff(self.rows), axis=0).repeat(np.diff(self.columns), axis=1)
        number = _areas(~near | (colour != _NONE))
        joined = np.zeros(int(number.max()) + 1, dtype=bool)
        joined[np.unique(number[~near])] = True  # areas that reach beyond the painted blocks
        joined[0] = False
        drawn = self._sharp(self._thick(joined[number]))
        if drawn.any():  # even areas of a painting that touch what is drawn
            drawn = self._sharp(self._thick(self._sharp(drawn, _areas(colour, _NONE))))
        return ~drawn

    def _thick(self, drawn: Bits) -> Bits:
        """Return the drawn pixels without strokes that are too thin, after the same was done to the painted ones."""
        of_painted, of_drawn = (tuple(max(1, round(knots * size)) for size in self.knot) for knots in LEAST_THICK_KNOTS)
        return _opened(~_opened(~drawn, of_painted), of_drawn)

    def _sharp(self, drawn: Bits, number: NDArray[np.integer] | None = None) -> Bits:
        """Return the drawn pixels without areas that fade softly into painted ones, because those are painted too.

        `number` tells the areas apart; without it, all pixels that are connected form one area.
        """
        number = _areas(drawn) if number is None else number
        count = int(number.max()) + 1
        sharp, edge = np.zeros(count), np.zeros(count)
        srgb, step = self.artwork.srgb, 2 * EDGE_PIXELS
        for axis in (0, 1):
            size = drawn.shape[axis]
            low, high = (
                tuple(part if k == axis else slice(None) for k in range(2))
                for part in (slice(0, max(size - step, 0)), slice(min(step, size), None))
            )
            for here, there in ((low, high), (high, low)):
                at = drawn[here] & ~drawn[there]
                off = np.abs(srgb[here][at].astype(np.int16) - srgb[there][at]).max(axis=1) > SHARP
                edge += np.bincount(number[here][at], minlength=count)
                sharp += np.bincount(number[here][at], off, minlength=count)
        soft = sharp < LEAST_SHARP * edge
        soft[0] = False
        return np.asarray(drawn & ~soft[number])

    def _seen(self, top: int, end: int) -> tuple[ByteArray, Bits]:
        """Return the real colour of each even pixel of some rows, _NONE elsewhere, and which pixels lie inside."""
        low, high = max(0, top - 1), min(self.artwork.height, end + 1)
        srgb, coverage = self.artwork.srgb[low:high], self.artwork.coverage
        inside = np.ones(srgb.shape[:2], bool) if coverage is None else coverage[low:high] >= 128
        nearest = self.table[srgb[..., 0] >> 3, srgb[..., 1] >> 3, srgb[..., 2] >> 3]
        off = np.abs(srgb.astype(np.int16) - self.srgb[nearest].astype(np.int16)).max(axis=-1)
        even = even_pixels(packed(srgb), inside) & (off <= NEAR_REAL)
        own = slice(top - low, end - low)
        return np.where(even, nearest, _NONE)[own].astype(np.uint8), inside[own]


def _areas(values: NDArray[Any], nothing: int = 0) -> NDArray[np.integer]:
    """Return the number, from 1, of the area of equal values that each pixel lies in, or 0 where there is `nothing`."""
    import skimage.measure

    measured: Any = skimage.measure
    return np.asarray(measured.label(values, background=nothing, connectivity=2))


def _residual(pixels: NDArray[np.int64], one: ByteArray, other: ByteArray) -> FloatArray:
    """Return how far, in sRGB bytes, pixels are from the nearest mixture of two colours."""
    start, step = one.astype(np.int64), other.astype(np.int64) - one
    length = max(int((step**2).sum()), 1)
    share = np.clip(((pixels - start) @ step) / length, 0, 1)
    return np.asarray(np.sqrt(((pixels - start - share[:, None] * step) ** 2).sum(axis=1)))


def _opened(which: Bits, size: tuple[int, ...]) -> Bits:
    """Return the part of an area that is at least so many pixels thick, as if it went on beyond the artwork."""
    from scipy.ndimage import maximum_filter, minimum_filter

    shift = tuple(-1 if side % 2 == 0 else 0 for side in size)
    thick = minimum_filter(which, size, mode="nearest")
    return np.asarray(maximum_filter(thick, size, mode="nearest", origin=shift))
