"""What the figures know of a rug for the cover of its chart."""

from __future__ import annotations

from dataclasses import dataclass

from chartmaker.ground.language import say, told, told_n
from chartmaker.ground.lengths import cm_number
from chartmaker.reports.words import whole_grams
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
            (say("Backing cloth"), told("{backing_m2:.2f} m2", backing_m2=foundation.backing_cloth_m2)),
            (say("Tufters"), _together(figures)),
        )
    else:
        warp = told(
            "{warp_ends:,} ends of {warp_end_m:.2f} m, {warp_count}",
            warp_ends=foundation.warp_ends,
            warp_end_m=foundation.warp_end_m,
            warp_count=foundation.warp.notation,
        )
        weft = told_n(
            "{picks} pass a row, {weft_count}",
            "{picks} passes a row, {weft_count}",
            foundation.picks,
            picks=foundation.picks,
            weft_count=foundation.weft.notation,
        )
        loom = (
            (say("Warp"), warp),
            (say("Weft"), weft),
            (say("Width on the loom"), told("{loom_width} cm", loom_width=cm_number(foundation.loom_width_mm))),
            (say("Length on the loom"), told("{loom_length} cm", loom_length=cm_number(foundation.loom_length_mm))),
            (say("Weavers"), _together(figures)),
        )
    factor = foundation.loom_length_mm / float(figures.knot_map.rug.woven_length_mm)
    return CoverFacts(whole_grams(figures), loom, factor)


def _together(figures: Figures) -> str:
    """Return how many work side by side, and for how long."""
    days, weavers = round(figures.labour.days.best), figures.labour.weavers
    time = told_n("{days:,} working day", "{days:,} working days", days, days=days)
    return told_n(
        "{weavers}, about {time}", "{weavers} side by side, about {time}", weavers, weavers=weavers, time=time
    )
