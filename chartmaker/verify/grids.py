"""One sheet of cells is read: every symbol and colour, the numbers round them, and the rows that join two sheets."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.language import say
from chartmaker.knots.knotmap import NO_KNOT, KnotArray
from chartmaker.verify.difference import cells_words
from chartmaker.verify.expected import Expected
from chartmaker.verify.fields import whole
from chartmaker.verify.legends import MOST_OFF, SMALLEST_SHARE, SYMBOL_FONT
from chartmaker.verify.printed import Block, Colour, Fill, Line, Text, flat, stands_out
from chartmaker.verify.sheets import Painted, Sheet

#: Where its colour is looked at, a cell is at least this many pixels wide.
CELL_PX = 5
#: The middle of a capital stands this far above the base line, in em, in the font of the sheets.
MIDDLE_EM = 0.365
#: A number may stand this share of a cell off the middle of its row, and a symbol off the middle of its cell.
NUMBER_OFF, SYMBOL_OFF = 0.35, 0.3
#: Rounding to a millimetre may shift a length by this much.
LENGTH_OFF_CM = 0.0501
#: Two lines of text, one below the other, take at least this many times the size of the letters.
LINES_OF_TWO = 2.4
#: Symbols of the rows shown again are paler than others, but not paler than this.
PALEST = 0.9
#: A heavy line is at least this many times as wide as a thin one, and crosses this share of the cells.
HEAVIER, CROSSES = 2.0, 0.98
#: Lines may lie this far from the edge of their row or column, in millimetres, and are not paler than this.
LINE_OFF_MM, LIGHTEST_LINE = 0.06, 0.5
#: Rows of the sheet below are toned down with at least, and at most, this share of white.
LEAST_TONED, MOST_TONED = 0.3, 0.85


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
        if expected.chart.counts:  # the first cell of a counted run, as it is read, bears the symbol
            follows = np.zeros(wrong.shape, dtype=bool)
            alike = knots[:, 1:] == knots[:, :-1]
            leftward = expected.chart.reading == "right to left"
            if leftward:
                follows[:, :-1] = (found[:, :-1] == 0) & alike
            else:
                follows[:, 1:] = (found[:, 1:] == 0) & alike
            wrong &= ~follows
            yield from _counts(cells, found, knots, grounds)
            if expected.chart.marks == "symbol" and (blank := _blank_words(cells, found, knots)):
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
        room = (255 - plain).sum()
        toned = float((seen - plain).sum() / room) if room else LEAST_TONED
        off = np.abs(plain + (255 - plain) * toned - seen).max(axis=-1) > MOST_OFF
        if words := cells_words(off, say("of the join in another colour than their yarn's"), *corner):
            yield words
        if room > 255 and not LEAST_TONED <= toned <= MOST_TONED:
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
        glyphs = np.frombuffer(item.glyphs, dtype=">u2")
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


def _blank_words(cells: Cells, found: NDArray[np.int64], knots: KnotArray) -> str:
    """Return which cells of a chart without colour hold neither a symbol nor a figure of a count."""
    width, height = cells.cell_mm
    bare = (found == 0) & (knots != NO_KNOT)
    for text in (text for block in cells.block.find("count") for text in block.texts()):
        row = int((text.y_mm + MIDDLE_EM * text.size_mm - cells.y_mm) // height)
        first = (text.x_mm - cells.x_mm) / width - 1
        last = (text.x_mm + text.length_mm - cells.x_mm) / width + 1
        if 0 <= row < len(bare):
            bare[row, max(0, math.ceil(first)) : max(0, math.floor(last))] = False
    return cells_words(bare, say("without a symbol or a count"), cells.rows.start, cells.columns.start) or ""


def grounds_of(expected: Expected) -> list[Colour]:
    """Return the colour on which each yarn's symbol stands."""
    if expected.chart.marks == "symbol":
        return [(1.0,)] * len(expected.yarns)
    return [tuple(band / 255 for band in yarn.srgb) for yarn in expected.yarns]


