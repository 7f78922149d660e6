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


def lots_among(lots: Sequence[NewLot], rows: range, back: range, *, short: bool = False) -> Told:
    """Return which new lots begin on a sheet, in one line; nothing if none does.

    Parameters
    ----------
    lots : sequence of NewLot
    rows, back : range
        The rows that the sheet tells, and those that it tells on the way back, counted from 1.
    short : bool, optional
        Whether yarns are only counted, for sheets that have no room to name them.
    """
    found: dict[int, list[str]] = {}
    for lot in lots:
        if lot.row in rows or lot.row in back:
            found.setdefault(lot.row, []).append(lot.code)
    if short:
        words = "row {lot_row:,}: new lots of {lot_yarns}, see the first sheet"
        return joined(" · ", [told(words, lot_row=row, lot_yarns=len(codes)) for row, codes in found.items()])
    words = "From row {lot_row:,} on: new lot of {lot_code}"
    return joined(" · ", [told(words, lot_row=row, lot_code=", ".join(codes)) for row, codes in found.items()])
