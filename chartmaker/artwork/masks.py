"""Where the regions of an order lie on its artwork: boxes, or masks that are white where the region is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import Artwork, ByteArray
from chartmaker.artwork.raster import MOST_BYTES, decode, turn_upright
from chartmaker.ground.errors import ArtworkError
from chartmaker.ground.foreign import read_whole
from chartmaker.ground.language import say
from chartmaker.ground.textsafe import inert
from chartmaker.order.design import Region

#: A mask's proportions may be off the artwork's by this share: sides of few pixels are hardly ever in proportion.
MOST_OFF = 0.01
#: A mask is white from this grey on, of 255.
WHITE = 128
_BAND_PIXELS = 4_000_000

Mask = NDArray[np.bool_]


def mask_bytes(path: Path, number: int) -> bytes:
    """Return the content of the mask file of region `number`.

    Raises
    ------
    ArtworkError
        If it is no regular file, larger than the limit, or cannot be read.
    """
    return read_whole(path, MOST_BYTES, ArtworkError, _called(number))


def mask_of(data: bytes, path: Path, number: int) -> Mask:
    """Return where the mask of region `number`, the content `data` of the file at `path`, is white and not transparent.

    Raises
    ------
    ArtworkError
        If it is no PNG that can be read for certain, or it is white nowhere.
    """
    where, what = inert(path), _called(number)
    picture = decode(data, ("PNG",), ArtworkError, what, where)
    turn_upright(picture, ArtworkError, what, where)
    if picture.mode.startswith(("I", "F")):  # 16 bits, which become 8 by cutting and not by scaling
        white = np.asarray(picture).astype(np.int64) >= WHITE << 8
    else:
        grey = np.asarray(picture.convert("RGBA").convert("LA"))
        white = (grey[..., 0] >= WHITE) & (grey[..., 1] >= WHITE)
    if not white.any():
        message = "the {what} has no white: paint the region white and the rest black"
        raise ArtworkError(say(message, what=what), where=where)
    return np.asarray(white)


def with_regions(artwork: Artwork, regions: Sequence[Region], masks: Mapping[int, Mask]) -> Artwork:
    """Return the artwork with the number of the region that each pixel lies in; of several, the last one counts.

    Parameters
    ----------
    artwork : Artwork
        As it was read, neither turned nor filled up.
    regions : sequence of Region
        Their numbers count from 1.
    masks : mapping of int to ndarray of bool
        By the numbers of the regions that have one.

    Raises
    ------
    ArtworkError
        If a box lies outside the artwork, or a mask does not have its proportions.
    """
    if not regions:
        return artwork
    found: ByteArray = np.zeros(artwork.srgb.shape[:2], dtype=np.uint8)
    for number, region in enumerate(regions, start=1):
        if region.box is not None:
            left, top, right, bottom = region.box
            if right > artwork.width or bottom > artwork.height:
                message = "the box of region {number} reaches beyond the artwork, which has {width} x {height} pixels"
                raise ArtworkError(say(message, number=number, width=artwork.width, height=artwork.height))
            found[top:bottom, left:right] = number
        else:
            found[_on_artwork(masks[number], artwork, number)] = number
    return Artwork(artwork.srgb, artwork.coverage, found)


def _called(number: int) -> str:
    return say("mask of region {number}", number=number)


def _on_artwork(mask: Mask, artwork: Artwork, number: int) -> Mask:
    """Return which pixels of the artwork a mask makes white by a half or more, shape (height, width)."""
    height, width = mask.shape
    if abs(width * artwork.height - height * artwork.width) > MOST_OFF * width * artwork.height:
        raise ArtworkError(
            say(
                "the mask of region {number} has {width} x {height} pixels, and the artwork {across} x {along}: it "
                "must have the artwork's proportions",
                number=number,
                width=width,
                height=height,
                across=artwork.width,
                along=artwork.height,
            )
        )
    if mask.shape == (artwork.height, artwork.width):
        return mask
    down, across = _overlaps(artwork.height, height), _overlaps(artwork.width, width)
    inside = np.empty((artwork.height, artwork.width), dtype=bool)
    step = max(1, _BAND_PIXELS * artwork.height // mask.size)
    for first in range(0, artwork.height, step):
        band = down[first : first + step]
        top, bottom = int(band.indices.min()), int(band.indices.max()) + 1
        white = band[:, top:bottom] @ mask[top:bottom].astype(np.int64)
        inside[first : first + step] = height * width <= 2 * (across @ white.T).T
    return inside


def _overlaps(cells: int, pixels: int) -> Any:
    """Return by how much each of `cells` overlaps each of as many equal `pixels` as share their length.

    A sparse matrix of whole numbers, shape (cells, pixels): a cell is `pixels` long, a pixel is `cells`.
    """
    from scipy.sparse import csr_matrix

    cuts = np.unique(np.concatenate([np.arange(cells + 1) * pixels, np.arange(pixels + 1) * cells]))
    low, size = cuts[:-1], np.diff(cuts)
    return csr_matrix((size, (low // pixels, low // cells)), shape=(cells, pixels), dtype=np.int64)
