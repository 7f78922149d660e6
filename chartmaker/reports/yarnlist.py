"""The list of yarns as a table for programs: yarns.csv."""

from __future__ import annotations

from collections.abc import Iterator

from chartmaker.figures.reckoning import Figures
from chartmaker.ground.plaintext import no_formula, table_lines
from chartmaker.reports.records.figures import yarn_dicts

YARNS_CSV_HEADER = (
    "code,name,srgb,knots,share,length_m,mass_g,net_length_m,net_mass_g,mass_low_g,mass_high_g,"
    "order_g,hanks,fibre,count,strands,cut_mm,length_per_knot_mm,sheared_mass_g,pile_mm,binding_m"
)


def yarns_csv_lines(figures: Figures) -> Iterator[str]:
    """Return the lines of yarns.csv, the header first, each with its line end; a value not known is left empty."""
    names = YARNS_CSV_HEADER.split(",")
    yarns = yarn_dicts(figures.pile, figures.dye)
    return table_lines(names, ([_cell(yarn[name]) for name in names] for yarn in yarns))


def _cell(value: object) -> str:
    return "" if value is None else no_formula(str(value))
