"""The remark on designs that are almost symmetric."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.checks.places import places_where, where_words
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import phrase
from chartmaker.ground.sentence import later, later_n
from chartmaker.knots.knotmap import KnotArray, KnotMap

#: If no more than this share of the drawing (all that is not ground) breaks the mirror, the design was meant to be
#: symmetric (common practice).
MOST_BROKEN = 0.03
#: How far from the middle an axis is looked for, in knots.
MOST_OFF_CENTRE = 3
#: How many lines are looked at in the search for an axis.
_SAMPLES = 200
_BAND_CELLS = 4_000_000


@dataclass(frozen=True)
class Reflection:
    """A way to map the rug on to itself, and its name in words."""

    words: str
    turn: Callable[[KnotArray], KnotArray]


LEFT_RIGHT = Reflection(phrase("left to right"), lambda knots: knots[:, ::-1])
TOP_BOTTOM = Reflection(phrase("top to bottom"), lambda knots: knots[::-1])
HALF_TURN = Reflection(phrase("by a half turn"), lambda knots: knots[::-1, ::-1])


def broken(knots: KnotArray, mirror: Reflection, ground: int) -> tuple[NDArray[np.bool_], int]:
    """Return where the map differs from its mirror image, and how many cells are drawing in either."""
    other = mirror.turn(knots)
    mask = np.empty(knots.shape, dtype=bool)
    drawing = 0
    step = max(1, _BAND_CELLS // knots.shape[1])
    for row in range(0, len(knots), step):
        here, there = knots[row : row + step], other[row : row + step]
        np.not_equal(here, there, out=mask[row : row + step])
        drawing += int(((here != ground) | (there != ground)).sum())
    return mask, drawing


def almost_symmetric(knot_map: KnotMap) -> Iterator[Finding]:
    """Yield a finding for each mirror that few knots break, or whose axis is off the middle."""
    knots, ground = knot_map.knots, int(knot_map.counts.argmax())
    exact, slips = False, {}
    for mirror in (LEFT_RIGHT, TOP_BOTTOM):
        mask, drawing = broken(knots, mirror, ground)
        number = int(mask.sum())
        if not number:
            exact = True
        elif number <= MOST_BROKEN * drawing:
            slips[mirror.words] = mask
        elif off := off_centre(knots, mirror):
            exact = True
            yield _beside(knot_map, mirror, off)
    if len(slips) == 2:
        yield _odd_ones(_outvoted(knots))
        return
    if not (slips or exact):  # a mirror already says what the half turn would
        mask, drawing = broken(knots, HALF_TURN, ground)
        if 0 < int(mask.sum()) <= MOST_BROKEN * drawing:
            slips[HALF_TURN.words] = mask
    for words, mask in slips.items():
        yield _slips(words, mask)


def _outvoted(knots: KnotArray) -> NDArray[np.bool_]:
    """Return the knots that differ from two or three of their three mirror images."""
    mask = np.empty(knots.shape, dtype=bool)
    step = max(1, _BAND_CELLS // knots.shape[1])
    images = [mirror.turn(knots) for mirror in (LEFT_RIGHT, TOP_BOTTOM, HALF_TURN)]
    for row in range(0, len(knots), step):
        here = knots[row : row + step]
        votes = sum((image[row : row + step] != here).astype(np.uint8) for image in images)
        mask[row : row + step] = votes >= 2
    return mask


def _odd_ones(mask: NDArray[np.bool_]) -> Finding:
    places = places_where(mask)
    number = int(mask.sum())
    return Finding(
        later_n(
            "The design is almost symmetric both ways, but {n} knot differs from the other quarters: a slip, unless "
            "it is meant (a signature, a date). [design] mirror = 'both' makes it exact.",
            "The design is almost symmetric both ways, but {n:,} knots differ from the other quarters: slips, unless "
            "they are meant (a signature, a date). [design] mirror = 'both' makes it exact.",
            number,
        ),
        where_words(places),
        "warning",
        places,
    )


def _slips(words: str, mask: NDArray[np.bool_]) -> Finding:
    # each slip shows at its own place and at the mirrored one: one of the two is wrong
    places = places_where(mask)
    number = int(mask.sum())
    return Finding(
        later_n(
            "The design is almost symmetric, {mirror}, but {n} knot differs from its mirror image: a slip, unless it "
            "is meant (a signature, a date). [design] mirror makes it exact.",
            "The design is almost symmetric, {mirror}, but {n:,} knots differ from their mirror image: {slips}, "
            "unless they are meant (a signature, a date). [design] mirror makes it exact.",
            number,
            mirror=later(words),
            slips=later_n("{n} slip", "some {n:,} slips", -(-number // 2)),
        ),
        where_words(places),
        "warning",
        places,
    )


def off_centre(knots: KnotArray, mirror: Reflection) -> int:
    """Return by how many half knots the axis is off the middle; 0 if no axis is near the middle.

    An axis counts if next to nothing breaks the mirror about it, while much breaks the one about the middle.
    """
    lines = knots if mirror is LEFT_RIGHT else knots.T
    sample = lines[:: max(1, len(lines) // _SAMPLES)]
    width = sample.shape[1]
    if width < 8 * MOST_OFF_CENTRE:
        return 0
    shares = {}
    for shift in range(-2 * MOST_OFF_CENTRE, 2 * MOST_OFF_CENTRE + 1):
        part = sample[:, max(shift, 0) : width + min(shift, 0)]
        shares[shift] = float((part != part[:, ::-1]).mean())
    best = min(shares, key=lambda shift: (shares[shift], abs(shift)))
    return best if best and shares[best] < MOST_BROKEN / 10 and shares[0] > 10 * shares[best] else 0


#: Sentences, one and many, by whether the axis is to the left or the right of the middle, or below or above it.
_BESIDE_ACROSS = (
    (
        phrase(
            "The design is symmetric, {mirror}, but about a line {distance} to the left of the middle: one side "
            "has {n} column more than the other."
        ),
        phrase(
            "The design is symmetric, {mirror}, but about a line {distance} to the left of the middle: one side "
            "has {n} columns more than the other."
        ),
    ),
    (
        phrase(
            "The design is symmetric, {mirror}, but about a line {distance} to the right of the middle: one side "
            "has {n} column more than the other."
        ),
        phrase(
            "The design is symmetric, {mirror}, but about a line {distance} to the right of the middle: one side "
            "has {n} columns more than the other."
        ),
    ),
)
_BESIDE_ALONG = (
    (
        phrase(
            "The design is symmetric, {mirror}, but about a line {distance} below the middle: one half has {n} "
            "row more than the other."
        ),
        phrase(
            "The design is symmetric, {mirror}, but about a line {distance} below the middle: one half has {n} "
            "rows more than the other."
        ),
    ),
    (
        phrase(
            "The design is symmetric, {mirror}, but about a line {distance} above the middle: one half has {n} "
            "row more than the other."
        ),
        phrase(
            "The design is symmetric, {mirror}, but about a line {distance} above the middle: one half has {n} "
            "rows more than the other."
        ),
    ),
)


def _beside(knot_map: KnotMap, mirror: Reflection, off: int) -> Finding:
    rows, columns = knot_map.rows, knot_map.columns
    middle = (columns if mirror is LEFT_RIGHT else rows) + off
    edge = min(abs(off), columns if mirror is LEFT_RIGHT else rows)
    if mirror is LEFT_RIGHT:
        place = (0, rows, 0, edge) if off > 0 else (0, rows, columns - edge, columns)
    else:
        place = (0, edge, 0, columns) if off > 0 else (rows - edge, rows, 0, columns)
    distance = later("1 knot") if abs(off) == 2 else later("{knots:g} knots", knots=abs(off) / 2)
    sentences = _BESIDE_ACROSS if mirror is LEFT_RIGHT else _BESIDE_ALONG
    axis = phrase("axis at column {axis:g}") if mirror is LEFT_RIGHT else phrase("axis at row {axis:g}")
    return Finding(
        later_n(*sentences[off > 0], abs(off), mirror=later(mirror.words), distance=distance),
        later(axis, axis=middle / 2 + 0.5),
        "warning",
        (place,),
    )
