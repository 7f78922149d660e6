"""A table of figures before it is set for a terminal or for paper."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from chartmaker.ground.language import say
from chartmaker.yarns.yarn import Yarn


@dataclass(frozen=True)
class FigureTable:
    """A table: `right` are the columns set flush right, `total` is a last row, and `yarns` gives the yarn of each row.

    `notes` are sentences that belong under it. What a reader of the sheet finds by tags: the table by its `key`, each
    row by its name in `lines` (a plain line where there is none), what stands in a column by its name in `fields`.
    A cell whose sentence has fields of its own is found by them.
    """

    title: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    right: tuple[int, ...] = ()
    total: tuple[str, ...] | None = None
    notes: tuple[str, ...] = ()
    yarns: tuple[Yarn, ...] = ()
    key: str = ""
    lines: tuple[str, ...] = ()
    fields: tuple[str, ...] = ()


def pairs(
    title: str, rows: Sequence[tuple[str, str, str, str]], notes: tuple[str, ...] = (), key: str = ""
) -> FigureTable:
    """Return a table of labelled figures, each with its range or another detail.

    Each row has the name that readers find it by, its label, the figure, and what there is to say.
    """
    header = ("", say("figure"), say("range or detail"))
    return FigureTable(
        title,
        header,
        tuple(row[1:] for row in rows),
        right=(1,),
        notes=notes,
        key=key,
        lines=tuple(row[0] for row in rows),
        fields=("", "figure", ""),
    )
