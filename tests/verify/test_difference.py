"""Differences are named up to a few, each once, and cells by the row that is woven and the column, counted from 1."""

from __future__ import annotations

import numpy as np
import pytest

from chartmaker.verify.difference import cells_words, first_few, once


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ("", []),
        ("abcde", list("abcde")),
        ("abcdef", [*"abcde", "and 1 more difference"]),
        ("abcdefg", [*"abcde", "and 2 more differences"]),
    ],
)
def test_the_first_five_are_named_and_the_others_counted(given: str, told: list[str]) -> None:
    assert list(first_few(given)) == told
    assert list(first_few(given[:3], most=2)) == [*given[:2], *(["and 1 more difference"] if given else [])]


def test_many_more_are_counted_in_groups_of_three_figures() -> None:
    assert list(first_few(["x"] * 1239))[-1] == "and 1,234 more differences"


def test_a_fault_of_many_sheets_is_named_on_the_first() -> None:
    sheets = [(1, ["too pale", "too small"]), (2, ["too pale", "hidden"]), (7, ["hidden", "too small", "off"])]
    assert list(once(sheets)) == ["sheet 1: too pale", "sheet 1: too small", "sheet 2: hidden", "sheet 7: off"]


def test_cells_are_counted_and_the_first_is_placed() -> None:
    wrong = np.zeros((30, 50), dtype=bool)
    assert cells_words(wrong, "pale") is None
    wrong[3, 7] = True
    assert cells_words(wrong, "pale") == "1 cell pale, the first in row 4, column 8"
    assert cells_words(wrong, "pale", 10, 200) == "1 cell pale, the first in row 14, column 208"
    wrong[4] = True
    assert cells_words(wrong, "pale") == "51 cells pale, the first in row 4, column 8"
    assert cells_words(np.ones((30, 50), dtype=bool), "lost") == "1,500 cells lost, the first in row 1, column 1"
