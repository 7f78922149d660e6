"""Numbers for the parts of fields that show in a window of a drawing which does not have the field's own number."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from chartmaker.outlines.numbers import SMALLEST_MM, Place, height_within_mm, off_centre_lines, size_mm
from chartmaker.outlines.tracing import Outlines

#: A window: left, lower, right and upper side, in millimetres.
Window = tuple[float, float, float, float]
#: Of a part of a field that is smaller than this the next sheet tells enough, in square millimetres.
_LEAST_MM2 = 250.0


def further_places(
    outlines: Outlines, windows: Sequence[Window], text_of: Callable[[int], str]
) -> tuple[tuple[Place, ...], ...]:
    """Return for each window the places of numbers that it needs besides those of the drawing.

    A field that goes over several sheets has its number on each of them, in the middle of the largest circle of what
    shows there, where that is room enough and no other number stands; it keeps off the drawing's centre lines.

    Parameters
    ----------
    outlines : Outlines
    windows : sequence of Window
    text_of : callable
        The number of a field, by its place in `outlines.rings`.
    """
    import shapely

    fields = np.array([shapely.Polygon(rings[0], rings[1:]) for _, rings in outlines.rings], dtype=object)
    tree = shapely.STRtree(fields)
    found, frame_mm = [], (outlines.width_mm, outlines.height_mm)
    for window in windows:
        left, low, right, high = window
        here = [place for place in outlines.numbers if left <= place.x_mm <= right and low <= place.y_mm <= high]
        told = {place.field for place in here}
        taken = [_box(place, text_of(place.field)) for place in here]
        more: list[Place] = []
        for field in sorted(set(tree.query(shapely.box(*window)).tolist()) - told):
            place = _place(fields[field], field, window, text_of(field), frame_mm)
            if place is not None and not any(_overlap(_box(place, text_of(field)), box) for box in taken):
                more.append(place)
                taken.append(_box(place, text_of(field)))
        found.append(tuple(more))
    return tuple(found)


def _place(polygon: object, field: int, window: Window, text: str, frame_mm: tuple[float, float]) -> Place | None:
    """Return the middle of the largest circle of what shows of a field; None if there is no room for its number."""
    import shapely

    shown = shapely.clip_by_rect(polygon, *window)
    parts = [part for part in shapely.get_parts(shown) if part.geom_type == "Polygon"]
    largest = max(parts, key=lambda part: float(part.area), default=None)
    if largest is None or largest.area < _LEAST_MM2:
        return None
    circle = shapely.maximum_inscribed_circle(largest, max(float(largest.area) ** 0.5 / 40, 0.25))
    height = height_within_mm(text, float(shapely.length(circle)))
    if height < SMALLEST_MM:
        return None
    x, y = (float(value) for value in shapely.get_coordinates(circle)[0])
    x, y, height = off_centre_lines(largest, (x, y, height), text, frame_mm)
    return Place(field, x, y, height, x, y)


def _box(place: Place, text: str) -> Window:
    wide, high = size_mm(text, place.height_mm)
    return place.x_mm - wide / 2, place.y_mm - high / 2, place.x_mm + wide / 2, place.y_mm + high / 2


def _overlap(one: Window, two: Window) -> bool:
    return one[0] < two[2] and one[2] > two[0] and one[1] < two[3] and one[3] > two[1]
