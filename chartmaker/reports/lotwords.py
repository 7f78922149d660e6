"""Where a new lot of a yarn begins, in the words that every paper of a weaver has for it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from chartmaker.figures.reckoning import Figures
from chartmaker.ground.language import Told, joined, told


@dataclass(frozen=True)
class NewLot:
    """The yarn `code` is of a new lot from a `row` on, where a `section` begins; both count from 1."""

    code: str
    section: int
    row: int

    @property
    def words(self) -> Told:
        """What is said of it where there is room for a sentence."""
        return told(
            "From row {lot_row:,} on, where section {lot_section} begins, {lot_code} is of the new lot, over the whole "
            "width at once.",
            lot_row=self.row,
            lot_section=self.section,
            lot_code=self.code,
        )


def new_lots(figures: Figures) -> tuple[NewLot, ...]:
    """Return the new lot of each yarn of which one follows the stock."""
    return tuple(NewLot(yarn.code, section, row) for yarn, section, row in figures.issue.changes)


def lots_among(lots: Sequence[NewLot], rows: range, back: range) -> tuple[Told, ...]:
    """Return in one line which new lots begin on a sheet, and twice in fewer words; nothing if none does.

    Sheets without room for the names of the yarns count them, row by row or, with still less room, all together.

    Parameters
    ----------
    lots : sequence of NewLot
    rows, back : range
        The rows that the sheet tells, and those that it tells on the way back, counted from 1.
    """
    found: dict[int, list[str]] = {}
    for lot in lots:
        if lot.row in rows or lot.row in back:
            found.setdefault(lot.row, []).append(lot.code)
    if not found:
        return ()
    named, counted = "From row {lot_row:,} on: new lot of {lot_code}", "row {lot_row:,}: new lots of {lot_yarns}"
    first = told("see the first sheet")
    return (
        joined(" · ", [told(named, lot_row=row, lot_code=", ".join(codes)) for row, codes in found.items()]),
        joined(" · ", [*(told(counted, lot_row=row, lot_yarns=len(codes)) for row, codes in found.items()), first]),
        told("new lots of {lot_yarns}: see the first sheet", lot_yarns=sum(map(len, found.values()))),
    )
