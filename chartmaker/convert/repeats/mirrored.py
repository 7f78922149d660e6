"""A repeat that is its own mirror image in the artwork is drawn as one.

Half a knot decides on which side of an axis a stroke has its step. Of the two ways to draw what differs, the one that
shows more of the artwork is drawn on both sides.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from chartmaker.convert.flat.runs import Index
from chartmaker.convert.flat.trueness import LEAST_SHOWN
from chartmaker.convert.laying.mirrorings import halves_before
from chartmaker.convert.repeats.wholes import WholeLattice, class_of, touching
from chartmaker.ground.colour import FloatArray

Inks = NDArray[np.int16]
#: Returns how much of their cells some inks cover at some places, in KNOTths.
Shown = Callable[[Index, Inks], NDArray[np.int64]]
#: What makes two ways of drawing images of each other is done again, in case it spoilt what was done the other way.
_TIMES = 2


def mirrored(drawing: Inks, whole: WholeLattice, edges: tuple[FloatArray, FloatArray], shown: Shown) -> Inks:
    """Return the drawing of a repeat that is its own image in each axis of the artwork that lies well on the grid.

    Parameters
    ----------
    drawing, whole, edges, shown
        As `along_axes` takes them.
    """
    result = drawing.copy()
    for _ in range(_TIMES):
        for way, (axis, lines) in enumerate(zip(whole.axes_px, edges, strict=True)):
            halves = None if axis is None else halves_before(lines, axis)
            if halves is not None:
                _make_its_image(result, whole, _images(whole, way, halves), way, shown)
    return result


def _images(whole: WholeLattice, way: int, halves: int) -> Index:
    """Return the image of each place of a repeat in an axis before which so many half knots lie, down or across."""
    lines = np.arange(whole.down.knots), np.arange(whole.across.knots)
    turned = (halves - 1 - lines[0], lines[1]) if way == 0 else (lines[0], halves - 1 - lines[1])
    return class_of(whole, *turned).ravel()


def _make_its_image(drawing: Inks, whole: WholeLattice, images: Index, way: int, shown: Shown) -> None:
    unlike = drawing != drawing[images]
    done = np.zeros(len(drawing), dtype=bool)
    for places, *at in touching(unlike, whole):
        if done[places].any():
            continue
        done[places] = done[images[places]] = True
        if np.isin(images[places], places).all():  # it lies astride the axis
            places = places[2 * at[way] < at[way].min() + at[way].max()]
        sides = places, images[places]
        merits = {}
        for side, own in enumerate(sides):
            inks, other = drawing[own], sides[1 - side]
            if len(places) == 1 and _is_dot(drawing, whole, int(other[0])):
                continue
            seen = shown(other, inks)
            if (seen >= LEAST_SHOWN).all():
                merits[side] = int(seen.sum() + shown(own, inks).sum()), -int(inks.sum(dtype=np.int64))
        best = max(merits, key=lambda side: merits[side], default=None)
        if best is not None and (len(merits) == 1 or merits[0] != merits[1]):
            drawing[sides[1 - best]] = drawing[sides[best]]


def _is_dot(drawing: Inks, whole: WholeLattice, place: int) -> bool:
    """Return whether the ink at a place touches none of its own."""
    row, column = divmod(place, whole.across.knots)
    around = class_of(whole, np.arange(row - 1, row + 2), np.arange(column - 1, column + 2))
    return int((drawing[around] == drawing[place]).sum()) == 1
