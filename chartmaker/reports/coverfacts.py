"""What the figures know of a rug for the cover of its chart."""

from __future__ import annotations

from dataclasses import dataclass

from chartmaker.ground.language import counted
from chartmaker.ground.measures import METRIC
from chartmaker.ground.rounding import adding_up
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


def days_words(days: float) -> str:
    """Return ``1 working day``, ``120 working days``."""
    return counted(round(days), "working day")


def hands_words(figures: Figures) -> str:
    """Return ``1 weaver``, ``3 weavers``; of a tufted rug ``2 tufters``."""
    return counted(figures.labour.weavers, figures.knot_map.rug.worker)


def cover_facts(figures: Figures) -> CoverFacts:
    """Return what the chart's cover says of the figures."""
    foundation, labour = figures.foundation, figures.labour
    together = "1" if labour.weavers == 1 else f"{labour.weavers} side by side"
    weavers = f"{together}, about {days_words(labour.days.best)}"
    if figures.knot_map.rug.technique == "tufted":
        loom: tuple[tuple[str, str], ...] = (
            ("Backing cloth", f"{foundation.backing_cloth_m2:.2f} m2"),
            ("Tufters", weavers),
        )
    else:
        loom = (
            ("Warp", f"{foundation.warp_ends:,} ends of {foundation.warp_end_m:.2f} m, {foundation.warp.notation}"),
            ("Weft", f"{counted(foundation.picks, 'pass', 'passes')} a row, {foundation.weft.notation}"),
            ("Width on the loom", f"{foundation.loom_width_mm / 10:.1f} cm"),
            ("Length on the loom", f"{foundation.loom_length_mm / 10:.1f} cm"),
            ("Weavers", weavers),
        )
    factor = foundation.loom_length_mm / float(figures.knot_map.rug.woven_length_mm)
    return CoverFacts(_whole_grams(figures), loom, factor)


def yarn_words(figures: Figures) -> dict[str, str]:
    """Return what the proof page says of each yarn besides its knots, by code."""
    grams = _whole_grams(figures)
    return {line.yarn.code: f"{mass_g:,.0f} g" for line, mass_g in zip(figures.pile.yarns, grams, strict=True)}


def _whole_grams(figures: Figures) -> tuple[float, ...]:
    """Return the mass of each yarn to the gram as the table of figures has it, whose column adds up."""
    return tuple(adding_up([line.mass_g.best for line in figures.pile.yarns], METRIC.yarn_mass.decimals))
