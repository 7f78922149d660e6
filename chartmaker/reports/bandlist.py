"""The bands of a rug: what yarn, how many rods, and how far they reach on the loom."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from chartmaker.figures.reckoning import Figures
from chartmaker.ground.plaintext import table_lines
from chartmaker.knots.bands import Banded, banded
from chartmaker.techniques.crafts import craft_of

COLUMNS = ("band", "first", "last", "lines", "code", "from_cm", "to_cm")


@dataclass(frozen=True, eq=False)
class BandPlan:
    """A rug in bands; `columns` says that they lie side by side, not one above the other.

    `line_mm` is the width of a line on the loom.
    """

    banded: Banded
    columns: bool
    line_mm: float


def band_plan(figures: Figures) -> BandPlan:
    """Return the bands of a rug along the line on which its craft cannot change the yarn; rows where it can."""
    knot_map, ground = figures.knot_map, figures.foundation
    columns = craft_of(knot_map.rug).one_yarn_along(figures.workshop.loom) == "column"
    line_mm = ground.loom_width_mm / knot_map.columns if columns else ground.loom_length_mm / knot_map.rows
    return BandPlan(banded(knot_map.knots, columns=columns), columns, line_mm)


def bands_csv_lines(figures: Figures) -> Iterator[str]:
    """Yield bands.csv: every band from the first woven, or from the left; lines count from 1, lengths on the loom."""
    plan = band_plan(figures)
    codes = [yarn.code for yarn in figures.knot_map.yarns]
    rows = (
        (
            number,
            band.first + 1,
            band.end,
            band.lines,
            codes[band.yarn],
            f"{band.first * plan.line_mm / 10:.1f}",
            f"{band.end * plan.line_mm / 10:.1f}",
        )
        for number, band in enumerate(plan.banded.bands, start=1)
    )
    return table_lines(COLUMNS, rows)
