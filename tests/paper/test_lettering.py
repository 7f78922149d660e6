"""Text on the sheets may be in any language for which a font is given, and no letter is ever left out silently."""

from __future__ import annotations

import io
import subprocess
import unicodedata
from pathlib import Path

import matplotlib
import numpy as np
import pypdfium2 as pdfium
import pytest
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.t2CharStringPen import T2CharStringPen
from PIL import Image

from chartmaker.ground.errors import SheetError
from chartmaker.paper import lettering as lettering_module
from chartmaker.paper.bidi import _weak, base_level, levels, visual_pieces
from chartmaker.paper.drawing import Book
from chartmaker.paper.lettering import Lettering

#: DejaVu Sans, which comes with matplotlib, has Arabic letters with their joining forms.
ARABIC_FONT = (Path(matplotlib.get_data_path()) / "fonts" / "ttf" / "DejaVuSans.ttf").read_bytes()


def visual(text: str) -> str:
    """Return the letters of `text` from left to right, as they stand on the line."""
    return "".join(piece.text if piece.rightward else piece.text[::-1] for piece in visual_pieces(text))


# Worked examples of Unicode Standard Annex 9, section 3.4, where capitals stand for right-to-left letters.
UAX9 = [
    ("car means CAR.", "car means RAC."),
    ("CAR MEANS car.", ".car SNAEM RAC"),
    ('he said "IT IS 123, 456, OK".', 'he said "KO ,456 ,123 SI TI".'),
]


def pseudo(text: str) -> str:
    """Return `text` with its capitals replaced by Hebrew letters."""
    return "".join(chr(0x5D0 + ord(letter) - 65) if letter.isupper() else letter for letter in text)


@pytest.mark.parametrize(("logical", "shown"), UAX9)
def test_mixed_text_stands_in_the_order_of_the_annex(logical: str, shown: str) -> None:
    assert visual(pseudo(logical)) == pseudo(shown)


@pytest.mark.parametrize(
    ("kinds", "resolved"),
    [  # These are the examples that Unicode Standard Annex 9 gives beside its rules; AL is R after W3.
        ("AL NSM NSM", "R R R"),  # rule W1
        ("AL EN", "R AN"),  # rule W2
        ("AL ON EN", "R ON AN"),
        ("R ON EN", "R ON EN"),
        ("EN ES EN", "EN EN EN"),  # rule W4
        ("EN CS EN", "EN EN EN"),
        ("AN CS AN", "AN AN AN"),
        ("ET ET EN", "EN EN EN"),  # rule W5
        ("EN ET ET", "EN EN EN"),
        ("AN ET EN", "AN EN EN"),
        ("AN ET", "AN ON"),  # rule W6
        ("EN CS AN", "EN ON AN"),
        ("ET AN", "ON AN"),
        ("L ON EN", "L ON L"),  # rule W7
        ("L ES EN", "L ON L"),
    ],
)
def test_the_annex_s_examples_of_weak_letters(kinds: str, resolved: str) -> None:
    assert _weak(kinds.split(), "R") == resolved.split()


def test_a_mark_without_a_letter_takes_the_direction_of_the_line() -> None:
    assert _weak(["NSM", "L"], "R") == ["R", "L"]
    assert (base_level("123 ..."), base_level("..."), base_level("12 ש")) == (0, 0, 1)
    # rule I1: numbers in right-to-left text are on level 2
    assert levels("ab 5% שלום 5%") == [0] * 6 + [1] * 5 + [2] * 2
    assert levels("שלום ab") == [1] * 5 + [2] * 2  # rule I2
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
    """The same letters set apart take other glyphs, so the shaped word is narrower than they are one by one."""
    lettering = Lettering(ARABIC_FONT)
    word = "بستان"
    assert lettering.width(word) < 0.9 * sum(lettering.width(letter) for letter in word)


