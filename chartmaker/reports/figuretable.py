"""A table of figures before it is set for a terminal or for paper."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from chartmaker.ground.language import say
from chartmaker.yarns.yarn import Yarn


@dataclass(frozen=True)
class FigureTable:
    """A table: `right` are the columns set flush right, `total` is a last row, and `yarns` gives the yarn of each row.

    `notes` are sentences that belong under it.
    """

    title: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    right: tuple[int, ...] = ()
    total: tuple[str, ...] | None = None
    notes: tuple[str, ...] = ()
    yarns: tuple[Yarn, ...] = ()


def pairs(title: str, rows: Sequence[tuple[str, str, str]], notes: tuple[str, ...] = ()) -> FigureTable:
    """Return a table of labelled figures, each with its range or another detail."""
    header = ("", say("figure"), say("range or detail"))
    return FigureTable(title, header, tuple(rows), right=(1,), notes=notes)
