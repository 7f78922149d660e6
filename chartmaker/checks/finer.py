"""The remark on drawing that is finer than a knot."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import Artwork
from chartmaker.artwork.placing import Placement
from chartmaker.checks.places import places_where, where_words
from chartmaker.ground.colour import lab_from_srgb8
from chartmaker.ground.findings import Finding
from chartmaker.ground.lengths import mm_words
from chartmaker.ground.sentence import later_n
from chartmaker.knots.knotmap import NO_KNOT, KnotMap

#: A thin line or dot counts if it differs from its ground by this much lightness L*, which is a clear step of tone.
CLEAR_STEP = 25.0
#: It shows in the rug if a knot there or next to it has this share of the step.
SHOWS = 0.4
#: Fewer knots than this number and this share are dust in the artwork; above the second share the remark is a warning
#: (common practice).
LEAST_KNOTS, LEAST_SHARE, WARNING_SHARE = 12, 0.0002, 0.002

_BAND_PIXELS = 4_000_000
#: Luminance in even steps, with the 8-bit sRGB grey of each; rounding may add up to one step more than there are.
_LIGHT_STEPS = 1 << 15
_GREY_OF_LIGHT = np.round(np.minimum(np.arange(_LIGHT_STEPS + 2) / (_LIGHT_STEPS - 1), 1) ** (1 / 2.2) * 255).astype(
    np.uint8
)
FloatPlane = NDArray[np.float32]
#: Lightness L* of the 256 greys, and the least difference of two greys that may be a clear step.
_LIGHTNESS: FloatPlane = lab_from_srgb8(np.repeat(np.arange(256)[:, None], 3, axis=1))[:, 0].astype(np.float32)
_LEAST_GREYS = int(CLEAR_STEP / np.diff(_LIGHTNESS).max())


@dataclass(frozen=True, eq=False)
class _Tones:
    """The tones that knots need in order to show the pixels at some places, each array of shape (places,)."""

    row: NDArray[np.intp]
    column: NDArray[np.intp]
    needed: FloatPlane

    def gathered(
        self, gather: np.ufunc, into: FloatPlane, own: range, edges: tuple[NDArray[np.intp], NDArray[np.intp]]
    ) -> None:
        """Put the least or the most, as `gather` says, that each cell of `into` needs into it.

        Only pixel rows of `own` count; `edges` are the first pixel of each row of cells and of each column.
        """
        here = (self.row >= own.start) & (self.row < own.stop)
        down, across = (
            np.searchsorted(starts, at[here], side="right") - 1
            for starts, at in zip(edges, (self.row, self.column), strict=True)
        )
        kept = across >= 0
        gather.at(into, (down[kept], across[kept]), self.needed[here][kept])


def _greys(srgb: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Return the 8-bit sRGB grey of each pixel's luminance, which is exact to about one unit of L*."""
    linear = (np.arange(256) / 255) ** 2.2 * (_LIGHT_STEPS - 1)
    red, green, blue = (np.round(linear * weight).astype(np.uint16) for weight in (0.2126, 0.7152, 0.0722))
    light = red[srgb[..., 0]] + green[srgb[..., 1]] + blue[srgb[..., 2]]
    return np.asarray(_GREY_OF_LIGHT[light])


def _filtered(
    plane: NDArray[np.uint8], pick: np.ufunc, size: tuple[int, int], *, ahead: bool = False
) -> NDArray[np.uint8]:
    """Return the least or the most, as `pick` says, of the pixels round each, `size` of them down and across.

    The window is doubled until it is wide enough. The plane goes on beyond its rim as its own mirror image. A window of
    an even number of pixels cannot have its pixel in the middle: the longer side is before it, or `ahead` of it. A
    filter that looks back and one that looks ahead leave wide areas where they were.
    """
    for axis, pixels in enumerate(size):
        room = [(0, 0), (0, 0)]
        sides = pixels // 2, pixels - 1 - pixels // 2
        room[axis] = sides[::-1] if ahead else sides
        plane = np.pad(plane, room, mode="symmetric")
        width = 1
        while width < pixels:
            step = min(width, pixels - width)
            plane = pick(plane[:-step], plane[step:]) if axis == 0 else pick(plane[:, :-step], plane[:, step:])
            width += step
    return plane


