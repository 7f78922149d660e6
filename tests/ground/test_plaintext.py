"""The csv module reads tables back as they were given (RFC 4180), and no cell of them is a formula."""

from __future__ import annotations

import csv
import json

from hypothesis import given
from hypothesis import strategies as st

from chartmaker.ground.plaintext import json_text, no_formula, table_lines

cells = st.text(st.characters(blacklist_categories=("Cs", "Cc")), max_size=12) | st.just('a "quoted", one')


@given(st.lists(st.tuples(cells, cells), max_size=5))
def test_a_table_is_read_back_as_it_was(rows: list[tuple[str, str]]) -> None:
    lines = list(table_lines(("first", "second"), rows))
    assert all(line.endswith("\n") and "\r" not in line for line in lines)
    assert list(csv.reader(lines, strict=True)) == [["first", "second"], *map(list, rows)]


@given(cells)
def test_no_cell_begins_a_formula(text: str) -> None:
    """A spreadsheet takes a cell that begins with one of these characters for a formula (OWASP, CSV injection)."""
    assert not no_formula(text).startswith(("=", "+", "-", "@"))
    assert no_formula(text).removeprefix("'") == text.removeprefix("'")


def test_a_record_is_plain_ascii_in_its_own_order() -> None:
    text = json_text({"zeta": "Schürze", "alpha": None})
    assert text.isascii()
    assert list(json.loads(text).items()) == [("zeta", "Schürze"), ("alpha", None)]
