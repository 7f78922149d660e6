"""What the figures know of a rug for the cover of its chart."""

from __future__ import annotations

from dataclasses import dataclass


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