def _counts(cells: Cells, found: NDArray[np.int64], knots: KnotArray, grounds: Sequence[Colour]) -> Iterator[str]:
    """Yield which counted runs have a count that is not that of the empty cells behind their symbol."""
    width, height = cells.cell_mm
    said: dict[tuple[int, int], int] = {}
    for text in (text for block in cells.block.find("count") for text in block.texts()):
        row = int((text.y_mm + MIDDLE_EM * text.size_mm - cells.y_mm) // height)
        column = int((text.x_mm + text.length_mm / 2 - cells.x_mm) // width)
        said[row, column] = whole(text.words)
        yarn = int(knots[row, column]) if 0 <= row < len(knots) and 0 <= column < knots.shape[1] else NO_KNOT
        ground = (1.0,) if yarn == NO_KNOT else grounds[yarn]
        if not stands_out(text.colour, ground) or text.size_mm < SMALLEST_SHARE * min(width, height):
            yield say("the count {words} is not seen on its cells", words=text.words)
    for row, line in enumerate(knots):
        starts = np.flatnonzero(np.concatenate(([True], line[1:] != line[:-1])))
        for start, stop in zip(starts.tolist(), [*starts[1:].tolist(), line.size], strict=True):
            silent = int((found[row, start:stop] == 0).sum())
            inside = [column for at, column in said if at == row and start <= column < stop] if said else []
            printed = [said.pop((row, column)) for column in inside]
            if line[start] != NO_KNOT and printed != ([stop - start] if silent else []):
                place = {"row": cells.rows.start + row + 1, "column": cells.columns.start + start + 1}
                yield say("the run from row {row}, column {column} does not have its count", **place)
    for row, _ in said:
        yield say("a count stands in row {row} where there is no run", row=cells.rows.start + row + 1)


def _colours(painted: NDArray[np.uint8], sheet: Sheet, cells: Cells) -> NDArray[np.int16]:
    """Return the colour painted at the middle of each cell, row 0 lowest, shape (rows, columns, 3)."""
    scale_y, scale_x = painted.shape[0] / sheet.height_mm, painted.shape[1] / sheet.width_mm
    width, height = cells.cell_mm
    x = (cells.x_mm + (np.arange(len(cells.columns)) + 0.5) * width) * scale_x
    y = painted.shape[0] - (cells.y_mm + (np.arange(len(cells.rows)) + 0.5) * height) * scale_y
    rows = np.clip(y.astype(np.intp), 0, painted.shape[0] - 1)
    columns = np.clip(x.astype(np.intp), 0, painted.shape[1] - 1)
    return painted[np.ix_(rows, columns)].astype(np.int16)


def line_differences(cells: Cells, expected: Expected) -> Iterator[str]:
    """Yield where the heavy lines, by which rows and columns are counted, do not lie at every so many rows or columns.

    Where one weaver's columns end and another's begin, a line is heavier still.
    """
    lines = [(each, dx, dy) for each, dx, dy in flat(cells.block) if isinstance(each, Line)]
    dark = [each for each in lines if max(each[0].colour) <= LIGHTEST_LINE]
    width, height = cells.cell_mm
    level = [(y.y_mm + dy - cells.y_mm, abs(y.to_x_mm - y.x_mm), y) for y, _, dy in dark if y.y_mm == y.to_y_mm]
    steep = [(x.x_mm + dx - cells.x_mm, abs(x.to_y_mm - x.y_mm), x) for x, dx, _ in dark if x.x_mm == x.to_x_mm]
    seats = {seat.start for seat in expected.seats}
    for found, part, side_mm, across_mm, what, other in (
        (level, cells.rows, height, cells.width_mm, say("rows"), set[int]()),
        (steep, cells.columns, width, cells.height_mm, say("columns"), seats),
    ):
        wide = np.zeros(len(part) + 1)
        for at_mm, length_mm, line in found:
            place = round(at_mm / side_mm)
            if (
                0 <= place <= len(part)
                and abs(at_mm - place * side_mm) < LINE_OFF_MM
                and length_mm > CROSSES * across_mm
            ):
                wide[place] = max(wide[place], line.width_mm)
        inner = range(1, len(part))
        heavy = [wide[place] for place in inner if (part.start + place) % expected.chart.bold_every == 0]
        thin = [
            wide[place]
            for place in inner
            if (part.start + place) % expected.chart.bold_every and part.start + place not in other
        ]
        if (heavy and min(heavy) < HEAVIER * max(thin, default=0.0)) or 0.0 in (*heavy, *thin):
            yield say("the heavy lines between {what} are not where they are counted from", what=what)
        elif not heavy and thin and max(thin) > HEAVIER * min(thin):
            yield say("a heavy line between {what} is where none is counted from", what=what)


def picture_of(page: Painted, cells: Cells) -> NDArray[np.uint8]:
    """Return the sheet as it is painted, with cells large enough to be looked at one by one."""
    return page.picture(CELL_PX / min(cells.cell_mm))


def number_differences(sheet: Sheet, cells: Cells, expected: Expected) -> Iterator[str]:
    """Yield which lengths, and which numbers of rows and columns, straight or turned, are not what they should be."""
    across, along = expected.mirrored
    width, height = cells.cell_mm
    left, right, low, high = cells.x_mm, cells.x_mm + cells.width_mm, cells.y_mm, cells.y_mm + cells.height_mm
    rows = _labels(sheet, "row")
    turned = _labels(sheet, "turned-row")
    columns, turned_columns = _labels(sheet, "column"), _labels(sheet, "turned-column")
    upright = [(words, (y - low) / height, x) for words, x, y, _ in rows]
    flat_ = [(words, (x - left) / width, y) for words, x, y, _ in columns]
    sides = [[each for each in upright if each[2] < left], [each for each in upright if each[2] > right]]
    yield from _numbered(sides, len(upright), cells.rows, say("rows"), lambda row: row + 1)
    ends = [[each for each in flat_ if each[2] < low], [each for each in flat_ if each[2] > high]]
    yield from _numbered(ends, len(flat_), cells.columns, say("columns"), lambda column: column + 1)
    size = expected.rows
    wanted = {index for index in _at(sides[0]) if index + cells.rows.start != size - 1 - index - cells.rows.start}
    listed = [(words, (y - low) / height, x) for words, x, y, _ in turned]
    yield from _turned(listed, wanted if along else set(), cells.rows, size, say("rows"))
    size = expected.columns
    wanted = {index for index in _at(ends[0]) if index + cells.columns.start != size - 1 - index - cells.columns.start}
    listed = [(words, (x - left) / width, y) for words, x, y, _ in turned_columns]
    yield from _turned(listed, wanted if across else set(), cells.columns, size, say("columns"))
    yield from _lengths(sheet, cells, expected)


def _labels(sheet: Sheet, tag: str) -> list[tuple[str, float, float, float]]:
    """Return the words of each text under a tag, the x and y of its middle, and its size."""
    return [
        (text.words, text.x_mm + text.length_mm / 2, text.y_mm + MIDDLE_EM * text.size_mm, text.size_mm)
        for block in sheet.root.find(tag)
        for text in block.texts()
    ]


def _at(labels: Sequence[tuple[str, float, float]]) -> set[int]:
    return {int(place) for _, place, _ in labels}


def _numbered(
    sides: Sequence[Sequence[tuple[str, float, float]]], every: int, part: range, what: str, number: object
) -> Iterator[str]:
    """Yield which numbers on the two sides of the cells are not those of the row or column that they stand at."""
    assert callable(number)
    if sum(map(len, sides)) != every or not sides[0]:
        yield say("numbers of {what} do not stand beside the cells", what=what)
    if _at(sides[0]) != _at(sides[1]):
        yield say("the numbers of {what} on one side are not those on the other", what=what)
    for side in sides:
        places = sorted(_at(side))
        if len(places) != len(side):
            yield say("two numbers of {what} stand in one place", what=what)
        for words, place, _ in side:
            index = int(place)
            if abs(place - index - 0.5) > NUMBER_OFF or not 0 <= index < len(part):
                yield say("the number {words} of {what} stands beside none of them", words=words, what=what)
            elif whole(words) != number(part.start + index):
                wanted = number(part.start + index)
                yield say("{what}: {words} stands where {wanted} should", what=what, words=words, wanted=wanted)
        if _lacking(places, len(part)):
            yield say("numbers of {what} are missing", what=what)


def _lacking(places: Sequence[int], size: int) -> bool:
    """Return whether a number is missing among these places, which must be even between the first and the last.

    The first and the last row or column of a sheet have their number wherever there is room beside the even ones.
    """
    if len(places) < 3:
        return not places
    gaps = np.diff(places)
    even = gaps[1:-1] if len(gaps) > 2 else gaps
    step = int(even.max())
    ends = places[0], size - 1 - places[-1]
    return bool((len(gaps) > 2 and (even != step).any()) or gaps.max() > step or max(ends) >= step)


def _turned(
    labels: Sequence[tuple[str, float, float]], wanted: set[int], part: range, size: int, what: str
) -> Iterator[str]:
    """Yield which numbers for the turned sheet are not those of the mirrored row or column."""
    if _at(labels) != wanted or len(labels) != len(wanted):
        yield say("the numbers of {what} for the turned sheet are not all there", what=what)
    for words, place, _ in labels:
        right = size - part.start - int(place)
        if abs(place - int(place) - 0.5) > NUMBER_OFF or whole(words) != right:
            said = {"what": what, "words": words, "wanted": right}
            yield say("{what} of the turned sheet: {words} stands where {wanted} should", **said)


def _lengths(sheet: Sheet, cells: Cells, expected: Expected) -> Iterator[str]:
    """Yield which lengths on the loom are not those of the edge that they stand at."""
    every = expected.chart.bold_every
    row_cm = float(expected.rug.density.knot_height_mm) * expected.loom_length_factor / 10
    marks = {row for row in range(cells.rows.start + 1, cells.rows.stop + 1) if row % every == 0}
    lower = {row for row in marks if 2 * row < expected.rows}
    seen = dict(_read_lengths(sheet, cells, "length", 1))
    yield from _wrong_lengths(seen, marks, {row: row * row_cm for row in seen})
    turned = dict(_read_lengths(sheet, cells, "turned-length", every))
    sizes = [text.size_mm for block in sheet.root.find("length") for text in block.texts()]
    room = bool(sizes) and every * cells.cell_mm[1] >= LINES_OF_TWO * max(sizes)
    if turned or room or not expected.mirrored[1]:  # there may be no room for two lines at a mark
        wanted = {row: (expected.rows - row) * row_cm for row in turned}
        yield from _wrong_lengths(turned, lower if expected.mirrored[1] else set(), wanted)


def _read_lengths(sheet: Sheet, cells: Cells, tag: str, every: int) -> Iterator[tuple[int, str]]:
    """Yield (row, words) of each length: it stands at the upper edge of that row, or, turned, below the next mark."""
    for span in (each for block in sheet.root.find(tag) for each in block.blocks()):
        text = next(span.texts(), None)
        words = span.words[: int(span.values.get("length", (0.0, 0.0))[1])]
        if text is not None:
            edge = (text.y_mm + MIDDLE_EM * text.size_mm - cells.y_mm) / cells.cell_mm[1] + cells.rows.start
            near = abs(edge - round(edge)) < NUMBER_OFF
            yield (round(edge) if near else -1) if every == 1 else math.ceil(edge / every) * every, words


def _wrong_lengths(seen: Mapping[int, str], marks: set[int], lengths: Mapping[int, float]) -> Iterator[str]:
    if set(seen) != marks:
        yield say("lengths on the loom are missing, or stand where none belongs")
    for row, words in seen.items():
        if not re.fullmatch(r"\d+(\.\d)?", words) or abs(float(words) - lengths[row]) > LENGTH_OFF_CM:
            wanted = f"{lengths[row]:.1f}"
            yield say(
                "at row {row} the length {words} stands where {wanted} should", row=row, words=words, wanted=wanted
            )
