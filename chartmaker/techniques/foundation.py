"""The foundation that holds the pile: warp and weft, and the size of the rug on the loom."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from chartmaker.ground.basis import Assumption, Reached
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import Told, phrase, told
from chartmaker.ground.lengths import cm_words
from chartmaker.ground.ranges import Range, total
from chartmaker.ground.sentence import Words, later, later_n
from chartmaker.ground.units import INCH_MM, YarnCount
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Loom, Workshop
from chartmaker.techniques.yarnsize import check_warp, check_weft, default_warp, default_weft, diameter_mm

#: The fringe and the kilim at each end if they are not given (common practice).
FRINGE_MM, KILIM_MM = 100.0, 20.0
#: Weft take-up if it is not given: 10 to 15 % (published ranges for knotted rugs).
TAKE_UP_LOW, TAKE_UP_HIGH = 0.10, 0.15


@dataclass(frozen=True)
class Material:
    """A part of the ground that is bought by mass or by area; `price_key` is the key of its price in [cost].

    `in_rug_g` is what of it is in the finished rug, where that is told for each material.
    """

    what: str
    price_key: str
    mass_g: Range | None = None
    area_m2: float | None = None
    in_rug_g: Range | None = None


@dataclass(frozen=True)
class Wefts:
    """The weft by its place in the rug, in metres on the loom.

    `knots_m` lies between the rows of knots, and `thin_m` is the part of it in the thin weft; `outside_m` fills the
    ground outside an outline, and `kilim_m` weaves the kilim at both ends.
    """

    knots_m: Range
    thin_m: Range
    outside_m: Range
    kilim_m: Range

    def times(self, factor: float) -> Wefts:
        return Wefts(*(part.times(factor) for part in (self.knots_m, self.thin_m, self.outside_m, self.kilim_m)))


NO_WEFT = Wefts(*[Range.exact(0.0)] * 4)


@dataclass(frozen=True)
class Foundation:
    """What holds the pile, with the size that the rug has on the loom or in the frame.

    `warp_end_m` is the length of one end, and `warp_length_m` that of all ends. `weft_length_m` and `weft_mass_g` are
    the thick and the thin weft together, which `wefts` gives apart. `in_rug_g` is the warp and the weft in the finished
    rug with its fringes. `reed` is the reed of a hand loom by its ends on two inches. A tufted rug has
    `backing_cloth_m2` instead of warp and weft. `materials` are the parts that are bought.
    """

    loom_width_mm: float
    loom_length_mm: float
    warp_pitch_mm: float
    knots_across_per_dm: float
    rows_per_dm: float
    warp: YarnCount
    weft: YarnCount
    thin_weft: YarnCount | None
    warp_ends: int
    warp_end_m: float
    warp_length_m: float
    warp_mass_g: float
    weft_rows: int
    picks: int
    thin_picks: int
    outside_picks: int
    wefts: Wefts
    weft_length_m: Range
    weft_mass_g: Range
    in_rug_g: Range
    backing_cloth_m2: float
    materials: tuple[Material, ...]
    reached: tuple[Reached, ...]
    assumptions: tuple[Assumption, ...]
    findings: tuple[Finding, ...]
    reed: float = 0.0

    @property
    def thin_mass_g(self) -> Range:
        """The mass of the thin weft, a part of the weft."""
        return self.wefts.thin_m.times(float(self.thin_weft.tex) / 1000 if self.thin_weft else 0.0)


def density_words(ground: Foundation) -> Told:
    """Return the density on the loom in both systems, because rugs ordered in inches are set up by metric reeds too."""
    across, along = ground.knots_across_per_dm, ground.rows_per_dm
    return told(
        "{across:.2f} knots x {along:.2f} rows per dm, {across_inch:.2f} x {along_inch:.2f} per inch",
        across=across,
        along=along,
        across_inch=across * float(INCH_MM) / 100,
        along_inch=along * float(INCH_MM) / 100,
    )


def on_the_loom(finished: float, shrinkage: float) -> float:
    """Return what must be woven so that `finished` is left after a share `shrinkage` is lost.

    woven = finished / (1 - s): finished 10 inch at 20 % takes 12.5 inch, not 12 (cnch.org, p=13821).
    """
    return finished / (1 - shrinkage)


def warp_end_m(loom_length_mm: float, fringe_mm: float, kilim_mm: float, loom_waste_mm: float) -> float:
    """Return the length of one warp end: the rug on the loom, a kilim and a fringe at each end, and the loom waste."""
    return (loom_length_mm + 2 * (fringe_mm + kilim_mm) + loom_waste_mm) / 1000


def weft_length_m(rows: int, picks: int, loom_width_mm: float, take_up: float) -> float:
    """Return rows x passes x width x (1 + take-up)."""
    return rows * picks * loom_width_mm / 1000 * (1 + take_up)


def end_mm(given: Fraction | None, usual_mm: float, rug: Rug) -> float:
    """Return a fringe or kilim end: the given one, or else the usual one, or none on an outlined rug."""
    if given is not None:
        return float(given)
    return usual_mm if rug.shape == "rectangle" else 0.0


def filling_picks(weft: YarnCount, picks: int, rug: Rug) -> int:
    """Return how many passes of `weft` fill a row without knots: the row's height over the weft's diameter."""
    return max(picks, round(float(rug.density.knot_height_mm) / diameter_mm(float(weft.tex), "cotton")))


def _default(given: bool, key: str, value: Words, why: Words, *, published: bool = False) -> list[Assumption]:
    return [] if given else [Assumption(key, value, why, "published" if published else "common practice")]


def _assumptions(rug: Rug, loom: Loom, warp: YarnCount, weft: YarnCount, outside_picks: int) -> tuple[Assumption, ...]:
    given = loom.model_fields_set
    assumed: list[Assumption] = []
    for key, value, yarn in (("[loom] warp", loom.warp, warp), ("[loom] weft", loom.weft, weft)):
        if value is None:
            why = later("fits the density as in a published warping (Ahrari 1726, 1819), scaled")
            assumed.append(Assumption(key, later("cotton, {count}", count=yarn.notation), why, "estimate"))
    why = later("there are 1 to 4 passes per row, and usually 2")
    assumed += _default("picks" in given, "[loom] picks", str(loom.picks), why)
    why = later("the weft bends round the warps, which takes up 10 to 15 %")
    assumed += _default("take_up" in given, "[loom] take_up", f"{loom.take_up * 100:g} %", why, published=True)
    selvedge = later_n("{n} end", "{n} ends", loom.selvedge_ends)
    assumed += _default("selvedge_ends" in given, "[loom] selvedge", selvedge, later("both edges together"))
    return (*assumed, *_end_assumptions(rug, loom, outside_picks), *shrinkage_assumptions(loom))


def _end_assumptions(rug: Rug, loom: Loom, outside_picks: int) -> list[Assumption]:
    """Return what is assumed at the ends of the rug and outside its outline."""
    assumed: list[Assumption] = []
    fringe = later("{length} each end", length=cm_words(end_mm(loom.fringe_mm, FRINGE_MM, rug)))
    kilim = later("{length} each end", length=cm_words(end_mm(loom.kilim_mm, KILIM_MM, rug)))
    waste = cm_words(loom.loom_waste_mm)
    published = later(
        "the warp is up to 60 cm longer than the rug, for fringes, kilim ends and loom waste together (Ahrari 1726)"
    )
    if rug.shape == "rectangle":
        assumed += _default(loom.fringe_mm is not None, "[loom] fringe", fringe, published, published=True)
        assumed += _default(
            loom.kilim_mm is not None, "[loom] kilim", kilim, later("a flat-woven band that holds the knots at the end")
        )
    else:
        why = later("a rug with an outline of its own is cut out of plain ground, and its edge is turned back")
        assumed += _default(loom.fringe_mm is not None, "[loom] fringe", fringe, why)
        assumed += _default(loom.kilim_mm is not None, "[loom] kilim", kilim, why)
        why = later("as many passes as fill the height of a row without knots, from the weft's diameter")
        if loom.outside_picks is None:
            assumed.append(Assumption("[loom] outside_picks", str(outside_picks), why, "estimate"))
    assumed += _default("loom_waste_mm" in loom.model_fields_set, "[loom] loom_waste", waste, published, published=True)
    return assumed


def shrinkage_assumptions(loom: Loom) -> list[Assumption]:
    """Return the shrinkages that are assumed if none is given."""
    given = loom.model_fields_set
    why = later("no loss or gain in washing and stretching is assumed until one is measured on a finished rug")
    return [
        Assumption(f"[loom] {key}", "0 %", why, "estimate")
        for key in ("shrinkage_across", "shrinkage_along")
        if key not in given
    ]


def _reached(wefts: Wefts, foundation_picks: int, outside_picks: int) -> tuple[Reached, ...]:
    reached = [
        Reached(later("size on the loom"), later("finished / (1 - shrinkage), each way (cnch.org 13821)"), "published"),
        Reached(later("warp ends"), later("2 x knots across + [loom] selvedge (Ahrari 1726)"), "published"),
        Reached(
            later("warp length"),
            later("ends x (length on the loom + 2 x (fringe + kilim) + loom waste)"),
            "arithmetic",
        ),
        Reached(
            later("weft between knots"),
            later("rows x {picks} x width on the loom inside the outline x (1 + take-up)", picks=foundation_picks),
            "arithmetic",
        ),
    ]
    if wefts.outside_m.best:
        how = later("rows x {picks} x width on the loom outside the outline x (1 + take-up)", picks=outside_picks)
        reached.append(Reached(later("weft outside the outline"), how, "arithmetic"))
    if wefts.kilim_m.best:
        how = later("2 x kilim / diameter of the weft x width on the loom x (1 + take-up)")
        reached.append(Reached(later("weft of the kilim ends"), how, "estimate"))
    how = later("metres x tex / 1000; take-up in plying is left out (ASTM D2260)")
    return (*reached, Reached(later("warp and weft mass"), how, "published"))


def _wefts(rug: Rug, loom: Loom, weft: YarnCount, width_mm: float, inside_share: float, outside_picks: int) -> Wefts:
    """Return the weft by its place in the rug."""
    if "take_up" in loom.model_fields_set:
        take_ups = (loom.take_up, loom.take_up, loom.take_up)
    else:
        take_ups = (TAKE_UP_LOW, loom.take_up, TAKE_UP_HIGH)
    one_pass_a_row = Range(*(weft_length_m(rug.rows, 1, width_mm, take_up) for take_up in take_ups))
    kilim_passes = 2 * end_mm(loom.kilim_mm, KILIM_MM, rug) / diameter_mm(float(weft.tex), "cotton")
    return Wefts(
        knots_m=one_pass_a_row.times(loom.picks * inside_share),
        thin_m=one_pass_a_row.times(_thin_picks(loom) * inside_share),
        outside_m=one_pass_a_row.times(outside_picks * (1 - inside_share)),
        kilim_m=one_pass_a_row.times(kilim_passes / rug.rows),
    )


def _thin_picks(loom: Loom) -> int:
    return (loom.thin_picks or 1) if loom.thin_weft is not None else 0


def foundation_of(rug: Rug, workshop: Workshop, inside_share: float = 1.0) -> Foundation:
    """Return the foundation of a knotted rug.

    Parameters
    ----------
    rug : Rug
    workshop : Workshop
    inside_share : float
        The share of the grid's cells inside the rug's outline; the rest is woven plain and cut away.

    Raises
    ------
    RugError
        If warp or weft is too thick for the density.
    """
    loom = workshop.loom
    warp = loom.warp or default_warp(rug.density)
    weft = loom.weft or default_weft(rug.density, loom.picks)
    thin = weft if loom.thin_weft is None else loom.thin_weft
    level = check_warp(warp, rug.density)
    check_weft(weft, rug.density)
    width_mm = on_the_loom(float(rug.woven_width_mm), loom.shrinkage_across)
    length_mm = on_the_loom(float(rug.woven_length_mm), loom.shrinkage_along)
    ends = 2 * rug.columns + loom.selvedge_ends
    fringe_mm, kilim_mm = end_mm(loom.fringe_mm, FRINGE_MM, rug), end_mm(loom.kilim_mm, KILIM_MM, rug)
    end_m = warp_end_m(length_mm, fringe_mm, kilim_mm, float(loom.loom_waste_mm))
    outside_picks = loom.outside_picks or filling_picks(weft, loom.picks, rug)
    wefts = _wefts(rug, loom, weft, width_mm, inside_share, outside_picks)
    thick_g, thin_g = float(weft.tex) / 1000, float(thin.tex) / 1000
    in_knots_g = total((wefts.knots_m.times(thick_g), wefts.thin_m.times(thin_g - thick_g)))
    weft_mass_g = total((in_knots_g, wefts.outside_m.times(thick_g), wefts.kilim_m.times(thick_g)))
    warp_mass_g = warp.mass_g(ends * end_m)
    if rug.shape == "rectangle":
        warp_in_rug_g = warp_mass_g * (1 - float(loom.loom_waste_mm) / 1000 / end_m)
    else:  # the rug is cut out along its edge
        warp_in_rug_g = warp.mass_g(2 * rug.columns * length_mm / 1000) * inside_share
    depressed = Finding(
        later("The warp is thicker than its pitch: it needs depressed warps, or a finer yarn."), "[loom] warp", "note"
    )
    return Foundation(
        loom_width_mm=width_mm,
        loom_length_mm=length_mm,
        warp_pitch_mm=width_mm / (2 * rug.columns),
        knots_across_per_dm=rug.columns * 100 / width_mm,
        rows_per_dm=rug.rows * 100 / length_mm,
        warp=warp,
        weft=weft,
        thin_weft=loom.thin_weft,
        warp_ends=ends,
        warp_end_m=end_m,
        warp_length_m=ends * end_m,
        warp_mass_g=warp_mass_g,
        weft_rows=rug.rows,
        picks=loom.picks,
        thin_picks=_thin_picks(loom),
        outside_picks=outside_picks,
        wefts=wefts,
        weft_length_m=total((wefts.knots_m, wefts.outside_m, wefts.kilim_m)),
        weft_mass_g=weft_mass_g,
        in_rug_g=total((in_knots_g, wefts.kilim_m.times(thick_g), Range.exact(warp_in_rug_g))),
        backing_cloth_m2=0.0,
        materials=(
            Material(phrase("warp"), "warp_per_kg", mass_g=Range.exact(warp_mass_g)),
            Material(phrase("weft"), "weft_per_kg", mass_g=weft_mass_g),
        ),
        reached=_reached(wefts, loom.picks, outside_picks),
        assumptions=_assumptions(rug, loom, warp, weft, outside_picks),
        findings=() if level else (depressed,),
    )
