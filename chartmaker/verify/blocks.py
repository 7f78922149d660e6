"""A block of cells on a sheet: which rows and columns it claims to show, and in what box they lie."""

from __future__ import annotations

from dataclasses import dataclass

from chartmaker.readback.printed import Block

#: The middle of a capital stands this far above the base line, in em, in the font of the sheets.
MIDDLE_EM = 0.365


@dataclass(frozen=True, slots=True)
class Cells:
    """A block of cells with the `rows` and `columns` that it shows, counted from 0, and the box that they lie in."""

    block: Block
    rows: range
    columns: range
    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float

    @property
    def cell_mm(self) -> tuple[float, float]:
        """The width and height of a cell."""
        return self.width_mm / len(self.columns), self.height_mm / len(self.rows)