@pytest.mark.parametrize(
    "text",
    [
        "\u0628\u0627\u063a \u0628\u0633\u062a\u0627\u0646 120",  # the Persian words for garden and orchard
        "\u0645\u06cc\u200c\u062e\u0648\u0627\u0647\u0645",  # a word with a non-joiner
        "\u0644\u0627\u062c\u0648\u0631\u062f",  # a word that begins with a ligature
        "\u05e9\u05dc\u05d5\u05dd \u05d2\u05df",
        "\u0428\u0301\u0428",
        "Bagh \u0628\u0627\u063a",
    ],
)
def test_two_readers_find_the_letters_in_their_order(tmp_path: Path, text: str) -> None:
    """Each glyph carries its letters (ISO 32000-1, 9.10.3), or they stand beside it as ActualText (14.9.4)."""
    stream = io.BytesIO()
    with Book(stream, title="x", font_bytes=ARABIC_FONT) as book:
        sheet = book.sheet(100, 40, "1")
        sheet.text(10, 15, text, 14)
        sheet.done()
    (tmp_path / "a.pdf").write_bytes(stream.getvalue())
    command = ["pdftotext", str(tmp_path / "a.pdf"), "-"]
    poppler = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    pdfium_said = pdfium.PdfDocument(stream.getvalue())[0].get_textpage().get_text_range()
    steering = dict.fromkeys(range(0x202A, 0x202F))  # poppler marks the direction in which it reads
    assert unicodedata.normalize("NFKC", poppler.translate(steering)).strip() == text
    words = pdfium_said.replace("\u200c", "").split()  # its releases differ in where a mixed line begins
    assert sorted(words) == sorted(text.replace("\u200c", "").split())


def test_one_glyph_may_stand_for_other_letters() -> None:
    """A non-joiner is drawn as an empty glyph, like the space, and its own letter stands beside it."""
    stream = io.BytesIO()
    with Book(stream, title="x", font_bytes=ARABIC_FONT) as book:
        sheet = book.sheet(100, 40, "1")
        sheet.text(10, 15, "\u0628 \u0628\u200c\u0628", 20)
        said = " ".join(sheet.operators)
        sheet.done()
    assert "/Span <</ActualText <feff200c>>> BDC" in said
    assert said.count("ActualText") == 1


@pytest.mark.parametrize(("letter", "mark"), [("\u0628", "\u064e"), ("\u0428", "\u0301")], ids=["Arabic", "Cyrillic"])
def test_marks_stand_above_their_letters_and_what_follows_on_the_line(letter: str, mark: str) -> None:
    """DejaVu Sans lifts a mark above its letter (GPOS table), and the next letter stands on the line again."""
    rows = []
    for text in (letter * 2, letter + mark + letter, letter * 2 + mark):
        ink = 255 - page_of(text, ARABIC_FONT).render(scale=8).to_numpy().mean(axis=2)
        rows.append(np.flatnonzero(ink.max(axis=1) > 100))
    plain, marked, behind = (int(inked.min()) for inked in rows)
    assert plain > marked == behind  # rows of pixels are counted downwards
    assert len({int(inked.max()) for inked in rows}) == 1
    stream = io.BytesIO()
    with Book(stream, title="x", font_bytes=ARABIC_FONT) as book:
        sheet = book.sheet(100, 40, "1")
        sheet.labels([(10, 15, letter + mark), (30, 15, letter * 2)], 20)
        sheet.done()
    ink = 255 - pdfium.PdfDocument(stream.getvalue())[0].render(scale=8).to_numpy().mean(axis=2)
    beside = np.flatnonzero(ink[:, int(29 * 8 * 72 / 25.4) :].max(axis=1) > 100)
    assert (beside.min(), beside.max()) == (rows[0].min(), rows[0].max())  # nothing stays lifted afterwards


def test_latin_within_arabic_stays_in_the_base_font() -> None:
    lettering = Lettering(ARABIC_FONT)
    mixed = "Bagh \u0628\u0627\u063a 120"
    setting = lettering.set(mixed)
    assert [part.key for part in setting.parts] == ["T", "W", "T"] or [p.key for p in setting.parts] == ["T", "T", "W"]
    widths = [lettering.width(piece) for piece in ("Bagh ", "\u0628\u0627\u063a", " 120")]
    assert setting.width_em == pytest.approx(sum(widths))
    assert "Bagh" in page_of(mixed, ARABIC_FONT).get_textpage().get_text_range().split()


def outlines_font() -> bytes:
    """Return an OpenType font with PostScript outlines (CFF) whose only letter, Chinese for garden, is a square."""
    builder = FontBuilder(1000, isTTF=False)
    builder.setupGlyphOrder([".notdef", "garden"])
    builder.setupCharacterMap({0x5EAD: "garden"})
    pen = T2CharStringPen(900, None)
    pen.moveTo((100, 0))
    for corner in ((800, 0), (800, 700), (100, 700)):
        pen.lineTo(corner)
    pen.closePath()
    square = pen.getCharString()
    builder.setupCFF("Garden", {}, {".notdef": T2CharStringPen(900, None).getCharString(), "garden": square}, {})
    builder.setupHorizontalMetrics({".notdef": (900, 0), "garden": (900, 100)})
    builder.setupHorizontalHeader(ascent=800, descent=-200)
    builder.setupNameTable({"familyName": "Garden", "styleName": "Regular"})
    builder.setupOS2()
    builder.setupPost()
    stream = io.BytesIO()
    builder.font.save(stream)
    return stream.getvalue()


