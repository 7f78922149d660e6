"""The yarn that overcasts the sides of a rug, counted so that the border's yarn does not run short."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from chartmaker.figures.pile import main_yarn
from chartmaker.ground.basis import Assumption, Reached
from chartmaker.ground.errors import RugError
from chartmaker.ground.language import say
from chartmaker.ground.lengths import cm_words
from chartmaker.ground.sentence import later
from chartmaker.knots.knotmap import KnotMap
from chartmaker.knots.outline import edge_length_mm
from chartmaker.order.workshop import Workshop
from chartmaker.techniques.crafts import craft_of
from chartmaker.techniques.yarnsize import default_warp, diameter_mm

#: The width of an overcast edge where it is not given (common practice).
BINDING_MM = 5.0

_KEY = "[loom] binding"


@dataclass(frozen=True)
class Binding:
    """The side binding: the index of its yarn in the map, and the metres as bound, counting every strand."""

    yarn: int
    net_length_m: float
    reached: tuple[Reached, ...]
    assumptions: tuple[Assumption, ...]


NO_BINDING = Binding(0, 0.0, (), ())


def _edge_yarn(knot_map: KnotMap) -> int:
    """Return the yarn with the most knots in the first and the last column together."""
    edges = np.concatenate([knot_map.knots[:, 0], knot_map.knots[:, -1]])
    counts = np.bincount(edges[edges < len(knot_map.yarns)], minlength=len(knot_map.yarns))
    return int((counts if counts.any() else knot_map.counts).argmax())


def binding_of(knot_map: KnotMap, workshop: Workshop) -> Binding:
    """Return the side binding of a rug whose craft has one.

    The turns of yarn lie side by side along the edge, and each goes once round the binding: its width and the diameters
    of warp and yarn, there and back. This is the project's own estimate.

    Raises
    ------
    RugError
        If the yarn that is to bind is not in the map.
    """
    rug, loom = knot_map.rug, workshop.loom
    codes = [yarn.code for yarn in knot_map.yarns]
    if loom.binding_yarn is not None and loom.binding_yarn not in codes:
        message = say("this rug has no yarn {code}; it has {codes}", code=loom.binding_yarn, codes=", ".join(codes))
        raise RugError(message, where="[loom] binding_yarn")
    if not craft_of(rug).bound or not knot_map.tied:
        return NO_BINDING
    usual_mm = BINDING_MM if rug.shape == "rectangle" else 0.0
    width_mm = usual_mm if loom.binding_mm is None else float(loom.binding_mm)
    if rug.shape == "rectangle":
        why = later("the sides are overcast; the yarn for that is counted with the border's")
    else:
        why = later("the edge of an outlined rug is turned back; give a width if it is overcast")
    assumed = [] if loom.binding_mm is not None else [Assumption(_KEY, cm_words(width_mm), why, "common practice")]
    if not width_mm:
        return Binding(0, 0.0, (), tuple(assumed))
    index = _edge_yarn(knot_map) if loom.binding_yarn is None else codes.index(loom.binding_yarn)
    if loom.binding_yarn is None:
        reason = later("it ties the most knots along the sides")
        assumed.append(Assumption("[loom] binding_yarn", codes[index], reason, "estimate"))
    yarn, strands = knot_map.yarns[index], workshop.pile.strands
    yarn_mm = diameter_mm(float((yarn.count or main_yarn(rug, workshop)).tex) * strands, yarn.fibre)
    warp_mm = diameter_mm(float((loom.warp or default_warp(rug.density)).tex), "cotton")
    turns = edge_length_mm(knot_map) / yarn_mm
    how = later("length of the bound edges / yarn diameter x 2 x (binding width + warp diameter + yarn diameter)")
    metres = turns * 2 * (width_mm + warp_mm + yarn_mm) / 1000 * strands
    return Binding(index, metres, (Reached(later("side binding"), how, "estimate"),), tuple(assumed))
