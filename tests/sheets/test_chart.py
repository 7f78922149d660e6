"""The chart is right to the knot, as renderers show that are no part of the project."""

from __future__ import annotations

import io
import math
import shutil
import subprocess
import tracemalloc
from dataclasses import replace
from itertools import combinations, pairwise
from pathlib import Path

import numpy as np
import pypdfium2 as pdfium
import pytest
from PIL import Image, ImageDraw, ImageFont
from support import chart_reader as reader
from support.making import SettledMap, coloured_map

from chartmaker.ground.errors import SheetError
from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.knots.mirrors import Mirrors
from chartmaker.order.workshop import Workshop
from chartmaker.paper.drawing import Book
from chartmaker.readback.printed import Fill, extent_of, flat
from chartmaker.reports.coverfacts import CoverFacts
from chartmaker.sheets.chart.cells import palette_of
from chartmaker.sheets.chart.chart import write_chart
from chartmaker.sheets.chart.frame import Box, chosen_frame
from chartmaker.sheets.chart.legend import draw_legend_sheet
from chartmaker.verify.charts import chart_differences
from chartmaker.verify.expected import expected_of
from chartmaker.verify.grids import cells_of, grounds_of, placed
from chartmaker.verify.sheets import Paper

DRAWINGS = Path(__file__).parents[2] / "fixtures" / "drawings"


def chart_bytes(knot_map: SettledMap, **more: object) -> bytes:
    stream = io.BytesIO()
    write_chart(stream, knot_map, knot_map.workshop, **more)  # type: ignore[arg-type]
    return stream.getvalue()


def read_back(data: bytes, knot_map: SettledMap) -> None:
    """Compare every sheet's symbols and colours with the map, and fail if a single cell differs.

    The colour is read from the rendered page, the symbol from the text layer through the sheet's own legend.
    """
    document, sheets = reader.read_chart(data)
    settings_ = knot_map.workshop.chart
    codes = [yarn.code for yarn in knot_map.yarns]
    colours = np.array([yarn.srgb for yarn in knot_map.yarns] + [(255, 255, 255)])
    wanted = np.where(knot_map.knots == NO_KNOT, len(codes), knot_map.knots)
    seen = np.zeros(wanted.shape, dtype=int)
    for sheet in sheets:
        printed = {}
        if settings_.marks != "symbol":
            printed = reader.cell_colours(sheet, reader.raster(document, sheet, 32 / min(sheet.pitch)))
        rows, columns = reader.turned(sheet)
        for row, rug_row in rows:
            for column, rug_column in columns:
                yarn = wanted[rug_row - 1, rug_column - 1]
                seen[rug_row - 1, rug_column - 1] += 1
                where = f"sheet {sheet.index + 1}, row {rug_row}, column {rug_column}"
                if printed:
                    assert np.abs(np.array(printed[row, column]) - colours[yarn]).max() <= 1, where
                if settings_.marks != "colour":
                    symbol = sheet.symbols.get((row, column))
                    told = None if symbol is None else sheet.codes[symbol]
                    assert told == (None if yarn == len(codes) else codes[yarn]), where
    assert seen[wanted != len(codes)].min(initial=1) >= 1, "a knot is on no sheet"


def drawing_map(name: str, columns: int, yarns: int = 12, **chart: object) -> SettledMap:
    """Return a map of one of the drawings, in colours chosen by Pillow's median cut."""
    picture = Image.open(DRAWINGS / name).convert("RGBA")
    ground = Image.new("RGBA", picture.size, (201, 178, 140, 255))
    ground.alpha_composite(picture)
    rows = columns * picture.height // picture.width
    small = ground.convert("RGB").resize((columns, rows), Image.Resampling.BOX)
    indexed = small.quantize(yarns, dither=Image.Dither.NONE)
    colours = np.array(indexed.getpalette()[: 3 * yarns]).reshape(-1, 3)  # type: ignore[index]
    knots = np.array(indexed)[::-1]
    return coloured_map(knots, colours[: knots.max() + 1], name=name, density=(40, 52), **chart)


@pytest.mark.parametrize("name", sorted(path.name for path in DRAWINGS.glob("*.png")))
def test_charts_of_drawings_that_nobody_here_made_are_right(name: str) -> None:
    knot_map = drawing_map(name, 120, strips=2)
    read_back(chart_bytes(knot_map), knot_map)


