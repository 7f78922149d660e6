"""The artwork as it was read: sRGB pixels with their coverage."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.errors import ArtworkError
from chartmaker.ground.language import say

ByteArray = NDArray[np.uint8]


@dataclass(frozen=True, eq=False)
class Artwork:
    """A raster design, upright, in sRGB.

    Parameters
    ----------
    srgb : ndarray of uint8, shape (height, width, 3)
        Top row first, as in a raster file.
    coverage : ndarray of uint8, shape (height, width), or None
        255 inside the rug, 0 outside; None when all of it is inside.
    regions : ndarray of uint8, shape (height, width), or None
        The number of the region of the order that each pixel lies in, 0 in none; None when there are no regions.
    """

    srgb: ByteArray
    coverage: ByteArray | None = None
    regions: ByteArray | None = None

    def __post_init__(self) -> None:
        if self.srgb.ndim != 3 or self.srgb.shape[2] != 3 or self.srgb.dtype != np.uint8 or not self.srgb.size:
            raise ArtworkError(
                say(
                    "the artwork must be height x width x 3 bytes, not {shape} {dtype}",
                    shape=self.srgb.shape,
                    dtype=self.srgb.dtype,
                )
            )
        if self.coverage is not None and (
            self.coverage.shape != self.srgb.shape[:2] or self.coverage.dtype != np.uint8
        ):
            raise ArtworkError(say("the artwork's coverage must be bytes of the artwork's height x width"))
        if self.regions is not None and (self.regions.shape != self.srgb.shape[:2] or self.regions.dtype != np.uint8):
            raise ArtworkError(say("the artwork's regions must be bytes of the artwork's height x width"))

    @property
    def height(self) -> int:
        return int(self.srgb.shape[0])

    @property
    def width(self) -> int:
        return int(self.srgb.shape[1])
