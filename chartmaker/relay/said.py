"""What a rug file says of the parts of a drawing, in pixels of the artwork: it goes before what is found."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from chartmaker.convert.laying.keys import Edges
from chartmaker.convert.repeats.frames import Box
from chartmaker.order.layout import Layouting

#: A side of a frame is where it is said to be, or on a straight edge so near to that, in knots.
NEAR_KNOTS = 0.5
#: Such an edge is drawn over at least this share of the side.
LEAST_DRAWN = 0.3
Repeat = float | Literal["found", "none"]


@dataclass(frozen=True)
class Said:
    """What is said of a drawing; None, or nothing, for what is to be found.

    Attributes
    ----------
    borders : tuple of (float, float)
        The widths of its borders from the rim inward, in pixels down and across.
    field : Box, optional
    repeats : tuple of (Repeat, Repeat)
        The lengths of each border's repeat, in pixels down and across.
    field_repeat : (float, float) or "none", optional
        The height and the width of the repeat of the field.
    pieces : tuple of Box, optional
        The boxes of what stands in the field.
    """

    borders: tuple[tuple[float, float], ...] = ()
    field: Box | None = None
    repeats: tuple[tuple[Repeat, Repeat], ...] = ()
    field_repeat: tuple[float, float] | Literal["none"] | None = None
    pieces: tuple[Box, ...] | None = None

    def repeat(self, band: int, *, across: bool) -> Repeat:
        """Return what is said of the repeat of a border, counted from the rim, across or down."""
        return self.repeats[band][across] if band < len(self.repeats) else "found"


NOTHING_SAID = Said()


def said_of(layout: Layouting, px_per_mm: tuple[float, float]) -> Said:
    """Return what [layout] says of a drawing; `px_per_mm` are pixels of a millimetre down and across."""
    down, across = px_per_mm

    def repeat(said: object) -> tuple[Repeat, Repeat]:
        if said == "found" or said == "none":
            return said, said
        return float(said) * down, float(said) * across  # type: ignore[arg-type]

    told = layout.field_repeat
    return Said(
        borders=tuple((float(width) * down, float(width) * across) for width in layout.borders_mm),
        field=None if layout.field_box is None else _box(layout.field_box),
        repeats=tuple(repeat(each) for each in layout.repeats),
        field_repeat=told if told is None or told == "none" else (float(told[1]) * down, float(told[0]) * across),
        pieces=None if layout.pieces is None else tuple(_box(each) for each in layout.pieces),
    )


def _box(said: tuple[int, int, int, int]) -> Box:
    left, top, right, bottom = (float(each) for each in said)
    return Box(top, left, bottom, right)


def frames_said(
    said: Said, found: Sequence[Box], edges: tuple[Edges, Edges], knot_px: tuple[float, float]
) -> list[Box]:
    """Return the frames of a drawing from its rim inward, as they are said, or as `found` where nothing is.

    What is said with a ruler is meant to the next straight edge, if one is near.
    """
    boxes = list(found)
    if said.borders:
        boxes = [found[0]]
        exact = found[0]
        for down, across in said.borders:
            exact = Box(exact.top + down, exact.left + across, exact.bottom - down, exact.right - across)
            boxes.append(_on_edges(exact, edges, knot_px))
    if said.field is not None:
        boxes = [box for box in boxes if said.field.within(box, -0.5) and box != said.field]
        boxes.append(said.field)
    return boxes


def _on_edges(box: Box, edges: tuple[Edges, Edges], knot_px: tuple[float, float]) -> Box:
    """Return a box with each side on the straight edge next to it, or on a whole pixel where none is near."""
    level, upright = edges

    def near(side: float, those: Edges, knot: float, least: float) -> float:
        close = abs(those.place - side) <= NEAR_KNOTS * knot
        best = round(side)
        away = NEAR_KNOTS * knot
        for place in dict.fromkeys(those.place[close].tolist()):
            drawn = those.length[abs(those.place - place) <= 0.5].sum()
            if drawn >= least and abs(place - side) <= away:
                best, away = round(place), abs(place - side)
        return float(best)

    wide, high = LEAST_DRAWN * box.width, LEAST_DRAWN * box.height
    return Box(
        near(box.top, level, knot_px[0], wide),
        near(box.left, upright, knot_px[1], high),
        near(box.bottom, level, knot_px[0], wide),
        near(box.right, upright, knot_px[1], high),
    )
