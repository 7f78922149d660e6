"""The yarn to hand out, section by section, as a PDF for the store."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import BinaryIO

from chartmaker.figures.reckoning import Figures
from chartmaker.ground.language import joined, part_of, phrase, say, told
from chartmaker.ground.measures import Units, measures_of
from chartmaker.paper.lettering import Lettering
from chartmaker.reports.figuretable import FigureTable
from chartmaker.reports.issuetables import bundle_findings, issue_tables, issue_total, step_of
from chartmaker.reports.tables import findings_table
from chartmaker.sheets.tables.tablelayout import Look, SetTable, set_table
from chartmaker.sheets.tables.tablesheets import SheetWords, write_tables_pdf
from chartmaker.techniques.crafts import craft_of

#: At most this many weavers stand side by side in one table.
MOST_WEAVERS = 8
STORE = phrase(
    "Bundles are weighed in whole {step}, and hold the best estimate with waste and {margin:g} % more. What is left of "
    "a bundle stays with the weaver and counts for the next section, unless a new lot begins there. What was dyed "
    "beyond them stays in store. Weigh what comes back at the end: chartmaker calibrate learns from it."
)
STORE_WHOLE = phrase(
    "Bundles are weighed in whole {step}, and hold the best estimate with waste and {margin:g} % more, for the whole "
    "rug: it is worked colour by colour. What was dyed beyond them stays in store. Weigh what comes back at the end: "
    "chartmaker calibrate learns from it."
)

#: Lines short enough for half a sheet.
SIGNATURES = (
    phrase("Issued by ______________________________   Date ________________"),
    phrase("Received by ____________________________   Date ________________"),
)


def _split(table: FigureTable, weavers: int) -> Iterator[FigureTable]:
    """Yield the parts of `table`, each with at most MOST_WEAVERS, of which the last has the sums."""
    named = table.right[0]  # the columns that name a yarn and its lot
    for first in range(0, weavers, MOST_WEAVERS):
        stop = min(first + MOST_WEAVERS, weavers)
        columns = [*range(named), *range(named + first, named + stop)]
        if stop == weavers:
            columns += range(named + weavers, len(table.header))
        title = table.title
        if weavers > MOST_WEAVERS:
            if stop > first + 1:
                title = told("{title}, {first} to {last} from the left", title=title, first=first + 1, last=stop)
            else:
                title = told("{title}, weaver {last}", title=title, last=stop)
        yield replace(
            table,
            title=title,
            header=tuple(_broken(table.header[c]) for c in columns),
            fields=tuple(table.fields[c] for c in columns),
            rows=tuple(tuple(row[c] for c in columns) for row in table.rows),
            right=tuple(range(named, len(columns))),
            total=None if table.total is None else tuple(table.total[c] for c in columns),
        )


def _broken(words: str) -> str:
    """Return the head of a column on two lines, broken at its comma."""
    place = words.find(", ")
    return words if place < 0 else joined("\n", (part_of(words, 0, place), part_of(words, place + 2, len(words))))


def write_issue_pdf(
    stream: BinaryIO, figures: Figures, units: Units = "metric", *, font_bytes: bytes | None = None
) -> int:
    """Write the bundles as a PDF and return the number of its sheets.

    Raises
    ------
    SheetError
        If the paper is unknown, or a letter is in no font.
    """
    weavers, by_colour = len(figures.issue.seats), craft_of(figures.knot_map.rug).by_colour

    def setter(lettering: Lettering, width_mm: float) -> Sequence[SetTable]:
        signed = [replace(table, notes=(*table.notes, *map(say, SIGNATURES))) for table in issue_tables(figures, units)]
        whole = () if by_colour else (issue_total(figures, units),)
        tables = [part for table in (*whole, *signed) for part in _split(table, weavers)]
        found = findings_table((*figures.weighing, *bundle_findings(figures, units)))
        first = [set_table(found, Look(), width_mm, lettering)] if found.rows else []
        return [*first, *(set_table(table, _look(table), width_mm, lettering) for table in tables)]

    measures = measures_of(units)
    step = f"{step_of(figures, units) / measures.bundle_mass.size:g} {measures.bundle_mass.name}"
    store = told(STORE_WHOLE if by_colour else STORE, step=step, margin=figures.issue.margin * 100)
    code = figures.amounts_code
    said = SheetWords(say("Yarn to issue"), "issue-sheet", units == "imperial", code, boxed=(store,))
    return write_tables_pdf(stream, figures.knot_map, figures.workshop.chart, said, setter, font_bytes=font_bytes)


def _look(table: FigureTable) -> Look:
    """Return a look with every second column shaded, so that columns can be read down without a ruler."""
    shaded = frozenset(table.right[::2])
    return Look(size_pt=8.2, row_mm=5.2, swatch_mm=6.0, symbols=True, together=True, shaded=shaded)
