"""Symbols in the cells of a sheet are read where they stand: one to a cell, in its middle, large and dark enough."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from support.making import SQUARE, make_map, make_rug

from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.order.workshop import Workshop
from chartmaker.readback.printed import Block, Fill, Group, Item, Text
from chartmaker.verify import grids
from chartmaker.verify.blocks import Cells
from chartmaker.verify.expected import Expected, expected_of
from chartmaker.verify.sheets import Sheet

KNOTS = np.array([[0, 1, 1, 0], [1, NO_KNOT, 0, 1]] * 5, dtype=np.uint16)


def expected(marks: str = "symbol") -> Expected:
    made = make_map(KNOTS, make_rug(4, 10, SQUARE))
    known = expected_of(made, Workshop.model_validate({"chart": {"marks": marks, "counts": False}}))
    yarns = (replace(each, srgb=(20, 20, 20) if n else (240, 240, 240)) for n, each in enumerate(known.yarns))
    return replace(known, yarns=tuple(yarns))


def cells(
    *items: Item, rows: range = range(2), columns: range = range(4), at: tuple[float, float] = (10.0, 20.0)
) -> Cells:
    """Return cells of 4 x 4 mm with what stands in them."""
    return Cells(Block("cells", {}, [*items]), rows, columns, *at, 4.0 * len(columns), 4.0 * len(rows))


def symbols(row: int, *glyphs: int, column: int = 0, **more: Any) -> Text:
    """Return a row of symbols of 2.4 mm in the middles of their cells, 0 for none."""
    data = b"".join(glyph.to_bytes(2, "big") for glyph in glyphs)
    plain = Text("", 10.8 + 4 * column, 20.8 + 4 * row, 2.4, 4.0, 2.4, "S", data, True, (0.0,))
    return replace(plain, **more)


ROWS = (symbols(0, 7, 8, 8, 7), symbols(1, 8, 0, 7, 8))


@pytest.mark.parametrize(
    ("items", "found"),
    [
        (ROWS, [[7, 8, 8, 7], [8, 0, 7, 8]]),
        ((Group("R", 4.0, 4.0, Block("", {}, [symbols(0, 7)])),), [[0, 0, 0, 0], [0, 7, 0, 0]]),
        ((symbols(0, 7, font="T"), symbols(1, 0, 0)), [[0] * 4, [0] * 4]),
        ((ROWS[0], symbols(0, 7, column=2)), [[7, 8, -1, 7], [0] * 4]),
        ((symbols(0, 7, x_mm=11.9),), [[7, 0, 0, 0], [0] * 4]),
        ((symbols(0, 7, x_mm=12.1),), [[-1, 0, 0, 0], [0] * 4]),
        ((symbols(0, 7, y_mm=19.5),), [[-1, 0, 0, 0], [0] * 4]),
        ((symbols(0, 7, upright=False),), [[-1, 0, 0, 0], [0] * 4]),
        ((symbols(0, 7, size_mm=1.61),), [[7, 0, 0, 0], [0] * 4]),
        ((symbols(0, 7, size_mm=1.59),), [[-1, 0, 0, 0], [0] * 4]),
        ((symbols(0, 7, colour=(0.89,)),), [[7, 0, 0, 0], [0] * 4]),
        ((symbols(0, 7, colour=(0.91,)),), [[-1, 0, 0, 0], [0] * 4]),
        ((ROWS[0], symbols(2, 7)), [[-1] * 4] * 2),
        ((ROWS[0], symbols(-1, 7)), [[-1] * 4] * 2),
        ((symbols(0, 7, 8, column=3),), [[-1] * 4] * 2),
        ((symbols(0, 7, column=-1),), [[-1] * 4] * 2),
    ],
)
def test_a_symbol_stands_alone_in_the_middle_of_its_cell(items: tuple[Item, ...], found: list[list[int]]) -> None:
    assert grids.placed(cells(*items)).tolist() == found


def test_a_symbol_is_seen_on_the_colour_of_its_yarn() -> None:
    """Light on dark and dark on light (WCAG 2, 1.4.3), and none where there is no knot."""
    known, knots = expected("both"), KNOTS[:2]
    dark, light = (0.0,), (1.0,)
    assert grids.grounds_of(expected("symbol")) == [(1.0,)] * 2
    grounds = grids.grounds_of(known)
    assert grounds == [(240 / 255,) * 3, (20 / 255,) * 3]
    told = cells(symbols(0, 7, colour=dark), symbols(0, 8, 8, column=1, colour=light), symbols(1, 8, 7, colour=dark))
    assert grids.placed(told, grounds, knots).tolist() == [[7, 8, 8, 0], [-1, -1, 0, 0]]


def test_cells_are_compared_with_the_map_s() -> None:
    sheet = Sheet(1, 210.0, 297.0, Block("", {}))

    def wrong(*items: Item, rows: range = range(2), marks: str = "symbol") -> list[str]:
        told = cells(*items, rows=rows)
        return list(grids.cells_differences(told, sheet, None, expected(marks), {0: 7, 1: 8}))

    assert wrong(*ROWS) == wrong(*ROWS, rows=range(4, 6)) == wrong(marks="colour") == []
    words = "1 cell without their yarn's symbol, the first in row {}, column {}"
    assert wrong(ROWS[0], symbols(1, 8, 7, 7, 8)) == [words.format(2, 2)]
    assert wrong(symbols(0, 7, 8, 7, 7), ROWS[1], rows=range(4, 6)) == [words.format(5, 3)]
    assert wrong(ROWS[0], symbols(1, 8, 0, 7)) == [words.format(2, 4)]
    over = Fill(10.0, 20.0, 1.0, 1.0, (1.0,), False)
    assert wrong(over, *ROWS) == []
    assert wrong(ROWS[0], over, ROWS[1]) == ["something is painted over its symbols"]


@pytest.mark.parametrize(
    ("rows", "columns", "at", "right"),
    # The sheet has rows 3 to 4 and columns 2 to 3, at (10, 20); what joins it lies beyond it on its own side.
    [
        (range(4, 6), range(1, 3), (10.0, 28.0), True),
        (range(4, 6), range(1, 3), (10.0, 27.0), False),
        (range(4, 6), range(1, 3), (10.1, 28.0), False),
        (range(5, 7), range(1, 3), (10.0, 28.0), False),
        (range(4, 6), range(2), (10.0, 28.0), False),
        (range(2), range(1, 3), (10.0, 12.0), True),
        (range(2), range(1, 3), (10.0, 12.1), False),
        (range(2), range(1, 3), (10.0, 28.0), False),
        (range(2, 4), range(3, 4), (18.0, 20.0), True),
        (range(2, 4), range(3, 4), (17.0, 20.0), False),
        (range(2, 4), range(3, 4), (18.0, 20.1), False),
        (range(2, 4), range(1), (6.0, 20.0), True),
        (range(2, 4), range(1), (6.1, 20.0), False),
        (range(2, 4), range(1), (18.0, 20.0), False),
        (range(2, 3), range(1), (6.0, 20.0), False),
    ],
)
def test_a_join_lies_beside_the_cells_that_come_next(
    rows: range, columns: range, at: tuple[float, float], right: bool
) -> None:
    own, known = cells(rows=range(2, 4), columns=range(1, 3)), expected()
    join = cells(rows=rows, columns=columns, at=at)
    for row, line in enumerate(known.knots[rows.start : rows.stop, columns.start : columns.stop]):
        glyphs = [{0: 7, 1: 8, NO_KNOT: 0}[int(each)] for each in line]
        join.block.items.append(symbols(0, *glyphs, x_mm=at[0] + 0.8, y_mm=at[1] + 0.8 + 4 * row))
    sheet = Sheet(1, 210.0, 297.0, Block("", {}))
    found = list(grids.join_differences(join, own, sheet, None, known, {0: 7, 1: 8}))
    assert found == (
        [] if right else ["the rows and columns that join it to the next sheets are not those that come next"]
    )
    if right:
        join.block.items.pop(0)
        (words,) = grids.join_differences(join, own, sheet, None, known, {0: 7, 1: 8})
        assert "of the join without their yarn's symbol, the first in row" in words
        wide = replace(join, width_mm=join.width_mm * 1.01)
        assert len(list(grids.join_differences(wide, own, sheet, None, known, {}))) == 1


@pytest.mark.parametrize(
    ("values", "right"),
    [
        ({}, True),
        ({"Rows": (0.0, 2.0)}, False),
        ({"Rows": (3.0, 2.0)}, False),
        ({"Rows": (9.0, 10.0)}, True),
        ({"Rows": (9.0, 11.0)}, False),
        ({"Columns": (0.0, 2.0)}, False),
        ({"Columns": (1.0, 5.0)}, False),
        ({"Columns": (3.0, 2.0)}, False),
        ({"Box": (10.0, 20.0, 0.0, 8.0)}, False),
        ({"Box": (10.0, 20.0, 16.0, 0.0)}, False),
        ({"Box": (10.0, 20.0, 16.0)}, False),
        ({"Rows": ()}, False),
    ],
)
def test_cells_are_rows_and_columns_of_the_rug(values: dict[str, Any], right: bool) -> None:
    block = Block("cells", {"Rows": (1.0, 2.0), "Columns": (1.0, 4.0), "Box": (10.0, 20.0, 16.0, 8.0), **values})
    if right:
        found = grids.cells_of(block, expected())
        assert (len(found.rows), found.columns, found.cell_mm[0]) == (2, range(4), 4.0)
        return
    with pytest.raises(ValueError, match=r"do not belong to the rug|values to unpack"):
        grids.cells_of(block, expected())


def test_a_join_is_paler_than_the_sheet_but_not_too_pale() -> None:
    """Rows of the next sheet are toned down with white: by 30 to 85 % of it, alike in all of their cells."""
    known = expected("colour")
    own = cells(rows=range(2, 4))
    join = cells(rows=range(2), at=(10.0, 12.0))
    sheet = Sheet(1, 40.0, 40.0, Block("", {}))
    plain = np.array([[*yarn.srgb] for yarn in known.yarns] + [[255] * 3], dtype=float)[np.minimum(KNOTS[:2], 2)]

    def painted(share: float, change: float = 0.0) -> Any:
        picture = np.full((400, 400, 3), 255.0)
        shown = plain + (255 - plain) * share
        shown[1, 2] += change
        for row in range(2):
            for column in range(4):
                top = 400 - 120 - 40 * (row + 1)
                picture[top : top + 40, 100 + 40 * column : 140 + 40 * column] = shown[row, column]
        return np.round(picture).astype(np.uint8)

    def wrong(*how: float) -> list[str]:
        return list(grids.join_differences(join, own, sheet, painted(*how), known, {}))

    pale = ["the rows of the join are not toned down"]
    assert wrong(0.32) == wrong(0.6) == wrong(0.83) == []
    assert wrong(0.28) == wrong(0.87) == wrong(0.0) == pale
    assert wrong(0.6, -5.0)[0].endswith("in row 2, column 3")
