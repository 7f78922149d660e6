"""The crafts by name, and the one in which a given rug is made."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from chartmaker.ground.language import in_dialect
from chartmaker.order.rug import Rug, Technique
from chartmaker.techniques.craft import Craft
from chartmaker.techniques.handloomed import HandLoomed
from chartmaker.techniques.knotted import KNOTTED
from chartmaker.techniques.tufted import Tufted

CRAFTS: dict[Technique, Craft] = {craft.name: craft for craft in (KNOTTED, Tufted(), HandLoomed())}


def craft_of(rug: Rug) -> Craft:
    """Return the craft that a rug is made in."""
    return CRAFTS[rug.technique]


@contextmanager
def spoken_of(rug: Rug) -> Iterator[None]:
    """Let all that is said while the context lasts be said as the rug's craft says it: tufts for knots."""
    with in_dialect(craft_of(rug).dialect):
        yield
