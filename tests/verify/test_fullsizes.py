"""The sheets of a drawing in full size are looked at without leaving out a pixel, wherever they are cut."""

from __future__ import annotations

import io
from collections.abc import Sequence
from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from reportlab.pdfgen.canvas import Canvas
from support.making import as_file, make_map, make_rug

from chartmaker.jobs.drawn import drawing_of_map
from chartmaker.paper.drawing import BLACK, Ruler, Sheet
from chartmaker.readback.pdffile import paper_file
from chartmaker.sheets.pattern.patternsheets import write_pattern_pdf
from chartmaker.verify.fullsizes import full_sheets, looked_at, shown_pixels


@pytest.mark.parametrize("height_mm", [Fraction(625, 12), Fraction(225, 4), Fraction(50), Fraction(400, 7)])
@pytest.mark.parametrize("parts", [1, 3])
def test_windows_printed_to_few_decimals_leave_out_no_row_or_column(height_mm: Fraction, parts: int) -> None:
    """A rug of 52.0833 mm at 2.16 pixels a millimetre ends at half a pixel, and its window is printed a little short.

    Windows overlap, and are printed with five decimals.
    """
    for scale in (2.16, 2.0, 4.4, 6.125):
        size = round(float(height_mm) * scale)
        shape = (size, size)
        seen = np.zeros(shape, dtype=bool)
        step = (float(height_mm) - 10) / parts
        for low in (step * part for part in range(parts)):
            wide = round(min(step + 10, float(height_mm) - low), 5)
            upright = shown_pixels([0.0, round(low, 5), round(float(height_mm), 5), wide], scale, shape)
            lying = shown_pixels([round(low, 5), 0.0, wide, round(float(height_mm), 5)], scale, shape)
            seen[np.ix_(*upright)] = True
            assert len(lying[0]) == size, "a window over the whole height"
            assert len(upright[1]) == size, "a window over the whole width"
        assert seen.all(), f"{height_mm} mm at {scale} pixels a millimetre"


def long_by_two_percent(sheet: Sheet, x_mm: float, y_mm: float, length_mm: int, **more: Any) -> None:
    """Draw the ruler upward as a printer that does not print in true size would."""

    def draw(form: Sheet) -> None:
        form.lines([(0, 0, 0, length_mm * 1.02), *((0, i * 1.02, -2, i * 1.02) for i in range(length_mm + 1))], 0.1)

    sheet.form(Ruler("Upward", length_mm, BLACK, 9.0), x_mm, y_mm, 10, length_mm + 10, draw)


def upside_down(sheet: Sheet, points: Sequence[tuple[float, float]], **more: Any) -> None:
    """Draw an arrow that points at the drawing."""
    (left, low), (right, _), (tip, high) = points
    POLYGON(sheet, [(left, high), (right, high), (tip, low)], **more)


POLYGON = Sheet.polygon


@pytest.mark.parametrize(
    ("name", "drawn", "said"),
    [
        ("", None, ""),
        ("across_ruler", lambda *_, **__: None, "one true ruler across"),
        ("upward_ruler", long_by_two_percent, "one true ruler across"),
        ("polygon", upside_down, "the top of the design"),
        ("polygon", lambda *_, **__: None, "the top of the design"),
    ],
)
def test_each_sheet_has_true_rulers_and_its_top_marked(
    name: str, drawn: Any, said: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Both rulers are checked before pieces are joined, and the arrow says how they hang (common practice)."""
    rug = make_rug(40, 30, "20x20 per dm", technique="tufted")
    knot_map = make_map(np.arange(1200).reshape(30, 40) // 600, rug)
    drawing, stream = drawing_of_map(as_file(knot_map)), io.BytesIO()
    if name:
        monkeypatch.setattr(Sheet, name, drawn)
    write_pattern_pdf(stream, drawing, knot_map.workshop)
    sheets = list(full_sheets(paper_file(stream.getvalue())))
    assert any(sheet.place for sheet in sheets)
    for sheet in sheets:
        found = list(sheet.faults(knot_map.map_code))
        assert (len(found) == 1 and said in found[0]) if name and sheet.place else not found


@pytest.mark.parametrize(("low_mm", "left_mm"), [(10.0, 20.0), (0.0, 0.0), (30.0, 30.0)])
@pytest.mark.parametrize("box", [(15.0, 5.0), (0.0, 0.0), (20.0, 20.0), (19.9, 20.2)])
def test_each_pixel_of_a_window_is_looked_up_where_it_lies_on_its_sheet(
    low_mm: float, left_mm: float, box: tuple[float, float]
) -> None:
    """The second sheet, of 50 x 40 mm, shows a window of 30 x 20 mm out of a rug of 60 x 50 mm, at 2 pixels a mm."""
    rug = np.random.default_rng(3).integers(0, 256, (100, 120, 3))
    high, wide = 20.0, 30.0
    stream, mm = io.BytesIO(), 72 / 25.4
    canvas = Canvas(stream, pagesize=(50 * mm, 40 * mm), pageCompression=0)
    canvas.showPage()
    first = 100 - round((low_mm + high) * 2)  # rows count from the top of the rug
    for row, column in np.ndindex(40, 60):
        canvas.setFillColorRGB(*(rug[first + row, round(left_mm * 2) + column] / 255))
        x, y = box[0] + column / 2, box[1] + high - (row + 1) / 2
        canvas.rect(x * mm, y * mm, mm / 2, mm / 2, stroke=0, fill=1)
    canvas.save()
    window = [left_mm, low_mm, wide, high]
    part, found = looked_at(stream.getvalue(), 2, window, [*box, wide, high], 2.0, (100, 120))
    rows, columns = (each.ravel() for each in part)
    assert (rows[0], rows[-1], len(rows)) == (first, first + 39, 40)
    assert (columns[0], columns[-1], len(columns)) == (left_mm * 2, left_mm * 2 + 59, 60)
    alike = (np.abs(found[..., ::-1].astype(int) - rug[part]) < 3).all(axis=2)
    assert alike.mean(axis=0).min() > 0.75  # some rows are painted over by their neighbours, none of the columns is
