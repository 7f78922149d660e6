"""A finding: something that the designer should know before the rug is woven."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Severity = Literal["note", "warning", "error"]
#: (row_from, row_to, column_from, column_to), half-open, counted from 0; row 0 is the first woven.
Place = tuple[int, int, int, int]


@dataclass(frozen=True)
class Finding:
    """One plain sentence `what`, the place `where` it is about, how bad it is, its `places` on the knot grid."""

    what: str
    where: str
    severity: Severity
    places: tuple[Place, ...] = ()


def place_words(place: Place) -> str:
    """Return ``row 3, columns 5 to 9``, counted from 1."""
    row_from, row_to, column_from, column_to = place
    rows = f"row {row_to}" if row_to - row_from == 1 else f"rows {row_from + 1} to {row_to}"
    columns = f"column {column_to}" if column_to - column_from == 1 else f"columns {column_from + 1} to {column_to}"
    return f"{rows}, {columns}"
