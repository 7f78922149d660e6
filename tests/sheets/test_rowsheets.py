"""The row script read back from the PDF's text gives every row of every strip, knot for knot."""

from __future__ import annotations

import io
import re
from dataclasses import replace

import numpy as np
import pypdfium2 as pdfium
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from support.making import SettledMap, coloured_map
from support.rows_reader import read_rows

from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.sheets.rows import rowlayout
from chartmaker.sheets.rows.folding import folded, unfold
from chartmaker.sheets.rows.rowsheets import write_rows_pdf
from chartmaker.verify.expected import expected_of
from chartmaker.verify.scripts import script_differences


def rows_pdf(knot_map: SettledMap) -> bytes:
    stream = io.BytesIO()
    write_rows_pdf(stream, knot_map, knot_map.workshop)
    return stream.getvalue()


@st.composite
def maps(draw: st.DrawFn) -> SettledMap:
    """Maps with long and short runs, repeats, outlines."""
    rows, columns = draw(st.integers(2, 40)), draw(st.integers(2, 60))
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    yarns = draw(st.integers(1, 20))
    repeat = draw(st.integers(1, 20))
    knots = np.tile(rng.integers(0, yarns, (rows, repeat)), -(-columns // repeat))[:, :columns]
    knots = np.repeat(knots, draw(st.integers(1, 4)), axis=1)[:, :columns]
    if draw(st.booleans()):
        knots[rng.random(knots.shape) < 0.2] = NO_KNOT
    if draw(st.booleans()):
        knots[rows - rows // 2 :] = knots[: rows // 2][::-1]  # mirrored along, the centre row its own or not
    return coloured_map(
        knots,
        rng.integers(0, 256, (yarns, 3)),
        density=(min(40, 2 * columns), min(40, 2 * rows)),
        strips=draw(st.integers(1, min(3, columns))),
        reading=draw(st.sampled_from(["left to right", "right to left"])),
        paper=draw(st.sampled_from(["A5", "A4", "Letter"])),
    )


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(maps())
def test_what_is_printed_gives_every_row_back(knot_map: SettledMap) -> None:
    told = read_rows(rows_pdf(knot_map))
    seen = np.full(knot_map.knots.shape, -1)
    for (row, _), (knots, total, (first, last), reading) in told.items():
        cells = [NO_KNOT if code is None else int(code[1:]) - 1 for code in knots]
        assert len(cells) == last - first + 1
        assert total == sum(cell != NO_KNOT for cell in cells)
        seen[row - 1, first - 1 : last] = cells[::-1] if reading == "right to left" else cells
    assert (seen == knot_map.knots).all()


@pytest.mark.parametrize("reading", ["left to right", "right to left"])
@pytest.mark.parametrize("times", [2, 19, 120])
def test_a_bracket_stands_clear_of_the_longest_code_before_it(times: int, reading: str) -> None:
    """A reader that goes by the gaps between letters keeps the code apart from how often the bracket is tied."""
    row = np.array([0, 0, 0, *[1, 1, 2] * times, 0])
    row = row if reading == "left to right" else row[::-1]
    knots = np.array([row, np.roll(row, 1), row])
    plain = coloured_map(knots, np.eye(3, dtype=int) * 200, paper="A3", density=(40, 6), reading=reading)
    yarns = tuple(replace(yarn, code=f"WM-00{number}") for number, yarn in enumerate(plain.yarns))
    told = read_rows(rows_pdf(replace(plain, yarns=yarns)))
    for (number, _), (said, _, _, _) in told.items():
        cells = [int(str(code)[-1]) for code in said]
        assert (cells if reading == "left to right" else cells[::-1]) == knots[number - 1].tolist()
    assert len(told) == 3


@pytest.mark.parametrize("strips", [1, 2])
@pytest.mark.parametrize("reading", ["left to right", "right to left"])
def test_a_row_longer_than_a_sheet_is_told_in_parts(strips: int, reading: str) -> None:
    """236 runs a row on A5: nothing runs off the foot of the paper, and every sheet says which part it is."""
    knots = np.random.default_rng(9).integers(0, 45, (6, 236))
    colours = np.random.default_rng(2).integers(0, 256, (45, 3))
    knot_map = coloured_map(knots, colours, density=(40, 12), paper="A5", strips=strips, reading=reading)
    data = rows_pdf(knot_map)
    seen = np.full(knots.shape, -1)
    for (row, _), (codes, _, (first, last), _) in read_rows(data).items():
        cells = [int(str(code)[1:]) - 1 for code in codes]
        seen[row - 1, first - 1 : last] = cells[::-1] if reading == "right to left" else cells
    assert (seen == knots).all()
    assert list(script_differences(data, expected_of(knot_map, knot_map.workshop))) == []
    document = pdfium.PdfDocument(data)
    said = [page.get_textpage().get_text_range() for page in document]
    parts = {found[0] for text in said if (found := re.search(r"Strip \d of \d, part \d of \d", text))}
    each = 4 if strips == 1 else 2
    assert parts == {f"Strip {s + 1} of {strips}, part {p + 1} of {each}" for s in range(strips) for p in range(each)}
    for page in document:  # the lowest letter on each sheet stands above the margin
        letters = page.get_textpage()
        lowest = min(letters.get_charbox(index)[1] for index in range(letters.count_chars()))
        assert lowest / 72 * 25.4 > 5


def test_rows_set_again_after_they_were_let_go_are_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    knots = np.random.default_rng(3).integers(0, 5, (150, 40))
    knot_map = coloured_map(np.concatenate([knots, knots[::-1]]), np.eye(5, 3, dtype=int) * 200, strips=2, paper="A4")
    whole = rows_pdf(knot_map)
    monkeypatch.setattr(rowlayout, "_MOST_MARKS", 10)
    assert rows_pdf(knot_map) == whole


@settings(max_examples=200, deadline=None)
@given(st.lists(st.lists(st.integers(0, 4), min_size=8, max_size=80), min_size=1, max_size=4), st.integers(1, 6))
def test_folding_loses_nothing(cells: list[list[int]], times: int) -> None:
    width = min(map(len, cells))
    rows = np.array([row[:width] * times for row in cells], dtype=np.uint16)
    assert [unfold(entries).tolist() for entries in folded(rows)] == rows.tolist()


def test_repeats_are_folded() -> None:
    """A 2 B 1 C, four times over, then D: told in four pieces at most."""
    row = np.array([1, 1, 1, 2, 2, 3] * 4 + [4], dtype=np.uint16)
    (entries,) = folded(row[None])
    assert len(entries) == 2 and entries[0].times == 4  # type: ignore[union-attr]
