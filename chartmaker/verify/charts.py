"""The chart of a set read back: every cell, every number around it, every legend, and how the sheets fit together."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from chartmaker.ground.language import say, say_n
from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.verify.blocks import Cells
from chartmaker.verify.bookmarks import Due, bookmark_differences
from chartmaker.verify.counts import SAID_ON_SHEET, counted
from chartmaker.verify.covers import cover_differences, map_differences, place_differences
from chartmaker.verify.difference import once
from chartmaker.verify.expected import Expected
from chartmaker.verify.fields import head_faults, near, said_in, whole, wrong_fields, wrong_reading
from chartmaker.verify.grids import cells_differences, cells_of, join_differences, picture_of
from chartmaker.verify.legends import Entry, entries_of, glyphs_of, legend_differences
from chartmaker.verify.numbering import centre_differences, line_differences, number_differences
from chartmaker.verify.overlaps import overlap_differences
from chartmaker.verify.remarked import alike_in_grey, grey_faults, lot_faults
from chartmaker.verify.rulers import ruler_differences
from chartmaker.verify.sheets import Painted, Paper, Sheet

#: Rounding to one decimal may shift a number by this much.
PER_DM_OFF = 0.051
#: The cells may be this much larger or smaller than they should be, in millimetres.
CELL_OFF_MM = 0.002


@dataclass(slots=True)
class _Grid:
    """What a sheet of cells says about how it lies beside the others, kept once the sheet is read."""

    number: int
    cells: Cells
    strip: int
    step: int
    part: int
    steps: int
    parts: int
    counts: tuple[int, ...]
    beside: dict[str, list[str]]
    legend_number: int | None = None


@dataclass(slots=True)
class Chart:
    """What is kept of the sheets read so far, with the rows and columns of each by its number."""

    expected: Expected
    sheets: int
    entries: list[Entry] = field(default_factory=list)
    glyphs: dict[int, int] = field(default_factory=dict)
    grids: list[_Grid] = field(default_factory=list)
    words: dict[str, str] = field(default_factory=dict)
    front: list[Sheet] = field(default_factory=list)
    places: dict[int, tuple[range, range]] = field(default_factory=dict)
    due: Due = field(default_factory=Due)


def chart_differences(data: bytes, expected: Expected) -> Iterator[str]:
    """Yield how chart.pdf differs from the map, in sentences that name the sheet.

    Raises
    ------
    ValueError
        If it is not a PDF of the kind in which charts are written.
    """
    paper = Paper(data, expected.knots.size)
    chart = Chart(expected, len(paper.pages))
    both = zip(paper.sheets(), paper.seen(), strict=True)
    yield from once((sheet.number, sheet_differences(chart, sheet, painted, sheet.number)) for sheet, painted in both)
    if not chart.grids:
        yield say("no sheet of it shows any cells")
        return
    chart.places = {grid.number: (grid.cells.rows, grid.cells.columns) for grid in chart.grids}
    yield from once((grid.number, beside_differences(chart, grid)) for grid in chart.grids)
    yield from whole_differences(chart)
    wanted = dict(enumerate(expected.counts.tolist()))
    yield from legend_differences(chart.entries, wanted, expected, None)
    front = len(chart.front)
    steps = max(grid.steps for grid in chart.grids)
    yield from cover_differences(chart.front, chart.entries, expected, chart.places, chart.sheets, steps)
    yield from map_differences(paper, chart.front[0] if front else None, expected)
    yield from bookmark_differences(paper, expected, chart.due)


def sheet_differences(chart: Chart, sheet: Sheet, painted: Painted, number: int) -> Iterator[str]:
    """Yield how sheet `number` of a chart differs from the map, and keep what other sheets are compared with."""
    expected, root = chart.expected, sheet.root
    yield from head_faults(root, expected.rug.name, map=expected.code, sheet=number, sheets=chart.sheets)
    yield from overlap_differences(sheet)
    yield from ruler_differences(sheet)
    blocks = list(root.find("cells"))
    try:
        if blocks:
            yield from _grid(chart, sheet, painted, number)
        elif chart.grids:
            yield from _legend_sheet(chart, sheet, number)
        else:
            chart.front.append(sheet)
            chart.entries += entries_of(root.find("legend"))
    except (ValueError, LookupError) as error:
        yield str(error) or say("its cells do not belong to the rug")


def _grid(chart: Chart, sheet: Sheet, painted: Painted, number: int) -> Iterator[str]:
    expected, root = chart.expected, sheet.root
    (block,) = root.find("cells")
    cells = cells_of(block, expected)
    if not chart.grids:
        chart.glyphs.update(glyphs_of(chart.entries, expected))
    yield from wrong_fields(root.find("extent"), _extent(cells))
    if not np.allclose(cells.cell_mm, expected.cell_mm, atol=CELL_OFF_MM):
        yield say("its cells are {width:.3g} x {height:.3g} mm", width=cells.cell_mm[0], height=cells.cell_mm[1])
    picture = picture_of(painted, cells) if expected.chart.marks != "symbol" else None
    yield from cells_differences(cells, sheet, picture, expected, chart.glyphs)
    joins = [cells_of(each, expected) for each in root.find("join")]
    if sum(join.rows.stop <= cells.rows.start for join in joins) != (cells.rows.start > 0):
        yield say("it does not show the rows of the sheet below")
    if sum(join.rows.start >= cells.rows.stop for join in joins) != _rows_above(cells, expected):
        yield say("it does not show the rows above, which are those just tied on the way back")
    if sum(join.columns.stop <= cells.columns.start for join in joins) != (cells.columns.start > 0):
        yield say("it does not show the columns beside it at the left")
    if sum(join.columns.start >= cells.columns.stop for join in joins) != (cells.columns.stop < expected.columns):
        yield say("it does not show the columns beside it at the right")
    for join in joins:
        yield from join_differences(join, cells, sheet, picture, expected, chart.glyphs)
    yield from number_differences(sheet, cells, expected)
    yield from line_differences(cells, expected)
    yield from centre_differences(sheet, cells, expected)
    yield from _turning(sheet, cells, expected)
    yield from place_differences(sheet, cells, expected)
    counts = expected.tally(
        expected.knots[cells.rows.start : cells.rows.stop, cells.columns.start : cells.columns.stop]
    )
    fields = said_in(root.find("strip"))
    numbers = {name: whole(words[0]) for name, words in fields.items() if len(words) == 1}
    if numbers.get("strips") != len(expected.strips):
        yield say("it does not say that there are {strips} strips", strips=len(expected.strips))
    yield from _weavers(cells, numbers, expected)
    yield from _outside(sheet, expected)
    noted = said_in(root.find("grey"))
    yield from lot_faults(noted, cells.rows, expected)
    yield from grey_faults(noted, alike_in_grey(expected, counts.tolist()))
    yield from wrong_fields(root.find("counted"), SAID_ON_SHEET if counted(expected) else {})
    beside = said_in(root.find("beside"))
    grid = _Grid(
        number,
        cells,
        numbers.get("strip", 0),
        numbers.get("step", 0),
        numbers.get("part", 1),
        numbers.get("steps", 0),
        numbers.get("parts", 1),
        tuple(counts.tolist()),
        beside,
    )
    if then := said_in(root.find("turning")).get("then"):
        beside["then"] = then
    yield from _per_dm(sheet, expected)
    if not chart.grids or chart.grids[-1].strip != grid.strip:
        chart.due.groups[sheet.number] = [grid.strip]
    part = [grid.part] if grid.parts > 1 else []
    chart.due.sheets[sheet.number] = [grid.step, *part, cells.rows.start + 1, cells.rows.stop]
    chart.grids.append(grid)
    yield from _same_words(chart, sheet, "reading", beside.pop("reading", [""]))
    elsewhere = [span.fields() for span in root.find("legend-at")]
    if elsewhere:
        grid.legend_number = number + 1
        yield from wrong_fields(root.find("legend-at"), {"yarns": int((counts > 0).sum()), "sheet": number + 1})
    else:
        yield from _legend(chart, sheet, grid)


def _per_dm(sheet: Sheet, expected: Expected) -> Iterator[str]:
    """Yield a fault if a sheet says another number of rows for 10 cm on the loom."""
    along = float(expected.rug.density.along_per_dm) / expected.loom_length_factor
    said = [words for span in sheet.root.find("measure") for words in span.fields().get("loom_rows_per_dm", [])]
    if len(said) != 1 or not near(said[0], along, PER_DM_OFF):
        yield say("it says {words} rows for 10 cm on the loom, not {wanted:.1f}", words=", ".join(said), wanted=along)
    wide = [words for span in sheet.root.find("measure") for words in span.fields().get("loom_width", [])]
    wanted = expected.loom_measures.get("loom_width")
    if wanted is not None and (len(wide) != 1 or not near(wide[0], *wanted)):
        yield say(
            "it says {words} cm for the width on the loom, not {wanted:.1f}", words=", ".join(wide), wanted=wanted[0]
        )


def _outside(sheet: Sheet, expected: Expected) -> Iterator[str]:
    """Yield a fault unless just the sheets of shaped rugs say what is done outside the outline."""
    if any(span.words.strip() for span in sheet.root.find("outside")) != bool((expected.knots == NO_KNOT).any()):
        yield say("it does not say what lies outside the rug's outline")


def _rows_above(cells: Cells, expected: Expected) -> bool:
    """Return whether rows must stand above the sheet, as they do where it is woven back from its top row."""
    return expected.mirrored[1] and cells.rows.stop < expected.rows


def _extent(cells: Cells) -> dict[str, int | str]:
    return {
        "first_row": cells.rows.start + 1,
        "last_row": cells.rows.stop,
        "first_column": cells.columns.start + 1,
        "last_column": cells.columns.stop,
    }


def _tied(counts: Sequence[int]) -> dict[int, int]:
    return {yarn: knots for yarn, knots in enumerate(counts) if knots}


def _legend_sheet(chart: Chart, sheet: Sheet, number: int) -> Iterator[str]:
    """Yield how a sheet that holds nothing but the legend of the one before differs from that one's cells."""
    grid = chart.grids[-1]
    if grid.legend_number != number:
        yield say("it shows no cells, and is not the legend of the sheet before")
        return
    yield from wrong_fields(sheet.root.find("extent"), {"sheet": grid.number, **_extent(grid.cells)})
    yield from _legend(chart, sheet, grid)


