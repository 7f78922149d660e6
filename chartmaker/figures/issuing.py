"""The yarn that each weaver is given for each section of rows, as bundles to weigh and hand out."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.figures.bundles import weighed
from chartmaker.figures.dyeing import DyeOrder
from chartmaker.figures.pile import PileFigures
from chartmaker.ground.basis import Assumption, Reached
from chartmaker.ground.errors import RugError
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import phrase, say
from chartmaker.ground.lengths import cm_words, mm_words
from chartmaker.ground.measures import METRIC, Unit
from chartmaker.ground.sentence import later
from chartmaker.order.rug import Rug
from chartmaker.order.workshop import Loom
from chartmaker.techniques.foundation import on_the_loom
from chartmaker.yarns.yarn import Yarn

#: No rug takes more issues of yarn than this.
MOST_SECTIONS = 2_000
#: What is said of a yarn that comes in two lots, by how far the first one lasts.
STOCK_FIRST = phrase(
    "{stock} are in stock and {new} come from a new lot, which may differ in shade: match it to the stock, "
    "and issue the stock first. It lasts up to section {lasts}. Begin the new lot with section {begins}, row {row:,}, "
    "over the whole width at once. It is ordered for all sections from there on, because what is left of the stock "
    "goes back and the bundles do not count on it."
)
STOCK_SHORT = phrase(
    "{stock} are in stock and {new} come from a new lot, which may differ in shade: match it to the stock. "
    "The stock does not last for section 1: make up every bundle of {percent} % stock and the rest new lot, or dye "
    "the whole shade anew."
)
STOCK_SHORT_AT_ONCE = phrase(
    "{stock} are in stock and {new} come from a new lot, which may differ in shade: match it to the stock. "
    "The stock does not last for the whole rug: make up every bundle of {percent} % stock and the rest new lot, or "
    "dye the whole shade anew."
)
STOCK_ENOUGH = phrase(
    "{stock} are in stock and {new} come from a new lot, which may differ in shade: match it to the stock, "
    "and issue the stock first. It should last for every section, and the new lot is a reserve."
)
#: How bundles are reckoned, by whether the sides are bound in pile yarn and whether there are several sections.
_HOW = {
    (False, False): phrase("knots with waste and {margin:g} % more, rounded up to whole {step:g} g"),
    (True, False): phrase("knots and binding with waste and {margin:g} % more, rounded up to whole {step:g} g"),
    (False, True): phrase(
        "knots with waste and {margin:g} % more, less what is left over, rounded up to whole {step:g} g"
    ),
    (True, True): phrase(
        "knots and binding with waste and {margin:g} % more, less what is left over, rounded up to whole {step:g} g"
    ),
}


@dataclass(frozen=True, eq=False)
class Issue:
    """Bundles by section, by weaver and by yarn.

    Attributes
    ----------
    sections : tuple of range
        The rows of each section, counted from 0, the first woven first.
    seats : tuple of range
        The columns of each weaver.
    knots : ndarray of int64, shape (sections, weavers, yarns)
    need_g : ndarray of float64, shape (sections, weavers, yarns)
        The best estimate in grams, with waste, margin and side binding.
    tex : ndarray of float64, shape (yarns,)
        Of one strand of each yarn.
    """

    sections: tuple[range, ...]
    seats: tuple[range, ...]
    knots: NDArray[np.int64]
    need_g: NDArray[np.float64]
    tex: NDArray[np.float64]
    weigh_g: float
    margin: float
    dye: DyeOrder
    reached: tuple[Reached, ...]
    assumptions: tuple[Assumption, ...]

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What the bundles, weighed in steps of `weigh_g`, leave to look at."""
        return self.findings_in(self.weigh_g, METRIC.yarn_mass)

    def findings_in(self, step_g: float, mass: Unit) -> tuple[Finding, ...]:
        """Return what bundles that are weighed in steps of so many grams leave to look at, with masses in a unit."""
        bundles_g = self.bundles_in(step_g).sum(axis=1)
        return (
            *_findings(bundles_g.sum(axis=0), self.dye, mass),
            *_lot_findings(bundles_g, self.sections, self.dye, mass),
        )

    @property
    def bundles_g(self) -> NDArray[np.float64]:
        """The mass of each bundle in grams, in whole steps of `weigh_g`, shape of `need_g`."""
        return self.bundles_in(self.weigh_g)

    def bundles_in(self, step_g: float) -> NDArray[np.float64]:
        """Return the mass of each bundle in steps of so many grams.

        Where a new lot begins nothing is left over for it, because what is left of the stock may differ in shade.
        """
        bundles_g = weighed(self.need_g, step_g)
        for yarn, shade in enumerate(self.dye.shades):
            if shade.change is not None:
                first = shade.change.section
                bundles_g[first:, :, yarn] = weighed(self.need_g[first:, :, yarn], step_g)
        return bundles_g

    @property
    def changes(self) -> tuple[tuple[Yarn, int, int], ...]:
        """Each yarn of which a new lot follows the stock, with the section and the row that begin it, from 1."""
        first = [(shade.yarn, shade.change.section) for shade in self.dye.shades if shade.change is not None]
        return tuple((yarn, section + 1, self.sections[section].start + 1) for yarn, section in first)

    @property
    def issued_g(self) -> NDArray[np.float64]:
        """The mass of each yarn that is issued in all, in grams: the sum of its bundles, shape (yarns,)."""
        return np.asarray(self.bundles_g.sum(axis=(0, 1)))


