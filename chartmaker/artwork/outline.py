"""The rug's outline: which cells of the grid are tied at all, and the colours within it that go on beyond it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import Artwork
from chartmaker.artwork.placing import Placement
from chartmaker.order.rug import Rug

#: Artwork with fewer pixels a knot than this has no room for blurred edges along an outline.
LEAST_PX_A_KNOT = 2.0
#: An outline in the artwork is blurred by so many pixels at most, and what lies beyond it matters so many knots far.
BLURRED_PX, NEAR_KNOTS = 1.5, 3.0
_BAND_ROWS = 256


def outline_of(rug: Rug) -> NDArray[np.bool_] | None:
    """Return which cells have their centre inside the rug's own shape, shape (rows, columns), or None."""
    return inside_of(rug, rug.rows, rug.columns)


def inside_of(rug: Rug, rows: int, columns: int) -> NDArray[np.bool_] | None:
    """Return which of `rows` x `columns` equal parts of a rug have their centre inside its own shape.

    The result is None for a rectangle, or where only the artwork's transparency decides. An ellipse touches all four
    sides. The slanting sides of an octagon cut the corners at 45 degrees, as those of a regular octagon do in a square.
    """
    if rug.shape not in ("ellipse", "octagon"):
        return None
    width, length = float(rug.woven_width_mm), float(rug.woven_length_mm)
    x = np.abs((np.arange(columns) + 0.5) / columns - 0.5) * width
    y = np.abs((np.arange(rows) + 0.5) / rows - 0.5) * length
    if rug.shape == "ellipse":
        return np.asarray((2 * x[None] / width) ** 2 + (2 * y[:, None] / length) ** 2 <= 1)
    cut = min(width, length) / (2 + 2**0.5)
    return np.asarray(x[None] + y[:, None] <= (width + length) / 2 - cut)


def filled_to_outline(artwork: Artwork, placement: Placement, rug: Rug) -> Artwork:
    """Return artwork in which the colours along the inside of an ellipse or an octagon go on beyond it.

    A knot on the outline lies partly outside it, and what the artwork shows there, the corners that are cut off, must
    not decide its yarn. Each pixel near the outline takes the colour of the place just inside, towards the middle.
    Artwork of a rectangle, or with hardly more pixels than knots, is returned as it is.
    """
    knot_px = min(placement.knot_width, placement.knot_height)
    if rug.shape not in ("ellipse", "octagon") or knot_px < LEAST_PX_A_KNOT:
        return artwork
    wide, high = placement.width / 2, placement.height / 2
    middle = float(placement.column_edges[0]) + wide, float(placement.row_edges[-1]) + high
    blurred, near = min(BLURRED_PX, knot_px / 4), NEAR_KNOTS * max(placement.knot_width, placement.knot_height)
    srgb = artwork.srgb.copy()
    x = np.arange(artwork.width) + 0.5 - middle[0]
    for top in range(0, artwork.height, _BAND_ROWS):
        y = (np.arange(top, min(top + _BAND_ROWS, artwork.height)) + 0.5 - middle[1])[:, None]
        far = np.hypot(x, y)
        times = np.maximum(_times_out(rug, np.abs(x) / wide, np.abs(y) / high), 1e-9)  # how far out, 1 at the outline
        beyond = far - far / times
        rows, columns = np.nonzero((beyond > -blurred) & (beyond < near) & (times > 0.5))  # the middle has no way out
        reach = (far / times)[rows, columns]
        share = (reach - blurred - 0.5) / far[rows, columns]
        down = np.clip(np.floor(y[rows, 0] * share + middle[1]), 0, artwork.height - 1).astype(np.intp)
        over = np.clip(np.floor(x[columns] * share + middle[0]), 0, artwork.width - 1).astype(np.intp)
        srgb[rows + top, columns] = artwork.srgb[down, over]
    return replace(artwork, srgb=srgb)


def _times_out(rug: Rug, x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return how many times as far out as the outline places lie, which are told in half widths and half lengths."""
    if rug.shape == "ellipse":
        return np.asarray(np.hypot(x, y))
    width, length = float(rug.woven_width_mm) / 2, float(rug.woven_length_mm) / 2
    slant = (x * width + y * length) / (width + length - 2 * min(width, length) / (2 + 2**0.5))
    return np.asarray(np.maximum(np.maximum(x, y), slant))
