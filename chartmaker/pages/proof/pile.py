"""The pile of a rug as it looks from above."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.colour import LINEAR_OF_BYTE, FloatArray
from chartmaker.knots.knotmap import KnotArray
from chartmaker.pages.proof.area import averaged_bands
from chartmaker.yarns.yarn import Yarn, srgb_of

# How much lighter the middle of a tuft is than its mean, across with along; the seams are darker in turn.
_ROUND_ACROSS, _ROUND_ALONG = 0.15, 0.22
# The tips lean towards the first row, so that the seam seen is a little nearer the row below; no two alike.
_LEAN, _UNEVEN = 0.07, 0.09
_FIBRE = 0.09


def woven_bands(
    knots: KnotArray, yarns: tuple[Yarn, ...], height: int, width: int
) -> Iterator[tuple[int, FloatArray, FloatArray]]:
    """Yield (first row, linear light, cover) of a picture of `knots` seen from above, top row first.

    Parameters
    ----------
    knots : ndarray of uint16, shape (rows, columns)
        Row 0 the first woven, as in a knot map.
    yarns : tuple of Yarn
    height, width : int
        Of the picture, in pixels.

    Yields
    ------
    (int, ndarray shape (some rows, width, 3), ndarray shape (some rows, width))
        Where a pixel covers several knots it takes the mean of their light; `cover` is the share of it that
        knots cover.
    """
    light = LINEAR_OF_BYTE[srgb_of(yarns)].reshape(-1, 3)
    brightest = (1 + 0.72 * _ROUND_ACROSS) * (1 + 0.72 * _ROUND_ALONG) * (1 + _FIBRE)
    # A yarn near white has no room for lighter tips: it is shaded less, never clipped.
    room = np.clip((1 / np.maximum(light.max(axis=1, initial=0), 1e-6) - 1) / (brightest - 1), 0, 1)
    of_yarn = np.zeros((len(light) + 1, 5))
    of_yarn[:-1] = np.column_stack([light, np.ones(len(light)), room])
    upwards = knots[::-1]

    def read(first: int, last: int) -> FloatArray:
        return np.asarray(of_yarn[np.minimum(upwards[first:last], len(light))])

    for start, exact in averaged_bands(read, (*knots.shape, 5), height, width):
        cells = exact.astype(np.float32)  # precise enough for bytes
        shade = _shade(np.arange(start, start + len(cells)), height, width, knots.shape)
        cover = np.maximum(cells[..., 3], 1e-9)[..., None]
        yield start, cells[..., :3] / cover * (1 + cells[..., 4:] / cover * (shade[..., None] - 1)), cells[..., 3]


#: A turn in so many steps, and the integral of the profile of a tuft, sin x - 0.15 sin 2x, at each of them. It is
#: looked up, because the last figure of a sine depends on the processor, and the bytes of the picture may not.
_TURN = 1 << 16
_ANGLES = 2 * np.pi * np.arange(_TURN) / _TURN
_INTEGRAL = np.round(np.sin(_ANGLES) - 0.15 * np.sin(2 * _ANGLES), 9).astype(np.float32)


def _shade(pixel_rows: NDArray[np.intp], height: int, width: int, shape: tuple[int, ...]) -> FloatArray:
    """Return how light the pile is at each pixel of some rows of the picture; its mean over a whole knot is 1."""
    rows, columns = shape
    pixel_columns = np.arange(width)
    pitch = min(width / columns, height / rows)
    stretch = max(1, round(pitch / 4))
    fibres = (grain(pixel_rows // stretch, pixel_columns) + grain(pixel_rows // stretch + 7919, pixel_columns)) / 2
    shade = 1 + _FIBRE * min(1.0, 0.5 + pitch / 12) * fibres
    fade = float(np.clip((pitch - 1.5) / 1.5, 0, 1))
    if fade:
        row, column = (pixel_rows + 0.5) * rows // height, (pixel_columns + 0.5) * columns // width
        sway, lean = _UNEVEN * grain(row, column), _LEAN + _UNEVEN * grain(row + 104729, column)
        shade *= 1 + _ROUND_ACROSS * fade * _rounded(pixel_columns[None, :] * columns / width, columns / width, sway)
        shade *= 1 + _ROUND_ALONG * fade * _rounded(pixel_rows[:, None] * rows / height, rows / height, lean)
    return np.asarray(shade)


def _rounded(position: FloatArray, width: float, shift: FloatArray) -> FloatArray:
    """Return the roundness of a tuft at `position`, averaged over the `width` that a pixel covers, in knots.

    The profile is cos x - 0.3 cos 2x. Its mean over a knot is nought wherever it is shifted to.
    """
    start = (position - 0.5 + shift) * _TURN
    ends = (_INTEGRAL[(at + 0.5).astype(np.int64) & (_TURN - 1)] for at in (start, start + width * _TURN))
    below, above = ends
    return np.asarray((above - below) / np.float32(2 * np.pi * width))


def grain(row: NDArray[Any], column: NDArray[Any]) -> FloatArray:
    """Return a fixed grain of -1 to 1 for whole numbers, shape (len(row), len(column))."""
    mixed = row.astype(np.uint64)[:, None] * np.uint64(668265263) + column.astype(np.uint64) * np.uint64(374761393)
    mixed = (mixed ^ (mixed >> np.uint64(13))) * np.uint64(1274126177) & np.uint64(0xFFFFFFFF)
    level = np.asarray((mixed ^ (mixed >> np.uint64(16))) & np.uint64(0xFFFF), dtype=np.float32)
    return level / np.float32(32767.5) - 1
