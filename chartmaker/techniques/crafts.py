"""The crafts by name, and the one in which a given rug is made."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from chartmaker.ground.language import in_dialect
from chartmaker.knots.strips import seats_of
from chartmaker.order.rug import Rug, Technique
from chartmaker.order.workshop import Workshop
from chartmaker.techniques.craft import Craft
from chartmaker.techniques.handloomed import HandLoomed
from chartmaker.techniques.knotted import KNOTTED
from chartmaker.techniques.tufted import Tufted

CRAFTS: dict[Technique, Craft] = {craft.name: craft for craft in (KNOTTED, Tufted(), HandLoomed())}


def craft_of(rug: Rug) -> Craft:
    """Return the craft that a rug is made in."""
    return CRAFTS[rug.technique]


def hands_of(rug: Rug, workshop: Workshop) -> tuple[range, ...]:
    """Return the columns of everyone who works at a rug, by number, each numbered from the left as they see it.

    Who works along a pattern from the back has the rug's last columns at the left.
    """
    seats = seats_of(rug, workshop)
    mirrored = craft_of(rug).by_colour and workshop.pattern.side == "back"
    return seats[::-1] if mirrored else seats


@contextmanager
def spoken_of(rug: Rug) -> Iterator[None]:
    """Let all that is said while the context lasts be said as the rug's craft says it: tufts for knots."""
    with in_dialect(craft_of(rug).dialect):
        yield
