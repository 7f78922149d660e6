"""The picture of changes: the rug toned down, every changed knot in its new colour within a marked outline."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.colour import ciede2000, lab_from_srgb8, srgb8_from_lab
from chartmaker.knots.changes import Changes
from chartmaker.knots.knotmap import KnotMap
from chartmaker.yarns.yarn import lab_of, srgb_of

LONG_SIDE_PX = 2400
MOST_PX_PER_KNOT = 16
#: What can mark a change; the one farthest from every yarn by CIEDE2000 is taken.
MARKS: tuple[tuple[int, int, int], ...] = ((255, 0, 255), (0, 190, 255), (0, 220, 60), (255, 110, 0), (40, 40, 255))

_DARKEST, _SPAN = 58.0, 0.38  # lightness L* that black is toned to, share of the rug's own contrast left


def mark_for(knot_map: KnotMap) -> tuple[int, int, int]:
    """Return the mark's colour that is farthest from every yarn of the map."""
    away = ciede2000(lab_from_srgb8(np.array(MARKS))[:, None], lab_of(knot_map.yarns)[None])
    return MARKS[int(away.min(axis=1).argmax())]


def picture_size(knot_map: KnotMap, long_side_px: int = LONG_SIDE_PX) -> tuple[int, int]:
    """Return (height, width) in pixels in the rug's true proportion, at most `long_side_px` long."""
    wide_mm, long_mm = float(knot_map.rug.woven_width_mm), float(knot_map.rug.woven_length_mm)
    widest_knot_mm = float(max(knot_map.rug.density.knot_width_mm, knot_map.rug.density.knot_height_mm))
    px_per_mm = min(long_side_px / max(wide_mm, long_mm), MOST_PX_PER_KNOT / widest_knot_mm)
    return max(1, round(long_mm * px_per_mm)), max(1, round(wide_mm * px_per_mm))


def picture_of_changes(changes: Changes, *, long_side_px: int = LONG_SIDE_PX) -> NDArray[np.uint8]:
    """Return the picture of changes, sRGB, shape (height, width, 3), the last woven row on top.

    A pixel that covers several knots, one of which is changed, shows the changed one.
    """
    after = changes.after
    height, width = picture_size(after, long_side_px)
    colours = np.vstack([srgb_of(after.yarns), [[255, 255, 255]]]).astype(np.uint8)  # outside the outline: white
    tones = _toned(colours)
    rows, columns = _cells(after.rows, height)[::-1], _cells(after.columns, width)
    picture = tones[np.minimum(after.knots[np.ix_(rows, columns)], len(after.yarns))]
    at = _changed_cells(changes.changed, height, width)
    shown = at >= 0
    if not shown.any():
        return picture
    new = after.knots.ravel()[at[shown]]
    picture[shown] = colours[np.minimum(new, len(after.yarns))]
    picture[_outline(shown, max(3, max(height, width) // 160))] = mark_for(after)
    return picture


def _toned(srgb: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Return the colours as pale greys, white still white, shape (n, 3)."""
    lightness = lab_from_srgb8(srgb)[:, 0]
    pale = np.where(lightness > 99.9, 100.0, _DARKEST + _SPAN * lightness)
    return srgb8_from_lab(np.stack([pale, 0 * pale, 0 * pale], axis=-1))


def _cells(cells: int, pixels: int) -> NDArray[np.intp]:
    """Return the cell at the middle of each pixel."""
    return np.asarray(((np.arange(pixels) + 0.5) * cells / pixels).astype(np.intp))


def _changed_cells(changed: NDArray[np.bool_], height: int, width: int) -> NDArray[np.int64]:
    """Return the flat index of a changed knot under each pixel, -1 where there is none, shape (height, width)."""
    rows, columns = changed.shape
    at = np.full((height, width), -1, dtype=np.int64)
    for row in np.flatnonzero(changed.any(axis=1)).tolist():
        found = np.flatnonzero(changed[row])
        top, bottom = height - -(-(row + 1) * height // rows), height - row * height // rows
        line = np.full(width, -1, dtype=np.int64)
        left, right = found * width // columns, -(-(found + 1) * width // columns)
        for step in range(int((right - left).max())):
            inside = left + step < right
            line[(left + step)[inside]] = row * columns + found[inside]
        band = at[top : max(bottom, top + 1)]
        np.copyto(band, line, where=line >= 0)
    return at


def _outline(shown: NDArray[np.bool_], reach: int) -> NDArray[np.bool_]:
    """Return the frame around what is shown, `reach` pixels away from it."""
    from scipy.ndimage import maximum_filter

    def grown(by: int) -> NDArray[np.bool_]:
        return np.asarray(maximum_filter(shown, size=2 * by + 1, mode="constant"))

    line = max(1, reach // 3)
    return grown(reach + line) & ~grown(reach)
