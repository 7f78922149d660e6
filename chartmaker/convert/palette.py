"""The real colours of an artwork: those of its even areas."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from chartmaker.colour import FloatArray, ciede2000, lab_from_srgb8
from chartmaker.picture import Artwork, ByteArray

#: Drawings with more colours than this are treated as shaded.
MOST_COLOURS = 64
#: Two even areas whose colours are closer than this are taken for one colour: the eye sees no difference of 1.
SAME_DE00 = 1.0
#: A colour this close to a far commoner one is its noise, as compression leaves it.
NOISE_DE00, NOISE_SHARE = 6.0, 0.03
#: Of a real colour at least this share of pixels lies in even blocks; mixtures along edges hardly ever do.
LEAST_EVEN_SHARE = 0.25
#: How far compression moves the colours of even areas, in sRGB bytes.
NEAR = 12
#: sRGB distance at which a colour is a mixture of two others, or the same as another.
MIXTURE_REACH = 24.0

_CODES = 1 << 24
_BAND_PIXELS = 8_000_000


@dataclass(frozen=True, eq=False)
class Palette:
    """The real colours, commonest first.

    `srgb` is bytes, shape (colours, 3); `pixels` how many pixels each has in even blocks; `even_share` the share of
    all pixels that lie in even blocks; `explained` the share of those that have one of the colours; `near_share` the
    share of all pixels that are within NEAR of one.
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
    """Return the artwork's real colours; at most MOST_COLOURS + 1 of them.

    Parameters
    ----------
    artwork : Artwork
    pixels_a_knot : float
        Colours with fewer pixels than this are no areas of their own.
    """
    total, even = _histograms(artwork)
    pixels = int(total.sum())
    codes = np.flatnonzero((even > 0) & (even >= LEAST_EVEN_SHARE * total))
    codes = codes[np.argsort(-even[codes], kind="stable")][:20_000]
    leaders, explained = _leaders(codes, even, max(pixels_a_knot, 4.0))
    leaders = _with_line_colours(leaders, total, max(pixels_a_knot, 5e-4 * pixels))
    chosen = np.array(leaders, dtype=np.int64)
    every = int(even.sum())
    near = _near(total, unpacked(chosen))
    return Palette(
        unpacked(chosen), even[chosen], every / max(pixels, 1), explained / max(every, 1), near / max(pixels, 1)
    )


def _near(total: NDArray[np.int64], colours: ByteArray) -> int:
    """Return how many pixels are within NEAR of one of `colours` in every channel."""
    met = np.flatnonzero(total)
    srgb, near = unpacked(met).astype(np.int16), np.zeros(len(met), dtype=bool)
    for colour in colours.astype(np.int16):
        near |= (np.abs(srgb - colour) <= NEAR).all(axis=1)
    return int(total[met[near]].sum())


def _histograms(artwork: Artwork) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return how often each packed colour occurs at all, then in even blocks of 2 x 2 pixels."""
    total, even = np.zeros(_CODES, dtype=np.int64), np.zeros(_CODES, dtype=np.int64)
    step = max(1, _BAND_PIXELS // artwork.width)
    for top in range(0, artwork.height, step):
        code = packed(artwork.srgb[top : top + step + 1])
        seen = np.ones(code.shape, dtype=bool)
        if artwork.coverage is not None:
            seen = artwork.coverage[top : top + step + 1] == 255
        block = even_pixels(code, seen)
        own = slice(0, step)
        total += np.bincount(code[own][seen[own]], minlength=_CODES)
        even += np.bincount(code[own][block[own]], minlength=_CODES)
    return total, even


def even_pixels(code: NDArray[np.integer], seen: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return which pixels belong to a block of 2 x 2 equal ones that are all `seen`."""
    down, right = code[1:] == code[:-1], code[:, 1:] == code[:, :-1]
    corner = down[:, :-1] & right[:-1] & right[1:]
    corner &= seen[:-1, :-1] & seen[1:, :-1] & seen[:-1, 1:] & seen[1:, 1:]
    block = np.zeros(code.shape, dtype=bool)
    block[:-1, :-1] |= corner
    block[1:, :-1] |= corner
    block[:-1, 1:] |= corner
    block[1:, 1:] |= corner
    return block


def _leaders(codes: NDArray[np.int64], even: NDArray[np.int64], least: float) -> tuple[list[int], int]:
    """Return the colours that others gather round, with the number of even pixels that have one of them."""
    lab = lab_from_srgb8(unpacked(codes))
    open_, leaders, explained = np.ones(len(codes), dtype=bool), list[int](), 0
    for index, code in enumerate(codes):
        if not open_[index]:
            continue
        if even[code] < least or len(leaders) > MOST_COLOURS:
            break
        leaders.append(int(code))
        rest = np.flatnonzero(open_)
        apart = ciede2000(lab[rest], lab[index])
        near = rest[(apart < SAME_DE00) | ((apart < NOISE_DE00) & (even[codes[rest]] < NOISE_SHARE * even[code]))]
        open_[near] = False
        explained += int(even[codes[near]].sum())
    return leaders, explained


def _with_line_colours(leaders: list[int], total: NDArray[np.int64], least: float) -> list[int]:
    """Add the colours that occur in lines too thin for an even block, yet are no mixture of two others."""
    if not leaders:
        return leaders
    found = list(leaders)
    common = np.flatnonzero(total >= least)
    common = common[np.argsort(-total[common], kind="stable")][:1000]
    for code in common:
        colours = unpacked(np.array(found)).astype(np.float64)
        if len(found) <= MOST_COLOURS and mixture_residual(unpacked(code).astype(float), colours) > MIXTURE_REACH:
            found.append(int(code))
    return found


def mixture_residual(colour: FloatArray, colours: FloatArray) -> float:
    """Return how far, in sRGB bytes, `colour` is from the nearest mixture of any two of `colours`."""
    start, step = colours[:, None], colours[None] - colours[:, None]
    length = np.maximum((step**2).sum(-1), 1e-9)
    share = np.clip(((colour - start) * step).sum(-1) / length, 0, 1)
    return float(np.sqrt(((start + share[..., None] * step - colour) ** 2).sum(-1)).min())
