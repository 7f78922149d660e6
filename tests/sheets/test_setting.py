"""A row of the script loses nothing when it is set, keeps groups on a line, and folds only to save a line."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from support.making import make_yarn

from chartmaker.paper.document import POINTS_PER_MM
from chartmaker.paper.lettering import Lettering
from chartmaker.sheets.rows.folding import Group, Span, folded
from chartmaker.sheets.rows.setting import RowText, run_setting, set_row


def spoken(text: RowText) -> tuple[list[int], list[int]]:
    """Return the cells as somebody reads the marks aloud, and how many have been read at the end of each line."""
    cells: list[int] = []
    ends: list[int] = []
    group: list[int] | None = None
    times = 0
    for number, mark in enumerate(text.marks):
        if mark.times:
            group, times = [], mark.times
        elif mark.span is None:
            assert group is not None
            cells, group = cells + group * times, None
        else:
            into = cells if group is None else group
            into += [mark.span.yarn] * mark.span.knots
        if number + 1 == len(text.marks) or text.marks[number + 1].line > mark.line:
            assert group is None, "a group is broken at the end of a line"
            ends.append(len(cells))
    return cells, ends


@settings(max_examples=300, deadline=None)
@given(st.lists(st.integers(0, 3), min_size=1, max_size=9), st.integers(1, 12), st.integers(1, 9), st.integers(0, 30))
def test_a_row_reads_back_and_is_folded_only_to_save_a_line(
    motif: list[int], times: int, a_line: int, seed: int
) -> None:
    ends = np.random.default_rng(seed).integers(0, 4, 5).tolist()
    row = np.array(ends + motif * times + ends[::-1], dtype=np.uint16)
    (entries,) = folded(row[None])
    text = set_row(b"", entries, a_line)
    cells, reached = spoken(text)
    assert cells == row.tolist()
    assert list(text.reached) == reached and text.lines == text.marks[-1].line + 1
    assert all(0 <= mark.place < a_line for mark in text.marks)
    runs = sum(entry.times * len(entry.spans) if isinstance(entry, Group) else 1 for entry in entries)
    without = -(-runs // a_line)
    brackets = any(mark.times for mark in text.marks)
    assert text.lines < without if brackets else text.lines == without


def test_a_short_repeat_within_a_line_is_written_run_by_run() -> None:
    entries = [Group(3, (Span(1, 0), Span(2, 1))), Span(9, 2)]
    assert [mark.span for mark in set_row(b"", entries, 10).marks] == [Span(1, 0), Span(2, 1)] * 3 + [Span(9, 2)]
    assert next(mark.times for mark in set_row(b"", entries, 4).marks) == 3


def test_numbers_and_codes_of_any_length_have_room() -> None:
    """No number may be cut: 2,000 knots of a long code have more room than 99 knots of a short one."""
    plain = make_yarn(0, (9, 9, 9))
    short, long = (
        run_setting([replace(plain, code=code)], most, 300, dense=False)
        for code, most in (("A1", 99), ("WM-004", 2000))
    )
    assert long.run_mm > short.run_mm + 12 and long.a_line < short.a_line


def test_a_number_of_three_figures_stands_clear_of_its_swatch() -> None:
    """A bar in the swatch that touches 100 reads as 1100; the swatch ends 3.7 mm from the left (rowdrawing.py)."""
    large = run_setting([make_yarn(0, (9, 9, 9))], 999, 300, dense=False)
    figures_mm = Lettering().width("100", bold=True) * large.knots_pt / POINTS_PER_MM
    assert large.knots_mm - figures_mm > 3.7 + 0.85


def test_call_names_are_as_large_as_numbers_and_codes_small() -> None:
    """What is called aloud is read from afar, while the code is only for looking up (common practice)."""
    plain = make_yarn(0, (9, 9, 9))
    called = run_setting([replace(plain, call="Rose"), plain], 99, 300, dense=False)
    without = run_setting([plain], 99, 300, dense=False)
    assert called.call_pt > 1.5 * called.code_pt and without.call_pt == 0
    assert called.run_mm > without.run_mm
    foreign = run_setting([replace(plain, call="\u06af\u0644")], 99, 300, dense=False)
    assert foreign.run_mm >= without.run_mm  # a name in letters of another font has room too
