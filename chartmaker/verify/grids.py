"""One sheet of cells is read: every symbol and colour, and the rows and columns that join two sheets."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.language import say
from chartmaker.knots.knotmap import KnotArray
from chartmaker.readback.printed import Block, Colour, Fill, Text, flat, stands_out
from chartmaker.verify.blocks import Cells
from chartmaker.verify.counts import blank_words, count_differences, counts_of, silent_cells
from chartmaker.verify.difference import cells_words
from chartmaker.verify.expected import Expected
from chartmaker.verify.legends import MOST_OFF, SMALLEST_SHARE, SYMBOL_FONT
from chartmaker.verify.sheets import Painted, Sheet

#: Where its colour is looked at, a cell is at least this many pixels wide.
CELL_PX = 5
#: A symbol may stand this share of a cell off the middle of its cell.
SYMBOL_OFF = 0.3
#: Symbols of the rows shown again are paler than others, but not paler than this.
PALEST = 0.9
#: Rows of the sheet below are toned down with at least, and at most, this share of white.
LEAST_TONED, MOST_TONED = 0.3, 0.85


def cells_of(block: Block, expected: Expected) -> Cells:
    """Return the cells that a block claims to show.

    Raises
    ------
    ValueError
        If it names no rows or columns of the rug, or no box.
    """
    first_row, last_row = (int(each) for each in block.values.get("Rows", ()))
    first_column, last_column = (int(each) for each in block.values.get("Columns", ()))
    x, y, width, height = block.values.get("Box", ())
    rows, columns = range(first_row - 1, last_row), range(first_column - 1, last_column)
    inside = 0 <= rows.start < rows.stop <= expected.rows and 0 <= columns.start < columns.stop <= expected.columns
    if not inside or width <= 0 or height <= 0:
        raise ValueError(say("its cells do not belong to the rug"))
    return Cells(block, rows, columns, x, y, width, height)


def cells_differences(
    cells: Cells, sheet: Sheet, painted: NDArray[np.uint8] | None, expected: Expected, glyphs: Mapping[int, int]
) -> Iterator[str]:
    """Yield how the symbols and the colours of the cells differ from the map's."""
    knots = expected.knots[cells.rows.start : cells.rows.stop, cells.columns.start : cells.columns.stop]
    corner = cells.rows.start, cells.columns.start
    yield from _painted_within(cells)
    if expected.chart.marks != "colour":
        wanted = _glyph_table(glyphs, len(expected.yarns))[np.minimum(knots, len(expected.yarns))]
        grounds = grounds_of(expected)
        found = placed(cells, grounds, knots)
        wrong = found != wanted
        if expected.chart.counts:
            counts = list(counts_of(cells))
            wrong &= ~silent_cells(cells, found, expected)
            yield from count_differences(cells, counts, expected)
            if expected.chart.marks == "symbol" and (blank := blank_words(cells, counts, found, knots)):
                yield blank
        if words := cells_words(wrong, say("without their yarn's symbol"), *corner):
            yield words
    if painted is not None:
        colours = np.full((len(expected.yarns) + 1, 3), 255, dtype=np.int16)
        colours[:-1] = [yarn.srgb for yarn in expected.yarns]
        off = np.abs(_colours(painted, sheet, cells) - colours[np.minimum(knots, len(expected.yarns))]).max(axis=-1)
        if words := cells_words(off > MOST_OFF, say("painted in another colour than their yarn's"), *corner):
            yield words


def join_differences(
    join: Cells,
    cells: Cells,
    sheet: Sheet,
    painted: NDArray[np.uint8] | None,
    expected: Expected,
    glyphs: Mapping[int, int],
) -> Iterator[str]:
    """Yield how the rows below the sheet or above it, or the columns beside it, differ from the map's."""
    if not np.allclose(join.cell_mm, cells.cell_mm, atol=1e-3) or not _adjoins(join, cells):
        yield say("the rows and columns that join it to the next sheets are not those that come next")
        return
    knots = expected.knots[join.rows.start : join.rows.stop, join.columns.start : join.columns.stop]
    corner = join.rows.start, join.columns.start
    yield from _painted_within(join)
    if expected.chart.marks != "colour":
        wanted = _glyph_table(glyphs, len(expected.yarns))[np.minimum(knots, len(expected.yarns))]
        if words := cells_words(placed(join) != wanted, say("of the join without their yarn's symbol"), *corner):
            yield words
    if painted is not None:
        colours = np.full((len(expected.yarns) + 1, 3), 255.0)
        colours[:-1] = [yarn.srgb for yarn in expected.yarns]
        plain = colours[np.minimum(knots, len(expected.yarns))]
        seen = _colours(painted, sheet, join)
        room = 255 - plain
        # Least squares, because what little a pale colour is toned hangs on how its bytes are rounded.
        toned = float(((seen - plain) * room).sum() / (room**2).sum()) if room.any() else LEAST_TONED
        off = np.abs(plain + room * toned - seen).max(axis=-1) > MOST_OFF
        if words := cells_words(off, say("of the join in another colour than their yarn's"), *corner):
            yield words
        if room.sum() > 255 and not LEAST_TONED <= toned <= MOST_TONED:
            yield say("the rows of the join are not toned down")


