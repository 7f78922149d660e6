"""The figures of a rug that the cover of its chart prints."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from chartmaker.figures.labour import LEAST_SEAT_MM, crowded_seat_mm
from chartmaker.figures.reckoning import Figures
from chartmaker.ground.findings import Finding
from chartmaker.ground.language import say, told, told_n
from chartmaker.ground.lengths import cm_number
from chartmaker.ground.sentence import told_words
from chartmaker.knots.strips import WEAVER_WIDTH_MM
from chartmaker.reports.lotwords import NewLot, new_lots
from chartmaker.reports.pileheights import heights_words, pile_facts
from chartmaker.reports.settled import settle_words
from chartmaker.reports.words import whole_grams
from chartmaker.techniques.crafts import craft_of


@dataclass(frozen=True, slots=True)
class CoverFacts:
    """The figures that the cover prints.

    Attributes
    ----------
    grams : tuple of float or None
        The mass of each yarn, in the map's order; empty if nothing is known.
    loom : tuple of (label, value)
        The data of the loom, line by line.
    loom_length_factor : float
        The length on the loom over the finished length.
    loom_width_mm : float, optional
        How wide the rug is on the loom.
    pile : tuple of (label, value)
        The heights of the pile, line by line.
    heights : tuple of str
        The height of each yarn's pile in words, in the map's order; empty where all yarns have the same.
    warnings : tuple of str
        What must be looked at before yarn is weighed out or dyed.
    settle : tuple of str
        What remarks on the design are to be settled before weaving.
    lots : tuple of NewLot
        Where new lots of yarn begin.
    """

    grams: tuple[float | None, ...] = ()
    loom: tuple[tuple[str, str], ...] = ()
    loom_length_factor: float = 1.0
    loom_width_mm: float | None = None
    pile: tuple[tuple[str, str], ...] = ()
    heights: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    settle: tuple[str, ...] = ()
    lots: tuple[NewLot, ...] = ()


def cover_facts(figures: Figures, remarks: Sequence[Finding] = ()) -> CoverFacts:
    """Return the figures that the chart's cover prints, with those of the remarks on the design that are no notes."""
    foundation, craft = figures.foundation, craft_of(figures.knot_map.rug)
    hands = (say(craft.words.hands_label), _together(figures))
    factor = foundation.loom_length_mm / float(figures.knot_map.rug.woven_length_mm)
    loom = (*craft.ground_facts(foundation), *_grams(figures), hands, *_crowded(figures))
    pile = pile_facts(figures.knot_map.rug, figures.workshop, uneven=figures.pile.uneven)
    return CoverFacts(
        whole_grams(figures),
        loom,
        factor,
        foundation.loom_width_mm,
        pile,
        _heights(figures),
        _warnings(figures),
        settle_words(remarks),
        new_lots(figures),
    )


def _grams(figures: Figures) -> tuple[tuple[str, str], ...]:
    """Return what the grams of the legend hold besides the knots: waste, and the yarn that overcasts the sides."""
    waste = told("with {waste:g} % waste", waste=figures.workshop.pile.waste * 100)
    bound = tuple(
        (say("Side binding"), told("{bound_m:.0f} m of {bound_code}, in its grams", bound_m=m, bound_code=code))
        for m, code in ((line.binding_m, line.yarn.code) for line in figures.pile.yarns if line.binding_m)
    )
    return ((say("Grams"), waste), *bound)


def _warnings(figures: Figures) -> tuple[str, ...]:
    """Return the warnings that change a weight, each with the key of the rug file that it is about."""
    said = ((told_words(finding.about), told_words(finding.said)) for finding in figures.weighing)
    words = "Before yarn is weighed or dyed, look at {where}: {what}"
    return tuple(told(words, where=where, what=what) for where, what in said)


def _crowded(figures: Figures) -> tuple[tuple[str, str], ...]:
    """Return how little room those have who work side by side, if it is too little."""
    seat_mm = crowded_seat_mm(figures.knot_map.rug, figures.labour.weavers)
    if seat_mm is None:
        return ()
    room = told(
        "{seat_cm} cm; usual {needed_cm}, at least {least_cm} cm",
        seat_cm=cm_number(seat_mm),
        needed_cm=cm_number(WEAVER_WIDTH_MM),
        least_cm=cm_number(LEAST_SEAT_MM),
    )
    return ((say("Room for each"), room),)


def _heights(figures: Figures) -> tuple[str, ...]:
    """Return how high each yarn is cut, and what is left of that in the finished rug, where the yarns differ."""
    if not figures.pile.uneven:
        return ()
    return tuple(heights_words(yarn.cut_mm, yarn.pile_mm) for yarn in figures.pile.yarns)


def _together(figures: Figures) -> str:
    """Return how many work side by side, and for how long."""
    days, weavers = round(figures.labour.whole_days.best), figures.labour.weavers
    time = told_n("{days:,} working day", "{days:,} working days", days, days=days)
    return told_n(
        "{weavers}, about {time}", "{weavers} side by side, about {time}", weavers, weavers=weavers, time=time
    )
