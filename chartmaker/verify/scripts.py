"""The printed row script of a set read back: every run of every row, its swatch, both numbers of a row, its total."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from chartmaker.ground.language import say, say_n
from chartmaker.knots.knotmap import NO_KNOT, KnotArray
from chartmaker.verify.difference import first_few, once
from chartmaker.verify.expected import Expected
from chartmaker.verify.fields import same_name, whole, wrong_fields, wrong_reading
from chartmaker.verify.legends import MOST_OFF, SYMBOL_FONT, Entry, entries_of, glyphs_of, legend_differences
from chartmaker.verify.overlaps import hidden_differences, overlap_differences
from chartmaker.verify.printed import Block, Fill, Group, Text, flat
from chartmaker.verify.sheets import Paper, Sheet

#: Runs on a line stand at one height, to this many millimetres.
LINE_OFF_MM = 0.4


class _UnreadableRowError(ValueError):
    """What stands there is no row."""


@dataclass(slots=True)
class _Script:
    """What is kept of the sheets so far: which rows of which columns were told, and how often."""

    expected: Expected
    sheets: int
    entries: list[Entry] = field(default_factory=list)
    glyphs: dict[int, int] = field(default_factory=dict)
    codes: dict[str, int] = field(default_factory=dict)
    runs: dict[int, tuple[int, int]] = field(default_factory=dict)
    kept: list[Block] = field(default_factory=list)
    told: dict[range, list[int]] = field(default_factory=dict)
    readings: set[str] = field(default_factory=set)

    @property
    def leftward(self) -> bool:
        return self.expected.chart.reading == "right to left"


def script_differences(data: bytes, expected: Expected) -> Iterator[str]:
    """Yield how rows.pdf differs from the map, in sentences that name the row.

    Raises
    ------
    ValueError
        If it is no PDF as row scripts are written.
    """
    paper = Paper(data, expected.knots.size)
    script = _Script(expected, len(paper.pages), codes={yarn.code: n for n, yarn in enumerate(expected.yarns)})

    yield from first_few(once((sheet.number, _sheet_differences(script, sheet)) for sheet in paper.sheets()))
    wanted = dict(enumerate(expected.counts.tolist()))
    yield from first_few(legend_differences(script.entries, wanted, expected, None))
    yield from _whole(script)


def _sheet_differences(script: _Script, sheet: Sheet) -> Iterator[str]:
    expected, root = script.expected, sheet.root
    wanted: dict[str, int | str] = {"map": expected.code, "sheet": sheet.number, "sheets": script.sheets}
    yield from wrong_fields(root.find("identity"), wanted)
    names = [name for span in root.find("heading") for name in span.fields().get("name", [""])]
    if len(names) != 1 or not same_name(names[0], expected.rug.name):
        yield say("it does not name the rug")
    rows = list(root.find("script-row"))
    try:
        if not rows:
            yield from overlap_differences(sheet)
            if script.told:
                yield say("it tells no row")
            script.entries += entries_of(root.find("legend"))
            return
        if not script.told:
            script.glyphs.update(glyphs_of(script.entries, expected))
        yield from _rows(script, sheet, rows)
    except _UnreadableRowError as error:
        yield str(error)
    except (ValueError, IndexError) as error:
        yield say("it cannot be read: {error}", error=error)


def _rows(script: _Script, sheet: Sheet, spans: Sequence[Block]) -> Iterator[str]:
    """Yield how the rows of a sheet differ from the map's."""
    expected = script.expected
    fields = [item for span in sheet.root.find("extent") for item in span.fields().items()]
    said = {name: words[0] for name, words in fields if len(words) == 1}
    numbers = {name: whole(words) for name, words in said.items() if name != "reading"}
    columns = range(numbers.get("first_column", 0) - 1, numbers.get("last_column", 0))
    first, last = numbers.get("first_row", 0), numbers.get("last_row", 0)
    if not 0 <= columns.start < columns.stop <= expected.columns or not 1 <= first <= last <= expected.rows:
        yield say("its head does not say which rows and columns it tells")
        return
    yield from _head(script, said, numbers, columns)
    if last - first + 1 != len(spans):
        yield say("its head says rows {first} to {last}, it tells {rows}", first=first, last=last, rows=len(spans))
    told = script.told.setdefault(columns, [])
    yield from hidden_differences(sheet)
    below = sheet.height_mm
    for row, span in enumerate(spans, start=first - 1):
        told.append(row)
        again = expected.rows - 1 - row
        both = (row + 1, again + 1) if expected.mirrored[1] and again != row else (row + 1,)
        try:
            found, below = read_row(script, span, both, below)
        except _UnreadableRowError as error:
            yield say("row {row} cannot be read: {error}", row=row + 1, error=error)
            continue
        if script.leftward:
            found = found[::-1]
        for number in both:
            if not np.array_equal(found, expected.knots[number - 1, columns.start : columns.stop]):
                yield say("row {row}: the runs are not the map's", row=number)
                break


