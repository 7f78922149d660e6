"""The cells of a chart as PDF operators: colour as rectangles of runs, symbols as one string a row."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from chartmaker.knots.knotmap import NO_KNOT, KnotArray
from chartmaker.order.workshop import Marks
from chartmaker.paper.drawing import Colour, number
from chartmaker.paper.fonts import Font
from chartmaker.paper.symbols import FIRST_CODE, symbol_font, symbols_of
from chartmaker.yarns.yarn import Yarn, lab_of

#: Symbols on colour leave more of the cell's colour to be seen than symbols on white.
SYMBOL_SHARE: dict[Marks, float] = {"both": 0.7, "symbol": 0.88, "colour": 0.0}
#: Yarns darker than this (CIELAB lightness) carry white symbols.
DARK_LIGHTNESS = 52.0
#: Runs of at least this many knots may show their count.
COUNTED_RUN = 5


@dataclass(frozen=True)
class Palette:
    """How each yarn of a map is printed.

    Attributes
    ----------
    colours : tuple of (red, green, blue), 0..1
    glyphs : ndarray of uint16, shape (yarns,)
        Symbols, as glyphs of `font`.
    dark : ndarray of bool, shape (yarns,)
        Which yarns carry white symbols.
    """

    colours: tuple[Colour, ...]
    glyphs: NDArray[np.uint16]
    dark: NDArray[np.bool_]
    marks: Marks
    font: Font

    @property
    def coloured(self) -> bool:
        return self.marks != "symbol"

    @property
    def marked(self) -> bool:
        return self.marks != "colour"


def palette_of(yarns: tuple[Yarn, ...], marks: Marks) -> Palette:
    """Return the palette of `yarns`, with the symbol font made ready for them."""
    font = Font("S", symbol_font())
    glyphs = symbols_of(yarns)
    for glyph in glyphs:
        font.use(int(glyph), chr(FIRST_CODE + int(glyph)))
    colours: tuple[Colour, ...] = tuple((r / 255, g / 255, b / 255) for r, g, b in (yarn.srgb for yarn in yarns))
    dark = (lab_of(yarns)[:, 0] < DARK_LIGHTNESS) & (marks == "both")
    return Palette(colours, glyphs, dark, marks, font)


def rectangles(cells: KnotArray) -> dict[int, list[str]]:
    """Return the path operators of each yarn's cells, one unit a cell, rows upwards; runs above each other are joined.

    Parameters
    ----------
    cells : ndarray of uint16, shape (rows, columns)
    """
    columns = cells.shape[1]
    begins = np.ones(cells.shape, dtype=bool)
    begins[:, 1:] = cells[:, 1:] != cells[:, :-1]
    starts = np.flatnonzero(begins)
    lengths = np.diff(np.append(starts, cells.size))
    rows, lefts = np.divmod(starts, columns)
    yarns = cells.ravel()[starts]
    order = np.lexsort((rows, lengths, lefts, yarns))
    yarns, lefts, lengths, rows = yarns[order], lefts[order], lengths[order], rows[order]
    first = np.ones(len(order), dtype=bool)
    first[1:] = (
        (yarns[1:] != yarns[:-1])
        | (lefts[1:] != lefts[:-1])
        | (lengths[1:] != lengths[:-1])
        | (rows[1:] != rows[:-1] + 1)
    )
    at = np.flatnonzero(first)
    heights = np.diff(np.append(at, len(order)))
    yarns = yarns[at]
    path = [
        f"{left} {row} {length} {height} re"
        for left, row, length, height in zip(
            lefts[at].tolist(), rows[at].tolist(), lengths[at].tolist(), heights.tolist(), strict=True
        )
    ]
    cuts = np.flatnonzero(np.append(True, yarns[1:] != yarns[:-1])).tolist()
    return {int(yarns[start]): path[start:stop] for start, stop in zip(cuts, [*cuts[1:], len(path)], strict=True)}


@lru_cache(maxsize=2048)
def _rgb(colour: Colour, toned: float) -> str:
    return " ".join(number(round(side + (1 - side) * toned, 3)) for side in colour) + " rg"


@dataclass(frozen=True, slots=True)
class Place:
    """Where cells are drawn: the lower left corner of cell (0, 0), the size of a cell."""

    x_mm: float
    y_mm: float
    cell_width_mm: float
    cell_height_mm: float

    def unit(self) -> str:
        """Return the operator that makes a cell one unit wide, one high."""
        return f"{self.cell_width_mm:.6g} 0 0 {self.cell_height_mm:.6g} {self.x_mm:.6g} {self.y_mm:.6g} cm"


def colour_operators(cells: KnotArray, place: Place, palette: Palette, toned: float = 0) -> list[str]:
    """Return what paints `cells`; `toned` 0 to 1 mixes white in. Cells outside the outline stay unpainted."""
    if not palette.coloured:
        return []
    paths = rectangles(cells)
    outside = paths.pop(NO_KNOT, None)
    operators = [f"q {place.unit()}"]
    if not outside and paths:  # the yarn with the most pieces becomes the ground
        ground = max(paths, key=lambda yarn: len(paths[yarn]))
        paths[ground] = [f"0 0 {cells.shape[1]} {cells.shape[0]} re"]
        paths = {ground: paths.pop(ground), **paths}
    for yarn, path in paths.items():
        operators += [_rgb(palette.colours[yarn], toned), *path, "f"]
    operators.append("Q")
    return operators


def blank_operators(cells: KnotArray, place: Place) -> list[str]:
    """Return what clears the cells outside the outline of the grid's lines."""
    if not (cells == NO_KNOT).any():
        return []
    return [f"q {place.unit()} 1 g", *rectangles(cells)[NO_KNOT], "f Q"]


