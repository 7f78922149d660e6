"""A book keeps each drawing once for its key, and embeds only the fonts that its sheets use."""

from __future__ import annotations

import io
from typing import NamedTuple

import pypdfium2 as pdfium
import pypdfium2.raw as raw
import pytest

from chartmaker.paper.drawing import Book, Sheet


class Tile(NamedTuple):
    side: int
    called: str = "Tile"

    @property
    def name(self) -> str:
        return self.called


def square(sheet: Sheet) -> None:
    sheet.box(0, 0, 5, 5, fill=(1, 0, 0), edge=None)


def test_a_drawing_is_kept_once_for_its_key_and_shown_wherever_it_is_placed() -> None:
    stream, times = io.BytesIO(), 0

    def draw(sheet: Sheet) -> None:
        nonlocal times
        times += 1
        square(sheet)

    with Book(stream, title="x") as book:
        sheet = book.sheet(60, 20, "1")
        for x in (10, 30, 50):
            sheet.form(Tile(5), x, 5, 6, 6, draw)
        sheet.done()
    assert times == 1
    assert stream.getvalue().count(b"/Subtype /Form") == 1
    page = pdfium.PdfDocument(stream.getvalue())[0]
    assert len(list(page.get_objects(filter=[raw.FPDF_PAGEOBJ_PATH], max_depth=3))) == 3
    picture = page.render(scale=72 / 25.4).to_numpy()  # this is roughly 8 pixels a millimetre
    reds = picture[..., 0] < 128  # the channels begin with blue
    assert reds.mean() == pytest.approx(3 * 25 / (60 * 20), rel=0.05)


def test_two_keys_of_one_name_are_a_mistake() -> None:
    """Otherwise one drawing would silently be shown in place of the other."""
    with Book(io.BytesIO(), title="x") as book:
        sheet = book.sheet(20, 20, "1")
        sheet.form(Tile(5), 1, 1, 6, 6, square)
        with pytest.raises(AssertionError, match="have one name"):
            sheet.form(Tile(6), 1, 1, 6, 6, square)
        sheet.form(Tile(6, "Other"), 1, 1, 6, 6, square)
        sheet.done()


def test_a_stamp_is_worked_out_once_and_stays_in_the_page() -> None:
    times = 0

    def draw(sheet: Sheet) -> None:
        nonlocal times
        times += 1
        sheet.text(0, 0, "stamped", 10)

    stream = io.BytesIO()
    with Book(stream, title="x") as book:
        for number in range(2):
            sheet = book.sheet(60, 20, str(number + 1))
            sheet.stamp(Tile(1), 5, 5, draw)
            sheet.done()
    assert times == 1
    document = pdfium.PdfDocument(stream.getvalue())
    assert [page.get_textpage().get_text_range().strip() for page in document] == ["stamped"] * 2


def test_the_book_embeds_the_fonts_that_its_sheets_use_and_no_others() -> None:
    def names(symbols: bool, bold: bool) -> set[str]:
        stream = io.BytesIO()
        with Book(stream, title="x") as book:
            sheet = book.sheet(60, 20, "1")
            sheet.text(1, 1, "words", 10, bold=bold)
            if symbols:
                book.use_symbols([1, 2])
            sheet.done()
        data = stream.getvalue()
        return {key for key in ("T", "B", "S") if f"CHARTS+{key}".encode() in data}

    assert names(symbols=False, bold=False) == {"T"}
    assert names(symbols=True, bold=False) == {"T", "S"}
    assert names(symbols=False, bold=True) == {"B"}
