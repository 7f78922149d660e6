"""A drawing in another size, or with other words in its fields, which find their places anew."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from chartmaker.outlines.numbers import places_of
from chartmaker.outlines.tracing import CentreLine, Outlines


def reduced(outlines: Outlines, scale: tuple[float, float], text_of: Callable[[int], str]) -> Outlines:
    """Return a drawing so many times as large, across and upward, with numbers as large as on any other drawing.

    Parameters
    ----------
    outlines : Outlines
    scale : (float, float)
    text_of : callable
        What is printed in the fields of a label; nothing where it is empty.
    """
    import shapely

    across, up = scale
    rings = tuple((label, tuple(ring * scale for ring in whole)) for label, whole in outlines.rings)
    size_mm = outlines.width_mm * across, outlines.height_mm * up
    polygons = np.array([shapely.Polygon(whole[0], whole[1:]) for _, whole in rings], dtype=object)
    return replace(
        outlines,
        width_mm=size_mm[0],
        height_mm=size_mm[1],
        rings=rings,
        numbers=tuple(places_of(polygons, [text_of(label) for label, _ in rings], size_mm)),
        areas_mm2=outlines.areas_mm2 * across * up,
        lines=tuple(
            CentreLine(line.label, tuple((x * across, y * up) for x, y in line.points_mm), line.tuft_rows)
            for line in outlines.lines
        ),
        merged_mm2=outlines.merged_mm2 * across * up,
        largest_merged_mm2=outlines.largest_merged_mm2 * across * up,
    )