def _needed(grey: NDArray[np.uint8], high: int, wide: int) -> tuple[_Tones, _Tones]:
    """Return the tone that a knot needs to show what is thin and lighter, and what is thin and darker.

    Anything that has no room for a rectangle of `high` x `wide` pixels is thin.
    """
    size = (high, wide)
    # Lightness rises with grey, so the least grey of some pixels is that of the least lightness.
    opened = _filtered(_filtered(grey, np.minimum, size), np.maximum, size, ahead=True)
    closed = _filtered(_filtered(grey, np.maximum, size, ahead=True), np.minimum, size)
    return _tones(grey, opened), _tones(grey, closed)


def _tones(grey: NDArray[np.uint8], ground: NDArray[np.uint8]) -> _Tones:
    """Return the tones of a plane that differ clearly from those of their ground, as they must at least show."""
    apart = np.maximum(grey, ground) - np.minimum(grey, ground)
    row, column = np.nonzero(apart >= _LEAST_GREYS)  # mostly few pixels, so that all else is quick
    under = _LIGHTNESS[ground[row, column]]
    step = _LIGHTNESS[grey[row, column]] - under
    clear = np.abs(step) >= CLEAR_STEP
    return _Tones(row[clear], column[clear], (under + np.float32(SHOWS) * step)[clear])


def needed_tones(artwork: Artwork, placement: Placement) -> tuple[FloatPlane, FloatPlane]:
    """Return the tone (at least, at most) that a knot needs to show the thin drawing in its cell, in raster order.

    Parameters
    ----------
    artwork : Artwork
        The artwork as it was placed.
    placement : Placement
        Its knots are at least a pixel and a half wide and high.

    Returns
    -------
    at_least, at_most : ndarrays of float32, shape (rows, columns)
        Lightness L*; infinite where nothing is thin. Of several thin things in a cell, the easiest to show counts.
    """
    row_starts = np.clip(np.floor(placement.raster_row_edges[:-1]).astype(np.intp), 0, artwork.height - 1)
    column_starts = np.clip(np.floor(placement.column_edges[:-1]).astype(np.intp), 0, artwork.width - 1)
    high, wide = (max(2, round(size)) for size in (placement.knot_height, placement.knot_width))
    at_least, at_most = (np.full((placement.rows, placement.columns), far, np.float32) for far in (np.inf, -np.inf))
    step = max(1, int(_BAND_PIXELS / (artwork.width * high)))
    for first in range(0, placement.rows, step):
        last = min(first + step, placement.rows)
        top = int(row_starts[first])
        bottom = artwork.height if last == placement.rows else max(int(row_starts[last]), top + 1)
        halo = max(0, top - 2 * high)
        light, dark = _needed(_greys(artwork.srgb[halo : min(bottom + 2 * high, artwork.height)]), high, wide)
        own, edges = range(top - halo, bottom - halo), (row_starts[first:last] - halo, column_starts)
        light.gathered(np.minimum, at_least[first:last], own, edges)
        dark.gathered(np.maximum, at_most[first:last], own, edges)
    return at_least, at_most


def lost_drawing(knot_map: KnotMap, artwork: Artwork, placement: Placement) -> Iterator[Finding]:
    """Yield a finding if thin lines or dots of the artwork do not show in the knots."""
    from scipy.ndimage import maximum_filter, minimum_filter

    if min(placement.knot_height, placement.knot_width) < 1.5:
        return  # nothing in the artwork can be finer than its pixels
    at_least, at_most = (tones[::-1] for tones in needed_tones(artwork, placement))
    outside = knot_map.knots == NO_KNOT
    tones = np.array([*(yarn.lab[0] for yarn in knot_map.yarns), 50.0], dtype=np.float32)
    woven = tones[np.minimum(knot_map.knots, len(knot_map.yarns))]
    lost = (np.isfinite(at_least) & (maximum_filter(woven, 3) < at_least)) | (
        np.isfinite(at_most) & (minimum_filter(woven, 3) > at_most)
    )
    lost &= ~outside
    number = int(lost.sum())
    if number < max(LEAST_KNOTS, LEAST_SHARE * knot_map.tied):
        return
    places = places_where(lost)
    knot = knot_map.rug.density
    yield Finding(
        later_n(
            "A line or dot of the artwork that is finer than a knot ({wide} x {high}) does not show in the rug, at {n} "
            "knot: draw it at least a knot wide, or leave it out.",
            "Lines or dots of the artwork that are finer than a knot ({wide} x {high}) do not show in the rug, at "
            "{n:,} knots: draw them at least a knot wide, or leave them out.",
            number,
            wide=mm_words(knot.knot_width_mm),
            high=mm_words(knot.knot_height_mm),
        ),
        where_words(places),
        "warning" if number >= WARNING_SHARE * knot_map.tied else "note",
        places,
    )
