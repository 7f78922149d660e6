"""Rows of a sheet are written once: neighbours that are tied alike stand together, others refer to a row above."""

from __future__ import annotations

from support.making import make_yarn

from chartmaker.sheets.rows.blocks import BOXES_MM, Filling, blocks_of
from chartmaker.sheets.rows.folding import Span
from chartmaker.sheets.rows.setting import RowText, run_setting, set_row

SETTING = run_setting([make_yarn(0, (9, 9, 9))], 99, 100, dense=False)


def text(key: str, runs: int) -> RowText:
    return set_row(key.encode(), [Span(1, n % 2) for n in range(runs)], SETTING.a_line)


def test_rows_tied_alike_stand_together_or_refer_to_the_row_above() -> None:
    """Rows 1 to 3 are alike, row 4 is long, and 6 and 7 are like it; a short row is simply printed again."""
    short, long = text("s", 2), text("l", 4 * SETTING.a_line)
    assert long.lines == 4
    between = text("b", 3)
    rows = [short, short, short, long, between, long, long, short]
    blocks = blocks_of(range(len(rows)), rows, Filling(SETTING, boxes=4))
    told = [(block.rows.start + 1, block.rows.stop, block.like) for block in blocks]
    assert told == [(1, 3, None), (4, 4, None), (5, 5, None), (6, 7, 3), (8, 8, None)]


def test_a_sheet_grows_by_what_is_printed() -> None:
    """Every four rows after the first add a line of boxes, and a row like one above adds a single line."""
    filling = Filling(SETTING, boxes=4)
    short, long = text("s", 2), text("l", 4 * SETTING.a_line)
    grown = []
    for row, each in enumerate([short] * 10 + [long, short, long]):
        grown.append(filling.taller_mm(row, each))
        filling.add(row, each)
    one, four = SETTING.height_mm(1), SETTING.height_mm(4)
    assert grown == [one, BOXES_MM, 0, 0, 0, BOXES_MM, 0, 0, 0, BOXES_MM, four, one, one]
    assert filling.used_mm == sum(grown)
