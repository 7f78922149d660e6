"""The sheets of a drawing in full size are looked at without leaving out a pixel, wherever they are cut."""

from __future__ import annotations

import io
from collections.abc import Sequence
from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from support.making import as_file, make_map, make_rug

from chartmaker.jobs.drawn import drawing_of_map
from chartmaker.paper.drawing import BLACK, Ruler, Sheet
from chartmaker.readback.pdffile import paper_file
from chartmaker.sheets.pattern.patternsheets import write_pattern_pdf
from chartmaker.verify.fullsizes import full_sheets, shown_pixels


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