def test_a_font_with_postscript_outlines_prints_and_keeps_its_text(tmp_path: Path) -> None:
    """Two renderers show a square of 0.7 em that begins 0.1 em right of the start, at 20 pt."""
    stream = io.BytesIO()
    with Book(stream, title="x", font_bytes=outlines_font()) as book:
        sheet = book.sheet(100, 40, "1")
        sheet.text(10, 15, "\u5ead", 20)
        sheet.done()
    (tmp_path / "a.pdf").write_bytes(stream.getvalue())
    page = pdfium.PdfDocument(stream.getvalue())[0]
    assert page.get_textpage().get_text_range().strip() == "\u5ead"
    subprocess.run(["pdftoppm", "-r", "254", "-gray", tmp_path / "a.pdf", tmp_path / "page"], check=True)
    em_mm = 20 / 72 * 25.4
    with Image.open(next(tmp_path.glob("page*.pgm"))) as picture:
        for grey in (page.render(scale=254 / 72).to_numpy().mean(axis=2), np.asarray(picture, dtype=float)):
            down, across = np.nonzero(grey < 128)
            edges = np.array([across.min(), across.max() + 1, 400 - down.max() - 1, 400 - down.min()]) / 10
            wanted = [10 + 0.1 * em_mm, 10 + 0.8 * em_mm, 15, 15 + 0.7 * em_mm]
            np.testing.assert_allclose(edges, wanted, atol=0.15)


def test_labels_in_any_script_stand_where_single_texts_do() -> None:
    """The ink is the same whether labels are set in one go, with shaped words among plain ones, or one by one."""
    places = [(10.0, 30.0, "R1"), (30.0, 30.0, "\u0628\u0627\u063a"), (60.0, 30.0, "R2"), (10.0, 10.0, "B\u0628")]
    pictures = []
    for at_once in (True, False):
        stream = io.BytesIO()
        with Book(stream, title="x", font_bytes=ARABIC_FONT) as book:
            sheet = book.sheet(100, 40, "1")
            if at_once:
                sheet.labels(places, 14)
            else:
                for place in places:
                    sheet.text(*place, 14)
            sheet.done()
        pictures.append(pdfium.PdfDocument(stream.getvalue())[0].render(scale=3).to_numpy().astype(int))
    assert (pictures[0] < 128).any(axis=(0, 1)).all()
    assert np.abs(pictures[0] - pictures[1]).max() < 60  # places are rounded to hundredths of a millimetre


def test_words_that_the_cache_has_dropped_are_set_again(monkeypatch: pytest.MonkeyPatch) -> None:
    fresh, few = Lettering(), Lettering()
    names = [f"A rather long name of the rug number {number}" for number in range(9)]
    wanted = [fresh.fitted(name, 9 + index / 2) for index, name in enumerate(names)]
    monkeypatch.setattr(lettering_module, "_KEPT", 2)
    for _ in range(2):
        assert [few.fitted(name, 9 + index / 2) for index, name in enumerate(names)] == wanted


def test_printed_ink_matches_a_raster_of_the_same_word() -> None:
    """The page that pdfium renders has ink where the word stands and nowhere else, Arabic beginning on the right."""
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
    """It has Latin-1 and the letters of Turkish, Polish and Czech; others are refused, so that none becomes a box."""
    lettering = Lettering()
    latin = "".join(chr(c) for c in range(0xA1, 0x100) if unicodedata.category(chr(c))[0] == "L")
    assert lettering.width(latin + "ĞğİıŞşŁłŠšŽž") > 0


def test_a_non_joiner_keeps_letters_apart() -> None:
    """It gives both letters the form that they have at the end of a word (Unicode Standard, 9.2)."""
    lettering = Lettering(ARABIC_FONT)
    beh = "\u0628"
    assert lettering.width(f"{beh}\u200c{beh}") == pytest.approx(2 * lettering.width(beh))
    assert lettering.width(beh + beh) < 1.9 * lettering.width(beh)
