"""Text on the sheets: any language that a font is given for, and no letter that is missing."""

from __future__ import annotations

import io
import unicodedata
from pathlib import Path

import matplotlib
import numpy as np
import pypdfium2 as pdfium
import pytest

from chartmaker.errors import SheetError
from chartmaker.sheets.bidi import _weak, base_level, levels, visual_pieces
from chartmaker.sheets.drawing import Book
from chartmaker.sheets.lettering import Lettering

#: DejaVu Sans, which matplotlib carries, has Arabic letters with their joining forms.
ARABIC_FONT = (Path(matplotlib.get_data_path()) / "fonts" / "ttf" / "DejaVuSans.ttf").read_bytes()


def visual(text: str) -> str:
    """Return the letters of `text` from left to right as they stand on the line."""
    return "".join(piece.text if piece.rightward else piece.text[::-1] for piece in visual_pieces(text))


# Worked examples of Unicode Standard Annex 9, section 3.4 (capitals stand for right-to-left letters there).
UAX9 = [
    ("car means CAR.", "car means RAC."),
    ("CAR MEANS car.", ".car SNAEM RAC"),
    ('he said "IT IS 123, 456, OK".', 'he said "KO ,456 ,123 SI TI".'),
]


def pseudo(text: str) -> str:
    """Return `text` with capitals as Hebrew letters."""
    return "".join(chr(0x5D0 + ord(letter) - 65) if letter.isupper() else letter for letter in text)


@pytest.mark.parametrize(("logical", "shown"), UAX9)
def test_order_of_mixed_text(logical: str, shown: str) -> None:
    assert visual(pseudo(logical)) == pseudo(shown)


@pytest.mark.parametrize(
    ("kinds", "resolved"),
    [  # the examples that Unicode Standard Annex 9 gives beside its rules; AL is R after W3
        ("AL NSM NSM", "R R R"),  # W1
        ("AL EN", "R AN"),  # W2
        ("AL ON EN", "R ON AN"),
        ("R ON EN", "R ON EN"),
        ("EN ES EN", "EN EN EN"),  # W4
        ("EN CS EN", "EN EN EN"),
        ("AN CS AN", "AN AN AN"),
        ("ET ET EN", "EN EN EN"),  # W5
        ("EN ET ET", "EN EN EN"),
        ("AN ET EN", "AN EN EN"),
        ("AN ET", "AN ON"),  # W6
        ("EN CS AN", "EN ON AN"),
        ("ET AN", "ON AN"),
        ("L ON EN", "L ON L"),  # W7
        ("L ES EN", "L ON L"),
    ],
)
def test_the_annex_s_examples_of_weak_letters(kinds: str, resolved: str) -> None:
    assert _weak(kinds.split(), "R") == resolved.split()


def test_a_mark_without_a_letter_takes_the_direction_of_the_line() -> None:
    assert _weak(["NSM", "L"], "R") == ["R", "L"]
    assert (base_level("123 ..."), base_level("..."), base_level("12 ש")) == (0, 0, 1)
    assert levels("ab 5% שלום 5%") == [0] * 6 + [1] * 5 + [2] * 2  # I1: numbers above Hebrew are level 2
    assert levels("שלום ab") == [1] * 5 + [2] * 2  # I2
    assert visual_pieces("") == []


def test_numbers_keep_their_direction_in_arabic_text() -> None:
    assert visual("باغ 120") == "120 غاب"


def page_of(text: str, font: bytes | None = None) -> pdfium.PdfPage:
    stream = io.BytesIO()
    with Book(stream, title="x", font_bytes=font) as book:
        sheet = book.sheet(100, 40, "1")
        sheet.text(10, 15, text, 20)
        sheet.done()
    return pdfium.PdfDocument(stream.getvalue())[0]


@pytest.mark.parametrize(
    "text", ["Madder & indigo", "Łukasz, Žižkov", "Gülşah ışığı İpek", "São João", "Ångström", "“quoted” – 5 × 3 …"]
)
def test_latin_names_need_no_font(text: str) -> None:
    assert page_of(text).get_textpage().get_text_range().strip() == text


def test_a_missing_letter_is_refused_by_name() -> None:
    with pytest.raises(SheetError, match=r"ARABIC LETTER BEH.*font = "):
        Lettering().set("باغ")
    with pytest.raises(SheetError, match="DEVANAGARI LETTER KA"):
        Lettering(ARABIC_FONT).set("कमल")


def test_a_file_that_is_no_font_is_refused() -> None:
    with pytest.raises(SheetError, match="font"):
        Lettering(b"not a font at all")


def test_arabic_letters_are_joined() -> None:
    """The same letters set apart take other glyphs: the shaped word is narrower than its letters one by one."""
    lettering = Lettering(ARABIC_FONT)
    word = "بستان"
    assert lettering.width(word) < 0.9 * sum(lettering.width(letter) for letter in word)


def test_shaped_text_keeps_its_letters_for_search() -> None:
    """The text itself goes along as ActualText (ISO 32000-1, 14.9.4)."""
    stream = io.BytesIO()
    with Book(stream, title="x", font_bytes=ARABIC_FONT) as book:
        sheet = book.sheet(100, 40, "1")
        sheet.text(10, 15, "باغ", 20)
        assert "باغ".encode("utf-16-be").hex() in " ".join(sheet._operators)
        sheet.done()


def test_printed_ink_matches_a_raster_of_the_same_word() -> None:
    """pdfium's page has ink where the word stands, none outside; rightmost letter first for Arabic."""
    page = page_of("باغ", ARABIC_FONT)
    ink = 255 - page.render(scale=4).to_numpy().mean(axis=2)
    columns = np.flatnonzero(ink.max(axis=0) > 100) / 4 / (72 / 25.4)
    assert 9.5 < columns.min() < 12
    assert columns.max() < 60


def test_a_long_name_is_narrowed_then_cut() -> None:
    lettering = Lettering()
    name = "An uncommonly long name for a rug"
    assert lettering.fitted(name, 100) == name
    short = lettering.fitted(name, 8)
    assert short.endswith("…") and name.startswith(short[:-1].rstrip())
    assert lettering.width(short) <= 8
    for line in lettering.lines(name, 8):
        assert lettering.width(line) <= 8
    assert " ".join(lettering.lines(name, 9)) == name


def test_the_base_font_covers_western_and_central_european_letters() -> None:
    """Latin-1 and what Turkish, Polish, Czech add; what it lacks is refused, so none is ever a box."""
    lettering = Lettering()
    latin = "".join(chr(c) for c in range(0xA1, 0x100) if unicodedata.category(chr(c))[0] == "L")
    assert lettering.width(latin + "ĞğİıŞşŁłŠšŽž") > 0


def test_a_non_joiner_keeps_letters_apart() -> None:
    """Unicode Standard, 9.2: between two letters it gives each the form it has at the end of a word."""
    lettering = Lettering(ARABIC_FONT)
    beh = "\u0628"
    assert lettering.width(f"{beh}\u200c{beh}") == pytest.approx(2 * lettering.width(beh))
    assert lettering.width(beh + beh) < 1.9 * lettering.width(beh)
    word = f"{beh}\u200c{beh}"
    assert word in page_of(word, ARABIC_FONT).get_textpage().get_text_range()