@pytest.mark.parametrize("orientation", ["portrait", "landscape"])
def test_the_legend_of_the_most_yarns_stays_on_the_smallest_paper(orientation: str) -> None:
    """One sheet of A5 has 255 yarns with codes of six letters; all entries are on the paper and none touch."""
    rng = np.random.default_rng(8)
    knots = np.concatenate([np.arange(255), rng.integers(0, 255, 45)]).reshape(15, 20)
    knot_map = coloured_map(
        knots, rng.integers(0, 256, (255, 3)), density=(20, 20), paper="A5", cell="2.5 mm", orientation=orientation
    )
    yarns = tuple(replace(yarn, code=f"WM-{i:03d}") for i, yarn in enumerate(knot_map.yarns))
    knot_map = replace(knot_map, yarns=yarns)
    document, sheets = reader.read_chart(chart_bytes(knot_map))
    assert len(sheets) == 1 and reader.LEGEND_ON.search(sheets[0].text)
    assert sorted(sheets[0].codes.values()) == sorted(yarn.code for yarn in knot_map.yarns)
    read_back(chart_bytes(knot_map), knot_map)
    words = [w for w in reader.words_of(reader.characters(document[sheets[0].index + 1])) if w.right - w.left > 0]
    for one, other in combinations(words, 2):
        apart = one.right <= other.left or other.right <= one.left or one.top <= other.bottom or other.top <= one.bottom
        assert apart, (one, other)


def test_more_yarns_than_a_sheet_holds_are_refused() -> None:
    """No map has so many on any paper that there is, but a legend must never be drawn with some of them left out."""
    knot_map = coloured_map(np.arange(60).reshape(6, 10), np.random.default_rng(1).integers(0, 256, (60, 3)))
    entries = [(yarn, 1) for yarn in range(60)]
    with Book(io.BytesIO(), title="x") as book, pytest.raises(SheetError, match="legend of 60 yarns does not fit"):
        palette = palette_of(knot_map.yarns, "both")
        draw_legend_sheet(book.sheet(50, 50, "1"), Box(0, 0, 40, 40), knot_map, palette, entries)


def test_a_second_renderer_sees_the_same(tmp_path: Path) -> None:
    """In the rendering by poppler's pdftoppm each cell has the colour that the map gives it."""
    rng = np.random.default_rng(5)
    knot_map = coloured_map(
        rng.integers(0, 20, (60, 50)), rng.integers(0, 256, (20, 3)), density=(40, 40), marks="both"
    )
    path = tmp_path / "chart.pdf"
    path.write_bytes(chart_bytes(knot_map))
    per_point = 5.0
    subprocess.run(["pdftoppm", "-r", str(72 * per_point), "-png", path, tmp_path / "page"], check=True)
    document, sheets = reader.read_chart(path.read_bytes())
    for sheet in sheets:
        picture = np.array(Image.open(next(tmp_path.glob(f"page-*{sheet.index + 1}.png"))).convert("RGB"))
        left, low, right, high = (round(side * per_point) for side in reader.bounds(sheet))
        tall = document[sheet.index].get_height() * per_point
        cells = picture[round(tall - high) : round(tall - low), left:right]
        for (row, column), colour in reader.cell_colours(sheet, cells).items():
            wanted = knot_map.yarns[knot_map.knots[row - 1, column - 1]].srgb
            assert np.abs(np.array(colour) - wanted).max() <= 1


def symbol_templates(knot_map: SettledMap, side: int, share: float) -> dict[str, np.ndarray]:
    """Return the shape of each symbol of the map's legend as FreeType draws it in a cell of `side` pixels."""
    font_file = Path(__file__).parents[2] / "chartmaker" / "paper" / "symbols" / "knots.ttf"
    font = ImageFont.truetype(str(font_file), round(side * share))
    _, sheets = reader.read_chart(chart_bytes(knot_map))
    templates = {}
    for letter, code in {letter: code for sheet in sheets for letter, code in sheet.codes.items()}.items():
        cell = Image.new("L", (side, side), 0)
        start = (side - font.size) / 2
        ImageDraw.Draw(cell).text((start, start + font.size), letter, font=font, fill=255, anchor="ls")
        templates[code] = np.array(cell) / 255
    return templates


