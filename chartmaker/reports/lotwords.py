"""Where a new lot of a yarn begins, in the words that every paper of a weaver has for it."""

from __future__ import annotations

from chartmaker.figures.reckoning import Figures
from chartmaker.ground.language import told


def lot_words(figures: Figures) -> tuple[str, ...]:
    """Return a sentence for each yarn of which a new lot follows the stock."""
    return tuple(
        told(
            "From row {lot_row:,} on, where section {lot_section} begins, {lot_code} is of the new lot, over the whole "
            "width at once.",
            lot_row=row,
            lot_section=section,
            lot_code=yarn.code,
        )
        for yarn, section, row in figures.issue.changes
    )
