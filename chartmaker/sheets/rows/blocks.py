"""The blocks of a sheet of the row script: each row once, and rows that are tied alike together."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from chartmaker.sheets.rows.setting import RowText, RunSetting

#: A line of boxes for further rows that are tied as the one above them.
BOXES_MM = 6.2


@dataclass(frozen=True, slots=True)
class RowBlock:
    """Neighbouring rows that are tied alike. `like` is a row, from 0, that tells the same further up on the sheet."""

    rows: range
    text: RowText
    like: int | None = None


@dataclass(slots=True)
class Filling:
    """A sheet that is being filled with rows; `boxes` is how many rows have their boxes on one line."""

    setting: RunSetting
    boxes: int
    blocks: list[RowBlock] = field(default_factory=list)
    used_mm: float = 0.0
    _told: dict[bytes, int] = field(default_factory=dict)

    def taller_mm(self, row: int, text: RowText) -> float:
        """Return by how much the sheet's rows grow when `row` is added below them."""
        last = self.blocks[-1] if self.blocks else None
        if last is not None and last.text.key == text.key and last.rows.stop == row:
            more = len(last.rows)  # rows beside the first, with this one
            return BOXES_MM if more % self.boxes == 1 % self.boxes else 0.0
        return self.setting.height_mm(1 if self._like(text) is not None else text.lines)

    def _like(self, text: RowText) -> int | None:
        return self._told.get(text.key) if text.lines > 1 else None

    def add(self, row: int, text: RowText) -> None:
        """Add `row` below the others."""
        self.used_mm += self.taller_mm(row, text)
        last = self.blocks[-1] if self.blocks else None
        if last is not None and last.text.key == text.key and last.rows.stop == row:
            self.blocks[-1] = replace(last, rows=range(last.rows.start, row + 1))
            return
        self.blocks.append(RowBlock(range(row, row + 1), text, self._like(text)))
        self._told.setdefault(text.key, row)


def blocks_of(rows: Iterable[int], texts: Iterable[RowText], setting: RunSetting, boxes: int) -> list[RowBlock]:
    """Return the blocks of a sheet that tells `rows`, which rise."""
    filling = Filling(setting, boxes)
    for row, text in zip(rows, texts, strict=True):
        filling.add(row, text)
    return filling.blocks