@pytest.mark.parametrize(("marks", "share", "yarns"), [("symbol", 0.88, 60), ("both", 0.7, 24)])
def test_symbols_survive_shrinking_and_a_grey_print(marks: str, share: float, yarns: int) -> None:
    """Of a 3 mm chart, printed at 90 % in grey and scanned at 300 dpi, each symbol is nearest to its own shape."""
    rng = np.random.default_rng(11)
    knots = rng.integers(0, yarns, (40, 40))
    colours = rng.integers(0, 256, (yarns, 3))
    knot_map = coloured_map(knots, colours, density=(40, 40), marks=marks, whole=True, bold_every=10)
    templates = symbol_templates(knot_map, 32, share)
    edge = 2 if marks == "symbol" else 4
    codes = list(templates)
    shapes = np.array(list(templates.values()))[:, edge:-edge, edge:-edge]
    document, sheets = reader.read_chart(chart_bytes(knot_map))
    wrong = 0
    for sheet in sheets:
        assert sheet.rows is not None and sheet.columns is not None
        printed = reader.raster(document, sheet, 300 / 72 * 0.9).mean(axis=2)
        size = (len(sheet.columns) * 32, len(sheet.rows) * 32)
        cells = np.array(Image.fromarray(printed.astype(np.uint8)).resize(size, Image.Resampling.BILINEAR), float)
        for r, row in enumerate(reversed(sheet.rows)):
            for c, column in enumerate(sheet.columns):
                patch = cells[r * 32 : r * 32 + 32, c * 32 : c * 32 + 32][edge:-edge, edge:-edge]
                border = np.concatenate([patch[0], patch[-1], patch[:, 0], patch[:, -1]])
                ground = 255.0 if marks == "symbol" else np.median(border)
                ink = np.abs(patch - ground)
                ink = ink / max(ink.max(), 40)
                nearest = np.abs(shapes - ink).mean(axis=(1, 2)).argmin()
                wrong += codes[int(nearest)] != knot_map.yarns[knots[row - 1, column - 1]].code
    assert wrong == 0


def test_counts_in_long_runs_give_the_row_back_from_either_end() -> None:
    """With `counts`, a run of five knots or more shows its symbol at both ends and the number of its knots between."""
    rng = np.random.default_rng(3)
    row_runs = [np.repeat(rng.integers(0, 9, 12), rng.integers(1, 9, 12))[:40] for _ in range(30)]
    knots = np.array([np.pad(run, (0, 40 - len(run)), mode="edge") for run in row_runs])
    knot_map = coloured_map(knots, rng.integers(0, 256, (9, 3)), density=(40, 40), counts=True, whole=True)
    _, sheets = reader.read_chart(chart_bytes(knot_map))
    for sheet in sheets:
        assert sheet.rows is not None and sheet.columns is not None
        columns = list(sheet.columns)
        counts: dict[int, list[tuple[float, int]]] = {row: [] for row in sheet.rows}
        for x, y, words in sheet.counts:
            row = min(sheet.ys, key=lambda n: abs(sheet.ys[n] - y))
            counts[row].append(
                (sheet.columns.start + (x - sheet.xs[columns[0]]) / sheet.pitch[0], int(words.strip("«»")))
            )
        assert any(counts.values())
        for row in sheet.rows:
            part = knots[row - 1, sheet.columns.start - 1 : sheet.columns.stop - 1]
            wanted = [knot_map.yarns[yarn].code for yarn in part]
            for way in (1, -1):  # the way up, and the way back of a mirrored rug
                said: list[str] = []
                for column in columns[::way]:
                    if len(said) > abs(column - columns[::way][0]):
                        continue  # told by a count already
                    code = sheet.codes[sheet.symbols[row, column]]
                    beyond = column + way
                    if beyond in sheet.columns and (row, beyond) not in sheet.symbols:
                        said += [code] * min(counts[row], key=lambda each: _ahead(each[0] - column, way))[1]
                    else:
                        said.append(code)
                assert said == wanted[::way]


def _ahead(distance: float, way: int) -> float:
    """Return how far something lies ahead, and infinity if it lies behind."""
    return distance * way if distance * way > 0 else math.inf


