"""The numbers and the lengths round the cells of a sheet, and the heavy lines and centre lines between the cells."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from chartmaker.ground.language import say
from chartmaker.readback.printed import Block, Fill, Line, flat
from chartmaker.verify.blocks import MIDDLE_EM, Cells
from chartmaker.verify.expected import Expected
from chartmaker.verify.fields import whole
from chartmaker.verify.sheets import Sheet

#: A number may stand this share of a cell off the middle of its row.
NUMBER_OFF = 0.35
#: A heavy line is at least this many times as wide as a thin one, and crosses this share of the cells.
HEAVIER, CROSSES = 2.0, 0.98
#: Lines may lie this far from the edge of their row or column, in millimetres, and are not paler than this.
LINE_OFF_MM, LIGHTEST_LINE = 0.06, 0.5
#: The height and the base of the triangles at the ends of the centre lines.
MARK_MM = 0.5, 1.0
#: Rounding to a millimetre may shift a length by this much.
LENGTH_OFF_CM = 0.0501
#: Two lines of text, one below the other, take at least this many times the size of the letters.
LINES_OF_TWO = 2.4


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
            crosses = abs(at_mm - place * side_mm) < LINE_OFF_MM and length_mm > CROSSES * across_mm
            if crosses and 0 <= place <= len(part):
                wide[place] = max(wide[place], line.width_mm)
        inner = {part.start + place: wide[place] for place in range(1, len(part))}
        heavy = [mm for number, mm in inner.items() if number % expected.chart.bold_every == 0]
        thin = [mm for number, mm in inner.items() if number % expected.chart.bold_every and number not in other]
        if (heavy and min(heavy) < HEAVIER * max(thin, default=0.0)) or 0.0 in (*heavy, *thin):
            yield say("the heavy lines between {what} are not where they are counted from", what=what)
        elif not heavy and thin and max(thin) > HEAVIER * min(thin):
            yield say("a heavy line between {what} is where none is counted from", what=what)


def centre_differences(sheet: Sheet, cells: Cells, expected: Expected) -> Iterator[str]:
    """Yield where the rug's centre lines, or the marks at their ends, are not at its middle or stand anywhere else.

    Between two cells there is one line, and round the cells in the middle there are two.
    """
    others = [item for item in sheet.root.items if not (isinstance(item, Block) and item.tag in ("cells", "join"))]
    items = [each for each, _, _ in flat(Block("", {}, others))]
    left, low, right, high = cells.x_mm, cells.y_mm, cells.x_mm + cells.width_mm, cells.y_mm + cells.height_mm
    lines = [each for each in items if isinstance(each, Line) and max(each.colour) <= LIGHTEST_LINE]
    up = [line for line in lines if line.x_mm == line.to_x_mm and _spans((line.y_mm, line.to_y_mm), (low, high))]
    over = [line for line in lines if line.y_mm == line.to_y_mm and _spans((line.x_mm, line.to_x_mm), (left, right))]
    marks = [each for each in items if isinstance(each, Fill) and max(each.colour or (1.0,)) <= LIGHTEST_LINE]
    above = [each.x_mm + each.width_mm / 2 for each in marks if each.y_mm > high and _is_mark(each)]
    sides = [
        [each.y_mm + each.height_mm / 2 for each in marks if each.x_mm + each.width_mm < left and _is_mark(each)],
        [each.y_mm + each.height_mm / 2 for each in marks if each.x_mm > right and _is_mark(each)],
    ]
    for places, ends, begin, cell_mm, part, size, what in (
        ([line.x_mm for line in up], [above], left, cells.cell_mm[0], cells.columns, expected.columns, say("columns")),
        ([line.y_mm for line in over], sides, low, cells.cell_mm[1], cells.rows, expected.rows, say("rows")),
    ):
        due = [edge for edge in sorted({size // 2, -(-size // 2)}) if part.start <= edge <= part.stop]
        found = sorted((place - begin) / cell_mm + part.start for place in places)
        middle = begin + (size / 2 - part.start) * cell_mm
        marked = all(any(abs(place - middle) < LINE_OFF_MM for place in end) for end in ends)
        off = LINE_OFF_MM / cell_mm
        if len(found) != len(due) or any(abs(a - b) > off for a, b in zip(found, due, strict=True)):
            yield say("the centre line of the {what} is not in the middle of the rug", what=what)
        elif due and part.start <= size / 2 <= part.stop and not marked:
            yield say("the centre line of the {what} has no mark at its end", what=what)


def _is_mark(fill: Fill) -> bool:
    """Return whether it is a triangle of the size of the marks, whichever way it points."""
    sides = sorted((fill.width_mm, fill.height_mm))
    return bool(abs(sides[0] - MARK_MM[0]) < LINE_OFF_MM and abs(sides[1] - MARK_MM[1]) < LINE_OFF_MM)


def _spans(ends: tuple[float, float], side: tuple[float, float]) -> bool:
    return all(abs(end - due) < LINE_OFF_MM for end, due in zip(sorted(ends), side, strict=True))


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
