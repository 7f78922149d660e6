"""The cells of a chart as PDF operators, with colours as rectangles of runs and symbols as one string for each row."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from chartmaker.knots.knotmap import NO_KNOT, KnotArray
from chartmaker.order.workshop import Marks
from chartmaker.paper import operators as op
from chartmaker.paper.operators import Colour, Operator
from chartmaker.paper.symbols import SYMBOL_FONT, symbols_of
from chartmaker.yarns.yarn import Yarn, lab_of

#: Symbols on colour leave more of the cell's colour to be seen than symbols on white.
SYMBOL_SHARE: dict[Marks, float] = {"both": 0.7, "symbol": 0.88, "colour": 0.0}
#: Yarns darker than this (CIELAB lightness) carry white symbols.
DARK_LIGHTNESS = 52.0


@dataclass(frozen=True)
class Palette:
    """How each yarn of a map is printed.

    Attributes
    ----------
    colours : tuple of (red, green, blue), 0..1
    glyphs : ndarray of uint16, shape (yarns,)
        Symbols, as glyphs of the book's symbol font.
    dark : ndarray of bool, shape (yarns,)
        Which yarns carry white symbols.
    """

    colours: tuple[Colour, ...]
    glyphs: NDArray[np.uint16]
    dark: NDArray[np.bool_]
    marks: Marks

    @property
    def coloured(self) -> bool:
        return self.marks != "symbol"

    @property
    def marked(self) -> bool:
        return self.marks != "colour"


def palette_of(yarns: tuple[Yarn, ...], marks: Marks) -> Palette:
    """Return the palette of `yarns`."""
    colours: tuple[Colour, ...] = tuple((r / 255, g / 255, b / 255) for r, g, b in (yarn.srgb for yarn in yarns))
    dark = (lab_of(yarns)[:, 0] < DARK_LIGHTNESS) & (marks == "both")
    return Palette(colours, symbols_of(yarns), dark, marks)


def rectangles(cells: KnotArray) -> dict[int, list[Operator]]:
    """Return the path operators of each yarn's cells, one unit each and rows upwards, with equal runs joined.

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
    path = op.cell_rectangles(lefts[at].tolist(), rows[at].tolist(), lengths[at].tolist(), heights.tolist())
    cuts = np.flatnonzero(np.append(True, yarns[1:] != yarns[:-1])).tolist()
    return {int(yarns[start]): path[start:stop] for start, stop in zip(cuts, [*cuts[1:], len(path)], strict=True)}


@lru_cache(maxsize=2048)
def _toned(colour: Colour, toned: float) -> Operator:
    red, green, blue = (round(side + (1 - side) * toned, 3) for side in colour)
    return op.fill_rgb((red, green, blue))


@dataclass(frozen=True, slots=True)
class Place:
    """Where cells are drawn, by the lower left corner of cell (0, 0) and the size of a cell."""

    x_mm: float
    y_mm: float
    cell_width_mm: float
    cell_height_mm: float

    def unit(self) -> Operator:
        """Return the operator that makes a cell one unit wide and one unit high."""
        return op.cell_unit(self.cell_width_mm, self.cell_height_mm, self.x_mm, self.y_mm)


def colour_operators(cells: KnotArray, place: Place, palette: Palette, toned: float = 0) -> list[Operator]:
    """Return the operators that paint `cells` with the share `toned` of white; cells outside the outline stay bare."""
    if not palette.coloured:
        return []
    paths = rectangles(cells)
    outside = paths.pop(NO_KNOT, None)
    operators = [op.line(op.SAVE, place.unit())]
    if not outside and paths:  # the yarn with the most pieces becomes the ground
        ground = max(paths, key=lambda yarn: len(paths[yarn]))
        paths[ground] = op.cell_rectangles([0], [0], [cells.shape[1]], [cells.shape[0]])
        paths = {ground: paths.pop(ground), **paths}
    for yarn, path in paths.items():
        operators += [_toned(palette.colours[yarn], toned), *path, op.FILL]
    operators.append(op.RESTORE)
    return operators


def blank_operators(cells: KnotArray, place: Place) -> list[Operator]:
    """Return the operators that clear the grid lines from the cells outside the outline."""
    if not (cells == NO_KNOT).any():
        return []
    begin = op.line(op.SAVE, place.unit(), op.fill_colour((1, 1, 1)))
    return [begin, *rectangles(cells)[NO_KNOT], op.line(op.FILL, op.RESTORE)]


def symbol_operators(
    cells: KnotArray,
    place: Place,
    palette: Palette,
    *,
    bare: Sequence[tuple[int, int, int]] = (),
    grey: float = 0,
) -> list[Operator]:
    """Return the operators that set the symbols of `cells`, one string for each row and ink.

    Parameters
    ----------
    bare : sequence of (row, first, last)
        Cells that carry no symbol, from the column `first` up to before `last`, because a count is printed there.
    grey : float
        How far both inks are toned down, from 0 for black to 1 for white.
    """
    if not palette.marked:
        return []
    size = min(place.cell_width_mm, place.cell_height_mm) * SYMBOL_SHARE[palette.marks]
    x = place.x_mm + (place.cell_width_mm - size) / 2
    y = place.y_mm + (place.cell_height_mm - size) / 2
    inks: list[tuple[float, NDArray[np.bool_]]] = [(grey, ~palette.dark)]
    if palette.dark.any():
        inks.append((1 - grey / 3, palette.dark))
    operators: list[Operator] = []
    for ink, wanted in inks:
        codes = np.zeros(NO_KNOT + 1, dtype=">u2")
        codes[: len(wanted)][wanted] = palette.glyphs[wanted]
        glyphs = codes[cells]
        for row, first, last in bare:
            glyphs[row, first:last] = 0
        if not glyphs.any():
            continue
        operators.append(
            op.line(
                op.BEGIN_TEXT,
                op.font(SYMBOL_FONT, size, digits=5),
                op.letter_spacing(place.cell_width_mm - size),
                op.line_pitch(-place.cell_height_mm),
                op.fill_colour((ink, ink, ink)),
                op.text_moved_finely(x, y - place.cell_height_mm),
            )
        )
        operators += op.next_lines_shown(line.tobytes() for line in glyphs)
        operators.append(op.line(op.letter_spacing(0), op.END_TEXT))
    return operators