@pytest.mark.parametrize("marks", ["both", "symbol"])
@pytest.mark.parametrize(("paper", "words"), [("A3", [["40", "40", "6", "29»", "29»", "«75", "«75"]]), ("A4", [])])
def test_a_long_run_is_counted_at_both_ends_and_for_each_weaver(marks: str, paper: str, words: list[list[str]]) -> None:
    """Nobody looks thirty knots along a row for a number; and what goes on past the sheet or the weaver says so."""
    knots = np.zeros((10, 150), dtype=int)
    knots[:, 40:46], knots[3, :] = 1, 1
    chart = {"counts": True, "whole": True, "marks": marks, "cell": "2 mm", "paper": paper, "strips": 1}
    workshop = Workshop.model_validate({"chart": chart, "loom": {"weavers": 2}})
    made = replace(coloured_map(knots, np.array([[20, 30, 60], [90, 20, 30]]), density=(30, 30)), workshop=workshop)
    data, expected = chart_bytes(made), expected_of(made, workshop)
    assert list(chart_differences(data, expected)) == []
    _, sheets = reader.read_chart(data)
    lines = [[word for _, y, word in sorted(sheet.counts) if abs(y - sheet.ys[1]) < 3] for sheet in sheets]
    assert lines == (words or [["40", "40", "6", "29»", "29»"], ["«75", "«75"]])
    for sheet in sheets:
        whole_row = [float(x) for x, y, _ in sorted(sheet.counts) if abs(y - sheet.ys[4]) < 3]
        columns = [(x - sheet.xs[sheet.columns.start]) / sheet.pitch[0] for x in whole_row]  # type: ignore[union-attr]
        assert columns[0] < 5 and columns[-1] > len(sheet.columns) - 6  # type: ignore[arg-type]
        assert "12» means 12 here, and more of that run beyond the »" in sheet.text


def test_the_centre_column_is_in_no_count_because_only_one_half_is_tied_with_it() -> None:
    """Of 41 columns the mirrored half has 20; whoever reads the sheet for it must not tie the centre with them."""
    knots = np.zeros((9, 41), dtype=int)
    knots[:, 15:26], knots[4, 3:7], knots[4, -7:-3] = 1, 2, 2
    chart = {"counts": True, "cell": "4 mm", "paper": "A3", "strips": 2}
    workshop = Workshop.model_validate({"chart": chart, "loom": {"weavers": 2}})
    made = replace(coloured_map(knots, 80 * np.eye(3, dtype=int), density=(30, 30)), workshop=workshop)
    data = chart_bytes(made)
    assert list(chart_differences(data, expected_of(made, workshop))) == []
    _, (sheet,) = reader.read_chart(data)
    assert [word for _, y, word in sorted(sheet.counts) if abs(y - sheet.ys[1]) < 3] == ["15", "5»"]
    assert len(sheet.columns) == 21 and (1, 21) in sheet.symbols


@pytest.mark.parametrize("marks", ["both", "symbol"])
@pytest.mark.parametrize("paper", ["A5", "A4", "A2"])
@pytest.mark.parametrize("orientation", ["portrait", "landscape"])
def test_counts_are_explained_whole_on_cover_and_sheet(marks: str, paper: str, orientation: str) -> None:
    chart = {"counts": True, "marks": marks, "paper": paper, "orientation": orientation}
    knot_map = coloured_map(
        np.arange(900).reshape(30, 30) // 9 % 3, 200 * np.eye(3, dtype=int), density=(40, 40), **chart
    )
    document, sheets = reader.read_chart(chart_bytes(knot_map))
    for sheet in sheets:
        words = " ".join(sheet.text.split())
        assert "Runs of 5 and more: " in words and "12» means 12 here, and more of that run beyond the »." in words
    cover = document[0].get_textpage().get_text_range()
    assert "Counts" in cover and "runs of 5 and more" in cover and "12 here, and on past the edge at »" in cover
    assert "…" not in cover


def test_the_file_is_sound_and_the_same_every_time(tmp_path: Path) -> None:
    rng = np.random.default_rng(1)
    knot_map = coloured_map(rng.integers(0, 30, (90, 70)), rng.integers(0, 256, (30, 3)), density=(40, 40), strips=2)
    data = chart_bytes(knot_map)
    assert data == chart_bytes(knot_map)
    path = tmp_path / "chart.pdf"
    path.write_bytes(data)
    assert shutil.which("qpdf"), "install qpdf"
    assert subprocess.run(["qpdf", "--check", path], capture_output=True, text=True, check=False).returncode == 0
    document = pdfium.PdfDocument(data)
    assert document.get_version() == 16
    assert not pdfium.raw.FPDF_VIEWERREF_GetPrintScaling(document.raw)
    titles = [(entry.level, entry.get_title()) for entry in document.get_toc(max_depth=3)]
    assert titles[:2] == [(0, "Cover"), (0, "Strip 1")]
    assert titles[2][0] == 1 and titles[2][1].startswith("Step 1: rows 1 to ")
    assert [document.get_page_label(index) for index in (0, 1, 2)] == ["1", "2", "3"]
    for page in document:
        text = page.get_textpage().get_text_range()
        assert knot_map.map_code in text
        assert f"of {len(document)}" in text