def section_rows(rug: Rug, loom: Loom) -> int:
    """Return how many rows one section has, at least one; its length is measured on the loom.

    Raises
    ------
    RugError
        If a section would be longer than the rug on the loom, or there would be too many.
    """
    length_mm = on_the_loom(float(rug.woven_length_mm), loom.shrinkage_along)
    if loom.section_mm > length_mm + 1e-9:
        if "section_mm" not in loom.model_fields_set:
            return rug.rows
        message = say(
            "a section of {section} is longer than the rug, which has {length} on the loom; give at most that",
            section=cm_words(loom.section_mm),
            length=cm_words(length_mm),
        )
        raise RugError(message, where="[loom] section")
    rows = max(math.floor(float(loom.section_mm) * rug.rows / length_mm + 1e-9), 1)
    if rug.rows > MOST_SECTIONS * rows:
        message = say(
            "a section of {section} cuts the rug into {sections:,}, but the most is {most:,}; give longer ones",
            section=mm_words(loom.section_mm),
            sections=-(-rug.rows // rows),
            most=MOST_SECTIONS,
        )
        raise RugError(message, where="[loom] section")
    return rows


def _assumptions(loom: Loom) -> tuple[Assumption, ...]:
    given, assumed = loom.model_fields_set, []
    if "weigh_g" not in given:
        why = later("bundles are weighed in whole steps on a kitchen scale")
        assumed.append(Assumption("[loom] weigh", f"{float(loom.weigh_g):g} g", why, "common practice"))
    if "issue_margin" not in given:
        why = later("so that a weaver who ties a little more does not stop; what is left comes back")
        assumed.append(Assumption("[loom] issue_margin", f"{loom.issue_margin * 100:g} %", why, "estimate"))
    return tuple(assumed)


def _findings(issued_g: NDArray[np.float64], dye: DyeOrder, mass: Unit) -> Iterator[Finding]:
    for shade, grams in zip(dye.shades, issued_g, strict=True):
        there_g = shade.order_g + shade.stock_g
        if grams > there_g + 1e-6:
            what = later(
                "The bundles come to {issued}, but only {there} are ordered or in stock: give a finer "
                "step to weigh, or a larger dye allowance.",
                issued=mass.text(grams),
                there=mass.text(there_g),
            )
            yield Finding(what, later("yarn {code}", code=shade.yarn.code), "warning")


def _lot_findings(
    bundles_g: NDArray[np.float64], sections: tuple[range, ...], dye: DyeOrder, mass: Unit
) -> Iterator[Finding]:
    """Yield, for each yarn of which a part comes from stock and a part from a new lot, where the new lot begins.

    Weavers side by side work from one lot, or a seam would show between them, so the lot changes with a section. The
    bundles, shape (sections, yarns), tell whether a stock without such a section lasts for all of them or for none.
    """
    for shade, own_g in zip(dye.shades, bundles_g.T, strict=True):
        if not shade.in_two_lots:
            continue
        places: dict[str, object] = {}
        if shade.change is not None:
            told, lasts = STOCK_FIRST, shade.change.section
            places = {"lasts": lasts, "begins": lasts + 1, "row": sections[lasts].start + 1}
        elif own_g.sum() <= shade.stock_g + 1e-6:
            told = STOCK_ENOUGH
        else:
            told = STOCK_SHORT if len(own_g) > 1 else STOCK_SHORT_AT_ONCE
            places = {"percent": math.floor(100 * shade.stock_g / own_g.sum())}
        masses = {"stock": mass.text(shade.stock_g), "new": mass.text(shade.order_g)}
        yield Finding(later(told, **masses, **places), later("yarn {code}", code=shade.yarn.code), "warning")


def issue_of(
    sections: tuple[range, ...],
    seats: tuple[range, ...],
    knots: NDArray[np.int64],
    need_g: NDArray[np.float64],
    pile: PileFigures,
    dye: DyeOrder,
    loom: Loom,
) -> Issue:
    """Return the bundles of `knots`, which take `need_g`, both of shape (sections, weavers, yarns)."""
    step_g = float(loom.weigh_g)
    bound = any(line.binding_m for line in pile.yarns)
    how = later(_HOW[bound, len(sections) > 1], margin=loom.issue_margin * 100, step=step_g)
    return Issue(
        sections=sections,
        seats=seats,
        knots=knots,
        need_g=need_g,
        tex=np.array([float(line.count.tex) for line in pile.yarns]),
        weigh_g=step_g,
        margin=loom.issue_margin,
        dye=dye,
        reached=(Reached(later("bundles"), how, "arithmetic"),),
        assumptions=_assumptions(loom),
    )
