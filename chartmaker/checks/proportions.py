"""The remark on artwork that was stretched to fit."""

from __future__ import annotations

from collections.abc import Iterator

from chartmaker.artwork.placing import Placement
from chartmaker.ground.findings import Finding
from chartmaker.ground.sentence import later
from chartmaker.order.rug import MOST_PROPORTION_ERROR, Rug


def stretched(placement: Placement, rug: Rug) -> Iterator[Finding]:
    """Yield a finding if circles of the artwork do not stay round in the rug."""
    across = float(rug.woven_width_mm) / placement.width
    along = float(rug.woven_length_mm) / placement.height
    longer = max(along / across, across / along) - 1
    if longer <= MOST_PROPORTION_ERROR:
        return
    lengthwise = (
        "The artwork is stretched by {percent:.1f} % lengthwise to fit the rug: circles become ovals. [design] fit = "
        "'crop' or 'pad' keeps the proportions."
    )
    widthwise = (
        "The artwork is stretched by {percent:.1f} % widthwise to fit the rug: circles become ovals. [design] fit = "
        "'crop' or 'pad' keeps the proportions."
    )
    yield Finding(
        later(lengthwise if along > across else widthwise, percent=100 * longer),
        later("artwork"),
        "warning",
    )