@pytest.mark.parametrize("paper", ["A4", "A5", "Roll 24"])
def test_the_rulers_are_true_to_the_millimetre(paper: str) -> None:
    """From 0 to 90 the rulers measure 90 mm, across and upwards."""
    knot_map = coloured_map(np.zeros((30, 30)), np.array([[9, 9, 9]]), density=(40, 40), whole=True, paper=paper)
    document = pdfium.PdfDocument(chart_bytes(knot_map))
    words = reader.words_of(reader.characters(document[len(document) - 1]))
    zeros = [word for word in words if word.text == "0"]
    nineties = [word for word in words if word.text == "90"]
    across = [b.x - a.x for a in zeros for b in nineties if abs(a.y - b.y) < 0.5]
    assert across and across[0] / reader.MM == pytest.approx(90, abs=0.2)
    letters = reader.characters(document[len(document) - 1])
    upright = [a for a, b in pairwise(letters) if a[0] == "9" and b[0] == "0" and abs(a[5] - b[5]) < 0.1]
    noughts = [
        b
        for a, b, c in zip(letters, letters[1:], letters[2:], strict=False)
        if b[0] == "0" and not a[0].isdecimal() and not c[0].isdecimal()
    ]
    heights = [(a[6] - b[6]) / reader.MM for a in upright for b in noughts if abs(a[5] - b[5]) < 0.1]
    # these texts of one or two figures are centred
    assert any(height == pytest.approx(90, abs=0.7) for height in heights)


def test_lengths_on_the_loom_stand_at_the_heavy_lines() -> None:
    """At 40 rows a dm 10 rows are 2.5 cm, and 5 % more on the loom (arithmetic)."""
    knot_map = coloured_map(np.zeros((30, 30)), np.array([[9, 9, 9]]), density=(40, 40), whole=True)
    data = chart_bytes(knot_map, facts=CoverFacts(loom_length_factor=1.05))
    text = pdfium.PdfDocument(data)[1].get_textpage().get_text_range()
    assert [f"{length} cm" in text for length in ("2.6", "5.2", "7.9")] == [True] * 3


@pytest.mark.parametrize(("bold_every", "told"), [(10, True), (2, False)])
def test_a_sheet_to_be_turned_gives_the_lengths_from_both_ends(bold_every: int, told: bool) -> None:
    """Of 60 rows, 15 cm, the line above row 10 has 2.5 cm below it, 12.5 when turned, the middle one 7.5 (arithmetic).

    Where heavy lines stand too close for two figures, the first end's stay.
    """
    knots = np.tile(np.arange(30)[None, :], (60, 1)) % 2
    knot_map = coloured_map(
        knots, np.array([[9, 9, 9], [200, 9, 9]]), density=(40, 40), bold_every=bold_every, cell="1 mm"
    )
    text = pdfium.PdfDocument(chart_bytes(knot_map))[1].get_textpage().get_text_range()
    assert "2.5 cm" in text
    assert ("12.5 cm" in text) == told
    assert text.count("7.5 cm") == 1


@pytest.mark.parametrize(
    ("chart", "words"),
    [
        ({"paper": "A9"}, "no paper called 'A9'"),
        ({"paper": "A5", "cell": "60 mm"}, "A5 paper leaves no room"),
        ({"cell": "0.5 mm"}, "cannot be read"),
    ],
)
def test_a_chart_that_cannot_be_laid_out_is_refused(chart: dict[str, object], words: str) -> None:
    knot_map = coloured_map(np.zeros((30, 30)), np.array([[9, 9, 9]]), density=(40, 40), **chart)
    with pytest.raises(SheetError, match=words):
        chart_bytes(knot_map)


