"""The parts that a design is drawn of: bands of its border with their corners and repeats, and its field."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from chartmaker.artwork.artwork import ByteArray
from chartmaker.colours.labelling import Labels
from chartmaker.convert.laying.keys import LEAST_KNOTS, level_edges, upright_edges
from chartmaker.convert.repeats.finding import FieldRepeat, field_repeat
from chartmaker.convert.repeats.frames import Box, Run, Side, layout_of
from chartmaker.relay.edges import DepthEdge, edges_within
from chartmaker.relay.patterns import Tile, lattice_beside, on_lattice, on_pattern, on_said
from chartmaker.relay.pieces import Pieces, pieces_of
from chartmaker.relay.said import NOTHING_SAID, Said, frames_said
from chartmaker.relay.sides import LEAST_PERIOD_KNOTS, BandSide, lattice_near, side_of

#: So much of each line of pixels along the rim of a field has one ink, if a line is drawn there.
LEAST_LINED = 0.98
#: A band is at most so many times as wide at one side as at another.
MOST_UNEVEN = 4.0
#: Sides: those that run across first.
SIDES: tuple[Side, ...] = ("top", "bottom", "left", "right")


@dataclass(frozen=True)
class Band:
    """What lies between two frames, from the rim inward, with its four sides and the straight edges along them."""

    outer: Box
    inner: Box
    sides: dict[Side, BandSide]
    edges: dict[Side, tuple[DepthEdge, ...]]

    def width(self, side: Side) -> float:
        """Return its width at a side, in pixels."""
        outer, inner = self.outer, self.inner
        return {
            "top": inner.top - outer.top,
            "bottom": outer.bottom - inner.bottom,
            "left": inner.left - outer.left,
            "right": outer.right - inner.right,
        }[side]


@dataclass(frozen=True)
class Parts:
    """A design taken apart, in pixels of the artwork: its bands from the rim inward, and its field.

    The field has a `lattice` if it repeats, `pieces` if some stand in it, and a `tile` of the pattern under them if
    that is not plain; if it has none of these, it is drawn as a whole.
    """

    bands: tuple[Band, ...]
    field: Box
    lattice: FieldRepeat | None
    pieces: Pieces | None
    tile: Tile | None = None


def parts_of(labels: Labels, knot_px: tuple[float, float], said: Said = NOTHING_SAID) -> Parts:
    """Return the parts of a design.

    Parameters
    ----------
    labels : Labels
        The ink of each pixel.
    knot_px : (float, float)
        The height and the width of a knot in pixels.
    said : Said
        What is known of it; all else is found from straight frames, repeats and symmetry.
    """
    inks = labels.first
    height, width = inks.shape
    edges = level_edges(labels, LEAST_KNOTS * knot_px[1]), upright_edges(labels, LEAST_KNOTS * knot_px[0])
    frames = _frames([_whole(frame) for frame in layout_of((height, width), edges, knot_px).frames], knot_px)
    boxes = frames_said(said, frames, edges, knot_px)
    least = LEAST_PERIOD_KNOTS * knot_px[0], LEAST_PERIOD_KNOTS * knot_px[1]
    lattice = _lattice(inks, boxes[-1], least, said)
    if not said.borders and said.field is None:
        if lattice is not None and _beside(lattice.box, boxes[-1]):
            boxes.append(_whole(lattice.box))  # a line along the rim of the field that its motifs break
        elif lattice is None:
            boxes.append(_within_line(inks, boxes[-1]))
    bands = tuple(
        Band(
            outer,
            inner,
            {side: _side(inks, number, side, (outer, inner), knot_px, said) for side in SIDES},
            edges_within(inks, edges, (outer, inner), knot_px),
        )
        for number, (outer, inner) in enumerate(pairwise(dict.fromkeys(boxes)))
    )
    own = np.ascontiguousarray(inks[boxes[-1].window])
    return Parts(bands, boxes[-1], *_field(own, boxes[-1], lattice, knot_px, said))


def _frames(found: list[Box], knot_px: tuple[float, float]) -> list[Box]:
    """Return the frames without those that are much nearer to the last one at some sides than at others.

    Such a frame runs through corner blocks, whose lines go on at one side only.
    """
    kept = found[:1]
    for frame in found[1:]:
        last, (high, wide) = kept[-1], knot_px
        away = (
            (frame.top - last.top) / high,
            (last.bottom - frame.bottom) / high,
            (frame.left - last.left) / wide,
            (last.right - frame.right) / wide,
        )
        if max(away) <= MOST_UNEVEN * min(away):
            kept.append(frame)
    return kept


def _side(
    inks: ByteArray, number: int, side: Side, frames: tuple[Box, Box], knot_px: tuple[float, float], said: Said
) -> BandSide:
    """Return a side of the band between two frames."""
    outer, inner = frames
    box = {
        "top": Box(outer.top, inner.left, inner.top, inner.right),
        "bottom": Box(inner.bottom, inner.left, outer.bottom, inner.right),
        "left": Box(inner.top, outer.left, inner.bottom, inner.left),
        "right": Box(inner.top, inner.right, inner.bottom, outer.right),
    }[side]
    run = Run(number, side, box)
    return side_of(inks, run, knot_px, said.repeat(number, across=run.across))


def _lattice(inks: ByteArray, field: Box, least: tuple[float, float], said: Said) -> FieldRepeat | None:
    """Return what repeats in a field all over it."""
    if said.field_repeat == "none":
        return None
    if said.field_repeat is not None:
        return FieldRepeat(field, lattice_near(np.ascontiguousarray(inks[field.window]), said.field_repeat))
    return field_repeat(inks, field, least)


def _field(
    inks: ByteArray, box: Box, lattice: FieldRepeat | None, knot_px: tuple[float, float], said: Said
) -> tuple[FieldRepeat | None, Pieces | None, Tile | None]:
    """Return what repeats in a field, what stands in it, and the pattern under that."""
    least = LEAST_PERIOD_KNOTS * knot_px[0], LEAST_PERIOD_KNOTS * knot_px[1]
    known = None if lattice is None else lattice.lattice
    if said.pieces is not None:
        if not said.pieces:
            return lattice, None, None
        within = [
            (piece.top - box.top, piece.left - box.left, piece.bottom - box.top, piece.right - box.left)
            for piece in said.pieces
        ]
        repeat, standing, tile = on_said(inks, within, knot_px, known, search=said.field_repeat is None)
        return None if repeat is None else FieldRepeat(box, repeat), standing, tile
    if lattice is not None:
        return lattice, *(on_lattice(inks, lattice.lattice, knot_px) or (None, None))
    pieces = pieces_of(inks, knot_px)
    if pieces is not None:
        return None, pieces, None
    if said.field_repeat != "none":
        found = on_pattern(inks, knot_px, least)
        if found is not None:
            repeat, standing, tile = found
            return None if repeat is None else FieldRepeat(box, repeat), standing, tile
        repeat = lattice_beside(inks, least)
        under = None if repeat is None else on_lattice(inks, repeat, knot_px)
        if repeat is not None and under is not None:
            return FieldRepeat(box, repeat), *under
    return None, None, None


def _within_line(inks: ByteArray, field: Box) -> Box:
    """Return what lies within a line along the rim of a field, which motifs touch so that it bounds no frame."""
    own = inks[field.window]
    ground = int(np.bincount(own.ravel()).argmax())
    deep = []
    for lines in (own, own[::-1], own.T, own[:, ::-1].T):
        ink = int(np.bincount(lines[0]).argmax())
        along = (lines == ink).mean(axis=1) >= LEAST_LINED
        deep.append(0 if ink == ground or along.all() else int(along.argmin()))
    top, bottom, left, right = deep
    if min(deep) == 0 or top + bottom >= own.shape[0] // 4 or left + right >= own.shape[1] // 4:
        return field
    return Box(field.top + top, field.left + left, field.bottom - bottom, field.right - right)


def _beside(inner: Box, outer: Box) -> bool:
    """Whether a box leaves something of another on any side."""
    return not (inner.height > outer.height - 1 and inner.width > outer.width - 1)


def _whole(box: Box) -> Box:
    """Return a box on whole pixels."""
    return Box(*(float(round(edge)) for edge in (box.top, box.left, box.bottom, box.right)))
