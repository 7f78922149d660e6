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