def _head(script: _Script, said: Mapping[str, str], numbers: Mapping[str, int], columns: range) -> Iterator[str]:
    """Yield what the head of a sheet says otherwise than where its rows lie."""
    expected = script.expected
    strip = next(n for n, each in enumerate(expected.strips, 1) if columns.start in each)
    wanted = {"strip": strip, "strips": len(expected.strips)}
    if expected.mirrored[1]:
        wanted["first_back"] = expected.rows + 1 - numbers["last_row"]
        wanted["last_back"] = expected.rows + 1 - numbers["first_row"]
    parts = numbers.get("parts", 1)
    inside = expected.strips[strip - 1]
    if "part" in numbers and parts > 0:  # parts differ by one column at most
        edges = [inside.start + part * len(inside) // parts for part in range(parts + 1)]
        wanted["part"], inside = (
            edges.index(columns.start) + 1,
            range(columns.start, edges[edges.index(columns.start) + 1]),
        )
    for name, number in wanted.items():
        if numbers.get(name) != number:
            yield say(
                "its head says {words!r} for {name}, not {wanted}", words=said.get(name, ""), name=name, wanted=number
            )
    extra = set(numbers) - set(wanted) - {"first_row", "last_row", "first_column", "last_column", "parts"}
    if columns.stop != inside.stop or columns.start != inside.start or extra:
        yield say("its head says other columns than those of its strip")
    script.readings.add(said.get("reading", ""))
    if len(script.readings) > 1 or wrong_reading(said.get("reading", ""), expected.chart.reading):
        yield say(
            "its head says {words!r}, but rows are read {way}",
            words=said.get("reading", ""),
            way=expected.chart.reading,
        )


class _Row:
    """What a row says so far; every mark must stand behind the one before, as the row is read."""

    def __init__(self, leftward: bool, most: int) -> None:
        self.leftward, self.most = leftward, most
        self.lengths: list[int] = []
        self.yarns: list[int] = []
        self.group: tuple[int, int] | None = None  # times, where it begins
        self.x = self.y = float("nan")

    def at(self, x: float, y: float) -> None:
        """Note where a mark stands.

        Raises
        ------
        ValueError
            If it does not stand behind the mark before, or on a line below.
        """
        x = -x if self.leftward else x
        same_line = abs(y - self.y) < LINE_OFF_MM
        if (same_line and x <= self.x) or (not same_line and y > self.y):
            raise _UnreadableRowError(say("its runs do not stand in the order of reading"))
        self.x, self.y = x, y

    def add(self, length: int, yarn: int) -> None:
        if not 1 <= length <= self.most:
            raise _UnreadableRowError(say("a run has no number of knots that the row can have"))
        self.lengths.append(length)
        self.yarns.append(yarn)

    def close(self) -> None:
        if self.group is None:
            raise _UnreadableRowError(say("a group ends that did not begin"))
        times, start = self.group
        if not 1 <= times <= self.most or (len(self.lengths) - start) * times > self.most:
            raise _UnreadableRowError(say("a group is tied more often than the row can have"))
        self.lengths += self.lengths[start:] * (times - 1)
        self.yarns += self.yarns[start:] * (times - 1)
        self.group = None


def read_row(script: _Script, span: Block, numbers: Sequence[int], below_mm: float) -> tuple[KnotArray, float]:
    """Return the knots that a row with these `numbers` says, as it is read, with how far down the sheet it reaches.

    Raises
    ------
    ValueError
        If it is no row, is not read in one direction from its number on, or its total is another than its runs give.
    """
    row = _Row(script.leftward, script.expected.columns)
    said: list[int] = []
    total: int | None = None
    for item in span.items:
        if total is not None:
            raise _UnreadableRowError(say("something stands behind its total"))
        if isinstance(item, Group):
            knots, yarn = _run(script, item.root)
            row.at(item.x_mm, item.y_mm)
            row.add(knots, yarn)
            continue
        if not isinstance(item, Block):
            continue
        text = next(item.texts(), None)
        if text is None:
            raise _UnreadableRowError(say("a span of it is empty"))
        x, y = text.x_mm + text.length_mm / 2, text.y_mm + 0.365 * text.size_mm
        fields = item.fields()
        if item.tag == "row":
            said.append(whole(item.words))
            row.at(x, y)
        elif item.tag == "skip":
            row.at(x, y)
            row.add(whole(fields["places"][0]), NO_KNOT)
        elif item.tag == "times" and row.group is None:
            row.at(x, y)
            row.group = (whole(fields["times"][0]), len(row.lengths))
        elif item.tag == "close":
            row.at(x, y)
            row.close()
        elif item.tag == "total":
            total = whole(fields["total"][0])
        else:
            raise _UnreadableRowError(say("{words!r} is no run", words=item.words))
        if y > below_mm + LINE_OFF_MM:
            raise _UnreadableRowError(say("it does not stand below the row before"))
    if said != list(numbers):
        raise _UnreadableRowError(say("{numbers} stand where its numbers should", numbers=said))
    if sum(row.lengths) > row.most:
        raise _UnreadableRowError(say("it has more knots than the rug has columns"))
    cells = np.repeat(np.array(row.yarns, dtype=np.uint16), row.lengths)
    tied = int((cells != NO_KNOT).sum())
    if row.group is not None or total != tied:
        raise _UnreadableRowError(say("its total says {total}, its runs give {tied:,}", total=total, tied=tied))
    return cells, row.y


def _run(script: _Script, root: Block) -> tuple[int, int]:
    """Return (knots, yarn) of a run; its swatch must be that yarn's."""
    known = script.runs.get(id(root))
    if known is None:
        script.kept.append(root)  # so that no other takes its id
        known = script.runs[id(root)] = _read_run(script, root)
    return known


def _read_run(script: _Script, root: Block) -> tuple[int, int]:
    (span,) = root.blocks("run")
    fields = span.fields()
    (knots,), (code,) = fields.get("knots", [""]), fields.get("code", [""])
    yarn = script.codes.get(code)
    if yarn is None:
        raise _UnreadableRowError(say("{code!r} is no yarn of the map", code=code))
    expected = script.expected
    fills = [item.colour for item, _, _ in flat(span) if isinstance(item, Fill)]
    glyphs = [item.glyphs for item, _, _ in flat(span) if isinstance(item, Text) and item.font == SYMBOL_FONT]
    marks = expected.chart.marks
    wanted = [] if marks == "colour" else [script.glyphs.get(yarn, 0).to_bytes(2, "big")]
    shown = (
        np.array((fills[0] or ()) * (3 if fills[0] and len(fills[0]) == 1 else 1)) if len(fills) == 1 else np.zeros(0)
    )
    colour = np.array([255, 255, 255] if marks == "symbol" else expected.yarns[yarn].srgb)
    if glyphs != wanted or shown.shape != (3,) or np.abs(shown * 255 - colour).max() > MOST_OFF:
        raise _UnreadableRowError(say("the swatch of {code} is not that of its yarn", code=code))
    places = [
        text.x_mm for each in (span.blocks("knots"), span.blocks("code")) for block in each for text in block.texts()
    ]
    if places != sorted(places) or len({round(text.y_mm, 2) for text in span.texts()}) != 1:
        raise _UnreadableRowError(say("the number of a run does not stand before its code"))
    return whole(knots), yarn


def _whole(script: _Script) -> Iterator[str]:
    """Yield a fault where the sheets together do not tell every row of every column once."""
    expected = script.expected
    rows = expected.rows - expected.rows // 2 if expected.mirrored[1] else expected.rows
    columns = sorted(script.told, key=lambda part: part.start, reverse=script.leftward)
    if list(script.told) != columns:
        yield say("its strips are not in the order of weaving")
    lacking = [part for part, told in script.told.items() if told != list(range(rows))]
    covered = sum(map(len, script.told)) == expected.columns
    if lacking or not covered:
        yield say_n(
            "rows are missing, told twice or out of order in {n} strip",
            "rows are missing, told twice or out of order in {n} strips",
            max(len(lacking), 1),
        )
