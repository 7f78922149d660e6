"""The sheets of a revision are compared with the new map, and the sheets that stay are compared with both maps.

Whoever follows a revision takes out the sheets that it names, puts in those that it holds, and leaves the rest. So
every knot whose yarn, or whose yarn's name, colour or symbol, differs between the two maps must lie on a sheet of the
revision. Where such a knot is shown again in the rows that join two sheets, the other sheet must be there too. A
revision that names no sheets replaces the whole chart, and must then hold all of it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from chartmaker.ground.language import say
from chartmaker.knots.mapfile import MapFile
from chartmaker.readback.printed import Block, Fill, flat
from chartmaker.verify.bookmarks import bookmark_differences
from chartmaker.verify.charts import Chart, beside_differences, sheet_differences, whole_differences
from chartmaker.verify.covers import cover_differences, map_differences
from chartmaker.verify.difference import once
from chartmaker.verify.expected import Expected
from chartmaker.verify.fields import said_in, whole
from chartmaker.verify.legends import legend_differences
from chartmaker.verify.overlaps import overlap_differences
from chartmaker.verify.plans import numbers_of, unnumbered_differences
from chartmaker.verify.rulers import ruler_differences
from chartmaker.verify.sheets import Paper, Sheet
from chartmaker.verify.twomaps import all_new, looks_of, named_differences, old_map

#: This many rows of the next sheet are shown again.
JOINED = 2
_NUMBERS = re.compile(r"(\d+)(?:–(\d+))?")


def is_revision(sheet: Sheet) -> bool:
    """Return whether a sheet says what to take out of an old chart."""
    return any(sheet.root.find("revision"))


def revision_differences(data: bytes, expected: Expected, before: MapFile | None) -> Iterator[str]:
    """Yield how the sheets of a revision differ from the map, and which sheets it lacks.

    Parameters
    ----------
    data : bytes
    expected : Expected
        The new map.
    before : MapFile, optional
        The map of the chart that is revised. Without it, nothing can be said of the sheets that stay.

    Raises
    ------
    ValueError
        If it is not a PDF of the kind in which charts are written.
    """
    if before is None:
        yield say("it is a revision: give the map of the old chart with --since")
        return
    paper = Paper(data, expected.knots.size)
    chart = Chart(expected, 0)
    said: dict[str, list[str]] = {}
    side = 0
    old = old_map(before)
    for sheet, painted in zip(paper.sheets(), paper.seen(), strict=True):
        if sheet.number == 1:
            said = said_in(sheet.root.find("revision"))
            yield from _first(sheet, said, expected, old.code)
            continue
        number, sheets = (_identity(sheet, name) for name in ("sheet", "sheets"))
        chart.sheets = chart.sheets or sheets
        side = max(side, _side(sheet))
        wrong = [*sheet_differences(chart, sheet, painted, number), *_replacing(chart, sheet, number, old.code)]
        yield from once([(number, wrong)])
    if not chart.front:
        yield say("it has no cover")
        return
    if not _maps(chart.front[0]):
        yield say("the cover has no map of the sheets")
    every = _places(chart.front[0], expected)
    chart.places = every | {grid.number: (grid.cells.rows, grid.cells.columns) for grid in chart.grids}
    wanted = dict(enumerate(expected.counts.tolist()))
    yield from legend_differences(chart.entries, wanted, expected, None)
    if every:
        yield from once((grid.number, beside_differences(chart, grid)) for grid in chart.grids)
        steps = max((grid.steps for grid in chart.grids), default=_step_count(every))
        yield from cover_differences(chart.front, chart.entries, expected, chart.places, chart.sheets, steps)
    else:
        yield from (
            words
            for each in _maps(chart.front[0])
            for words in unnumbered_differences(chart.front[0], each, chart.sheets)
        )
    yield from map_differences(paper, chart.front[0], expected)
    yield from bookmark_differences(paper, expected, chart.due, inserted=True)
    yield from _front_replacing(chart.front, old.code)
    anew = all_new(old, expected) or (bool(chart.grids) and not {"new", "listed"} & said.keys())
    yield from _listed(said, chart, whole_chart=anew)
    if anew:
        yield from whole_differences(chart)
    else:
        yield from _lacking(chart, old, side)


def _step_count(places: Mapping[int, tuple[range, range]]) -> int:
    """Return in how many steps sheets lie that show a knot."""
    return len({(rows.start, rows.stop) for rows, _ in places.values()})


def _identity(sheet: Sheet, name: str) -> int:
    """Return the number that is printed on a sheet, or how many sheets it says there are; 0 if it says neither."""
    words = [each for span in sheet.root.find("identity") for each in span.fields().get(name, [])]
    return max(whole(words[0]), 0) if len(words) == 1 else 0


def _first(sheet: Sheet, said: Mapping[str, list[str]], expected: Expected, old: str) -> Iterator[str]:
    """Yield a fault if the sheet of instructions names other maps or another rug."""
    yield from named_differences(sheet, old, expected)
    if not is_revision(sheet):
        yield say("it does not say what to take out of the old chart")
    if any(words != old for words in said.get("old", [])) or any(
        words != expected.code for words in said.get("map", [])
    ):
        yield say("it names other maps than {old} and {new}", old=old, new=expected.code)
    yield from overlap_differences(sheet)
    yield from ruler_differences(sheet)


def _replacing(chart: Chart, sheet: Sheet, number: int, old: str) -> Iterator[str]:
    """Yield a fault if a sheet behind the front sheets does not say which sheet of the old chart it replaces."""
    if chart.grids:
        heads = [span.fields() for span in sheet.root.find("heading")]
        if [(head.get("sheet"), head.get("map")) for head in heads] != [([str(number)], [old])]:
            yield say("it does not say that it replaces sheet {sheet} of map {map}", sheet=number, map=old)


def _front_replacing(front: Sequence[Sheet], old: str) -> Iterator[str]:
    """Yield a fault if the cover, or a sheet of its legend, does not say whose place it takes in the old chart."""
    for number, sheet in enumerate(front, start=1):
        said = [span.fields() for span in sheet.root.find("replaces")]
        wanted = {"map": [old]} if number == 1 else {"sheet": [str(number)], "map": [old]}
        if said != [wanted]:
            yield say("its front sheet {sheet} does not say that it replaces that of map {map}", sheet=number, map=old)


def _maps(cover: Sheet) -> list[Block]:
    """Return the maps of the sheets on a cover that say where the rug lies on them."""
    return [span for span in cover.root.find("sheet-map") if len(span.values.get("Rug", ())) == 4]


def _places(cover: Sheet, expected: Expected) -> dict[int, tuple[range, range]]:
    """Return where each sheet of the whole chart lies, by its number, as the cover shows it.

    The result is empty if the sheets are drawn too small there to have numbers.
    """
    found: dict[int, tuple[range, range]] = {}
    for span in _maps(cover):
        x, y, width, height = span.values["Rug"]
        column, row = width / expected.columns, height / expected.rows
        numbers = numbers_of(span)
        boxes = [item for item, _, _ in flat(span) if isinstance(item, Fill) and item.edge]
        if len(numbers) != len(boxes):
            return {}
        for box in boxes:
            over = range(round((box.x_mm - x) / column), round((box.x_mm + box.width_mm - x) / column))
            up = range(round((box.y_mm - y) / row), round((box.y_mm + box.height_mm - y) / row))
            own = [
                number
                for number in numbers
                if 0 < number.target[0] - box.x_mm < box.width_mm and 0 < number.target[1] - box.y_mm < box.height_mm
            ]
            if len(own) != 1:
                return {}
            found[whole(own[0].words)] = (up, over)
    return found


def _listed(said: Mapping[str, list[str]], chart: Chart, *, whole_chart: bool) -> Iterator[str]:
    """Yield a fault if the sheets named as new are not those that follow."""
    numbers = [grid.number for grid in chart.grids]
    if "new" in said:
        if [whole(words) for words in said["new"]] != [len(numbers)]:
            words = "it says that {found} sheets are new, but {wanted} follow"
            yield say(words, found=said["new"][0], wanted=len(numbers))
        return
    named: list[int] = []
    for first, last in _NUMBERS.findall(" ".join(said.get("listed", []))):
        named += range(int(first), min(int(last or first), chart.sheets) + 1)
    if named != numbers and not (whole_chart and not named):
        yield say("it names other sheets as new than those that follow")


def _lacking(chart: Chart, old: Expected, side: int) -> Iterator[str]:
    """Yield which sheets show something that changed and are not among those of the revision."""
    before, after = looks_of(old, chart.expected, lambda yarn: (yarn.code, yarn.name, yarn.srgb))
    other = before != after
    across, along = chart.expected.mirrored
    left = other.copy()
    there = {grid.number for grid in chart.grids}
    for grid in chart.grids:
        rows, columns = grid.cells.rows, grid.cells.columns
        part = slice(rows.start, rows.stop), slice(columns.start, columns.stop)
        left[part] = False
        beside = [(other[part][-JOINED:], (rows.stop, columns), "above")]
        if along:
            beside.append((other[part][:JOINED], (rows.start, columns), "below"))
        for cells, (edge, over), way in beside:
            number = next((n for n, place in chart.places.items() if _meets(place, edge, over, way)), None)
            if cells.any() and number is not None and number not in there:
                words = "sheet {sheet} shows changed rows of sheet {other} and is not new"
                yield say(words, sheet=number, other=grid.number)
        for cells, edge, at in ((other[part][:, :side], columns.start, 1), (other[part][:, -side:], columns.stop, 0)):
            ends = {n: (over.start, over.stop)[at] for n, (up, over) in chart.places.items() if up == rows}
            number = next((n for n, end in ends.items() if end == edge and n != grid.number), None)
            if side and cells.any() and number is not None and number not in there:
                words = "sheet {sheet} shows changed columns of sheet {other} and is not new"
                yield say(words, sheet=number, other=grid.number)
    if across:
        left &= left[:, ::-1]
    if along:
        left &= left[::-1]
    if left.any():
        row, column = np.argwhere(left)[0].tolist()
        words = "a knot that changed, in row {row}, column {column}, is on none of its sheets"
        yield say(words, row=row + 1, column=column + 1)


def _side(sheet: Sheet) -> int:
    """Return how many columns of its neighbours a sheet shows again."""
    own = [block.values.get("Columns", (0.0, 0.0)) for block in sheet.root.find("cells")]
    joins = [block.values.get("Columns", (0.0, 0.0)) for block in sheet.root.find("join")]
    return max((int(last - first) + 1 for first, last in joins if own and (first, last) != own[0]), default=0)


def _meets(place: tuple[range, range], edge: int, columns: range, way: str) -> bool:
    rows, own = place
    return own == columns and (rows.start if way == "above" else rows.stop) == edge