class Unkept(io.RawIOBase):
    """A stream that keeps nothing of what is written to it."""

    def write(self, data: object) -> int:
        return len(data)  # type: ignore[arg-type]


def test_memory_does_not_grow_with_the_sheets() -> None:
    """Eight times as many sheets take less than 1.5 MB more by tracemalloc, apart from the map itself."""
    peaks = []
    for rows in (600, 4800):
        knots = np.random.default_rng(2).integers(0, 12, (rows, 60)).astype(np.uint16)
        knot_map = coloured_map(knots, np.random.default_rng(2).integers(0, 256, (12, 3)), density=(40, 40), whole=True)
        assert knot_map.sha256
        tracemalloc.start()
        sheets = write_chart(Unkept(), knot_map, knot_map.workshop)  # type: ignore[arg-type]
        peaks.append((sheets, tracemalloc.get_traced_memory()[1]))
        tracemalloc.stop()
    assert peaks[1][0] > 6 * peaks[0][0] > 60
    assert peaks[1][1] - peaks[0][1] < 1_500_000


@pytest.mark.parametrize("reading", ["left to right", "right to left"])
@pytest.mark.parametrize("paper", ["A5", "A4", "A4 landscape", "Legal landscape", "A3"])
def test_a_quarter_chart_also_serves_the_way_back(paper: str, reading: str) -> None:
    """Rows just tied stand below and above, each number of a row beside a box of its own, what the head says clear of
    the numbers, and the mirrored numbers as black as the others (a copier loses grey)."""
    rng = np.random.default_rng(4)
    paper, _, lies = paper.partition(" ")
    quarter = rng.integers(0, 3, (70, 236 if lies else 40))
    half = np.concatenate([quarter, quarter[:, ::-1]], axis=1)
    knots = np.concatenate([half, half[::-1]])
    chart = {"paper": paper, "orientation": lies or "auto", "reading": reading, "strips": 4 if lies else 2}
    knot_map = coloured_map(knots, np.eye(3, dtype=int) * 200, density=(40, 40), **chart)
    if lies:  # the head names the weavers too, so that it takes more lines
        loom = knot_map.workshop.loom.model_copy(update={"weavers": 2})
        knot_map = replace(knot_map, workshop=knot_map.workshop.model_copy(update={"loom": loom}))
    data = chart_bytes(knot_map, facts=CoverFacts(loom_width_mm=1200.0))
    expected, seen = expected_of(knot_map, knot_map.workshop), 0
    frame = chosen_frame(knot_map, knot_map.workshop, Mirrors(across=True, along=True))
    for sheet in Paper(data, knots.size).sheets():
        blocks = list(sheet.root.find("cells"))
        if not blocks:
            continue
        cells = cells_of(blocks[0], expected)
        joins = [cells_of(each, expected) for each in sheet.root.find("join")]
        below = range(max(0, cells.rows.start - 2), cells.rows.start)
        rows = [join.rows for join in joins if join.columns == cells.columns]
        assert rows == [part for part in (below, range(cells.rows.stop, cells.rows.stop + 2)) if part]
        # columns of the neighbours, and those that mirror them
        beside = [join.columns for join in joins if join.rows == cells.rows]
        assert len(beside) == (cells.columns.start > 0) + (cells.columns.stop < len(knots[0]))
        assert all(part.stop == cells.columns.start or part.start == cells.columns.stop for part in beside)
        words = [text.y_mm for block in sheet.root.find("turning") for text in block.texts()]
        numbers = [text for block in sheet.root.find("turned-column") for text in block.texts()]
        assert min(words) > max(text.y_mm + text.size_mm * 0.7 for text in numbers)
        assert min(words) > frame.header.y_mm  # whose foot is close above the numbers of a sheet that is full
        said = " ".join(block.words for block in sheet.root.find("turning"))
        assert "on the way back: leave the sheet as it hangs, and read it from its top row down" in said
        assert "leave the sheet as it hangs, and read each row the other way" in said and "…" not in said
        for tag in ("turned-row", "turned-column", "turned-length"):
            assert {text.colour for block in sheet.root.find(tag) for text in block.texts()} <= {(0.0,)}
        seen += 1
    assert seen
    assert list(chart_differences(data, expected)) == []


