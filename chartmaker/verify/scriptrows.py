"""A block of the printed row script is read back: its numbers, runs with their swatches, columns and total."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from chartmaker.ground.language import say
from chartmaker.knots.knotmap import NO_KNOT, KnotArray
from chartmaker.readback.printed import Block, Fill, Group, Text, flat
from chartmaker.verify.bookmarks import Due
from chartmaker.verify.expected import Expected
from chartmaker.verify.fields import same_name, whole
from chartmaker.verify.legends import MOST_OFF, SYMBOL_FONT, Entry, is_seen

#: The runs of a line stand at the same height, to within this many millimetres.
LINE_OFF_MM = 0.4
#: Marks that touch may share so much of their line.
TOUCHING_MM = 0.3


class UnreadableRowError(ValueError):
    """What stands there is not a row."""


@dataclass(slots=True)
class Script:
    """What is kept of the sheets read so far: which rows of which columns were told, and how often."""

    expected: Expected
    sheets: int
    entries: list[Entry] = field(default_factory=list)
    glyphs: dict[int, int] = field(default_factory=dict)
    codes: dict[str, int] = field(default_factory=dict)
    runs: dict[int, tuple[int, int]] = field(default_factory=dict)
    spans: dict[int, tuple[float, float]] = field(default_factory=dict)
    kept: list[Block] = field(default_factory=list)
    told: dict[range, list[int]] = field(default_factory=dict)
    twins: set[range] = field(default_factory=set)
    dense: bool | None = None
    readings: set[str] = field(default_factory=set)
    due: Due = field(default_factory=Due)

    @property
    def leftward(self) -> bool:
        return self.expected.chart.reading == "right to left"

    def ends_of(self, run: Group) -> tuple[float, float]:
        """Return where a run begins and ends on its sheet."""
        known = self.spans.get(id(run.root))
        if known is None:
            self.kept.append(run.root)  # kept so that no other object gets its id
            words = [
                (item.x_mm + dx, item.x_mm + dx + item.length_mm)
                for item, dx, _ in flat(run.root)
                if isinstance(item, Text)
            ]
            known = self.spans[id(run.root)] = min(left for left, _ in words), max(right for _, right in words)
        return run.x_mm + known[0], run.x_mm + known[1]


@dataclass(slots=True)
class Place:
    """Where the reader is on a sheet: its columns and those that mirror them, the next row, and the rows told."""

    columns: range
    twin: range | None
    row: int
    stop: int
    told: dict[int, KnotArray]
    picked: bool = False
    """Whether a sheet tells only some of the rows between its first and its last, as a revision does."""
    counted: list[int] = field(default_factory=list)


def numbers_of(expected: Expected, row: int) -> tuple[int, ...]:
    """Return the numbers that `row`, counted from 0, must have."""
    back = expected.rows - row
    return (row + 1, back) if expected.mirrored[1] and back != row + 1 else (row + 1,)


class _Row:
    """What a row has said so far; each mark must stand behind the one before it in the order of reading.

    `ends` are the lines of its runs, each with its height on the sheet and the places told by its end; `sides` are the
    same lines with where the last mark ends on each, as it is read.
    """

    def __init__(self, leftward: bool, most: int) -> None:
        self.leftward, self.most = leftward, most
        self.lengths: list[int] = []
        self.yarns: list[int] = []
        self.group: tuple[int, int] | None = None  # times, where it begins
        self.ends: list[tuple[float, int]] = []
        self.places = 0
        self.sides: list[tuple[float, float]] = []
        self.x = self.y = float("nan")

    def at(self, x: float, y: float, left: float, right: float) -> None:
        """Take note of where a mark stands: its middle or its beginning, its height, and its two ends.

        Raises
        ------
        ValueError
            If it stands neither behind the mark before nor on a line below it, or in that mark.
        """
        x = -x if self.leftward else x
        same_line = abs(y - self.y) < LINE_OFF_MM
        if (same_line and x <= self.x) or (not same_line and y > self.y):
            raise UnreadableRowError(say("its runs do not stand in the order of reading"))
        if not self.is_clear(y, left, right) and same_line:
            raise UnreadableRowError(say("two of its marks are printed into each other"))
        if not same_line:
            if self.group is not None:
                raise UnreadableRowError(say("a group is parted at the end of a line"))
            self.ends.append((y, self.places))
            self.sides.append((y, 0.0))
        self.x, self.y = x, y
        self.sides[-1] = y, -left if self.leftward else right

    def is_clear(self, y: float, left: float, right: float) -> bool:
        """Return whether something at the height `y` stands on one of the lines, behind all of its marks."""
        begins = -right if self.leftward else left
        return any(abs(y - at) < LINE_OFF_MM and begins > end - TOUCHING_MM for at, end in self.sides)

    def add(self, length: int, yarn: int) -> None:
        if not 1 <= length <= self.most:
            raise UnreadableRowError(say("a run has no number of knots that the row can have"))
        self.lengths.append(length)
        self.yarns.append(yarn)
        self._count(length)

    def close(self) -> None:
        if self.group is None:
            raise UnreadableRowError(say("a group ends that did not begin"))
        times, start = self.group
        if not 1 <= times <= self.most or (len(self.lengths) - start) * times > self.most:
            raise UnreadableRowError(say("a group is tied more often than the row can have"))
        self._count(sum(self.lengths[start:]) * (times - 1))
        self.lengths += self.lengths[start:] * (times - 1)
        self.yarns += self.yarns[start:] * (times - 1)
        self.group = None

    def _count(self, places: int) -> None:
        self.places += places
        self.ends[-1] = (self.ends[-1][0], self.places)

    def cells(self, total: int | None) -> KnotArray:
        """Return the knots that the runs call for.

        Raises
        ------
        ValueError
            If they are too many, or the printed `total` is not theirs.
        """
        if self.group is not None:
            raise UnreadableRowError(say("a group does not end"))
        if self.places > self.most:
            raise UnreadableRowError(say("it has more knots than the rug has columns"))
        cells = np.repeat(np.array(self.yarns, dtype=np.uint16), self.lengths)
        check_total(cells, total)
        return cells


def check_total(cells: KnotArray, total: int | None) -> None:
    """Refuse a row whose printed total is not that of its knots."""
    tied = int((cells != NO_KNOT).sum())
    if total != tied:
        said = say("nothing") if total is None else total
        raise UnreadableRowError(say("its total says {total}, but its runs give {tied:,}", total=said, tied=tied))


def read_block(script: Script, span: Block, place: Place, below_mm: float) -> tuple[KnotArray, float]:
    """Return the knots of a block of rows in the order of reading, and how far down the sheet it reaches.

    The rows that it tells are counted in `place`.

    Raises
    ------
    ValueError
        If it is not a row, does not run in one direction from its numbers on, has other numbers than those that come
        next, names a wrong column at the end of a line, or has a total that its runs do not give.
    """
    row = _Row(script.leftward, script.expected.columns)
    said: list[list[int]] = []
    reached: list[tuple[float, dict[str, list[str]]]] = []
    like = total = None
    lines, line_mm = 0, 0.0
    for item in span.items:
        if isinstance(item, Group):
            if total is not None:
                raise UnreadableRowError(say("something stands behind its total"))
            knots, yarn = _run(script, item.root)
            row.at(item.x_mm, item.y_mm, *script.ends_of(item))
            row.add(knots, yarn)
            continue
        if not isinstance(item, Block):
            continue
        text = next(item.texts(), None)
        if text is None:
            raise UnreadableRowError(say("a span of it is empty"))
        x, y = text.x_mm + text.length_mm / 2, text.y_mm + 0.365 * text.size_mm
        if y > below_mm + LINE_OFF_MM:
            raise UnreadableRowError(say("it does not stand below the row before"))
        sides = text.x_mm, text.x_mm + sum(each.length_mm for each in item.texts())
        if total is not None and item.tag != "row":
            raise UnreadableRowError(say("something stands behind its total"))
        if item.tag in ("total", "column-reached") and not row.is_clear(y, *sides):
            raise UnreadableRowError(say("two of its marks are printed into each other"))
        if item.tag == "total":
            total, lines = whole(item.fields()["total"][0]), len(row.ends)
        elif item.tag == "column-reached":
            reached.append((y, item.fields()))
        else:
            row.at(x, y, *sides)
            if item.tag == "row":
                if not said or abs(y - line_mm) >= LINE_OFF_MM:
                    said.append([])
                    line_mm = y
                said[-1].append(whole(item.words))
                if place.picked and said == [said[0][:1]]:
                    place.row = max(place.row, min(said[0][0], place.stop) - 1)
            elif item.tag == "as-row":
                like = whole(item.fields()["like"][0]) - 1
            else:
                _mark(script, place, row, item)
    first = place.row
    _count_rows(script.expected, place, said)
    cells = _as_told(place, row, like, total) if like is not None else row.cells(total)
    ends = row.ends[:lines] if like is None else [(row.ends[0][0], len(cells))]
    _check_reached(script, place, ends, reached)
    place.told[first] = cells
    return cells, row.y


def _mark(script: Script, place: Place, row: _Row, item: Block) -> None:
    """Take in a mark between runs: where the next run begins, or a bracket."""
    fields = item.fields()
    if item.tag == "jump":
        _jump(script, place, row, {name: whole(words[0]) for name, words in fields.items()})
    elif item.tag == "times" and row.group is None:
        row.group = (whole(fields["times"][0]), len(row.lengths))
    elif item.tag == "close":
        row.close()
    else:
        raise UnreadableRowError(say("{words!r} is not a run", words=item.words))


def _jump(script: Script, place: Place, row: _Row, said: dict[str, int]) -> None:
    """Take in the empty places up to the column that is named, which must not lie behind the reader."""
    if row.group is not None:
        raise UnreadableRowError(say("a group has places without knots"))
    strip = place.columns
    if "places" in said:  # the row has no knot at all
        row.add(said["places"], NO_KNOT)
        return
    column, first = said.pop("from_column", 0), not row.places
    places = strip.stop - row.places - column if script.leftward else column - 1 - strip.start - row.places
    row.add(places, NO_KNOT)
    twin = said.pop("twin_column", None)
    if twin != (None if place.twin is None else script.expected.columns + 1 - column):
        there = say("no column") if twin is None else twin
        raise UnreadableRowError(
            say("it begins at column {column}, and in the other strip at {twin}", column=column, twin=there)
        )
    if said and not (first and said == _sideways(script, place, column, said)):
        raise UnreadableRowError(say("it does not begin so far from where the row below begins"))


def _sideways(script: Script, place: Place, column: int, said: dict[str, int]) -> dict[str, int]:
    """Return how far `column` lies from the first knot of the row below, on the side that is `said`."""
    below = script.expected.knots[place.row - 1, place.columns.start : place.columns.stop] if place.row else None
    tied = [] if below is None else np.flatnonzero(below != NO_KNOT).tolist()
    if not tied or script.expected.mirrored[1]:
        return {}
    began = place.columns.start + tied[-1 if script.leftward else 0] + 1
    side = next((name for name in said if name != "below"), "")
    sign = 1 if side in ("left", "after" if script.leftward else "before") else -1
    right = side in (("left", "right") if place.twin is None else ("before", "after"))
    return {side: sign * (began - column), "below": place.row} if right else {}


def _count_rows(expected: Expected, place: Place, said: Sequence[Sequence[int]]) -> None:
    """Count the rows with these numbers, line by line, in `place`; they must be the rows that come next.

    The first line is that of one row. On each line the numbers of the way up come before those of the way back.
    """
    for number, line in enumerate(said):
        first = line[0] - 1 if place.picked else place.row
        rows = range(first, first + (-(-len(line) // 2) if expected.mirrored[1] else len(line)))
        wanted = [row + 1 for row in rows] + sorted(back for row in rows for back in numbers_of(expected, row)[1:])
        if list(line) != wanted or (not number and len(rows) > 1) or not place.row <= first < rows.stop <= place.stop:
            raise UnreadableRowError(say("{numbers} stand where its numbers should", numbers=list(line)))
        place.counted += rows
        place.row = rows.stop
    if not said:
        raise UnreadableRowError(say("it bears no number"))


def _as_told(place: Place, row: _Row, like: int, total: int | None) -> KnotArray:
    """Return the knots of the row further up the sheet that this row is said to repeat."""
    cells = place.told.get(like)
    if cells is None or row.lengths:
        raise UnreadableRowError(say("it is said to be as a row that is not on its sheet"))
    check_total(cells, total)
    return cells


def _check_reached(
    script: Script,
    place: Place,
    ends: Sequence[tuple[float, int]],
    reached: Sequence[tuple[float, dict[str, list[str]]]],
) -> None:
    """Refuse a row with a line that does not end with the column that it reaches."""
    strip, columns = place.columns, script.expected.columns
    if len(ends) != len(reached):
        raise UnreadableRowError(say("its lines do not all say the column that they reach"))
    for (height, places), (y, fields) in zip(ends, reached, strict=True):
        column = strip.stop - places + 1 if script.leftward else strip.start + places
        wanted = {"reached": column} | ({} if place.twin is None else {"twin_reached": columns + 1 - column})
        said = {name: whole(words[0]) for name, words in fields.items() if len(words) == 1}
        if said != wanted or len(said) != len(fields) or abs(y - height) >= LINE_OFF_MM:
            raise UnreadableRowError(say("a line does not end with column {column}, which it reaches", column=column))


def _run(script: Script, root: Block) -> tuple[int, int]:
    """Return (knots, yarn) of a run, whose swatch must be that yarn's."""
    known = script.runs.get(id(root))
    if known is None:
        script.kept.append(root)  # kept so that no other object gets its id
        known = script.runs[id(root)] = _read_run(script, root)
    return known


