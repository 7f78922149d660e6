"""What the motifs of each kind ask for: one drawing, stamped at the place of every member that it suits."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.artwork.artwork import ByteArray
from chartmaker.artwork.cells import Cells, Whole
from chartmaker.convert.motifs.drawing import Member, Pattern, are_equal, drawing_of, member_of, place_of
from chartmaker.convert.motifs.finding import Motif
from chartmaker.convert.motifs.likeness import Kind, shape_of, turned
from chartmaker.convert.motifs.stamping import Stamp, stamp_of
from chartmaker.convert.motifs.strokes import Stroke

#: Motifs of a kind that the drawing of most does not suit share another one; there are at most so many.
MOST_DRAWINGS = 3


@dataclass(frozen=True, eq=False)
class Asking:
    """A kind with its motifs, the inks and strokes that they have, and how many pieces of each ink, without dust.

    Each of them `bears` so many invented knots if it equals its like by that. Drawings that were `refused` are no use.
    """

    kind: Kind
    motifs: tuple[Motif, ...]
    inks: tuple[int, ...]
    strokes: tuple[Stroke, ...]
    pieces: Counter[int]
    bears: int
    refused: tuple[Pattern, ...] = ()


@dataclass(frozen=True, eq=False)
class Asked:
    """What a kind asks for: whether its motifs are equal already, or else their stamps.

    `whose`, one for each stamp, is the number of the motif within the kind, and `drawing` that of its drawing.
    """

    equal: bool
    stamps: tuple[Stamp, ...] = ()
    whose: tuple[int, ...] = ()
    drawing: tuple[int, ...] = ()
    drawings: tuple[Pattern, ...] = ()

    @property
    def invented(self) -> int:
        """How many knots the stamps invent."""
        return sum(stamp.invented for stamp in self.stamps)


def all_asked(askings: Sequence[Asking], knots: NDArray[np.int16], plane: ByteArray, cells: Cells) -> list[Asked]:
    """Return what each of some kinds asks for, which does not depend on what the others do."""
    pixels = cells.down.pixel_edges(), cells.across.pixel_edges()
    return [_asked(asking, knots, plane, cells, pixels) for asking in askings]


def shared_out(askings: Sequence[Asking], most_motifs: int) -> Iterator[list[Asking]]:
    """Yield the kinds in their order, together as long as they have no more than so many motifs."""
    group, motifs = list[Asking](), 0
    for asking in askings:
        if group and motifs + len(asking.motifs) > most_motifs:
            yield group
            group, motifs = [], 0
        group.append(asking)
        motifs += len(asking.motifs)
    if group:
        yield group


def _asked(
    asking: Asking, knots: NDArray[np.int16], plane: ByteArray, cells: Cells, pixels: tuple[Whole, Whole]
) -> Asked:
    """Return what one kind asks for."""
    members = [
        member_of(motif, turn, asking.inks, cells, pixels, knots, asking.strokes, bears=asking.bears)
        for motif, turn in zip(asking.motifs, asking.kind.turns, strict=True)
    ]
    if are_equal(asking.kind, members):
        return Asked(equal=True)
    stamps, whose, of_drawing, drawings = list[Stamp](), list[int](), list[int](), list[Pattern]()
    waiting = list(enumerate(members))
    for drawing in range(MOST_DRAWINGS):
        pattern = drawing_of(asking.kind, [m for _, m in waiting], asking.pieces, asking.refused) if waiting else None
        if pattern is None:
            break
        drawings.append(pattern)
        left = list[tuple[int, Member]]()
        for number, member in waiting:
            mine = turned(pattern, member.turn)
            place = place_of(member, mine)
            if place is None or not member.suits(mine, place):
                left.append((number, member))
                continue
            stamp = stamp_of(member, mine, place, plane, cells)
            if stamp is not None:
                stamps.append(stamp)
                whose.append(number)
                of_drawing.append(drawing)
        # That shape decides which comes first is the same whichever way up the artwork lies.
        waiting = sorted(left, key=lambda one: shape_of(one[1].motif.inks))
    return Asked(False, tuple(stamps), tuple(whose), tuple(of_drawing), tuple(drawings))