def _adjoins(join: Cells, cells: Cells) -> bool:
    """Return whether a join shows exactly the rows or columns that come next to the sheet's, on their side."""
    if join.columns == cells.columns and abs(join.x_mm - cells.x_mm) < 0.05:
        below = join.rows.stop == cells.rows.start and join.y_mm + join.height_mm <= cells.y_mm
        return below or (join.rows.start == cells.rows.stop and join.y_mm >= cells.y_mm + cells.height_mm)
    if join.rows == cells.rows and abs(join.y_mm - cells.y_mm) < 0.05:
        left = join.columns.stop == cells.columns.start and join.x_mm + join.width_mm <= cells.x_mm
        return left or (join.columns.start == cells.columns.stop and join.x_mm >= cells.x_mm + cells.width_mm)
    return False


def _glyph_table(glyphs: Mapping[int, int], yarns: int) -> NDArray[np.int64]:
    table = np.zeros(yarns + 1, dtype=np.int64)
    for yarn, glyph in glyphs.items():
        table[yarn] = glyph
    return table


def _painted_within(cells: Cells) -> Iterator[str]:
    """Yield a fault if a colour is painted past the cells, or over symbols that were there before."""
    begun = False
    for item in cells.block.items:
        if isinstance(item, Text):
            begun = True
        elif isinstance(item, Fill) and begun:
            yield say("something is painted over its symbols")
            return


def placed(cells: Cells, grounds: Sequence[Colour] = (), knots: KnotArray | None = None) -> NDArray[np.int64]:
    """Return the glyph in each cell, 0 where there is none, and -1 where there are several or one is off its place.

    So it is where a symbol is too small, or too near in lightness to the colour of its cell, which `grounds` gives for
    each of the `knots`, or else to white.
    """
    shape = len(cells.rows), len(cells.columns)
    found = np.zeros(shape, dtype=np.int64)
    width, height = cells.cell_mm
    taken = np.zeros(shape, dtype=np.int64)
    for item, dx, dy in flat(cells.block):
        if not isinstance(item, Text) or item.font != SYMBOL_FONT:
            continue
        glyphs = np.frombuffer(item.glyphs, dtype=">u2").astype(np.int64)
        there = np.flatnonzero(glyphs)
        if not there.size:
            continue
        across = (item.x_mm + dx + item.size_mm / 2 - cells.x_mm + there * item.pitch_mm) / width
        along = (item.y_mm + dy + item.size_mm / 2 - cells.y_mm) / height
        column, row = np.floor(across).astype(np.int64), int(np.floor(along))
        if not 0 <= row < shape[0] or column[0] < 0 or column[-1] >= shape[1] or column[0] > column[-1]:
            found[:] = -1
            return found
        off = (np.abs(across - column - 0.5) > SYMBOL_OFF) | (abs(along - row - 0.5) > SYMBOL_OFF) | (not item.upright)
        off |= item.size_mm < SMALLEST_SHARE * min(width, height)
        if knots is None:
            off |= max(item.colour) > PALEST
        else:
            seen = [stands_out(item.colour, ground) for ground in grounds] + [False]
            off |= ~np.array(seen)[np.minimum(knots[row, column], len(grounds))]
        found[row, column] = np.where(off, -1, glyphs[there])
        taken[row, column] += 1
    found[taken > 1] = -1
    return found


def grounds_of(expected: Expected) -> list[Colour]:
    """Return the colour on which each yarn's symbol stands."""
    if expected.chart.marks == "symbol":
        return [(1.0,)] * len(expected.yarns)
    return [tuple(band / 255 for band in yarn.srgb) for yarn in expected.yarns]


def _colours(painted: NDArray[np.uint8], sheet: Sheet, cells: Cells) -> NDArray[np.int16]:
    """Return the colour painted at the middle of each cell, row 0 lowest, shape (rows, columns, 3)."""
    scale_y, scale_x = painted.shape[0] / sheet.height_mm, painted.shape[1] / sheet.width_mm
    width, height = cells.cell_mm
    x = (cells.x_mm + (np.arange(len(cells.columns)) + 0.5) * width) * scale_x
    y = painted.shape[0] - (cells.y_mm + (np.arange(len(cells.rows)) + 0.5) * height) * scale_y
    rows = np.clip(y.astype(np.intp), 0, painted.shape[0] - 1)
    columns = np.clip(x.astype(np.intp), 0, painted.shape[1] - 1)
    return painted[np.ix_(rows, columns)].astype(np.int16)


def picture_of(page: Painted, cells: Cells) -> NDArray[np.uint8]:
    """Return the sheet as it is painted, with cells large enough to be looked at one by one."""
    return page.picture(CELL_PX / min(cells.cell_mm))
