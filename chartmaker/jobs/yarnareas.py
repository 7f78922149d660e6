"""The yarn of each pixel of the artwork, for crafts that follow the drawing and not a grid."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import Artwork, ByteArray
from chartmaker.artwork.outline import inside_of
from chartmaker.artwork.placing import Placement
from chartmaker.colours.labelling import OUTSIDE, label_pixels
from chartmaker.colours.matching import nearest_yarns
from chartmaker.colours.palette import find_palette
from chartmaker.convert.conversion import Conversion
from chartmaker.convert.grounding import grounds_of
from chartmaker.convert.parts import only
from chartmaker.convert.reflections import reflections_of
from chartmaker.ground.colour import lab_from_srgb8
from chartmaker.knots.knotmap import NO_KNOT, KnotMap
from chartmaker.order.design import Design, Region
from chartmaker.yarns.yarn import Yarn, lab_of

#: The mark of a pixel where nothing is tufted.
NO_YARN = -1
#: Shaded artwork is blurred over this many stitches, because no field is smaller.
_BLUR = 0.6
Labels = NDArray[np.int16]


def yarn_areas(conversion: Conversion, design: Design, regions: tuple[Region, ...] = ()) -> Labels:
    """Return the index of the yarn of each pixel that the rug shows, shape (height, width), top row first.

    Flat artwork has the yarns that its colours have in the knot map. In shaded artwork, which is blurred a little, each
    pixel takes its nearest yarn. In another colourway it has what that yarn became. NO_YARN marks what the rug's shape
    or the artwork's transparency leaves out.
    """
    artwork, placement = conversion.placed.artwork, conversion.placed.placement
    rug, now = conversion.knot_map.rug, [yarn.code for yarn in conversion.knot_map.yarns]
    became = conversion.drawn or tuple((yarn, yarn.code) for yarn in conversion.knot_map.yarns)
    yarns = tuple(yarn for yarn, _ in became)
    window = _window(artwork, placement)
    labels = _labels(conversion, yarns)[window]
    region_of = None if artwork.regions is None else artwork.regions[window]
    codes = [yarn.code for yarn in yarns]
    grounds = [codes.index(code) if code in codes else NO_YARN for code in grounds_of(design, regions)]
    under = np.array(grounds, dtype=np.int16)[0 if region_of is None else region_of]
    labels = np.where(labels == NO_YARN, under, labels)
    labels = np.array([*(now.index(code) for _, code in became), NO_YARN], dtype=np.int16)[labels]
    inside = inside_of(rug, *labels.shape)
    if inside is not None:
        labels[~inside] = NO_YARN
    return np.ascontiguousarray(reflections_of(design.mirror, regions, region_of).of(labels))


def inlaid_areas(labels: Labels, placement: Placement, whole: KnotMap, inlay: KnotMap) -> Labels:
    """Return the yarn in an `inlay` of each pixel that is part of it, and NO_YARN elsewhere.

    Its pixels have a yarn that the inlay has there or in a cell beside it. Where the cell itself is of that yarn
    without being in the inlay, it is the ground.

    Parameters
    ----------
    labels : ndarray of int16, shape (height, width)
        As `yarn_areas` gives them, for `whole`.
    placement : Placement
    whole, inlay : KnotMap
        A map, and some cells of it as another.
    """
    from scipy.ndimage import maximum_filter

    down, across = (
        np.searchsorted(edges[1:-1], np.arange(pixels) + 0.5 + max(round(edges[0]), 0), side="right")
        for edges, pixels in zip((placement.raster_row_edges, placement.column_edges), labels.shape, strict=True)
    )
    knots, own = whole.knots[::-1], inlay.knots[::-1]
    codes = [yarn.code for yarn in whole.yarns]
    found = np.full(labels.shape, NO_YARN, dtype=np.int16)
    for number, yarn in enumerate(inlay.yarns):
        of_whole = codes.index(yarn.code)
        there = maximum_filter(own == number, 3) & ~((own == NO_KNOT) & (knots == of_whole))
        found[(labels == of_whole) & there[np.ix_(down, across)]] = number
    return found


def _labels(conversion: Conversion, yarns: tuple[Yarn, ...]) -> Labels:
    """Return which of the `yarns` each pixel of the artwork has, or NO_YARN where it is transparent."""
    artwork, placement = conversion.placed.artwork, conversion.placed.placement
    parts = conversion.parts
    if conversion.inks is not None:
        return _yarn_of(conversion.inks.srgb, yarns)[conversion.inks.of_pixel]
    if parts is None:
        way = _flat if conversion.style.style == "flat" else _shaded
        return way(artwork, placement, yarns)
    flat = parts.where(*(way for way in parts.ways if way.style == "flat"))
    labels = np.full(flat.shape, NO_YARN, dtype=np.int16)
    for way, where in ((_flat, flat), (_shaded, ~flat)):
        if where.any():
            labels[where] = way(only(artwork, where), placement, yarns)[where]
    return labels


def _window(artwork: Artwork, placement: Placement) -> tuple[slice, slice]:
    down, across = placement.raster_row_edges, placement.column_edges
    rows = slice(max(round(down[0]), 0), min(round(down[-1]), artwork.height))
    return rows, slice(max(round(across[0]), 0), min(round(across[-1]), artwork.width))


def _flat(artwork: Artwork, placement: Placement, yarns: tuple[Yarn, ...]) -> Labels:
    palette = find_palette(artwork, placement.height * placement.width / (placement.rows * placement.columns))
    return _yarn_of(palette.srgb, yarns)[label_pixels(artwork, palette.srgb).first]


def _yarn_of(colours: ByteArray, yarns: tuple[Yarn, ...]) -> Labels:
    """Return the yarn of each colour, shape (colours, 3), and NO_YARN for OUTSIDE."""
    table = np.full(OUTSIDE + 1, NO_YARN, dtype=np.int16)
    table[: len(colours)] = nearest_yarns(lab_from_srgb8(colours), lab_of(yarns))
    return table


def _shaded(artwork: Artwork, placement: Placement, yarns: tuple[Yarn, ...]) -> Labels:
    from scipy.ndimage import gaussian_filter

    sigma = _BLUR * placement.knot_height, _BLUR * placement.knot_width
    if artwork.coverage is None:
        channels = [gaussian_filter(artwork.srgb[..., channel], sigma) for channel in range(3)]
    else:  # transparent pixels do not tint their neighbours
        seen = (artwork.coverage / 255).astype(np.float32)
        soft = np.maximum(gaussian_filter(seen, sigma), 1e-6)
        channels = [gaussian_filter(artwork.srgb[..., channel] * seen, sigma) / soft for channel in range(3)]
    level = (np.arange(64) * 4 + 2).astype(np.uint8)
    every: ByteArray = np.stack(np.meshgrid(level, level, level, indexing="ij"), axis=-1).reshape(-1, 3)
    table = nearest_yarns(lab_from_srgb8(every), lab_of(yarns)).astype(np.int16)
    red, green, blue = (np.minimum(channel, 255).astype(np.int32) >> 2 for channel in channels)
    labels = table[(red * 64 + green) * 64 + blue]
    if artwork.coverage is not None:
        labels[artwork.coverage < 128] = NO_YARN
    return np.asarray(labels)
