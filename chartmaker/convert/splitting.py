"""Which parts of an artwork are drawn in even colours and which are painted or photographed, found block by block."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import Artwork, ByteArray
from chartmaker.artwork.placing import Placement
from chartmaker.colours.palette import MIXTURE_REACH, Palette, even_pixels, packed
from chartmaker.convert.flat.labelling import REACH, nearest_table
from chartmaker.ground.colour import FloatArray
from chartmaker.ground.memory import memory

#: A block has so many knots to a side, but so many pixels at least, and there are so many blocks to a side at most.
BLOCK_KNOTS, BLOCK_PIXELS, MOST_BLOCKS = 3.0, 12, 100
#: An even pixel has a real colour if it is so near to it in every channel.
NEAR_REAL = 6
#: A block of which this share is even and of real colours is drawn.
LEAST_EVEN = 0.5
#: Any other is painted if over this share of it is neither of a real colour nor a mixture of two that lie beside it.
MOST_UNEXPLAINED = 0.3
#: Painted or drawn areas of fewer blocks, or of a smaller share of the artwork, belong to what is round them.
LEAST_BLOCKS, LEAST_SHARE = 12, 0.005
#: What is painted is so many knots thick at least, and what is drawn: thinner strokes on painted ground are painted.
LEAST_THICK_KNOTS = (1.0, 1.5)

#: Of a row of blocks at most so many rows of pixels are looked at.
MOST_STRIP = 20
#: About so many pixels of a block are looked at.
SAMPLES = 36
#: An edge is sharp if colours so many pixels on either side of it differ by more sRGB bytes in a channel.
EDGE_PIXELS, SHARP = 2, 30
#: So much of the edge of what is drawn is sharp at least, where it borders on what is painted.
LEAST_SHARP = 0.5

_NONE = 255

Bits = NDArray[np.bool_]
Bounds = NDArray[np.intp]


def painted_part(artwork: Artwork, placement: Placement, palette: Palette) -> Bits | None:
    """Return which pixels are painted or photographed, shape (height, width); None where all is one or the other.

    Parameters
    ----------
    artwork : Artwork
        What is transparent is neither.
    placement : Placement
    palette : Palette
        The artwork's real colours.
    """
    of = (artwork.srgb, artwork.coverage, palette.srgb, palette.pixels, placement.knot_height, placement.knot_width)
    (painted,) = memory().recall("painted part", of, lambda: (_painted_part(artwork, placement, palette),))
    return painted if painted.size else None


def _painted_part(artwork: Artwork, placement: Placement, palette: Palette) -> Bits:
    """Return the same, an empty array in place of None."""
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
    """An artwork cut into blocks at rows and columns of pixels, with its real colours and which of those are of lines.

    `srgb` are the real colours; those of `lines` lie in no even area.
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
        """Return the blocks of an artwork, about as large as some knots."""
        knot = placement.knot_height, placement.knot_width
        bounds = []
        for size, knot_px in zip(artwork.srgb.shape[:2], knot, strict=True):
            number = int(min(size / max(BLOCK_KNOTS * knot_px, BLOCK_PIXELS), MOST_BLOCKS))
            bounds.append(np.arange(max(number, 1) + 1) * size // max(number, 1))
        lines = palette.pixels < max(knot[0] * knot[1], 4.0)
        return cls(artwork, bounds[0], bounds[1], knot, palette.srgb, lines, nearest_table(palette.srgb))

    def matters(self, which: Bits) -> bool:
        """Return whether some of the blocks hang together in an area that is large enough to be a part."""
        from scipy.ndimage import label

        number, count = label(which)
        least = max(LEAST_BLOCKS, LEAST_SHARE * which.size)
        return bool(count and np.bincount(number.ravel())[1:].max() >= least)

    def cleaned(self, painted: Bits, seen: Bits) -> Bits:
        """Return which blocks are painted, small areas of either kind given to what is round them."""
        from scipy.ndimage import label

        least = max(LEAST_BLOCKS, LEAST_SHARE * painted.size)
        for kind in (True, False):
            number, count = label((painted == kind) & seen)
            small = np.bincount(number.ravel(), minlength=count + 1) < least
            small[0] = False
            painted = np.where(small[number], not kind, painted)
        return np.asarray(painted)

    def counted(self) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Return how many pixels of each block are even and of real colours, and how many lie inside the rug."""
        even = np.zeros((len(self.rows) - 1, len(self.columns) - 1), dtype=np.int64)
        area = np.zeros_like(even)
        for row in range(len(even)):
            colour, inside = self._seen(*self._strip(row))
            even[row] = np.add.reduceat((colour != _NONE).sum(axis=0), self.columns[:-1])
            area[row] = np.add.reduceat(inside.sum(axis=0), self.columns[:-1])
        return even, area

    def unexplained(self, row: int) -> FloatArray:
        """Return the share of each block of a row that has no real colour and is no mixture of two beside it.

        Only some pixels are looked at, a lattice of about SAMPLES in each block.
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
        """Return the first and the end row of pixels that stand for a row of blocks, those in its middle."""
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
        """Return which pixels are painted, the border of painted blocks moved to where the even colours end."""
        from scipy.ndimage import binary_dilation

        colour = np.concatenate(
            [self._seen(int(top), int(end))[0] for top, end in zip(self.rows[:-1], self.rows[1:], strict=True)]
        )
        zone = binary_dilation(painted, np.ones((3, 3)))
        near = zone.repeat(np.diff(self.rows), axis=0).repeat(np.diff(self.columns), axis=1)
        number = _areas(~near | (colour != _NONE))
        joined = np.zeros(int(number.max()) + 1, dtype=bool)
        joined[np.unique(number[~near])] = True  # what hangs together with what lies off the painted blocks
        joined[0] = False
        drawn = self._sharp(self._thick(joined[number]))
        if drawn.any():  # even areas of a painting that touch what is drawn
            drawn = self._sharp(self._thick(self._sharp(drawn, _areas(colour, _NONE))))
        return ~drawn

    def _thick(self, drawn: Bits) -> Bits:
        """Return what is drawn without what is too thin, after the same was done to what is painted."""
        of_painted, of_drawn = (tuple(max(1, round(knots * size)) for size in self.knot) for knots in LEAST_THICK_KNOTS)
        return _opened(~_opened(~drawn, of_painted), of_drawn)

    def _sharp(self, drawn: Bits, number: NDArray[np.integer] | None = None) -> Bits:
        """Return what is drawn without the areas that run softly into what is painted: those are part of that.

        `number` tells the areas apart; left out, what hangs together is one.
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
    """Return the number of the area of equal values that each pixel lies in, counted from 1; 0 where is `nothing`."""
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
    """Return what of an area is at least so many pixels thick; it is thought to go on beyond the artwork."""
    from scipy.ndimage import maximum_filter, minimum_filter

    shift = tuple(-1 if side % 2 == 0 else 0 for side in size)
    thick = minimum_filter(which, size, mode="nearest")
    return np.asarray(maximum_filter(thick, size, mode="nearest", origin=shift))