@pytest.mark.parametrize("reading", ["left to right", "right to left"])
@pytest.mark.parametrize("marks", ["both", "symbol"])
def test_a_counted_run_has_its_symbol_at_both_ends_and_no_cell_is_blank(marks: str, reading: str) -> None:
    """Whoever reads from the right, or the other way on a mirrored half, meets the other end first, and a grey copy
    has dark yarns alike; without colour a cell with nothing in it would belong to no yarn."""
    rng = np.random.default_rng(12)
    knots = np.repeat(rng.integers(0, 4, (30, 8)), 9, axis=1)[:, :70]
    colours = rng.integers(0, 256, (4, 3))
    knot_map = coloured_map(
        knots, colours, density=(40, 40), counts=True, whole=True, marks=marks, reading=reading, paper="A3"
    )
    data, expected = chart_bytes(knot_map), expected_of(knot_map, knot_map.workshop)
    assert list(chart_differences(data, expected)) == []
    for sheet in Paper(data, knots.size).sheets():
        for block in sheet.root.find("cells"):
            cells = cells_of(block, expected)
            part = knots[cells.rows.start : cells.rows.stop, cells.columns.start : cells.columns.stop]
            found = placed(cells, grounds_of(expected), part) > 0
            change = part[:, 1:] != part[:, :-1]
            ends = np.ones(part.shape, dtype=bool)
            ends[:, 1:-1] = change[:, 1:] | change[:, :-1]
            assert found[ends].all()
            lengths = [text for each in block.find("count") for text in each.texts()]
            assert lengths
            if marks == "symbol":  # two figures cover at most three cells
                assert (~found).sum() <= 3 * len(lengths)


def test_the_mark_of_the_centre_stands_clear_of_the_column_number() -> None:
    """A triangle that touched the number beside it could be read as a part of it."""
    knots = np.arange(21 * 31).reshape(21, 31) % 2  # odd, so that a number stands right at the centre
    knot_map = coloured_map(knots, np.array([[20, 30, 60], [200, 60, 50]]), density=(40, 40), cell="6 mm", paper="A4")
    sheet = list(Paper(chart_bytes(knot_map), knots.size).sheets())[1]
    numbers = [extent_of(text) for tag in ("column", "row") for span in sheet.root.find(tag) for text in span.texts()]
    marks = [
        extent_of(item)
        for item, _, _ in flat(sheet.root)
        if isinstance(item, Fill) and 0.3 < item.width_mm <= 1.5 and 0.3 < item.height_mm <= 1.5 and not item.edge
    ]
    assert marks
    for mark in marks:
        for number in numbers:
            across = max(number[0] - mark[2], mark[0] - number[2])
            along = max(number[1] - mark[3], mark[1] - number[3])
            assert max(across, along) > 0.35


@pytest.mark.parametrize("reading", ["left to right", "right to left"])
@pytest.mark.parametrize("marks", ["both", "symbol"])
def test_no_heavy_line_cuts_through_a_count(marks: str, reading: str) -> None:
    """On the halo of a line a 7 was once misread; every run here has room beside the line."""
    lengths = np.random.default_rng(2).integers(7, 23, 400)
    knots = np.repeat(np.arange(400) % 3, lengths)[: 30 * 90].reshape(30, 90)
    colours = np.array([[20, 30, 60], [200, 60, 50], [240, 230, 210]])
    knot_map = coloured_map(
        knots, colours, density=(40, 40), counts=True, whole=True, marks=marks, reading=reading, paper="A2"
    )
    data, expected = chart_bytes(knot_map), expected_of(knot_map, knot_map.workshop)
    assert list(chart_differences(data, expected)) == []
    seen = 0
    for sheet in Paper(data, knots.size).sheets():
        for block in sheet.root.find("cells"):
            cells = cells_of(block, expected)
            for text in (text for count in block.find("count") for text in count.texts()):
                left = cells.columns.start + (text.x_mm - cells.x_mm) / cells.cell_mm[0]
                right = left + text.length_mm / cells.cell_mm[0]
                row = int((text.y_mm + 0.365 * text.size_mm - cells.y_mm) / cells.cell_mm[1])
                run = knots[row, int(left)]
                begin = end = int(left)
                while begin and knots[row, begin - 1] == run:
                    begin -= 1
                while end < 90 and knots[row, end] == run:
                    end += 1
                if end - begin >= 7:
                    assert not any(left < line < right for line in range(0, 90, 10)), (row + 1, text.words)
                    seen += 1
    assert seen > 100
