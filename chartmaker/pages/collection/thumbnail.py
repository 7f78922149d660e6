"""A rug as small as a stamp, in its true proportions, for a page that shows thousands of them."""

from __future__ import annotations

import io

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from chartmaker.ground.colour import linear_from_srgb, srgb8_from_linear
from chartmaker.knots.knotmap import NO_KNOT, KnotMap
from chartmaker.yarns.yarn import srgb_of

#: The longer side.
SIDE_PX = 72
#: Colours that a picture of that size shows.
_COLOURS = 48


def thumbnail(knot_map: KnotMap, side_px: int = SIDE_PX) -> NDArray[np.uint8]:
    """Return the mean light of the knots under each pixel as sRGB with alpha, shape (height, width, 4), top last woven.

    Means are taken in linear light, as the eye does from afar (Grassmann's law).
    """
    rug = knot_map.rug
    width_mm, length_mm = float(rug.woven_width_mm), float(rug.woven_length_mm)
    scale = side_px / max(width_mm, length_mm)
    height = min(max(round(length_mm * scale), 1), knot_map.rows)
    width = min(max(round(width_mm * scale), 1), knot_map.columns)
    light = np.zeros((len(knot_map.yarns) + 1, 4))
    light[:-1, :3] = linear_from_srgb(srgb_of(knot_map.yarns) / 255)
    light[:-1, 3] = 1
    columns = np.arange(width) * knot_map.columns // width
    edges = np.arange(height + 1) * knot_map.rows // height
    small = np.empty((height, width, 4))
    for row in range(height):
        knots = knot_map.knots[edges[row] : edges[row + 1]]
        band = np.where(knots == NO_KNOT, len(knot_map.yarns), knots)
        small[row] = np.add.reduceat(light[band].sum(axis=0), columns, axis=0)
    covered = small[..., 3:]
    cells = np.diff(edges)[:, None, None] * np.diff(np.append(columns, knot_map.columns))[None, :, None]
    colour = srgb8_from_linear(small[..., :3] / np.maximum(covered, 1))
    alpha = np.where(covered * 2 >= cells, 255, 0).astype(np.uint8)
    return np.concatenate((colour, alpha), axis=2)[::-1]


def thumbnail_png(knot_map: KnotMap) -> bytes:
    """Return the rug as a PNG file of about two kilobytes."""
    rgba = thumbnail(knot_map)
    stream = io.BytesIO()
    picture = Image.fromarray(np.ascontiguousarray(rgba[..., :3])).quantize(_COLOURS, dither=Image.Dither.NONE)
    if (rgba[..., 3] == 0).any():
        picture = Image.fromarray(np.ascontiguousarray(rgba)).quantize(_COLOURS, Image.Quantize.FASTOCTREE)
    picture.save(stream, "PNG", optimize=True)
    return stream.getvalue()
