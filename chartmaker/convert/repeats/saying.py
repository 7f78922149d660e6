"""What the order says that repeats: each of its boxes holds in the part of the drawing in which most of it lies."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from chartmaker.convert.repeats.frames import Box, Layout, Side
from chartmaker.ground.errors import RugError
from chartmaker.ground.language import say

#: A part of a drawing: a side of a border by its band and its name, or the field.
Part = tuple[int, Side] | None


@dataclass(frozen=True)
class Said:
    """A box of the order in pixels with its number, counted from 1, and the part in which it lies, the field if none.

    A box that is `alone` may be said of the whole drawing, wherever it lies.
    """

    number: int
    box: Box
    part: Part
    alone: bool

    @property
    def all_over_px(self) -> tuple[int, int] | None:
        """The height and the width of a repeat that may be one of the whole drawing."""
        return (round(self.box.height), round(self.box.width)) if self.alone or self.part is None else None

    @property
    def length_px(self) -> int:
        """How long a repeat is along its side of a border."""
        return round(self.box.width if self.part is not None and self.part[1] in ("top", "bottom") else self.box.height)


def said_in(boxes: Sequence[Box], layout: Layout, least_px: tuple[float, float]) -> tuple[Said, ...]:
    """Return where boxes lie; borders are at least so high and so wide, and what lies in none counts as in the field.

    Raises
    ------
    RugError
        If two of them lie in one part.
    """
    runs, found = layout.runs(least_px), list[Said]()
    for number, box in enumerate(boxes, start=1):
        part = next(((run.band, run.side) for run in runs if 2 * box.shared(run.box) > box.area), None)
        for other in (said.number for said in found if said.part == part):
            message = say(
                "[[repeat]] {other} and [[repeat]] {number} lie in the same part of the drawing, which has one repeat: "
                "leave one of them out",
                other=other,
                number=number,
            )
            raise RugError(message, where="[[repeat]] box")
        found.append(Said(number, box, part, len(boxes) == 1))
    return tuple(found)
