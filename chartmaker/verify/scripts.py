"""The printed row script is read back: every run of every row with its swatch, both numbers of a row, and its total."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from chartmaker.ground.language import say, say_n
from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.readback.printed import Block
from chartmaker.verify.bookmarks import bookmark_differences
from chartmaker.verify.difference import first_few, once
from chartmaker.verify.expected import Expected
from chartmaker.verify.fields import head_faults, said_in, whole, wrong_reading
from chartmaker.verify.legends import entries_of, glyphs_of, legend_differences
from chartmaker.verify.overlaps import hidden_differences, overlap_differences
from chartmaker.verify.remarked import lot_faults
from chartmaker.verify.scriptrows import Place, Script, UnreadableRowError, numbers_of, read_block
from chartmaker.verify.sheets import Paper, Sheet

#: The fields of a script's front in which the heights of the pile stand.
_PILE = ("cut_mm", "pile_mm", "assumed_cut", "assumed_pile", "own_code", "own_cut_mm", "own_pile_mm")
#: The fields that say where a new lot of a yarn begins.
_LOT = ("lot_row", "lot_section", "lot_code")


def script_differences(data: bytes, expected: Expected) -> Iterator[str]:
    """Yield how rows.pdf differs from the map, in sentences that name the row.

    Raises
    ------
    ValueError
        If it is not a PDF of the kind in which row scripts are written.
    """
    paper = Paper(data, expected.knots.size)
    script = Script(expected, len(paper.pages), codes={yarn.code: n for n, yarn in enumerate(expected.yarns)})

    yield from first_few(
        once((sheet.number, sheet_differences(script, sheet, sheet.number)) for sheet in paper.sheets())
    )
    wanted = dict(enumerate(expected.counts.tolist()))
    yield from first_few(legend_differences(script.entries, wanted, expected, None, heights=False))
    yield from _whole(script)
    yield from bookmark_differences(paper, expected, script.due)


def sheet_differences(script: Script, sheet: Sheet, number: int, *, picked: bool = False) -> Iterator[str]:
    """Yield how sheet `number` of a row script differs from the map; `picked` says that it may leave rows out."""
    expected, root = script.expected, sheet.root
    yield from head_faults(root, expected.rug.name, map=expected.code, sheet=number, sheets=script.sheets)
    rows = list(root.find("script-row"))
    try:
        if not rows:
            yield from overlap_differences(sheet)
            if script.told:
                yield say("it tells no row")
            script.entries += entries_of(root.find("legend"))
            yield from _ways(script, sheet)
            return
        if not script.told:
            script.glyphs.update(glyphs_of(script.entries, expected))
        yield from _rows(script, sheet, rows, picked=picked)
    except UnreadableRowError as error:
        yield str(error)
    except (ValueError, LookupError) as error:
        yield say("it cannot be read: {error}", error=repr(error))


def _ways(script: Script, sheet: Sheet) -> Iterator[str]:
    """Yield where a sheet in front does not say which rows are read on the way up, and which on the way back."""
    rows = script.expected.rows
    up = rows - rows // 2
    wanted = {"half": up, "after": up + 1, "rows": rows} if script.expected.mirrored[1] else {}
    spans = [span.fields() for span in sheet.root.find("fact")]
    yield from _pile(script.expected, spans)
    yield from _lots(script.expected, spans)
    told = (*_PILE, *_LOT)
    found = {name: words for name, words in said_in(sheet.root.find("fact")).items() if name not in told}
    example = [whole(", ".join(found.pop(name, []))) for name in ("example", "from_column", "twin_column")]
    if (example != [-1, -1, -1] or _jumps(script)) and not _begins(script, *example):
        yield say("its example of a run behind places without knots is not one of the rug's")
    for name in sorted({*wanted, *found}):
        printed = ", ".join(found.get(name, []))
        if whole(printed) != wanted.get(name):
            words = "it says {words!r} for {name}, not {wanted}"
            yield say(words, words=printed, name=name, wanted=wanted.get(name, say("nothing")))


def _lots(expected: Expected, spans: Sequence[Mapping[str, Sequence[str]]]) -> Iterator[str]:
    """Yield a fault unless a sheet in front says of each new lot of yarn where it begins."""
    found = [{name: "".join(span[name]) for name in _LOT} for span in spans if _LOT[0] in span]
    if found != list(expected.lots):
        yield say("it does not say right where new lots of yarn begin")


def _pile(expected: Expected, spans: Sequence[Mapping[str, Sequence[str]]]) -> Iterator[str]:
    """Yield how the heights that a sheet in front gives the pile differ from how it is cut and finished."""
    base = [expected.loom_measures.get(name) for name in ("cut_mm", "pile_mm")]
    if None in base:
        return
    cut_mm, pile_mm = (each[0] for each in base if each is not None)
    told: dict[str, list[str]] = {name: [words for span in spans for words in span.get(name, ())] for name in _PILE}
    assumed = {name for name in ("assumed_cut", "assumed_pile") if told[name]}
    if told["cut_mm"] != [f"{cut_mm:.4g}"] or told["pile_mm"] != [f"{pile_mm:.4g}"] or assumed != expected.assumed:
        yield say(
            "it does not say that the pile is cut at {cut:g} mm and finished at {pile:g}", cut=cut_mm, pile=pile_mm
        )
    own = [
        (yarn.code, f"{cut:.4g}", f"{pile:.4g}")
        for yarn, (cut, pile) in zip(expected.yarns, expected.heights_mm, strict=False)
        if (cut, pile) != (cut_mm, pile_mm)
    ]
    if list(zip(told["own_code"], told["own_cut_mm"], told["own_pile_mm"], strict=False)) != own:
        yield say("it does not say right which yarns are cut or finished at heights of their own")


def _jumps(script: Script) -> bool:
    """Return whether any run begins behind empty places of a strip that is told, and not by the one it mirrors."""
    for strip in script.expected.strips:
        further = script.expected.columns - strip.start - strip.stop  # above 0 in the left half
        if twin_of(script.expected, strip) is not None and (further > 0 if script.leftward else further < 0):
            continue
        tied = script.expected.knots[:, strip.start : strip.stop][:, :: -1 if script.leftward else 1] != NO_KNOT
        if (tied[:, 1:] & ~tied[:, :-1]).any():
            return True
    return False


def _begins(script: Script, row: int, column: int, twin: int) -> bool:
    """Return whether a run begins behind empty places of a strip at a column of a row, and at its twin; all from 1."""
    expected = script.expected
    strip = next((each for each in expected.strips if column - 1 in each), range(0))
    if not strip or not 1 <= row <= expected.rows:
        return False
    other = -1 if twin_of(expected, strip) is None else expected.columns + 1 - column
    before = column - 1 + (1 if script.leftward else -1)
    cells = expected.knots[row - 1]
    return other == twin and before in strip and bool(cells[column - 1] != NO_KNOT) and bool(cells[before] == NO_KNOT)


def _rows(script: Script, sheet: Sheet, spans: Sequence[Block], *, picked: bool) -> Iterator[str]:
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
    yield from _head(script, said, numbers, columns, picked=picked)
    yield from lot_faults(said_in(sheet.root.find("lot")), range(first - 1, last), expected)
    yield from hidden_differences(sheet)
    script.due.sheets[sheet.number] = [first, last]
    if columns not in script.told:
        named = ("strip", "twin", "strips", "part", "parts")
        script.due.groups[sheet.number] = [numbers[name] for name in named if name in numbers]
    told = script.told.setdefault(columns, [])
    place = Place(columns, twin_of(expected, columns), first - 1, last, {}, picked)
    below = sheet.height_mm
    for span in spans:
        row, before = place.row, len(place.counted)
        try:
            found, below = read_block(script, span, place, below)
            found = np.pad(found, (0, max(0, len(columns) - len(found))), constant_values=NO_KNOT)
        except UnreadableRowError as error:
            yield say("row {row} cannot be read: {error}", row=row + 1, error=error)
            return
        told += (tells := place.counted[before:])
        if script.leftward:
            found = found[::-1]
        across = [columns] if place.twin is None else [columns, place.twin]
        for number in (each for told_row in tells for each in numbers_of(expected, told_row)):
            cells = expected.knots[number - 1]
            if any(
                not np.array_equal(found[:: -1 if part is place.twin else 1], cells[part.start : part.stop])
                for part in across
            ):
                yield say("row {row}: the runs are not the map's", row=number)
                break
    if place.row != last or place.counted[:1] != [first - 1]:
        yield say(
            "its head says rows {first} to {last}, but it tells rows to {told}", first=first, last=last, told=place.row
        )


def twin_of(expected: Expected, columns: range) -> range | None:
    """Return the columns that are told with `columns` because their strips mirror each other."""
    strips, width = expected.strips, expected.columns
    alike = [width - strip.stop for strip in reversed(strips)] == [strip.start for strip in strips]
    (strip,) = [strip for strip in strips if columns.start in strip]
    if not expected.mirrored[0] or not alike or len(strips) < 2 or strip.start + strip.stop == width:
        return None
    return range(width - columns.stop, width - columns.start)


def _head(
    script: Script, said: Mapping[str, str], numbers: Mapping[str, int], columns: range, *, picked: bool
) -> Iterator[str]:
    """Yield where the head of a sheet does not say how its rows lie."""
    expected = script.expected
    strip = next(n for n, each in enumerate(expected.strips, 1) if columns.start in each)
    wanted = {"strip": strip, "strips": len(expected.strips)}
    back = {numbers_of(expected, row - 1)[1:] for row in (numbers["first_row"], numbers["last_row"])} - {()}
    if back and not picked:  # the centre row of an odd number is tied once, so the way back begins behind it
        centre = numbers["last_row"] * 2 == expected.rows + 1
        wanted["first_back"] = expected.rows + 1 - numbers["last_row"] + centre
        wanted["last_back"] = expected.rows + 1 - numbers["first_row"]
    twin = twin_of(expected, columns)
    if twin is not None:
        script.twins.add(twin)
        wanted |= {"twin": len(expected.strips) + 1 - strip, "twin_first": twin.start + 1, "twin_last": twin.stop}
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
    reading, way = said.get("reading", ""), expected.chart.reading
    script.readings.add(reading)
    if len(script.readings) > 1 or wrong_reading(reading, way):
        yield say("its head says {words!r}, but rows are read {way}", words=reading, way=way)


def _whole(script: Script) -> Iterator[str]:
    """Yield a fault where the sheets together do not tell every row of every column exactly once."""
    expected = script.expected
    rows = expected.rows - expected.rows // 2 if expected.mirrored[1] else expected.rows
    columns = sorted(script.told, key=lambda part: part.start, reverse=script.leftward)
    if list(script.told) != columns:
        yield say("its strips are not in the order of weaving")
    lacking = [part for part, told in script.told.items() if told != list(range(rows))]
    covered = sum(map(len, script.told)) + sum(map(len, script.twins)) == expected.columns
    if lacking or not covered:
        yield say_n(
            "rows are missing, told twice or out of order in {n} strip",
            "rows are missing, told twice or out of order in {n} strips",
            max(len(lacking), 1),
        )
