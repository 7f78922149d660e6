"""The crafts by their names, and which of them a rug is made in."""

from __future__ import annotations

from chartmaker.order.rug import Rug, Technique
from chartmaker.techniques.craft import Craft
from chartmaker.techniques.knotted import Knotted
from chartmaker.techniques.tufted import Tufted

CRAFTS: dict[Technique, Craft] = {craft.name: craft for craft in (Knotted(), Tufted())}


def craft_of(rug: Rug) -> Craft:
    """Return the craft that a rug is made in."""
    return CRAFTS[rug.technique]
