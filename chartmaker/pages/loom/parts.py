"""Parts of a rug, each a page of its own, where one page would be too large to open on a phone."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from chartmaker.knots.knotmap import NO_KNOT, KnotMap

#: A page holds at most this many cells; a larger rug goes into parts, by strip and by section.
MOST_CELLS = 4_000_000
#: The file that a rug, or the first of its parts, is in.
FIRST_FILE = "loom.html"
#: So many rows below a part are shown with it.
ROWS_BELOW = 24


@dataclass(frozen=True, eq=False)
class Part:
    """What one page holds: `rows` of `columns`, with a few rows below them that are only shown.

    Attributes
    ----------
    strip : int
        Its strip, counted from 0; -1 where it has the whole width.
    file : str
        The name of its file, such as ``loom-2-3.html``; that of the first, or the whole rug, is ``loom.html``.
    after : list of int
        The knots of each yarn in the parts of the strip above it.
    neighbours : list of dict
        All parts of the rug as the pages know them: file, strip, firstRow, endRow. A whole rug has none.
    """

    rows: range
    columns: range
    strip: int
    file: str
    after: list[int]
    neighbours: list[dict[str, Any]]

    @property
    def lowest_row(self) -> int:
        """The first row that is shown."""
        return max(0, self.rows.start - ROWS_BELOW)


def whole(knot_map: KnotMap) -> Part:
    """Return all of the rug as one part."""
    return Part(range(knot_map.rows), range(knot_map.columns), -1, FIRST_FILE, [], [])


def part_names(rows: int, strips: tuple[range, ...], most_cells: int = MOST_CELLS) -> tuple[str, ...]:
    """Return the names of the files that a rug with this many rows and these strips takes."""
    if rows * strips[-1].stop <= most_cells:
        return (FIRST_FILE,)
    return tuple(_file(strip, number) for strip, number, _ in _spans(rows, strips, most_cells))


def parts_of(knot_map: KnotMap, strips: tuple[range, ...], most_cells: int = MOST_CELLS) -> tuple[Part, ...]:
    """Return the parts of a rug: one, or of a large rug several, strip by strip, each from the first woven row up."""
    if knot_map.rows * knot_map.columns <= most_cells:
        return (whole(knot_map),)
    spans = list(_spans(knot_map.rows, strips, most_cells))
    neighbours = [
        {"file": _file(strip, number), "strip": strip, "firstRow": rows.start, "endRow": rows.stop}
        for strip, number, rows in spans
    ]
    found: list[Part] = []
    after = [0] * len(knot_map.yarns)
    for strip, number, rows in reversed(spans):
        if rows.stop == knot_map.rows:
            after = [0] * len(knot_map.yarns)
        found.append(Part(rows, strips[strip], strip, _file(strip, number), after, neighbours))
        cells = knot_map.knots[rows.start : rows.stop, strips[strip].start : strips[strip].stop]
        counts = np.bincount(cells[cells != NO_KNOT], minlength=len(knot_map.yarns))
        after = [a + int(b) for a, b in zip(after, counts, strict=True)]
    return tuple(reversed(found))


def _spans(rows: int, strips: tuple[range, ...], most_cells: int) -> Iterator[tuple[int, int, range]]:
    """Yield (strip, number of the section from 0, rows) of each part."""
    for strip, columns in enumerate(strips):
        height = max(1, most_cells // len(columns))
        number = -(-rows // height)
        edges = [section * rows // number for section in range(number + 1)]
        for section in range(number):
            yield strip, section, range(edges[section], edges[section + 1])


def _file(strip: int, section: int) -> str:
    return f"loom-{strip + 1}-{section + 1}.html" if strip or section else FIRST_FILE