def counted_runs(cells: KnotArray) -> list[tuple[int, int, int]]:
    """Return (row, column, knots) of the runs that are long enough to show their count."""
    found = []
    for row, line in enumerate(cells):
        starts = np.flatnonzero(np.concatenate(([True], line[1:] != line[:-1])))
        lengths = np.diff(np.append(starts, line.size))
        for start, length in zip(starts.tolist(), lengths.tolist(), strict=True):
            if length >= COUNTED_RUN and line[start] != NO_KNOT:
                found.append((row, start, length))
    return found


def symbol_operators(
    cells: KnotArray,
    place: Place,
    palette: Palette,
    *,
    counted: Sequence[tuple[int, int, int]] = (),
    grey: float = 0,
) -> list[str]:
    """Return what sets the symbols of `cells`, a string a row for each ink in use.

    Parameters
    ----------
    counted : sequence of (row, column, knots)
        Runs of which only the first cell carries its symbol.
    grey : float
        Toned down: 0 black to 1 white, for both inks.
    """
    if not palette.marked:
        return []
    size = min(place.cell_width_mm, place.cell_height_mm) * SYMBOL_SHARE[palette.marks]
    x = place.x_mm + (place.cell_width_mm - size) / 2
    y = place.y_mm + (place.cell_height_mm - size) / 2
    inks: list[tuple[str, NDArray[np.bool_]]] = [(f"{number(grey)} g", ~palette.dark)]
    if palette.dark.any():
        inks.append(("1 g" if not grey else f"{number(1 - grey / 3)} g", palette.dark))
    operators: list[str] = []
    for ink, wanted in inks:
        codes = np.zeros(NO_KNOT + 1, dtype=">u2")
        codes[: len(wanted)][wanted] = palette.glyphs[wanted]
        glyphs = codes[cells]
        for row, column, knots in counted:
            glyphs[row, column + 1 : column + knots] = 0
        if not glyphs.any():
            continue
        spacing = place.cell_width_mm - size
        operators.append(
            f"BT /{palette.font.key} {size:.5g} Tf {spacing:.5g} Tc {-place.cell_height_mm:.6g} TL {ink} "
            f"{x:.6g} {y - place.cell_height_mm:.6g} Td"
        )
        operators += [f"<{line.tobytes().hex()}> '" for line in glyphs]
        operators.append("0 Tc ET")
    return operators
