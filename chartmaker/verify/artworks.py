"""The artwork that a pattern was traced from, held against the pattern: each pixel must lie in its yarn.

Which yarn a pixel has is worked out here for itself: the one that is nearest to its colour. Nothing of those who traced
the artwork is used.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import Artwork
from chartmaker.ground.colour import ciede2000, lab_from_srgb8
from chartmaker.ground.language import say
from chartmaker.knots.knotmap import NO_KNOT, KnotMap
from chartmaker.verify.drawnyarns import LEAST_ALIKE, UNTOLD, Drawn, off_edges, wrong_fields

#: A yarn is as right as the nearest if it is not further from the colour than this beyond it, in CIEDE2000.
_AS_NEAR = 3.0
#: Shaded artwork is seen through a blur of so many knots, since no field is finer; its colours then count in steps.
_BLUR_KNOTS, _STEP = 0.6, 4
#: A field that holds less of what can be judged, in square millimetres, is not told.
_LEAST_FIELD_MM2 = 4.0
#: Up to this share of the rug that was merged, a field is mostly its own; beyond it a field keeps this share of itself.
_LITTLE_MERGED, _OWN = 0.005, 0.05


@dataclass(frozen=True, eq=False)
class Shown:
    """An artwork as the rug shows it, turned and cut, with the SHA-256 of what was read for it, by what it is."""

    artwork: Artwork
    read: Mapping[str, str]


def judged_artwork(shown: Shown, knot_map: KnotMap, said: Mapping[str, Any], inlay: KnotMap | None = None) -> Judged:
    """Return what a pattern is held against, by the artwork and by what the set's summary says of its conversion.

    If there is an `inlay`, the pattern shows nothing else of the rug.
    """
    conversion, pattern = said.get("conversion"), said.get("pattern")
    flat = isinstance(conversion, Mapping) and conversion.get("style") == "flat"
    try:
        merged = 100 * pattern["merged_cm2"] / (pattern["width_mm"] * pattern["height_mm"])  # type: ignore[index]
    except (TypeError, KeyError, ZeroDivisionError):
        merged = 0.0
    return Judged(shown.artwork, knot_map, flat, float(min(max(merged, 0.0), 1.0)), inlay)


@dataclass(frozen=True, eq=False)
class Judged:
    """What is expected of a pattern at each pixel of its artwork.

    Attributes
    ----------
    shown : Artwork
    knot_map : KnotMap
    flat : bool
        Whether it is drawn in clean colours. Of shaded artwork single fields are not judged.
    merged_share : float
        The share of the rug that went from fields too small to be tufted to others, as the summary says.
    inlay : KnotMap, optional
        Those cells of the map that alone are drawn, with the yarns that they are drawn in.
    """

    shown: Artwork
    knot_map: KnotMap
    flat: bool
    merged_share: float
    inlay: KnotMap | None = None

    @cached_property
    def _colours(self) -> tuple[NDArray[np.int32], NDArray[np.float64]]:
        """Each pixel's colour as an index, and how far each yarn is from each colour."""
        srgb, coverage = self.shown.srgb, self.shown.coverage
        if not self.flat:
            from scipy.ndimage import gaussian_filter

            rows, columns = self.knot_map.knots.shape
            sigma = _BLUR_KNOTS * srgb.shape[0] / rows, _BLUR_KNOTS * srgb.shape[1] / columns
            seen = np.ones(srgb.shape[:2]) if coverage is None else coverage / 255.0
            soft = np.maximum(gaussian_filter(seen, sigma), 1e-6)
            blurred = [gaussian_filter(srgb[..., band] * seen, sigma) / soft for band in range(3)]
            srgb = (np.stack(blurred, axis=-1).clip(0, 255) // _STEP * _STEP + _STEP // 2).astype(np.uint8)
        packed = srgb.astype(np.int32) @ np.array([65536, 256, 1], dtype=np.int32)
        known, index = np.unique(packed, return_inverse=True)
        bytes_ = np.stack([known >> 16, known >> 8 & 255, known & 255], axis=1).astype(np.uint8)
        yarns = np.array([yarn.lab for yarn in self.knot_map.yarns])
        far = ciede2000(lab_from_srgb8(bytes_)[:, None], yarns[None])
        return np.asarray(index.reshape(packed.shape), dtype=np.int32), far.astype(np.float64)

    def differences(self, drawn: Drawn) -> Iterator[str]:
        """Yield whether too much of the artwork lies in another yarn, and which fields have another number."""
        colour, far = self._colours
        height, width = colour.shape
        shown, fields = drawn.at((np.arange(height) + 0.5) / height, (np.arange(width) + 0.5) / width)
        if self.inlay is not None:
            codes = [yarn.code for yarn in self.knot_map.yarns]
            of_map = np.array([codes.index(yarn.code) for yarn in self.inlay.yarns], dtype=np.int32)
            shown = np.where(shown < 0, shown, of_map[np.maximum(shown, 0)])
        nearest = far.argmin(axis=1)[colour].astype(np.int32)
        bad = far > far.min(axis=1, keepdims=True) + _AS_NEAR
        wrong = np.where(shown < 0, True, bad[colour, np.maximum(shown, 0)])
        judged = off_edges(nearest) & self._expected(nearest) & (shown != UNTOLD)
        if self.shown.coverage is not None:
            judged &= self.shown.coverage == 255
        wrong &= judged
        if not judged.any():
            yield say("nothing of the artwork can be held against it")
            return
        share = wrong.sum() / judged.sum()
        if share > 1 - LEAST_ALIKE + self.merged_share:
            row, column = (int(value) for value in np.argwhere(wrong)[0])
            yield say(
                "{share:.2f} % of its area is not in the artwork's yarn, the first at pixel {column} x {row} of what "
                "the rug shows",
                share=100 * share,
                column=column + 1,
                row=row + 1,
            )
        if not self.flat:
            return
        pixel_mm2 = drawn.yarns.size / drawn.scale**2 / colour.size
        codes = [yarn.code for yarn in self.knot_map.yarns]
        for field in wrong_fields(fields[judged], wrong[judged]):
            there = judged & (fields == field)
            # where much was merged, a field may be larger by others than it was by itself
            own = 1 - bad[colour[fields == field], np.maximum(shown[fields == field], 0)].mean()
            mistaken = self.merged_share < _LITTLE_MERGED or own < _OWN
            if mistaken and there.sum() * pixel_mm2 >= _LEAST_FIELD_MM2:
                row, column = (int(value) for value in np.argwhere(there & wrong)[0])
                yield say(
                    "a field is {shown} where the artwork is {due}, at pixel {column} x {row} of what the rug shows",
                    shown=codes[shown[row, column]] if shown[row, column] >= 0 else say("left out"),
                    due=codes[nearest[row, column]],
                    column=column + 1,
                    row=row + 1,
                )

    def band_differences(self) -> Iterator[str]:
        """Yield which bands of a rug that is all bands have a yarn that most of the artwork has not where they lie."""
        knots, (colour, far) = self.knot_map.knots[::-1], self._colours
        if not self.flat or (knots != knots[:, :1]).any():
            return
        rows = knots[:, 0]
        near = far <= far.min(axis=1, keepdims=True) + _AS_NEAR
        edges = np.concatenate(([0], np.flatnonzero(rows[1:] != rows[:-1]) + 1, [len(rows)])).tolist()
        for band, (top, foot) in enumerate(pairwise(edges)):
            first, end = (round(edge * len(colour) / len(rows)) for edge in (top, foot))
            trim = min(1, (end - first - 1) // 2)  # the edge of a band may lie within a pixel
            pixels = colour[first + trim : end - trim]
            if pixels.size and near[pixels, rows[top]].mean() < 0.5:
                yield say(
                    "band {band} is {code}, and the artwork has another colour there",
                    band=len(edges) - 1 - band,
                    code=self.knot_map.yarns[rows[top]].code,
                )

    def _expected(self, nearest: NDArray[np.int32]) -> NDArray[np.bool_]:
        """Return where the map has the nearest yarn within a knot, and of an inlay, where that is drawn.

        Elsewhere the order asked for something else than the artwork shows there: a mirror image, a region's ground.
        """
        knots = self.knot_map.knots[::-1].astype(np.int32)
        knots[knots == NO_KNOT] = -1
        whole = knots
        if self.inlay is not None:
            knots = np.where(self.inlay.knots[::-1] == NO_KNOT, -1, whole)
        rows, columns = knots.shape
        down = np.arange(nearest.shape[0]) * rows // nearest.shape[0]
        across = np.arange(nearest.shape[1]) * columns // nearest.shape[1]
        found = np.zeros(nearest.shape, dtype=bool)
        for step_down in (-1, 0, 1):
            for step_across in (-1, 0, 1):
                there = np.clip(down + step_down, 0, rows - 1), np.clip(across + step_across, 0, columns - 1)
                found |= knots[np.ix_(*there)] == nearest
        woven = (knots != whole)[np.ix_(down, across)] & (whole[np.ix_(down, across)] == nearest)
        return np.asarray(found & ~woven)
