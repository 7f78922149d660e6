"""Numbers and lengths round the cells of a sheet stand at their rows and columns, and none is missing."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from support.making import SQUARE, make_map, make_rug

from chartmaker.order.workshop import Workshop
from chartmaker.readback.printed import Block, Line, Text
from chartmaker.verify import numbering
from chartmaker.verify.blocks import Cells
from chartmaker.verify.expected import Expected, expected_of
from chartmaker.verify.sheets import Sheet


def expected(*, mirrored: bool = False, every: int = 5) -> Expected:
    """Return a rug of 12 columns and 20 rows, each of them 10 mm high."""
    knots = np.random.default_rng(5).integers(0, 3, (20, 12))
    if mirrored:
        knots = np.vstack([knots[:10], knots[9::-1]])
        knots = np.hstack([knots[:, :6], knots[:, 5::-1]])
    made = make_map(knots, make_rug(12, 20, SQUARE))
    return expected_of(made, Workshop.model_validate({"chart": {"bold_every": every}}))


#: Rows 6 to 10 and columns 1 to 6, in cells of 4 x 4 mm from (20, 30) on.
CELLS = Cells(Block("cells", {}), range(5, 10), range(6), 20.0, 30.0, 24.0, 20.0)


def label(tag: str, words: str, x: float, y: float, **values: tuple[float, ...]) -> Block:
    """Return words whose middle stands at (x, y)."""
    letters = Text(words, x - 0.5, y - 0.73, 2.0, 0.0, 1.0, "T", b"", True, (0.0,))
    return Block(tag, {}, [Block("words", values, [letters]) if values else letters])


def sheet(change: Callable[[dict[str, Block]], Any] = lambda each: None, *, turned: bool = False) -> Sheet:
    """Return a sheet with all its numbers and its length, of which `change` alters some by their names."""
    found: dict[str, Block] = {}
    for place in range(5):
        middle = 32.0 + 4 * place
        found[f"row {place} left"] = label("row", f"{place + 6}", 15.0, middle)
        found[f"row {place} right"] = label("row", f"{place + 6}", 50.0, middle)
        if turned:
            found[f"turned row {place}"] = label("turned-row", f"{15 - place}", 10.0, middle)
    for place in range(6):
        middle = 22.0 + 4 * place
        found[f"column {place} low"] = label("column", f"{place + 1}", middle, 25.0)
        found[f"column {place} high"] = label("column", f"{place + 1}", middle, 55.0)
        if turned:
            found[f"turned column {place}"] = label("turned-column", f"{12 - place}", middle, 20.0)
    found["length"] = label("length", "10.0 cm", 60.0, 50.0, length=(0.0, 4.0))
    change(found)
    return Sheet(1, 148.0, 210.0, Block("", {}, [each for each in found.values() if each is not None]))


def without(*names: str) -> Callable[[dict[str, Block]], Any]:
    return lambda each: [each.pop(name) for name in names]


def instead(name: str, tag: str, words: str, x: float, y: float, **values: Any) -> Callable[[dict[str, Block]], Any]:
    return lambda each: each.update({name: label(tag, words, x, y, **values)})


BESIDE = "numbers of {} do not stand beside the cells"
OTHER = "the numbers of {} on one side are not those on the other"


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda each: None, []),
        (without("row 1 left", "row 1 right", "row 3 left", "row 3 right"), []),
        (without("row 1 left"), [OTHER.format("rows"), "numbers of rows are missing"]),
        (without("column 2 low", "column 2 high"), ["numbers of columns are missing"] * 2),
        (without("column 4 low", "column 4 high"), None),
        (instead("row 1 left", "row", "8", 15.0, 36.0), ["rows: 8 stands where 7 should"]),
        (instead("row 1 right", "row", "x", 50.0, 36.0), ["rows: x stands where 7 should"]),
        (instead("column 1 low", "column", "7", 26.0, 25.0), ["columns: 7 stands where 2 should"]),
        (instead("row 1 left", "row", "7", 30.0, 36.0), None),
        (instead("row 1 left", "row", "7", 15.0, 37.3), []),
        (instead("row 1 left", "row", "7", 15.0, 37.5), ["the number 7 of rows stands beside none of them"]),
        (instead("more", "row", "11", 15.0, 52.0), None),
        (instead("more", "row", "7", 14.0, 36.0), ["two numbers of rows stand in one place"]),
        (without("length"), ["lengths on the loom are missing, or stand where none belongs"]),
        (
            instead("length", "length", "10.1 cm", 60.0, 50.0, length=(0.0, 4.0)),
            ["at row 10 the length 10.1 stands where 10.0 should"],
        ),
        (instead("length", "length", "10 cm", 60.0, 50.0, length=(0.0, 2.0)), []),
        (
            instead("length", "length", "10.05 cm", 60.0, 50.0, length=(0.0, 5.0)),
            ["at row 10 the length 10.05 stands where 10.0 should"],
        ),
        (
            instead("length", "length", "9.0 cm", 60.0, 46.0, length=(0.0, 3.0)),
            ["lengths on the loom are missing, or stand where none belongs"],
        ),
        (
            instead("turned", "turned-row", "15", 10.0, 32.0),
            ["the numbers of rows for the turned sheet are not all there"],
        ),
        (
            instead("turned", "turned-length", "10.0 cm", 60.0, 46.0, length=(0.0, 4.0)),
            ["lengths on the loom are missing, or stand where none belongs"],
        ),
    ],
)
def test_each_number_stands_at_its_row_or_column(change: Any, said: list[str] | None) -> None:
    found = list(numbering.number_differences(sheet(change), CELLS, expected()))
    assert found == said if said is not None else found, found


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda each: None, []),
        (without("turned row 2"), ["the numbers of rows for the turned sheet are not all there"]),
        (without("turned column 2"), ["the numbers of columns for the turned sheet are not all there"]),
        (
            instead("turned row 2", "turned-row", "12", 10.0, 40.0),
            ["rows of the turned sheet: 12 stands where 13 should"],
        ),
        (
            instead("turned column 2", "turned-column", "9", 30.0, 20.0),
            ["columns of the turned sheet: 9 stands where 10 should"],
        ),
        (
            instead("turned row 2", "turned-row", "13", 10.0, 41.6),
            ["rows of the turned sheet: 13 stands where 13 should"],
        ),
        (
            instead("more", "turned-row", "13", 11.0, 40.0),
            ["the numbers of rows for the turned sheet are not all there"],
        ),
    ],
)
def test_a_turned_sheet_has_the_numbers_of_its_mirror(change: Any, said: list[str]) -> None:
    """Of twenty rows the sixth is the fifteenth from the other end; the tenth and the eleventh are in the middle."""
    known = expected(mirrored=True)
    assert list(numbering.number_differences(sheet(change, turned=True), CELLS, known)) == said


def test_the_row_in_the_centre_is_turned_to_itself() -> None:
    known = expected(mirrored=True)
    odd = replace(known, knots=np.vstack([known.knots[:9], known.knots[9:10], known.knots[8::-1]]))
    assert odd.mirrored[1] and odd.rows == 19
    relabelled = [
        instead(f"turned row {place}", "turned-row", f"{14 - place}", 10.0, 32.0 + 4 * place) for place in range(4)
    ]

    def change(each: dict[str, Block]) -> None:
        for one in relabelled:
            one(each)
        each.pop("turned row 4")

    assert list(numbering.number_differences(sheet(change, turned=True), CELLS, odd)) == []


def test_the_way_back_is_measured_from_the_other_end_where_there_is_room() -> None:
    """Row 5 of 20 is 15 cm from the end; its length stands below the next mark, if two lines have room there."""
    cells = replace(CELLS, rows=range(5))
    known = expected(mirrored=True)

    def wrong(*labels: Block) -> list[str]:
        return list(numbering._lengths(Sheet(1, 148.0, 210.0, Block("", {}, [*labels])), cells, known))

    up = label("length", "5.0 cm", 60.0, 50.0, length=(0.0, 3.0))
    back = label("turned-length", "15.0 cm", 60.0, 47.0, length=(0.0, 4.0))
    assert wrong(up, back) == []
    assert wrong(up) == ["lengths on the loom are missing, or stand where none belongs"]
    other = label("turned-length", "5.0 cm", 60.0, 47.0, length=(0.0, 3.0))
    assert wrong(up, other) == ["at row 5 the length 5.0 stands where 15.0 should"]
    tall = replace(up.items[0].items[0], size_mm=9.0, y_mm=50.0 - 0.365 * 9)  # type: ignore[union-attr,type-var]
    assert wrong(Block("length", {}, [Block("words", {"length": (0.0, 3.0)}, [tall])])) == []


@pytest.mark.parametrize(
    ("places", "size", "lacking"),
    [
        ([], 5, True),
        ([2], 5, False),
        ([0, 4], 5, False),
        ([0, 1, 2, 3, 4], 5, False),
        ([0, 1, 3, 4], 5, False),  # every second one, and both ends beside
        ([0, 4, 9, 14, 19, 22], 23, False),
        ([4, 9, 14, 19], 23, False),
        ([4, 9, 14, 19], 24, False),
        ([4, 9, 14, 19], 25, True),
        ([5, 10, 15], 20, True),
        ([0, 1, 3, 4, 5], 6, True),
        ([0, 4, 9, 15, 19], 20, True),
        ([0, 6, 11, 16], 20, True),
    ],
)
def test_numbers_are_even_between_the_first_and_the_last(places: Sequence[int], size: int, lacking: bool) -> None:
    assert numbering._lacking(places, size) == lacking


def lines(rows: dict[int, float], columns: dict[int, float], **more: Any) -> list[str]:
    """Return what is wrong with lines of so many millimetres at these edges of the rows and columns."""
    cells = replace(CELLS, block=Block("cells", {}))
    for at, width in rows.items():
        plain = Line(20.0, 30.0 + 4 * at, 44.0, 30.0 + 4 * at, width, (0.0,))
        cells.block.items.append(replace(plain, **more))
    for at, width in columns.items():
        cells.block.items.append(Line(20.0 + 4 * at, 30.0, 20.0 + 4 * at, 50.0, width, (0.0,)))
    return list(numbering.line_differences(cells, replace(expected(every=2), seats=(range(3), range(3, 12)))))


def test_heavy_lines_lie_where_rows_and_columns_are_counted_from() -> None:
    """Every second row and column has one, counted from the rug's first; at column 3 another weaver begins."""
    rows, columns = {1: 0.4, 2: 0.1, 3: 0.4, 4: 0.1}, {1: 0.1, 2: 0.4, 3: 0.8, 4: 0.4, 5: 0.1}
    wrong = "the heavy lines between {} are not where they are counted from"
    assert lines(rows, columns) == []
    for other in ({1: 0.1}, {1: 0.19}, {2: 0.21}, {2: 0.0}, {1: 0.0}):
        assert lines(rows | other, columns) == [wrong.format("rows")], other
    assert lines(rows | {1: 0.21}, columns) == []
    for each in ({1: 0.4}, {2: 0.1}, {4: 0.0}, {5: 0.0}):
        assert lines(rows, columns | each) == [wrong.format("columns")]
    for more in ({"colour": (0.6,)}, {"to_x_mm": 43.0}):
        assert lines(rows, columns, **more) == [wrong.format("rows")]
    assert lines(rows, columns, colour=(0.5,)) == []
