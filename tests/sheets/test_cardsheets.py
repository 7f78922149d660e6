"""The yarn card's head stands clear of the number of its sheet, however long the title is (common practice)."""

from __future__ import annotations

import io

import pypdfium2 as pdfium
import pytest
from support import standing

from chartmaker.sheets.card.cardsheets import write_card_pdf


@pytest.mark.parametrize("length", [1, 12, 40])
def test_a_long_title_ends_before_the_number_of_the_sheet(length: int) -> None:
    stream = io.BytesIO()
    sheets = write_card_pdf(stream, standing.quarter().yarns, " ".join(["Indigo"] * length))
    document = pdfium.PdfDocument(stream.getvalue())
    assert len(document) == sheets
    for number, page in enumerate(document, start=1):
        text = page.get_textpage()
        boxes = [text.get_rect(each) for each in range(text.count_rects())]
        words = {text.get_text_bounded(*box).strip(): box for box in boxes}
        where = words[f"sheet {number} of {sheets}"]
        (title,) = (box for each, box in words.items() if each.startswith("Indigo"))
        assert title[2] + 72 / 25.4 < where[0], "a millimetre of air"
