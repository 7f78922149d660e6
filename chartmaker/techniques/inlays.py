"""What is tufted into a rug afterwards, because no loom of its craft can weave it."""

from __future__ import annotations

import numpy as np

from chartmaker.knots.bands import banded
from chartmaker.knots.knotmap import NO_KNOT, KnotMap, without_unused
from chartmaker.order.workshop import Workshop
from chartmaker.techniques.crafts import craft_of


def inlay_of(knot_map: KnotMap, workshop: Workshop) -> KnotMap | None:
    """Return the free pattern on a rug's bands as a map of its own, empty where bands show, or None."""
    along = craft_of(knot_map.rug).one_yarn_along(workshop.loom)
    if along is None:
        return None
    free = banded(knot_map.knots, columns=along == "column").free
    if not free.any():
        return None
    knots = np.where(free.T if along == "column" else free, knot_map.knots, np.uint16(NO_KNOT))
    return without_unused(KnotMap(knots, knot_map.yarns, knot_map.rug))


def as_tufted(inlay: KnotMap) -> KnotMap:
    """Return an inlay as what it is, a tufted rug of its own, for the yarn and the work that it takes."""
    return KnotMap(inlay.knots, inlay.yarns, inlay.rug.model_copy(update={"technique": "tufted"}))