def _read_run(script: Script, root: Block) -> tuple[int, int]:
    (span,) = root.blocks("run")
    fields = span.fields()
    (knots,), (code,) = fields.get("knots", [""]), fields.get("code", [""])
    yarn = script.codes.get(code)
    if yarn is None:
        raise UnreadableRowError(say("{code!r} is not a yarn of the map", code=code))
    expected = script.expected
    call = fields.get("call", [])
    wanted_call = expected.yarns[yarn].call
    if len(call) != (wanted_call is not None) or (wanted_call is not None and not same_name(call[0], wanted_call)):
        raise UnreadableRowError(say("{code} is called {said!r}", code=code, said=", ".join(call)))
    boxes = [each for each in flat(span) if isinstance(each[0], Fill)]
    symbols = [each for each in flat(span) if isinstance(each[0], Text) and each[0].font == SYMBOL_FONT]
    fills = [item.colour for item, _, _ in boxes if isinstance(item, Fill)]
    glyphs = [item.glyphs for item, _, _ in symbols if isinstance(item, Text)]
    marks = expected.chart.marks
    if script.dense is None:
        script.dense = not fills and not glyphs
    if script.dense:  # runs as text alone; the legend in front shows the swatches
        if fills or glyphs:
            raise UnreadableRowError(say("only some of its runs have a swatch"))
        return _checked_places(span, knots, yarn)
    wanted = [] if marks == "colour" else [script.glyphs.get(yarn, 0).to_bytes(2, "big")]
    shown = (
        np.array((fills[0] or ()) * (3 if fills[0] and len(fills[0]) == 1 else 1)) if len(fills) == 1 else np.zeros(0)
    )
    colour = np.array([255, 255, 255] if marks == "symbol" else expected.yarns[yarn].srgb)
    seen = all(
        is_seen(symbol, box, (dx - x, dy - y))
        for symbol, dx, dy in symbols
        for box, x, y in boxes
        if isinstance(symbol, Text) and isinstance(box, Fill)
    )
    if glyphs != wanted or not seen or shown.shape != (3,) or np.abs(shown * 255 - colour).max() > MOST_OFF:
        raise UnreadableRowError(say("the swatch of {code} is not that of its yarn", code=code))
    return _checked_places(span, knots, yarn)


def _checked_places(span: Block, knots: str, yarn: int) -> tuple[int, int]:
    """Return (knots, yarn) of a run, whose number must stand before its code."""
    places = [text.x_mm for tag in ("knots", "call", "code") for block in span.blocks(tag) for text in block.texts()]
    if places != sorted(places) or len({round(text.y_mm, 2) for text in span.texts()}) != 1:
        raise UnreadableRowError(say("the number of a run does not stand before its name and its code"))
    return whole(knots), yarn
