"""What holds the pile: warp and weft, and the size that the rug has on the loom."""

from __future__ import annotations

from dataclasses import dataclass

from chartmaker.ground.basis import Assumption, Reached
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import phrase
from chartmaker.ground.lengths import cm_words
from chartmaker.ground.ranges import Range
from chartmaker.ground.sentence import Words, later, later_n
from chartmaker.ground.units import YarnCount
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Loom, Workshop
from chartmaker.techniques.yarnsize import check_warp, check_weft, default_warp, default_weft

#: Weft take-up where it is not given: 10 to 15 % (published ranges for knotted rugs).
TAKE_UP_LOW, TAKE_UP_HIGH = 0.10, 0.15


@dataclass(frozen=True)
class Material:
    """A part of the ground that is bought by mass or by area; `price_key` is the key of its price in [cost]."""

    what: str
    price_key: str
    mass_g: Range | None = None
    area_m2: float | None = None


@dataclass(frozen=True)
class Foundation:
    """What holds the pile, with the size that the rug has on the loom or in the frame.

    `warp_end_m` is one end, and `warp_length_m` all of them. A tufted rug has no warp and no weft, but
    `backing_cloth_m2`. `materials` are the parts that are bought.
    """

    loom_width_mm: float
    loom_length_mm: float
    warp_pitch_mm: float
    knots_across_per_dm: float
    rows_per_dm: float
    warp: YarnCount
    weft: YarnCount
    warp_ends: int
    warp_end_m: float
    warp_length_m: float
    warp_mass_g: float
    weft_rows: int
    picks: int
    weft_length_m: Range
    weft_mass_g: Range
    backing_cloth_m2: float
    materials: tuple[Material, ...]
    reached: tuple[Reached, ...]
    assumptions: tuple[Assumption, ...]
    findings: tuple[Finding, ...]


def on_the_loom(finished: float, shrinkage: float) -> float:
    """Return what must be woven so that `finished` is left after a share `shrinkage` is lost.

    woven = finished / (1 - s): finished 10 inch at 20 % takes 12.5 inch, not 12 (cnch.org, p=13821).
    """
    return finished / (1 - shrinkage)


def warp_end_m(loom_length_mm: float, loom: Loom) -> float:
    """Return the length of one warp end: the rug on the loom, a fringe at each end, and the loom's waste."""
    return (loom_length_mm + 2 * float(loom.fringe_mm) + float(loom.loom_waste_mm)) / 1000


def weft_length_m(rows: int, picks: int, loom_width_mm: float, take_up: float) -> float:
    """Return rows x passes x width x (1 + take-up)."""
    return rows * picks * loom_width_mm / 1000 * (1 + take_up)


def _default(given: bool, key: str, value: Words, why: Words, *, published: bool = False) -> list[Assumption]:
    return [] if given else [Assumption(key, value, why, "published" if published else "common practice")]


def _assumptions(rug: Rug, loom: Loom, warp: YarnCount, weft: YarnCount) -> tuple[Assumption, ...]:
    given = loom.model_fields_set
    assumed: list[Assumption] = []
    for key, value, yarn in (("[loom] warp", loom.warp, warp), ("[loom] weft", loom.weft, weft)):
        if value is None:
            why = later("fits the density as a published warping does (Ahrari 1726, 1819), scaled")
            assumed.append(Assumption(key, later("cotton, {count}", count=yarn.notation), why, "estimate"))
    why = later("there are 1 to 4 passes a row, and usually 2")
    assumed += _default("picks" in given, "[loom] picks", str(loom.picks), why)
    why = later("the weft bends round the warps, which takes 10 to 15 %")
    assumed += _default("take_up" in given, "[loom] take_up", f"{loom.take_up * 100:g} %", why, published=True)
    selvedge = later_n("{n} end", "{n} ends", loom.selvedge_ends)
    assumed += _default("selvedge_ends" in given, "[loom] selvedge", selvedge, later("both edges together"))
    why = later("the warp is the rug's length and up to 60 cm more, fringes and loom waste together (Ahrari 1726)")
    fringe = later("{length} each end", length=cm_words(loom.fringe_mm))
    assumed += _default("fringe_mm" in given, "[loom] fringe", fringe, why, published=True)
    waste = cm_words(loom.loom_waste_mm)
    assumed += _default("loom_waste_mm" in given, "[loom] loom_waste", waste, why, published=True)
    return (*assumed, *shrinkage_assumptions(loom))


