"""A drawing in another size, in which its numbers find their places anew."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from chartmaker.outlines.numbers import places_of
from chartmaker.outlines.tracing import CentreLine, Outlines


def reduced(outlines: Outlines, scale: float, text_of: Callable[[int], str]) -> Outlines:
    """Return a drawing whose lengths are `scale` times as long, with numbers as large as on any other drawing.

    Parameters
    ----------
    outlines : Outlines
    scale : float
    text_of : callable
        The number of a label.
    """
    import shapely

    rings = tuple((label, tuple(ring * scale for ring in whole)) for label, whole in outlines.rings)
    size_mm = outlines.width_mm * scale, outlines.height_mm * scale
    polygons = np.array([shapely.Polygon(whole[0], whole[1:]) for _, whole in rings], dtype=object)
    return replace(
        outlines,
        width_mm=size_mm[0],
        height_mm=size_mm[1],
        rings=rings,
        numbers=tuple(places_of(polygons, [text_of(label) for label, _ in rings], size_mm)),
        areas_mm2=outlines.areas_mm2 * scale**2,
        lines=tuple(
            CentreLine(line.label, tuple((x * scale, y * scale) for x, y in line.points_mm), line.tuft_rows)
            for line in outlines.lines
        ),
        merged_mm2=outlines.merged_mm2 * scale**2,
        largest_merged_mm2=outlines.largest_merged_mm2 * scale**2,
    )
