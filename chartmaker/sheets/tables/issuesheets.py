"""The yarn to hand out, stretch by stretch, as a PDF for the store."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import BinaryIO

from chartmaker.figures.reckoning import Figures
from chartmaker.ground.measures import Units
from chartmaker.paper.lettering import Lettering
from chartmaker.reports.figuretable import FigureTable
from chartmaker.reports.issuetables import issue_tables, issue_total
from chartmaker.sheets.tables.tablelayout import Look, SetTable, set_table
from chartmaker.sheets.tables.tablesheets import SheetWords, write_tables_pdf

#: Strips side by side in one table.
MOST_STRIPS = 4
STORE = (
    "Bundles hold the best estimate with clipping waste; together they are the rug's yarn exactly. What was dyed "
    "beyond them stays in store until a strip asks for it. Weigh what comes back: chartmaker calibrate learns from it."
)

SIGNATURES = "Issued by ____________________   Date ______________   Received by ________________________________"


def _split(table: FigureTable, strips: int) -> Iterator[FigureTable]:
    """Yield `table` with at most MOST_STRIPS strips in each part; the last part has the sums."""
    for first in range(0, strips, MOST_STRIPS):
        stop = min(first + MOST_STRIPS, strips)
        columns = [0, 1, *range(2 + 2 * first, 2 + 2 * stop)]
        if stop == strips:
            columns += [2 + 2 * strips, 3 + 2 * strips]
        part = f", strips {first + 1} to {stop}" if strips > MOST_STRIPS else ""
        yield replace(
            table,
            title=table.title + part,
            header=tuple(table.header[c].replace(", ", "\n") for c in columns),
            rows=tuple(tuple(row[c] for c in columns) for row in table.rows),
            right=tuple(range(2, len(columns))),
            total=None if table.total is None else tuple(table.total[c] for c in columns),
        )


def write_issue_pdf(
    stream: BinaryIO, figures: Figures, units: Units = "metric", *, font_bytes: bytes | None = None
) -> int:
    """Write the bundles as a PDF; return the number of its sheets.

    Raises
    ------
    SheetError
        If the paper is unknown, or a letter is in no font.
    """
    strips = len(figures.issue.strips)

    def setter(lettering: Lettering, width_mm: float) -> Sequence[SetTable]:
        signed = [replace(table, notes=(*table.notes, SIGNATURES)) for table in issue_tables(figures, units)]
        tables = [part for table in (issue_total(figures, units), *signed) for part in _split(table, strips)]
        return [set_table(table, _look(table), width_mm, lettering) for table in tables]

    said = SheetWords("Yarn to issue", boxed=(STORE,))
    return write_tables_pdf(stream, figures.knot_map, figures.workshop.chart, said, setter, font_bytes=font_bytes)


def _look(table: FigureTable) -> Look:
    """Return a look in which every second strip is shaded, to be read down without a ruler."""
    shaded = frozenset(c for c in range(2, len(table.header)) if (c - 2) // 2 % 2 == 0)
    return Look(size_pt=8.2, row_mm=5.2, swatch_mm=6.0, symbols=True, together=True, shaded=shaded)
