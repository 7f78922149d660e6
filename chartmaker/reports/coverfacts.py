"""What the figures know of a rug for the cover of its chart."""

from __future__ import annotations

from dataclasses import dataclass

from chartmaker.ground.language import say, say_n
from chartmaker.ground.lengths import cm_words
from chartmaker.reports.words import days_words, whole_grams
from chartmaker.techniques.reckoning import Figures


@dataclass(frozen=True, slots=True)
class CoverFacts:
    """What the figures know and the cover prints.

    Attributes
    ----------
    grams : tuple of float or None
        The mass of each yarn of the map, in its order; empty if nothing is known.
    loom : tuple of (label, value)
        The loom's data, line by line.
    loom_length_factor : float
        The length on the loom over the finished length.
    """

    grams: tuple[float | None, ...] = ()
    loom: tuple[tuple[str, str], ...] = ()
    loom_length_factor: float = 1.0


def cover_facts(figures: Figures) -> CoverFacts:
    """Return what the chart's cover says of the figures."""
    foundation = figures.foundation
    if figures.knot_map.rug.technique == "tufted":
        loom: tuple[tuple[str, str], ...] = (
            (say("Backing cloth"), say("{area:.2f} m2", area=foundation.backing_cloth_m2)),
            (say("Tufters"), _together(figures)),
        )
    else:
        warp = say(
            "{ends:,} ends of {end_m:.2f} m, {count}",
            ends=foundation.warp_ends,
            end_m=foundation.warp_end_m,
            count=foundation.warp.notation,
        )
        weft = say_n(
            "{n} pass a row, {count}", "{n} passes a row, {count}", foundation.picks, count=foundation.weft.notation
        )
        loom = (
            (say("Warp"), warp),
            (say("Weft"), weft),
            (say("Width on the loom"), cm_words(foundation.loom_width_mm)),
            (say("Length on the loom"), cm_words(foundation.loom_length_mm)),
            (say("Weavers"), _together(figures)),
        )
    factor = foundation.loom_length_mm / float(figures.knot_map.rug.woven_length_mm)
    return CoverFacts(whole_grams(figures), loom, factor)


def _together(figures: Figures) -> str:
    """Return how many work side by side, and for how long."""
    days = days_words(figures.labour.days.best)
    return say_n("{n}, about {days}", "{n} side by side, about {days}", figures.labour.weavers, days=days)
