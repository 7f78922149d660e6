"""How a drawing in full size is divided among the pages of a roll or among sheets, which overlap."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import product

import numpy as np
from numpy.typing import NDArray

#: The room round a window on its sheet, in millimetres, for rulers, words and the edge that no printer reaches.
LEFT_MM, RIGHT_MM, FOOT_MM, TOP_MM = 18.0, 9.0, 30.0, 14.0
#: On a roll there is less of it at the right: a rug of 150 cm then comes in one piece on a roll of 60 inches.
ROLL_RIGHT_MM = 6.0
#: The width of the part of the drawing that two neighbouring sheets both show, in millimetres.
OVERLAP_MM = 10.0
#: A page of a PDF may be at most 200 inches long (ISO 32000-1, annex C); this leaves some room.
LONGEST_MM = 5000.0


@dataclass(frozen=True)
class Tile:
    """A sheet, with its row and column among the sheets, the window of the drawing that it shows, and its page.

    Sheets are called by numbers from the top down, and by letters from left to right: 3A, which is no size of paper.
    """

    column: int
    row: int
    left_mm: float
    low_mm: float
    right_mm: float
    high_mm: float
    page_width_mm: float
    page_height_mm: float

    @property
    def name(self) -> str:
        letters, column = "", self.column
        while column >= 0:
            letters, column = chr(65 + column % 26) + letters, column // 26 - 1
        return f"{self.row + 1}{letters}"

    @property
    def origin_mm(self) -> tuple[float, float]:
        """Where the drawing's lower left corner lies on the page, or beyond it."""
        return LEFT_MM - self.left_mm, FOOT_MM - self.low_mm

    def shows(self, x_mm: float, y_mm: float) -> bool:
        return self.left_mm <= x_mm <= self.right_mm and self.low_mm <= y_mm <= self.high_mm

    def meets(self, least_mm: NDArray[np.float64], most_mm: NDArray[np.float64]) -> bool:
        """Return whether something with these lower left and upper right corners can show in the window."""
        across = least_mm[0] <= self.right_mm and most_mm[0] >= self.left_mm
        return bool(across and least_mm[1] <= self.high_mm and most_mm[1] >= self.low_mm)


@dataclass(frozen=True)
class Tiling:
    """All sheets of a drawing, column by column, from the top down; `roll_mm` is the width of the roll, if any."""

    tiles: tuple[Tile, ...]
    columns: int
    rows: int
    roll_mm: float | None = None


def on_roll(width_mm: float, height_mm: float, roll_mm: float) -> Tiling:
    """Return the drawing on a roll, on as few pages as possible, each as long as it needs to be."""
    page_mm = (roll_mm, LONGEST_MM)
    return replace(_tiled(width_mm, height_mm, page_mm, ROLL_RIGHT_MM, whole_pages=False), roll_mm=roll_mm)


def on_sheets(width_mm: float, height_mm: float, paper_mm: tuple[float, float]) -> Tiling:
    """Return the drawing on sheets of one size, turned the way that takes fewer of them."""
    upright = _tiled(width_mm, height_mm, paper_mm, RIGHT_MM, whole_pages=True)
    lying = _tiled(width_mm, height_mm, paper_mm[::-1], RIGHT_MM, whole_pages=True)
    return min(upright, lying, key=lambda tiling: len(tiling.tiles))


def _tiled(
    width_mm: float, height_mm: float, page_mm: tuple[float, float], right_mm: float, *, whole_pages: bool
) -> Tiling:
    across_mm, along_mm = page_mm
    across, along = across_mm - LEFT_MM - right_mm, along_mm - FOOT_MM - TOP_MM
    columns, rows = _parts(width_mm, across), _parts(height_mm, along)
    tiles = []
    for (column, (left, right)), (row, (low, high)) in product(enumerate(columns), enumerate(reversed(rows))):
        page = (across_mm, along_mm if whole_pages else high - low + FOOT_MM + TOP_MM)
        tiles.append(Tile(column, row, left, low, right, high, *page))
    return Tiling(tuple(tiles), len(columns), len(rows))


def _parts(length_mm: float, room_mm: float) -> list[tuple[float, float]]:
    """Return equally long windows of up to `room_mm`, of which each overlaps the next by OVERLAP_MM."""
    number = max(1, math.ceil((length_mm - OVERLAP_MM) / (room_mm - OVERLAP_MM)))
    step = (length_mm - OVERLAP_MM) / number
    return [
        (step * part, length_mm if part == number - 1 else step * (part + 1) + OVERLAP_MM) for part in range(number)
    ]
