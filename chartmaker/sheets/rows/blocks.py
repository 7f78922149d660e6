"""The blocks of a sheet of the row script, in which rows that are tied alike stand together."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from chartmaker.sheets.rows.setting import RowText, RunSetting

#: The height of a line of boxes for further rows that are tied like the one above them.
BOXES_MM = 6.2


@dataclass(frozen=True, slots=True)
class RowBlock:
    """Neighbouring rows that are tied alike; `like` is an equal row further up the sheet, counted from 0."""

    rows: range
    text: RowText
    like: int | None = None


@dataclass(slots=True)
class Filling:
    """A sheet that is being filled with rows; the boxes of `boxes` rows fit on one line.

    A row that `begins` something, such as a new lot of yarn, does not join the rows below it that are tied alike.
    """

    setting: RunSetting
    boxes: int
    begins: frozenset[int] = frozenset()
    blocks: list[RowBlock] = field(default_factory=list)
    used_mm: float = 0.0
    _told: dict[bytes, int] = field(default_factory=dict)

    def taller_mm(self, row: int, text: RowText) -> float:
        """Return how much taller the sheet's rows become when `row` is added below them."""
        last = self._joined(row, text)
        if last is not None:
            more = len(last.rows)  # rows beside the first, with this one
            return BOXES_MM if more % self.boxes == 1 % self.boxes else 0.0
        return self.setting.height_mm(1 if self._like(text) is not None else text.lines)

    def _joined(self, row: int, text: RowText) -> RowBlock | None:
        """Return the block that a row joins, because it is tied alike and comes next."""
        last = self.blocks[-1] if self.blocks else None
        joins = last is not None and last.text.key == text.key and last.rows.stop == row and row not in self.begins
        return last if joins else None

    def _like(self, text: RowText) -> int | None:
        return self._told.get(text.key) if text.lines > 1 else None

    def add(self, row: int, text: RowText) -> None:
        """Add `row` below the others."""
        self.used_mm += self.taller_mm(row, text)
        last = self._joined(row, text)
        if last is not None:
            self.blocks[-1] = replace(last, rows=range(last.rows.start, row + 1))
            return
        self.blocks.append(RowBlock(range(row, row + 1), text, self._like(text)))
        self._told.setdefault(text.key, row)


def blocks_of(rows: Iterable[int], texts: Iterable[RowText], filling: Filling) -> list[RowBlock]:
    """Return the blocks of a sheet that tells `rows`, which are in rising order; it is filled with them."""
    for row, text in zip(rows, texts, strict=True):
        filling.add(row, text)
    return filling.blocks