def shrinkage_assumptions(loom: Loom) -> list[Assumption]:
    """Return the shrinkages that stand in where none is given."""
    given = loom.model_fields_set
    why = later("nothing is lost or gained in washing and stretching until it is measured on a finished rug")
    return [
        Assumption(f"[loom] {key}", "0 %", why, "estimate")
        for key in ("shrinkage_across", "shrinkage_along")
        if key not in given
    ]


_REACHED = (
    Reached(later("size on the loom"), later("finished / (1 - shrinkage), each way (cnch.org 13821)"), "published"),
    Reached(later("warp ends"), later("2 x knots across + [loom] selvedge (Ahrari 1726)"), "published"),
    Reached(later("warp length"), later("ends x (length on the loom + 2 x fringe + loom waste)"), "arithmetic"),
    Reached(later("weft length"), later("rows x picks x width on the loom x (1 + take-up)"), "arithmetic"),
    Reached(
        later("warp and weft mass"),
        later("metres x tex / 1000; take-up in plying is left out (ASTM D2260)"),
        "published",
    ),
)


def foundation_of(rug: Rug, workshop: Workshop) -> Foundation:
    """Return the foundation of a knotted rug.

    Raises
    ------
    RugError
        If warp or weft is too thick for the density.
    """
    loom = workshop.loom
    warp = loom.warp or default_warp(rug.density)
    weft = loom.weft or default_weft(rug.density, loom.picks)
    level = check_warp(warp, rug.density)
    check_weft(weft, rug.density)
    width_mm = on_the_loom(float(rug.woven_width_mm), loom.shrinkage_across)
    length_mm = on_the_loom(float(rug.woven_length_mm), loom.shrinkage_along)
    ends = 2 * rug.columns + loom.selvedge_ends
    end_m = warp_end_m(length_mm, loom)
    if "take_up" in loom.model_fields_set:
        take_ups = (loom.take_up, loom.take_up, loom.take_up)
    else:
        take_ups = (TAKE_UP_LOW, loom.take_up, TAKE_UP_HIGH)
    weft_m = Range(*(weft_length_m(rug.rows, loom.picks, width_mm, take_up) for take_up in take_ups))
    depressed = Finding(
        later("The warp is thicker than its pitch: it needs depressed warps, or a finer yarn."), "[loom] warp", "note"
    )
    warp_mass_g, weft_mass_g = warp.mass_g(ends * end_m), weft_m.times(float(weft.tex) / 1000)
    return Foundation(
        loom_width_mm=width_mm,
        loom_length_mm=length_mm,
        warp_pitch_mm=width_mm / (2 * rug.columns),
        knots_across_per_dm=rug.columns * 100 / width_mm,
        rows_per_dm=rug.rows * 100 / length_mm,
        warp=warp,
        weft=weft,
        warp_ends=ends,
        warp_end_m=end_m,
        warp_length_m=ends * end_m,
        warp_mass_g=warp_mass_g,
        weft_rows=rug.rows,
        picks=loom.picks,
        weft_length_m=weft_m,
        weft_mass_g=weft_mass_g,
        backing_cloth_m2=0.0,
        materials=(
            Material(phrase("warp"), "warp_per_kg", mass_g=Range.exact(warp_mass_g)),
            Material(phrase("weft"), "weft_per_kg", mass_g=weft_mass_g),
        ),
        reached=_REACHED,
        assumptions=_assumptions(rug, loom, warp, weft),
        findings=() if level else (depressed,),
    )
