"""An array of labels as a tufter's drawing, with small areas merged, thin lines drawn, and a number in every field."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.outlines.fields import fields_of
from chartmaker.outlines.lattice import Labels, Points
from chartmaker.outlines.merging import merged
from chartmaker.outlines.numbers import Place, places_of
from chartmaker.outlines.thinlines import thin_lines

#: A stroke of fewer tuft rows than this has a centre line.
THIN_ROWS = 2.6
#: A centre line may leave its points by this much, in millimetres.
_LINE_FINENESS_MM = 0.1


@dataclass(frozen=True)
class CentreLine:
    """The middle of a thin line, with its label, its points in millimetres, and its width in whole tuft rows."""

    label: int
    points_mm: tuple[tuple[float, float], ...]
    tuft_rows: int


@dataclass(frozen=True, eq=False)
class Outlines:
    """A drawing in millimetres from its lower left corner, y upward, seen from the pile side.

    Attributes
    ----------
    width_mm, height_mm : float
    rings : tuple of (label, tuple of ndarray, shape (points, 2))
        The shell and the holes of each field, all closed; neighbours have the same points along a shared edge.
    numbers : tuple of Place
        At least one for each field that has a number, in the order of the fields; each says which field it belongs to.
    areas_mm2 : ndarray, shape (labels,)
        By label.
    lines : tuple of CentreLine
    merged_fields : int
        How many fields too small to be tufted went to a neighbour. All of them together had an area of `merged_mm2`,
        and the largest had `largest_merged_mm2`.
    """

    width_mm: float
    height_mm: float
    rings: tuple[tuple[int, tuple[Points, ...]], ...]
    numbers: tuple[Place, ...]
    areas_mm2: NDArray[np.float64]
    lines: tuple[CentreLine, ...]
    merged_fields: int
    merged_mm2: float
    largest_merged_mm2: float


def trace(
    labels: Labels,
    size_mm: tuple[float, float],
    *,
    names: tuple[str, ...],
    tolerance_mm: float,
    tuft_mm: tuple[float, float],
    smallest_tufts: float,
) -> Outlines:
    """Return the drawing of an array of labels.

    Parameters
    ----------
    labels : ndarray of int16, shape (height, width)
        Top row first, with -1 where nothing is tufted.
    size_mm : (width, height)
        The size of the whole array on the cloth.
    names : tuple of str, shape (labels,)
        The number that is printed in the fields of each label; nothing where it is empty.
    tolerance_mm : float
        How far a curve may depart from the steps of the pixels.
    tuft_mm : (width, height)
        The size of one tuft. Areas smaller than a few tufts are merged, and strokes as thin as two tufts are lines.
    smallest_tufts : float
        Fields of fewer tufts than this are merged into a neighbour.
    """
    import shapely

    height, width = labels.shape
    pixel_mm = size_mm[0] / width, size_mm[1] / height
    pixel_mm2, tuft_mm2 = pixel_mm[0] * pixel_mm[1], tuft_mm[0] * tuft_mm[1]
    whole = merged(labels, smallest_tufts * tuft_mm2 / pixel_mm2)
    fields = fields_of(whole.labels, pixel_mm, tolerance_mm, whole.stay)
    row_mm = min(tuft_mm)
    scale = np.array([pixel_mm[0], -pixel_mm[1]])
    strokes = thin_lines(whole.labels, THIN_ROWS * row_mm / min(pixel_mm), whole.stay)
    calm = _calm([stroke.points * scale + [0.0, size_mm[1]] for stroke in strokes])
    lines = tuple(
        CentreLine(stroke.label, points, max(1, round(stroke.width * min(pixel_mm) / row_mm)))
        for stroke, points in zip(strokes, calm, strict=True)
    )
    places = places_of(fields.polygons, [names[label] for label in fields.labels], size_mm)
    areas = np.bincount(fields.labels, shapely.area(fields.polygons), len(names)).astype(np.float64)
    rings = tuple(
        (int(label), tuple(shapely.get_coordinates(ring) for ring in shapely.get_rings(polygon)))
        for label, polygon in zip(fields.labels, fields.polygons, strict=True)
    )
    return Outlines(
        *size_mm,
        rings,
        tuple(places),
        areas,
        lines,
        whole.areas,
        whole.pixels * pixel_mm2,
        whole.largest_pixels * pixel_mm2,
    )


def _calm(lines_mm: list[Points]) -> Iterator[tuple[tuple[float, float], ...]]:
    """Yield centre lines without the points that lie on a line with others, rounded to a micrometre."""
    import shapely

    if not lines_mm:
        return
    drawn = shapely.linestrings(
        np.concatenate(lines_mm), indices=np.repeat(range(len(lines_mm)), [*map(len, lines_mm)])
    )
    points, line = shapely.get_coordinates(shapely.simplify(drawn, _LINE_FINENESS_MM), return_index=True)
    for part in np.split(points.round(3), np.flatnonzero(np.diff(line)) + 1):
        yield tuple(map(tuple, part.tolist()))
