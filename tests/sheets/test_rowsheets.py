"""The text of the row script's PDF gives back every row of every strip, knot for knot."""

from __future__ import annotations

import io
import re
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pypdfium2 as pdfium
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from support.making import SettledMap, coloured_map
from support.rows_reader import read_rows

from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.readback.printed import extent_of
from chartmaker.sheets.rows import rowlayout
from chartmaker.sheets.rows.folding import Group, Span, folded
from chartmaker.sheets.rows.rowsheets import write_rows_pdf
from chartmaker.verify.expected import expected_of
from chartmaker.verify.scripts import script_differences
from chartmaker.verify.sheets import Paper


def rows_pdf(knot_map: SettledMap) -> bytes:
    stream = io.BytesIO()
    write_rows_pdf(stream, knot_map, knot_map.workshop)
    return stream.getvalue()


@st.composite
def maps(draw: st.DrawFn) -> SettledMap:
    """Draw maps with long and short runs, repeats and outlines."""
    rows, columns = draw(st.integers(2, 40)), draw(st.integers(2, 60))
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    yarns = draw(st.integers(1, 20))
    repeat = draw(st.integers(1, 20))
    knots = np.tile(rng.integers(0, yarns, (rows, repeat)), -(-columns // repeat))[:, :columns]
    knots = np.repeat(knots, draw(st.integers(1, 4)), axis=1)[:, :columns]
    if draw(st.booleans()):
        knots[rng.random(knots.shape) < 0.2] = NO_KNOT
    if draw(st.booleans()):
        knots[rows - rows // 2 :] = knots[: rows // 2][::-1]  # mirrored along, with a centre row of its own or without
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
def test_the_printed_script_gives_every_row_back(knot_map: SettledMap) -> None:
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
    """A reader that goes by the gaps between letters can tell the code from how often the bracket is tied."""
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
def test_a_row_longer_than_a_sheet_is_written_in_parts(strips: int, reading: str) -> None:
    """A strip has 236 runs a row on A5: nothing runs off the paper, and every sheet says which part it is."""
    knots = np.random.default_rng(9).integers(0, 45, (6, 236 * strips))
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
    assert parts == {f"Strip {s + 1} of {strips}, part {p + 1} of 2" for s in range(strips) for p in range(2)}
    for page in document:  # The lowest letter on each sheet stands above the margin.
        letters = page.get_textpage()
        lowest = min(letters.get_charbox(index)[1] for index in range(letters.count_chars()))
        assert lowest / 72 * 25.4 > 5


def test_rows_that_were_dropped_from_memory_are_set_the_same_again(monkeypatch: pytest.MonkeyPatch) -> None:
    knots = np.random.default_rng(3).integers(0, 5, (150, 40))
    knot_map = coloured_map(np.concatenate([knots, knots[::-1]]), np.eye(5, 3, dtype=int) * 200, strips=2, paper="A4")
    whole = rows_pdf(knot_map)
    monkeypatch.setattr(rowlayout, "_MOST_MARKS", 10)
    assert rows_pdf(knot_map) == whole


def unfolded(entries: Sequence[Span | Group]) -> list[int]:
    """Return the row that folded entries stand for."""
    groups = [entry if isinstance(entry, Group) else Group(1, (entry,)) for entry in entries]
    return [yarn for group in groups for span in group.times * group.spans for yarn in span.knots * [span.yarn]]


@settings(max_examples=200, deadline=None)
@given(st.lists(st.lists(st.integers(0, 4), min_size=8, max_size=80), min_size=1, max_size=4), st.integers(1, 6))
def test_folding_loses_nothing(cells: list[list[int]], times: int) -> None:
    width = min(map(len, cells))
    rows = np.array([row[:width] * times for row in cells], dtype=np.uint16)
    assert [unfolded(entries) for entries in folded(rows)] == rows.tolist()


def test_a_repeated_group_is_written_once_with_its_count() -> None:
    """Three A, two B and one C, four times over, and then D: a group and a run are enough."""
    row = np.array([1, 1, 1, 2, 2, 3] * 4 + [4], dtype=np.uint16)
    (entries,) = folded(row[None])
    assert len(entries) == 2 and entries[0].times == 4  # type: ignore[union-attr]


def pages_of(data: bytes) -> list[str]:
    return [page.get_textpage().get_text_range() for page in pdfium.PdfDocument(data)]


@pytest.mark.parametrize("rows", [40, 41])
def test_the_centre_row_is_no_part_of_the_way_back(rows: int) -> None:
    """Of 41 rows the 21st is tied only once: rows 1 to 21 go up, and 22 to 41 are the way back."""
    half = np.random.default_rng(5).integers(0, 4, (rows - rows // 2, 30))
    knots = np.concatenate([half, half[: rows // 2][::-1]])
    knot_map = coloured_map(knots, np.eye(4, 3, dtype=int) * 200, density=(30, 30), paper="A4", strips=1)
    data = rows_pdf(knot_map)
    heads = [found for text in pages_of(data) for found in re.findall(r"rows (\d+)–(\d+), back (\d+)–(\d+)", text)]
    there = [row for first, last, _, _ in heads for row in range(int(first), int(last) + 1)]
    back = [row for _, _, first, last in reversed(heads) for row in range(int(first), int(last) + 1)]
    assert there + back == list(range(1, rows + 1))
    assert all(int(last) > int(first) for first, last, _, _ in heads)  # there is no sheet for the centre row alone
    assert list(script_differences(data, expected_of(knot_map, knot_map.workshop))) == []


@pytest.mark.parametrize("rows", [24, 23])
def test_of_rows_tied_alike_those_of_both_ways_stand_apart(rows: int) -> None:
    """Who ticks rows one after the other on the way back must not find those of the way up between them."""
    half = np.random.default_rng(6).integers(0, 3, (rows - rows // 2, 12))
    half[3:7] = half[3]
    knots = np.concatenate([half, half[: rows // 2][::-1]])
    knot_map = coloured_map(knots, np.eye(3, dtype=int) * 200, density=(12, 200), paper="A3", strips=1)
    data = rows_pdf(knot_map)
    words = " ".join(pages_of(data)[1].split())
    assert f"likewise rows 5 6 7 back {rows - 6} {rows - 5} {rows - 4} " in words
    assert list(script_differences(data, expected_of(knot_map, knot_map.workshop))) == []


@pytest.mark.parametrize("reading", ["left to right", "right to left"])
def test_each_number_stands_beside_its_own_box(reading: str) -> None:
    """The box of row 960 must not touch the number of row 1, or a tick would be read as that of the wrong row."""
    half = np.random.default_rng(6).integers(0, 3, (500, 12))
    half[3:9] = half[3]
    knots = np.concatenate([half, half[::-1]])
    knot_map = coloured_map(knots, np.eye(3, dtype=int) * 200, density=(12, 200), paper="A4", strips=1, reading=reading)
    page = pdfium.PdfDocument(rows_pdf(knot_map))[1]
    mm = 25.4 / 72
    boxes = []
    for item in page.get_objects(filter=[pdfium.raw.FPDF_PAGEOBJ_PATH], max_depth=1):
        left, low, right, high = (each * mm for each in item.get_bounds())
        if abs(right - left - 4.4) < 0.3 and abs(high - low - 4.4) < 0.3:
            boxes.append((left, right, (low + high) / 2))
    letters = page.get_textpage()
    found = letters.get_text_range()
    numbers = []
    for index in range(letters.count_chars()):
        left, low, right, high = (each * mm for each in letters.get_charbox(index))
        if (
            found[index : index + 1].isdigit() and high - low > 2.9 and low < 270
        ):  # the figures of the row numbers are the highest
            if numbers and abs(left - numbers[-1][1]) < 1 and abs(low - numbers[-1][2]) < 0.3:
                numbers[-1][1] = right
            else:
                numbers.append([left, right, low])
    assert len(numbers) == len(boxes) > 20
    for left, right, low in numbers:
        on_line = [box for box in boxes if abs(box[2] - low - 1.6) < 2]
        own = [box for box in on_line if 0 < (left - box[1] if reading == "left to right" else box[0] - right) < 2]
        others = [box for box in on_line if box not in own]
        assert len(own) == 1
        assert all(box[0] > right + 4 or box[1] < left - 4 for box in others)


def test_a_strip_that_mirrors_another_is_written_with_it() -> None:
    """Of four strips that mirror two are printed; the others' rows are in the same calls, from the far edge."""
    half = np.random.default_rng(7).integers(0, 5, (30, 60))
    knots = np.concatenate([half, half[:, ::-1]], axis=1)
    settings = {"density": (40, 10), "paper": "A3", "strips": 4}
    data = rows_pdf(coloured_map(knots, np.eye(5, 3, dtype=int) * 200, **settings))
    heads = {found for text in pages_of(data) for found in re.findall(r"Strips? [^·]*·[^·]*· columns ([^·]*) ·", text)}
    assert heads == {"1–30 and, the other way, 91–120", "31–60 and, the other way, 61–90"}
    seen = np.full(knots.shape, -1)
    for (row, _), (codes, _, (first, last), way) in read_rows(data).items():
        cells = [int(str(code)[1:]) - 1 for code in codes]
        seen[row - 1, first - 1 : last] = cells[::-1] if way == "right to left" else cells
    assert (seen == knots).all()
    whole = rows_pdf(coloured_map(knots, np.eye(5, 3, dtype=int) * 200, whole=True, **settings))
    assert len(pages_of(whole)) >= 2 * len(pages_of(data)) - 2


@pytest.mark.parametrize(("knot", "told"), [("asymmetric", True), ("symmetric", False)])
def test_a_mirrored_script_says_that_the_knot_is_not_mirrored(knot: str, told: bool) -> None:
    """Whoever ties the other half from the script alone must not turn the knot, which has a left and a right side."""
    cells = np.tile(np.arange(40) // 4 % 2, (12, 1))
    cells = np.concatenate([cells, cells[:, ::-1]], axis=1)
    plain = coloured_map(cells, 200 * np.eye(2, 3, dtype=int), density=(30, 30), strips=2)
    knot_map = replace(plain, rug=plain.rug.model_copy(update={"knot": knot}))
    assert ("The knot itself is not mirrored." in pages_of(rows_pdf(knot_map))[0]) == told


def test_runs_stand_as_dense_text_where_that_saves_half_the_paper() -> None:
    """On A4 two rows of a fine rug once filled a sheet with their swatches."""
    knots = np.random.default_rng(8).integers(0, 12, (60, 300))
    knot_map = coloured_map(knots, np.full((12, 3), 90), density=(40, 8), paper="A4", strips=1)
    sheets = len(pages_of(rows_pdf(knot_map)))
    with pytest.MonkeyPatch.context() as patch:
        large = rowlayout.run_setting
        patch.setattr(rowlayout, "run_setting", lambda *given, dense: large(*given, dense=False))
        assert len(pages_of(rows_pdf(knot_map))) >= 2 * sheets - 2


def test_small_paper_lies_on_its_side_where_that_saves_a_third_of_it() -> None:
    """On upright A5 only two runs stood on a line, and one row of a fine border filled a sheet."""
    knots = np.random.default_rng(8).integers(0, 12, (24, 60))
    knots = np.hstack([knots, knots[:, ::-1]])
    knots = np.vstack([knots, knots[::-1]])
    sizes = {}
    for way in ("auto", "portrait", "landscape"):
        knot_map = coloured_map(knots, np.full((12, 3), 90), paper="A5", strips=2, orientation=way)
        data = rows_pdf(knot_map)
        assert list(script_differences(data, expected_of(knot_map, knot_map.workshop))) == []
        sizes[way] = len(pages_of(data)), rowlayout.row_layout(knot_map, knot_map.workshop).paper.width_mm
    assert sizes["auto"] == sizes["landscape"] and sizes["auto"][0] <= 0.67 * sizes["portrait"][0]
    plain = coloured_map(knots, np.full((12, 3), 90), paper="A3", strips=2)
    # there is room enough, so it lies as before
    assert rowlayout.row_layout(plain, plain.workshop).paper.width_mm == 297


@pytest.mark.parametrize("paper", ["A5", "A4", "A3"])
def test_the_words_before_a_row_stand_clear_of_its_first_yarn(paper: str) -> None:
    """A rug that mirrors both ways has the most words there."""
    half = np.random.default_rng(9).integers(0, 3, (20, 20))
    quarter = np.concatenate([half, half[:, ::-1]], axis=1)
    knots = np.concatenate([quarter, quarter[::-1]])
    knot_map = coloured_map(knots, np.eye(3, dtype=int) * 200, density=(20, 20), paper=paper, strips=2)
    letters = pdfium.PdfDocument(rows_pdf(knot_map))[0].get_textpage()
    text = letters.get_text_range()
    first = text.index("Colour number 1")
    end = text.rindex("back", 0, first)
    assert (letters.get_charbox(end)[1] - letters.get_charbox(first)[3]) * 25.4 / 72 > 1.5


@pytest.mark.parametrize("reading", ["left to right", "right to left"])
def test_call_names_stand_between_number_and_code_and_are_proved(reading: str) -> None:
    knots = np.random.default_rng(3).integers(0, 3, (12, 40))
    knot_map = coloured_map(knots, np.eye(3, dtype=int) * 200, density=(40, 12), paper="A3", strips=1, reading=reading)
    names = ("Rose", None, "Ox blood")
    called = replace(
        knot_map, yarns=tuple(replace(yarn, call=name) for yarn, name in zip(knot_map.yarns, names, strict=True))
    )
    data = rows_pdf(called)
    assert "Ox blood" in pages_of(data)[1] and "the name called for the yarn" in pages_of(data)[0]
    assert list(script_differences(data, expected_of(called, called.workshop))) == []
    other = replace(called, yarns=tuple(replace(yarn, call=yarn.call and "Plum") for yarn in called.yarns))
    assert any("is called" in each for each in script_differences(data, expected_of(other, other.workshop)))


@pytest.mark.parametrize("reading", ["left to right", "right to left"])
@pytest.mark.parametrize("mirrored", [False, True])
def test_a_row_of_a_round_rug_says_where_it_begins_and_how_far_from_the_row_below(reading: str, mirrored: bool) -> None:
    """Nobody counts 217 bare warps from the edge; the reader checks every column and distance that is printed."""
    rows, columns = np.mgrid[-1:1:60j, -1:1:80j]
    inside = (rows - 0.1 * columns * (not mirrored)) ** 2 + columns**2 < 1
    knots = np.where(inside, np.random.default_rng(5).integers(0, 4, (60, 80)), NO_KNOT)
    knots[30, 40] = NO_KNOT  # a hole inside the row
    if mirrored:
        knots[:, 40:] = knots[:, :40][:, ::-1]
    knot_map = coloured_map(
        knots, np.eye(4, 3, dtype=int) * 200, density=(40, 10), strips=2, reading=reading, paper="A3"
    )
    data, expected = rows_pdf(knot_map), expected_of(knot_map, knot_map.workshop)
    text = " ".join(pages_of(data))
    assert "skip" not in text
    said = re.search(r'as "from column (\d+)(?:, (\d+))?" in row (\d+)', " ".join(pages_of(data)[0].split()))
    assert said is not None
    columns_, row = [int(each) for each in said.groups()[:2] if each], int(said[3]) - 1
    tied = knots[row] != NO_KNOT
    assert all(tied[column - 1] for column in columns_) and len(columns_) == 1 + mirrored
    step = -1 if reading == "right to left" else 1
    assert not tied[columns_[0] - 1 - step]  # the places before it lie outside the outline
    kinds = ("before", "after") if mirrored else ("left of", "right of")
    assert all(re.search(rf"from (column )?\d+(, \d+)?, \d+ {kind} row \d+", text) for kind in kinds)
    seen = np.full(knots.shape, -1)
    for (row, _), (codes, _, (start, last), way) in read_rows(data).items():
        cells = [NO_KNOT if code is None else int(str(code)[1:]) - 1 for code in codes]
        seen[row - 1, start - 1 : last] = cells[::-1] if way == "right to left" else cells
    assert (seen == knots).all()
    assert list(script_differences(data, expected)) == []
    moved = knots.copy()
    row = 5
    moved[row, np.flatnonzero(knots[row] != NO_KNOT)[[0, -1]]] = NO_KNOT
    other = replace(expected, knots=moved.astype(np.uint16))
    assert any(f"row {row + 1}" in fault for fault in script_differences(data, other))


@pytest.mark.parametrize("reading", ["left to right", "right to left"])
def test_a_swatch_stands_nearer_its_own_number_than_the_code_before_it(reading: str) -> None:
    """A swatch as near the run before it is read as that run's yarn (common practice)."""
    row = np.repeat([0, 1, 2, 1, 0, 2, 1], [3, 14, 1, 5, 13, 2, 9])
    knots = np.array([np.roll(row, shift) for shift in (0, 3, 7, 11)])
    knot_map = coloured_map(knots, np.eye(3, dtype=int) * 200, paper="A3", marks="colour", reading=reading)
    page = pdfium.PdfDocument(rows_pdf(knot_map))[1]
    dots_mm, mm = 10, 25.4 / 72
    picture = np.asarray(page.render(scale=dots_mm * mm, rev_byteorder=True).to_numpy())[..., :3].astype(int)
    coloured = np.ptp(picture, axis=2) > 100
    letters, held = page.get_textpage(), 0
    words = [letters.get_rect(index) for index in range(letters.count_rects())]
    for left, low, right, high in ((each * mm for each in word) for word in words):
        found = letters.get_text_bounded(left / mm, low / mm, right / mm, high / mm).split()
        line = coloured[len(picture) - round((low + high) / 2 * dots_mm)]
        before = np.flatnonzero(line[: round(left * dots_mm)])
        if len(found) == 1 and found[0].isdigit() and len(before) and left - before[-1] / dots_mm < 2:
            after = np.flatnonzero(line[round(right * dots_mm) :])
            assert not len(after) or after[0] / dots_mm > 7  # its code stands between, and air
            held += 1
    assert held == sum(len(np.flatnonzero(np.diff(each))) + 1 for each in knots)


@pytest.mark.parametrize("reading", ["left to right", "right to left"])
def test_the_total_of_rows_stands_clear_of_the_column_that_is_reached(reading: str) -> None:
    """ "= 177 each" once almost touched the "to 887" beside it."""
    knots = np.zeros((6, 1064), dtype=int)
    knots[:, ::7] = 1
    knots[:, 1062:] = 1
    colours = np.array([[20, 30, 60], [200, 60, 50]])
    knot_map = coloured_map(knots, colours, density=(40, 40), strips=[1, 1001], reading=reading, paper="A4", whole=True)
    data, seen = rows_pdf(knot_map), 0
    assert list(script_differences(data, expected_of(knot_map, knot_map.workshop))) == []
    for sheet in Paper(data, knots.size).sheets():
        boxes = {
            tag: [
                (min(e[0] for e in ends), min(e[1] for e in ends), max(e[2] for e in ends), max(e[3] for e in ends))
                for span in sheet.root.find(tag)
                if (ends := [extent_of(text) for text in span.texts()])
            ]
            for tag in ("total", "column-reached")
        }
        for total in boxes["total"]:
            for other in boxes["column-reached"]:
                if min(total[3], other[3]) > max(total[1], other[1]):
                    assert max(total[0] - other[2], other[0] - total[2]) > 1.9
                    seen += 1
    assert seen
