"""How thick a yarn is, which yarn suits a density, and which is too thick for it."""

from __future__ import annotations

import math
from fractions import Fraction

from chartmaker.ground.errors import RugError
from chartmaker.ground.language import say
from chartmaker.ground.units import YarnCount
from chartmaker.order.density import Density

#: Fibre densities in g/cm3 (textbook values, from memory of Morton & Hearle, Physical Properties of Textile
#: Fibres).
FIBRE_G_PER_CM3 = {
    "wool": 1.31,
    "mohair": 1.31,
    "cashmere": 1.31,
    "silk": 1.34,
    "cotton": 1.52,
    "linen": 1.50,
    "jute": 1.44,
    "viscose": 1.52,
    "nylon": 1.14,
    "polyester": 1.39,
    "acrylic": 1.19,
}

#: The share of a spun yarn's cross-section that is fibre. Peirce's rule for cotton, diameter in inch
#: 1 / (28 sqrt(Ne)), comes to the same 0.6 (F. T. Peirce, The geometry of cloth structure, Journal of the
#: Textile Institute 28, 1937).
PACKING = 0.6

#: The published costing that the default yarns are scaled from: 40 raj of 6.5 cm, pile two-ply of Nm 8, warp
#: three-ply of Nm 8, weft Ne 10 twelve-ply a row (Ahrari, iran-carpet.com 1705, 1718, 1726, 1819).
MODEL_KNOT_MM = Fraction(65, 40)
MODEL_PILE_TEX, MODEL_WARP_TEX, MODEL_WEFT_TEX_A_ROW = Fraction(250), Fraction(375), Fraction(7087, 10)

#: The coarsest warp that is taken by default (common practice): Ne 10 nine-ply.
COARSEST_WARP_TEX = Fraction(5315, 10)


#: The share of a knot's place that the two legs of its tuft usually fill (estimate). The published costing above fills
#: 0.24 of it; 200 g of pile a square metre and millimetre, a common figure, is 0.25; the band is 0.6 to 1.6 of that.
USUAL_FILL, LEAST_FILL, MOST_FILL = 0.25, 0.15, 0.40


def fibre_density(fibre: str | None) -> float:
    """Return the density of `fibre` in g/cm3, or that of wool if the fibre is not known."""
    words = (fibre or "").lower()
    return next((value for name, value in FIBRE_G_PER_CM3.items() if name in words), FIBRE_G_PER_CM3["wool"])


def cross_section_mm2(tex: float, fibre: str | None) -> float:
    """Return the cross-section of a yarn of `tex` at the usual packing, in square millimetres."""
    return tex / 1000 / yarn_g_per_cm3(fibre)


def diameter_mm(tex: float, fibre: str | None) -> float:
    """Return the diameter of a round yarn of `tex` at the usual packing, in millimetres."""
    return math.sqrt(4 * cross_section_mm2(tex, fibre) / math.pi)


def _whole_tex(tex: Fraction) -> YarnCount:
    """Return a single yarn of about `tex`, rounded to two figures, because nobody orders 458.3 tex."""
    step = 10 ** max(len(str(int(tex))) - 2, 0)
    whole = round(tex / step) * step
    return YarnCount(Fraction(whole), 1, f"tex {whole}")


def default_pile_yarn(density: Density) -> YarnCount:
    """Return a pile yarn that covers the ground as in the published costing, its tex scaled by the knot's area."""
    return _whole_tex(MODEL_PILE_TEX * density.knot_width_mm * density.knot_height_mm / MODEL_KNOT_MM**2)


def default_warp(density: Density) -> YarnCount:
    """Return a warp that fits the pitch as the published one does, but not coarser than Ne 10 nine-ply."""
    return _whole_tex(min(MODEL_WARP_TEX * (density.knot_width_mm / MODEL_KNOT_MM) ** 2, COARSEST_WARP_TEX))


def default_weft(density: Density, picks: int) -> YarnCount:
    """Return a weft of which `picks` passes fill a row as the published one does, but not coarser than that one."""
    a_row = min(MODEL_WEFT_TEX_A_ROW * (density.knot_height_mm / MODEL_KNOT_MM) ** 2, MODEL_WEFT_TEX_A_ROW)
    return _whole_tex(a_row / picks)


def fill_of(tex: float, fibre: str | None, density: Density) -> float:
    """Return the share of a knot's place that the two legs of its tuft fill, if all strands together have `tex`."""
    return 2 * cross_section_mm2(tex, fibre) / float(density.knot_width_mm * density.knot_height_mm)


def usual_tex(fibre: str | None, density: Density) -> float:
    """Return the tex, of all strands together, that fills a knot's place as much as is usual."""
    return 1000 * yarn_g_per_cm3(fibre) * float(density.knot_width_mm * density.knot_height_mm) * USUAL_FILL / 2


def yarn_g_per_cm3(fibre: str | None) -> float:
    """Return the grams in a cubic centimetre of spun yarn with the air in it, which is also its ktex on a square mm."""
    return fibre_density(fibre) * PACKING


def check_pile_yarn(tex: float, fibre: str | None, density: Density, key: str) -> None:
    """Refuse a pile yarn of `tex`, all strands together, whose two legs are thicker than the knot's place.

    Raises
    ------
    RugError
        If the yarn is too thick; the error names `key`.
    """
    place_mm2 = float(density.knot_width_mm * density.knot_height_mm)
    legs_mm2 = 2 * cross_section_mm2(tex, fibre)
    if fill_of(tex, fibre, density) > 1:
        message = say(
            "{tex:g} tex is {thick_mm:.2g} mm thick: the two legs of a knot would take {legs_mm2:.3g} mm2, but at "
            "{density} a knot has {place_mm2:.3g} mm2; use a yarn below {most:.0f} tex in all, or fewer knots",
            tex=round(tex, 1),
            thick_mm=diameter_mm(tex, fibre),
            legs_mm2=legs_mm2,
            density=density.notation,
            place_mm2=place_mm2,
            most=tex * place_mm2 / legs_mm2,
        )
        raise RugError(message, where=key)


def check_warp(warp: YarnCount, density: Density) -> bool:
    """Return whether the warps can lie side by side (else one of each pair must lie behind the other).

    Raises
    ------
    RugError
        If they do not fit even so.
    """
    thick_mm, knot_mm = diameter_mm(float(warp.tex), "cotton"), float(density.knot_width_mm)
    if thick_mm > knot_mm:
        message = say(
            "a warp of {count} is {thick_mm:.2g} mm thick, but at {density} a knot with its two warps has "
            "{knot_mm:.3g} mm; use a finer warp or fewer knots",
            count=warp.notation,
            thick_mm=thick_mm,
            density=density.notation,
            knot_mm=knot_mm,
        )
        raise RugError(message, where="[loom] warp")
    return thick_mm <= knot_mm / 2


def check_weft(weft: YarnCount, density: Density) -> None:
    """Refuse a weft that is thicker than a row is high.

    Raises
    ------
    RugError
    """
    thick_mm, row_mm = diameter_mm(float(weft.tex), "cotton"), float(density.knot_height_mm)
    if thick_mm > row_mm:
        message = say(
            "a weft of {count} is {thick_mm:.2g} mm thick, but at {density} a row is {row_mm:.3g} mm high; use a finer "
            "weft or fewer rows",
            count=weft.notation,
            thick_mm=thick_mm,
            density=density.notation,
            row_mm=row_mm,
        )
        raise RugError(message, where="[loom] weft")