def _legend(chart: Chart, sheet: Sheet, grid: _Grid) -> Iterator[str]:
    """Yield how the legend of the cells of `grid` differs from them, and from how often their sheet is used."""
    times = 2 ** sum(chart.expected.mirrored)
    yield from wrong_fields(sheet.root.find("uses"), {"times": times} if times > 1 else {})
    entries = entries_of(sheet.root.find("legend"))
    yield from legend_differences(entries, _tied(grid.counts), chart.expected, chart.glyphs)


def _same_words(chart: Chart, sheet: Sheet, name: str, words: Sequence[str]) -> Iterator[str]:
    """Yield a fault where a sheet says something in other words than the sheets before it."""
    said = " ".join(words)
    if chart.words.setdefault(name, said) != said or not said:
        yield say("it says {words!r} where other sheets say {others!r}", words=said, others=chart.words[name])
    elif name == "reading" and wrong_reading(said, chart.expected.chart.reading):
        yield say("it says {words!r}, but rows are read {reading}", words=said, reading=chart.expected.chart.reading)


def _turning(sheet: Sheet, cells: Cells, expected: Expected) -> Iterator[str]:
    """Yield how what a sheet says of its second use, turned, differs from where its rows and columns then lie."""
    names = ("first", "last", "again", "like", "centre", "other", "other_weaver")
    wanted: dict[str, list[int]] = {name: [] for name in names}
    across, along = expected.mirrored
    for mirrored, part, size in ((across, cells.columns, expected.columns), (along, cells.rows, expected.rows)):
        if not mirrored:
            continue
        others = sorted(size - index for index in part if 2 * index + 1 != size)
        if others:
            wanted["first"].append(others[0])
            wanted["last"].append(others[-1])
            wanted["again"].append(others[0])
            wanted["like"].append(size + 1 - others[0])
            mine, its = (_strip(expected, column) for column in (cells.columns.start, others[0] - 1))
            if size == expected.columns and part is cells.columns and mine != its:
                wanted["other"].append(its)
                seats = [
                    _seats(expected, range(each[0], each[-1] + 1)) for each in (part, sorted(n - 1 for n in others))
                ]
                if seats[0] != seats[1]:
                    wanted["other_weaver"].append(seats[1][0])
        if len(others) < len(part):
            wanted["centre"].append(size // 2 + 1)
    said = said_in(sheet.root.find("turning"))
    for name in sorted(wanted.keys() | said.keys() - {"then"}):
        numbers = [whole(words) for words in said.get(name, [])]
        if numbers != wanted.get(name, []):
            shown, right = (", ".join(map(str, each)) or "–" for each in (numbers, wanted.get(name, [])))
            words = "of the turned sheet it says {found} for {name}, not {wanted}"
            yield say(words, name=name, found=shown, wanted=right)


def _seats(expected: Expected, columns: range) -> list[int]:
    """Return the numbers, from 1, of the weavers who tie any of these columns, counted from 0."""
    return [number for number, seat in enumerate(expected.seats, 1) if any(column in seat for column in columns)]


def _weavers(cells: Cells, fields: Mapping[str, int], expected: Expected) -> Iterator[str]:
    """Yield a fault if a sheet does not name the weavers whose columns it shows."""
    wanted: dict[str, int] = {}
    if len(expected.seats) > 1:
        own = _seats(expected, cells.columns)
        wanted = {"weaver": own[0], "weavers": len(expected.seats)}
        seat = expected.seats[own[0] - 1]
        strips = [number for number, strip in enumerate(expected.strips, 1) if set(strip) <= set(seat)]
        if len(own) > 1:
            wanted["last_weaver"] = own[-1]
        elif len(strips) > 1:
            wanted |= {"own_first": strips[0], "own_last": strips[-1]}
    said = {
        name: fields[name] for name in ("weaver", "weavers", "last_weaver", "own_first", "own_last") if name in fields
    }
    if said != wanted:
        shown = ", ".join(f"{name} {number}" for name, number in sorted(wanted.items()))
        yield say("it does not say whose columns these are: {shown}", shown=shown or say("one weaver"))


def _strip(expected: Expected, column: int) -> int:
    """Return the number, from 1, of the strip that a column, from 0, belongs to; 0 beyond the rug."""
    return next((number for number, each in enumerate(expected.strips, 1) if column in each), 0)


def beside_differences(chart: Chart, grid: _Grid) -> Iterator[str]:
    """Yield where a sheet names other neighbours, another strip or another step than it has."""
    rows, columns = grid.cells.rows, grid.cells.columns
    places = chart.places
    corners = {(up.start, over.start): number for number, (up, over) in places.items()}
    tops = {(up.stop, over.start): number for number, (up, over) in places.items()}
    ends = {(up.start, over.stop): number for number, (up, over) in places.items()}
    wanted = {
        "below": tops.get((rows.start, columns.start)),
        "above": corners.get((rows.stop, columns.start)),
        "left": ends.get((rows.start, columns.start)),
        "right": corners.get((rows.start, columns.stop)),
    }
    if chart.expected.mirrored[1]:  # on the way back the sheet below follows
        wanted["then"] = wanted["below"] if 2 * rows.start + 1 != chart.expected.rows else None
    for name, number in wanted.items():
        if grid.beside.pop(name, []) != ([] if number is None else [str(number)]):
            said = say("nothing") if number is None else say("sheet {sheet}", sheet=number)
            yield say("{name}: it should say that {said} lies there", name=name, said=said)
    if grid.beside:
        yield say("it names a neighbour that it does not have")
    strip = next((n for n, each in enumerate(chart.expected.strips, 1) if columns.start in each), 0)
    inside = chart.expected.strips[strip - 1]
    if grid.strip != strip or columns.stop > inside.stop:
        yield say("it does not say that it belongs to strip {strip}", strip=strip)
    steps = sorted({(up.start, up.stop) for up, _ in places.values()})
    told = {over.start for _, over in places.values() if over.start in inside}
    parts = sorted(told, reverse=_leftward(chart))
    if grid.part != parts.index(columns.start) + 1:
        yield say("it does not say which part of its step it is")
    several = [each.parts for each in chart.grids if each.strip == grid.strip]
    whole_strip = bool((chart.expected.knots[:, inside.start : inside.stop] != NO_KNOT).all())
    if min(several) != grid.parts or grid.parts < len(parts) or (whole_strip and grid.parts != len(parts)):
        yield say("it does not say that there are {parts} parts", parts=len(parts))
    every = {each.steps for each in chart.grids}
    whole_rug = sum(last - first for first, last in steps) == _told_rows(chart.expected)
    own = steps.index((rows.start, rows.stop)) + 1
    if not own <= grid.step <= (own if whole_rug else grid.steps):  # steps without a knot have no sheet
        yield say("it does not say which step it is")
    if every != {grid.steps} or grid.steps < len(steps) or (whole_rug and grid.steps != len(steps)):
        yield say("it does not say that there are {steps} steps", steps=len(steps))


def _told_rows(expected: Expected) -> int:
    """Return how many rows the sheets show together if none is left out."""
    return expected.rows - expected.rows // 2 if expected.mirrored[1] else expected.rows


def _leftward(chart: Chart) -> bool:
    return chart.expected.chart.reading == "right to left"


def whole_differences(chart: Chart) -> Iterator[str]:
    """Yield a fault where the sheets together lack a knot, straight or turned, or are not in weaving order."""
    expected = chart.expected
    across, along = expected.mirrored
    told = np.zeros(expected.knots.shape, dtype=np.uint8)
    for grid in chart.grids:
        part = told[grid.cells.rows.start : grid.cells.rows.stop, grid.cells.columns.start : grid.cells.columns.stop]
        part += part < 2
    if (told > 1).any():
        yield say("two sheets show the same cells")
    if across:
        told = np.maximum(told, told[:, ::-1])
    if along:
        told = np.maximum(told, told[::-1])
    missing = (told == 0) & (expected.knots != NO_KNOT)
    if missing.any():
        row, column = np.argwhere(missing)[0].tolist()
        yield say_n(
            "no sheet shows {n} knot, in row {row}, column {column}",
            "no sheet shows {n:,} knots, the first in row {row}, column {column}",
            int(missing.sum()),
            row=row + 1,
            column=column + 1,
        )
    sign = -1 if _leftward(chart) else 1
    order = [(sign * grid.strip, grid.step, grid.part) for grid in chart.grids]
    if order != sorted(order):
        yield say("its sheets are not in the order of weaving")
    seen: dict[int, set[tuple[int, int]]] = {}
    for grid in chart.grids:
        seen.setdefault(grid.step, set()).add((grid.cells.rows.start, grid.cells.rows.stop))
    if any(len(each) > 1 for each in seen.values()):
        yield say("the sheets of one step do not have the same rows")
