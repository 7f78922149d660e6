"""Rugs with borders made of one repeat of drawings that nobody made for this tool, as a designer would compose them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import Artwork
from support.drawings import drawing

Picture = NDArray[np.uint8]
#: Pixels to a knot, in a square density. It is no whole number, so that no border is a whole number of knots wide.
KNOT_PX = 6.25
#: The width of a guard line in pixels.
LINE = 13
DARK, GROUND, LIGHT = (40, 30, 28), (136, 28, 34), (240, 228, 200)
#: The rows and columns that are cut out of each drawing, at half its size, as one repeat.
CUTS = {
    "arches": (slice(45, 145), slice(0, 150)),
    "crosses": (slice(0, 120), slice(0, 150)),
    "solomons_knot": (slice(0, 600, 5), slice(0, 600, 5)),
}


@dataclass(frozen=True)
class Bordered:
    """A rug with its true measures in pixels: the width of its border, its repeat, and the repeats across and along."""

    picture: Picture
    deep: int
    period: int
    times: tuple[int, int]

    @property
    def artwork(self) -> Artwork:
        return Artwork(self.picture)


def repeat_of(name: str) -> Picture:
    """Return one repeat of a border as it lies at the foot; a single motif stands on a strip of its own ground."""
    cut = drawing(name)[::2, ::2][CUTS[name]]
    if name == "arches":  # it was drawn by hand to within a pixel, so its half makes the whole
        return np.hstack([cut[:, : cut.shape[1] // 2], cut[:, : cut.shape[1] // 2][:, ::-1]])
    if name == "crosses":
        return cut
    around = np.full((cut.shape[0] + 12, cut.shape[1] + 30, 3), 255, dtype=np.uint8)
    around[6:-6, 15:-15] = cut
    return around


def bordered(name: str, times: tuple[int, int]) -> Bordered:
    """Return a rug with `times` repeats in its border, across and along, blocks at the corners, and a medallion."""
    tile = repeat_of(name)
    deep, period = tile.shape[:2]
    across, along = (np.tile(tile, (1, number, 1)) for number in times)
    left = np.swapaxes(along[::-1], 0, 1)
    rim = deep + 2 * LINE
    picture = np.full((left.shape[0] + 2 * rim, across.shape[1] + 2 * rim, 3), DARK, dtype=np.uint8)
    height, width = picture.shape[:2]
    inner = slice(LINE, LINE + deep)
    outer = slice(-LINE - deep, -LINE)
    picture[outer, rim : width - rim], picture[inner, rim : width - rim] = across, across[::-1]
    picture[rim : height - rim, inner], picture[rim : height - rim, outer] = left, left[:, ::-1]
    for rows in (inner, outer):
        for columns in (inner, outer):
            picture[rows, columns] = LIGHT
            picture[rows, columns][deep // 4 : -deep // 4, deep // 4 : -deep // 4] = GROUND
    for cut in (slice(LINE + deep, rim), slice(-rim, -LINE - deep)):  # the line between the block and the repeats
        picture[inner, cut] = picture[outer, cut] = DARK
        picture[cut, inner] = picture[cut, outer] = DARK
    picture[rim:-rim, rim:-rim] = GROUND
    y, x = np.ogrid[:height, :width]
    away = np.hypot(y + 0.5 - height / 2, x + 0.5 - width / 2)
    picture[away < 110] = LIGHT
    picture[away < 70] = DARK
    return Bordered(picture, deep, period, times)
