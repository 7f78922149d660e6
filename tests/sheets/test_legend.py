"""Every legend of a chart gives code, knots, a plain word for the colour and the heights of the pile, uncut."""

from __future__ import annotations

import io
from dataclasses import replace
from itertools import combinations

import numpy as np
import pypdfium2 as pdfium
import pytest
from support import chart_reader as reader
from support import standing
from support.making import SettledMap, as_file, coloured_map, make_map, make_rug

from chartmaker.figures.reckoning import figures_of
from chartmaker.ground.colourwords import words_apart
from chartmaker.jobs.drawn import drawing_of_map
from chartmaker.order.workshop import Pile, Workshop
from chartmaker.reports.coverfacts import cover_facts
from chartmaker.sheets.chart.chart import write_chart
from chartmaker.sheets.pattern.guide import write_guide_pdf
from chartmaker.verify.charts import chart_differences
from chartmaker.verify.expected import expected_of
from chartmaker.verify.legends import entries_of
from chartmaker.verify.recount.whole import recount_of
from chartmaker.verify.sheets import Paper

#: Smaller letters than this cannot be read at arm's length (capitals of 0.9 mm, as on maps; common practice, from
#: memory).
LEAST_PT = 3.5


def _crowded(yarns: int, paper: str, carved: dict[str, str]) -> SettledMap:
    """Return a rug of one sheet that has every yarn on it, with codes as long as they may be."""
    rng = np.random.default_rng(yarns)
    columns = 24
    knots = np.concatenate(
        [np.arange(yarns), rng.integers(0, yarns, max(-yarns % columns, 24 * columns - yarns))]
    ).reshape(-1, columns)
    plain = coloured_map(knots, rng.integers(0, 256, (yarns, 3)), density=(40, 40), paper=paper, cell="1.6 mm")
    named = tuple(replace(yarn, code=f"WM-{i:03d}", name=f"Yarn {i}") for i, yarn in enumerate(plain.yarns))
    pile = Pile.model_validate({"cut": "15.25 mm", "carved": carved})
    return replace(plain, yarns=named, workshop=plain.workshop.model_copy(update={"pile": pile}))


@pytest.mark.parametrize(
    ("yarns", "paper", "carved"),
    [
        (5, "A4", True),
        (12, "A5", True),
        (12, "A4", False),
        (40, "A5", False),
        (60, "A4", True),
        (120, "A5", True),
        (255, "A5", False),
        (255, "A3", True),
    ],
)
def test_every_sheet_gives_each_yarn_s_colour_in_a_word_and_its_heights(yarns: int, paper: str, carved: bool) -> None:
    knot_map = _crowded(yarns, paper, {"WM-003": "8.75 mm"} if carved else {})
    stream = io.BytesIO()
    write_chart(stream, knot_map, knot_map.workshop, cover_facts(figures_of(knot_map, knot_map.workshop)))
    expected = expected_of(knot_map, knot_map.workshop, recount_of(knot_map, knot_map.workshop))
    assert list(chart_differences(stream.getvalue(), expected)) == []
    sheets = list(Paper(stream.getvalue(), knot_map.knots.size).sheets())
    words_of = words_apart(tuple(yarn.lab for yarn in knot_map.yarns))
    wanted = {yarn.code: word.told for yarn, word in zip(knot_map.yarns, words_of, strict=True)}
    legends = [list(sheet.root.find("legend")) for sheet in sheets]
    last = next(blocks for blocks in reversed(legends) if blocks)  # the legend of the only sheet with cells
    entries = entries_of(last)
    assert {entry.code: entry.shade[0] for entry in entries} == wanted
    assert all(len(entry.height) == 2 * carved for entry in entries)
    assert not carved or next(entry for entry in entries if entry.code == "WM-003").height == ("15.25", "8.75")
    assert all(text.size_mm * 72 / 25.4 >= LEAST_PT for block in last for text in block.texts())
    document, _ = reader.read_chart(stream.getvalue())
    page = document[next(i for i in reversed(range(len(legends))) if legends[i])]
    words = [word for word in reader.words_of(reader.characters(page)) if word.right > word.left]
    for one, other in combinations(words, 2):
        apart = one.right <= other.left or other.right <= one.left or one.top <= other.bottom or other.top <= one.bottom
        assert apart, (one, other)


def test_entries_are_larger_where_the_sheet_has_room() -> None:
    """At arm's length every tenth of a point counts, and four yarns on A4 do not need the small type of 120."""
    sizes = []
    for yarns in (4, 120):
        knot_map = _crowded(yarns, "A4", {})
        stream = io.BytesIO()
        write_chart(stream, knot_map, knot_map.workshop)
        last = [block for sheet in Paper(stream.getvalue(), 4000).sheets() for block in sheet.root.find("legend")][-1]
        sizes.append(next(next(last.find("code")).texts()).size_mm)
    assert sizes[0] == pytest.approx(1.3 * 6.5 * 25.4 / 72, abs=0.02) and sizes[1] < sizes[0]


def test_the_word_for_a_colour_stands_in_the_column_of_the_name() -> None:
    """Below the code it ran under the name, which it has nothing to do with."""
    knot_map = _crowded(5, "A4", {})
    stream = io.BytesIO()
    write_chart(stream, knot_map, knot_map.workshop)
    sheets = list(Paper(stream.getvalue(), knot_map.knots.size).sheets())
    last = next(block for sheet in reversed(sheets) for block in sheet.root.find("legend"))
    name, shade, knots = (next(next(last.find(tag)).texts()) for tag in ("name", "shade", "knots"))
    assert shade.x_mm == pytest.approx(name.x_mm, abs=0.02) and shade.x_mm + shade.length_mm < knots.x_mm


def test_the_tufter_s_guide_has_different_words_for_two_blues() -> None:
    """Two lines of the guide that were both called dark blue might be tufted in each other's yarn."""
    plain = standing.tufted()
    labs = ((24.0, 8.0, -30.0), (30.0, 8.0, -30.0), (80.0, 0.0, 0.0))
    yarns = tuple(replace(yarn, lab=lab) for yarn, lab in zip(plain.yarns, labs, strict=True))
    rug = replace(plain, yarns=yarns)
    stream = io.BytesIO()
    write_guide_pdf(stream, drawing_of_map(as_file(rug)), figures_of(rug, rug.workshop))
    (page,) = pdfium.PdfDocument(stream.getvalue())
    words = page.get_textpage().get_text_range()
    assert words.count("dark blue, darker") == words.count("dark blue, lighter") == 1


@pytest.mark.parametrize(
    ("yarns", "sheets"), [(9, [9]), (10, [10]), (12, [12]), (13, [9, 4]), (28, [9, 16, 3]), (27, [9, 15, 3])]
)
def test_no_yarn_stands_alone_on_a_further_sheet_of_the_guide(yarns: int, sheets: list[int]) -> None:
    """A tufter who looks at the first sheet alone must not miss a yarn on the next for want of a little room."""
    knots = np.kron(np.arange(yarns)[None], np.ones((8, 8), dtype=int))
    workshop = Workshop.model_validate({"pattern": {"roll": "60 in"}})
    rug = make_map(knots, make_rug(8 * yarns, 8, "20x20 per dm", technique="tufted"), workshop)
    stream = io.BytesIO()
    write_guide_pdf(stream, drawing_of_map(as_file(rug)), figures_of(rug, rug.workshop))
    pages = [page.get_textpage().get_text_range() for page in pdfium.PdfDocument(stream.getvalue())]
    assert [words.count("mm tufted") for words in pages] == sheets
