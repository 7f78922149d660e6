"""What a tufted rug has in place of a foundation."""

from __future__ import annotations

from chartmaker.figures.basis import Assumption, Reached
from chartmaker.figures.foundation import Foundation, _shrinkage_assumptions, on_the_loom
from chartmaker.figures.yarnsize import default_warp, default_weft
from chartmaker.ground.ranges import Range
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Workshop


def backing_of(rug: Rug, workshop: Workshop) -> Foundation:
    """Return the backing cloth of a tufted rug: its size in the frame with a margin on every side."""
    loom = workshop.loom
    width_mm = on_the_loom(float(rug.woven_width_mm), loom.shrinkage_across)
    length_mm = on_the_loom(float(rug.woven_length_mm), loom.shrinkage_along)
    margin_mm = float(loom.backing_margin_mm)
    assumed = _shrinkage_assumptions(loom)
    if "backing_margin_mm" not in loom.model_fields_set:
        why = "cloth to hold in the frame, on every side"
        assumed.append(Assumption("[loom] backing_margin", f"{margin_mm / 10:g} cm", why, "common practice"))
    return Foundation(
        loom_width_mm=width_mm,
        loom_length_mm=length_mm,
        warp_pitch_mm=0.0,
        knots_across_per_dm=rug.columns * 100 / width_mm,
        rows_per_dm=rug.rows * 100 / length_mm,
        warp=loom.warp or default_warp(rug.density),
        weft=loom.weft or default_weft(rug.density, loom.picks),
        warp_ends=0,
        warp_end_m=0.0,
        warp_length_m=0.0,
        warp_mass_g=0.0,
        weft_rows=0,
        picks=0,
        weft_length_m=Range.exact(0.0),
        weft_mass_g=Range.exact(0.0),
        backing_cloth_m2=(width_mm + 2 * margin_mm) * (length_mm + 2 * margin_mm) / 1e6,
        reached=(
            Reached("size in the frame", "finished / (1 - shrinkage), each way", "arithmetic"),
            Reached("backing cloth", "(width + 2 x margin) x (length + 2 x margin)", "arithmetic"),
        ),
        assumptions=tuple(assumed),
        findings=(),
    )
