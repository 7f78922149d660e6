"""Warp, weft and backing cloth, reckoned anew from the size, the density and the loom's settings."""

from __future__ import annotations

from dataclasses import dataclass

from chartmaker.ground.ranges import Range, total
from chartmaker.ground.units import YarnCount
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Workshop
from chartmaker.techniques.crafts import craft_of
from chartmaker.verify.recount.pile import is_tufted, plain_warp, plain_weft, thick_mm

#: The fringe and the flat-woven band at each end, in millimetres; the waves of the weft take 10 to 15 % (published).
FRINGE_MM, KILIM_MM = 100.0, 20.0
LEAST_WAVES, MOST_WAVES = 0.10, 0.15
#: The mass of cloth, latex and second cloth may be off by this much where it is not given (estimate).
BACKING_OFF = 0.20


@dataclass(frozen=True)
class Bought:
    """A part of the ground with its name, the grams or square metres to buy, and the grams in the rug where told."""

    what: str
    mass_g: Range | None = None
    area_m2: float | None = None
    in_rug_g: Range | None = None


@dataclass(frozen=True)
class Ground:
    """What holds the pile, and the size on the loom; a rug on a backing cloth has 0 for all of warp and weft.

    Attributes
    ----------
    knots_m, thin_m, outside_m, kilim_m : Range
        The weft between knots, the thin part of it, the weft outside the outline, and that of the flat-woven ends.
    in_rug_g : Range
        What stays in the finished rug.
    """

    loom_width_mm: float
    loom_length_mm: float
    warp_pitch_mm: float
    warp: YarnCount
    weft: YarnCount
    thin_weft: YarnCount | None
    warp_ends: int
    warp_end_m: float
    warp_mass_g: float
    weft_rows: int
    picks: int
    thin_picks: int
    outside_picks: int
    knots_m: Range
    thin_m: Range
    outside_m: Range
    kilim_m: Range
    weft_mass_g: Range
    thin_mass_g: Range
    in_rug_g: Range
    backing_cloth_m2: float
    materials: tuple[Bought, ...]
    reed: float = 0.0

    @property
    def warp_length_m(self) -> float:
        return self.warp_ends * self.warp_end_m

    @property
    def weft_length_m(self) -> Range:
        return total((self.knots_m, self.outside_m, self.kilim_m))


def _cloth(rug: Rug, workshop: Workshop, width_mm: float, length_mm: float, inside: float) -> Ground:
    """Return a backing cloth with its margins, and the latex and second cloth behind the rug itself."""
    loom, none = workshop.loom, Range.exact(0.0)
    margin_mm = 2 * float(loom.backing_margin_mm)
    cloth_m2 = (width_mm + margin_mm) * (length_mm + margin_mm) / 1e6
    place_mm2 = float(rug.density.knot_width_mm * rug.density.knot_height_mm)
    inside_m2 = rug.columns * rug.rows * place_mm2 * inside / 1e6
    cloth, latex, second = (
        Range.around(inside_m2 * float(getattr(loom, key)), 0.0 if key in loom.model_fields_set else BACKING_OFF)
        for key in ("cloth_per_m2_g", "latex_per_m2_g", "second_backing_per_m2_g")
    )
    return Ground(
        width_mm,
        length_mm,
        0.0,
        plain_warp(rug, workshop),
        plain_weft(rug, workshop),
        None,
        *(0, 0.0, 0.0, 0, 0, 0, 0),
        *(none, none, none, none, none, none),
        in_rug_g=total((cloth, latex, second)),
        backing_cloth_m2=cloth_m2,
        materials=(
            Bought("backing cloth", None, cloth_m2, cloth),
            Bought("latex", latex, None, latex),
            Bought("second backing", None, inside_m2, second),
        ),
    )


def ground_of(rug: Rug, workshop: Workshop, inside: float) -> Ground:
    """Return the ground of a rug that has the share `inside` of its cells inside its outline."""
    loom = workshop.loom
    width_mm = rug.columns * float(rug.density.knot_width_mm) / (1 - loom.shrinkage_across)
    length_mm = rug.rows * float(rug.density.knot_height_mm) / (1 - loom.shrinkage_along)
    if is_tufted(rug, workshop):
        return _cloth(rug, workshop, width_mm, length_mm, inside)
    warp, weft, thin = plain_warp(rug, workshop), plain_weft(rug, workshop), loom.thin_weft
    rectangle = rug.shape == "rectangle"
    fringe, kilim = (
        float(given) if given is not None else usual * rectangle
        for given, usual in ((loom.fringe_mm, FRINGE_MM), (loom.kilim_mm, KILIM_MM))
    )
    waste_m = float(loom.loom_waste_mm) / 1000
    end_m = (length_mm + 2 * fringe + 2 * kilim) / 1000 + waste_m
    ends = 2 * rug.columns + loom.selvedge_ends
    weft_mm = thick_mm(float(weft.tex), "cotton")
    outside = loom.outside_picks or max(loom.picks, round(float(rug.density.knot_height_mm) / weft_mm))
    thin_picks = 0 if thin is None else loom.thin_picks or 1
    given = "take_up" in loom.model_fields_set
    waves = (loom.take_up, loom.take_up, loom.take_up) if given else (LEAST_WAVES, loom.take_up, MOST_WAVES)
    a_pass = Range(*(width_mm / 1000 * (1 + each) for each in waves))
    knots_m, thin_m = a_pass.times(rug.rows * loom.picks * inside), a_pass.times(rug.rows * thin_picks * inside)
    outside_m, kilim_m = a_pass.times(rug.rows * outside * (1 - inside)), a_pass.times(2 * kilim / weft_mm)
    thick_g = float(weft.tex) / 1000
    thin_g = thick_g if thin is None else float(thin.tex) / 1000
    tied_g = total((knots_m.times(thick_g), thin_m.times(thin_g - thick_g)))
    kilim_g, warp_g = kilim_m.times(thick_g), ends * end_m * float(warp.tex) / 1000
    tied_ends, pitch_mm, reed = ends, width_mm / rug.columns / 2, 0.0
    if not craft_of(rug).by_rows:  # the reed, and not the knots, says how many ends there are
        reed = loom.reed
        ends = round(width_mm * reed / 50.8) + loom.selvedge_ends
        pitch_mm = width_mm / ends
    weft_g = total((tied_g, outside_m.times(thick_g), kilim_g))
    if rectangle:
        stays_g = warp_g * (end_m - waste_m) / end_m
    else:  # cut out along its edge
        stays_g = 2 * rug.columns * length_mm / 1000 * float(warp.tex) / 1000 * inside
    more = ends / tied_ends
    stays_g += warp_g * (end_m - waste_m) / end_m * (more - 1)
    warp_g *= more
    return Ground(
        loom_width_mm=width_mm,
        loom_length_mm=length_mm,
        warp_pitch_mm=pitch_mm,
        warp=warp,
        weft=weft,
        thin_weft=thin,
        warp_ends=ends,
        warp_end_m=end_m,
        warp_mass_g=warp_g,
        weft_rows=rug.rows,
        picks=loom.picks,
        thin_picks=thin_picks,
        outside_picks=outside,
        knots_m=knots_m,
        thin_m=thin_m,
        outside_m=outside_m,
        kilim_m=kilim_m,
        weft_mass_g=weft_g,
        thin_mass_g=thin_m.times(thin_g if thin is not None else 0.0),
        in_rug_g=total((tied_g, kilim_g, Range.exact(stays_g))),
        backing_cloth_m2=0.0,
        materials=(Bought("warp", Range.exact(warp_g)), Bought("weft", weft_g)),
        reed=reed,
    )
