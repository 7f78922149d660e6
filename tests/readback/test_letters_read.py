"""A font in a PDF is read as ISO 32000-1, 9.7 to 9.10 write it, and its letters must look like what they mean."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
import reportlab
import uharfbuzz as hb
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.t2CharStringPen import T2CharStringPen
from fontTools.pens.ttGlyphPen import TTGlyphPen

from chartmaker.readback.lettering import PrintedFont
from chartmaker.readback.pdffile import Reference, Stream, UnreadableError

FONTS = Path(reportlab.__file__).parent / "fonts"
PLAIN, BOLD = ((FONTS / name).read_bytes() for name in ("Vera.ttf", "VeraBd.ttf"))
FACE = hb.Font(hb.Face(hb.Blob(PLAIN)))
NUMBERS = {letter: FACE.get_nominal_glyph(ord(letter)) or 0 for letter in "AOo1"}
WIDTHS = {letter: 1000 * FACE.get_glyph_h_advance(number) / FACE.face.upem for letter, number in NUMBERS.items()}


class Parts:
    """The values of a file by the numbers of their objects."""

    def __init__(self, *objects: Any) -> None:
        self._objects = objects

    def resolved(self, value: Any) -> Any:
        return self._objects[value.number] if isinstance(value, Reference) else value

    def dictionary(self, value: Any) -> dict[str, Any]:
        found = self.resolved(value)
        return found if isinstance(found, dict) else {}


def cmap(*pairs: tuple[int, str], more: str = "") -> Stream:
    lines = "\n".join(f"<{number:04X}> <{words.encode('utf-16-be').hex()}>" for number, words in pairs)
    return Stream({}, f"{len(pairs)} beginbfchar\n{lines}\nendbfchar\n{more}".encode())


def font(
    *objects: Any, program: bytes = PLAIN, letters: Stream | None = None, entries: Any = (), top: Any = ()
) -> PrintedFont:
    """Return a font that is right, but for these entries; one whose value is None is left out."""
    widths = [part for letter, number in NUMBERS.items() for part in (number, [WIDTHS[letter]])]
    descendant: dict[str, Any] = {
        "Subtype": "CIDFontType2",
        "CIDToGIDMap": "Identity",
        "FontDescriptor": {"FontFile2": Stream({}, program)},
        "W": widths,
        **dict(entries),
    }
    meaning = letters or cmap(*((number, letter) for letter, number in NUMBERS.items()))
    whole = {
        "Subtype": "Type0",
        "Encoding": "Identity-H",
        "DescendantFonts": [{key: each for key, each in descendant.items() if each is not None}],
        "ToUnicode": meaning,
        **dict(top),
    }
    return PrintedFont(Parts(*objects), whole)  # type: ignore[arg-type]


def test_a_string_is_read_as_its_words_with_its_length_in_em() -> None:
    """Widths are in thousandths of an em, from a first number onward; others have the default (9.7.4.3)."""
    read = font(
        [300, 400],
        letters=cmap((5, "A"), (6, "fi"), (0x1234, "\U0001f9f6"), (8, "")),
        entries={"W": [5, [250], 6, Reference(0), 0x1234, [125]], "DW": 500},
    ).read
    assert read(b"<00050006>") == ("Afi", pytest.approx(0.55), b"\0\5\0\6")
    assert read(b"<1234>") == ("\U0001f9f6", 0.125, b"\x12\x34")
    assert read(b"<0007>") == ("", 0.4, b"\0\7")  # the second from 6 onward
    assert read(b"<00080009>") == ("", 1.0, b"\0\x08\0\x09")
    assert read(b"<>") == ("", 0, b"")
    assert read(b"<0005>") is read(b"<0005>")
    assert font(entries={"W": None}).read(b"<0001>")[1] == 1.0  # where no default is given
    with pytest.raises(UnreadableError, match="is damaged"):
        read(b"<000500>")


def test_letters_of_several_tables_are_known() -> None:
    second = "beginbfchar <000A> <0041> <000B> <00620063> endbfchar"
    assert font(letters=cmap((5, "x"), more=second)).meaning == {5: "x", 10: "A", 11: "bc"}


OTHER_KINDS: dict[str, dict[str, Any]] = {
    "a simple font": {"top": {"Subtype": "TrueType"}},
    "a table of codes": {"top": {"Encoding": "UniJIS-UTF16-H"}},
    "no descendant": {"top": {"DescendantFonts": []}},
    "another order of glyphs": {"entries": {"CIDToGIDMap": Stream({}, b"")}},
    "no order of glyphs": {"entries": {"CIDToGIDMap": None}},
    "an order that only TrueType has": {
        "entries": {"Subtype": "CIDFontType0", "FontDescriptor": {"FontFile3": Stream({}, b"")}}
    },
    "set downward": {"entries": {"DW2": [880, -1000]}},
    "two programs": {"entries": {"FontDescriptor": {"FontFile2": Stream({}, b""), "FontFile": Stream({}, b"")}}},
    "the wrong program": {"entries": {"FontDescriptor": {"FontFile3": Stream({}, b"")}}},
    "no program": {"entries": {"FontDescriptor": {}}},
    "widths of a range": {"entries": {"W": [1, 5, 500]}},
    "widths of another range": {"entries": {"W": [1, 5, 500, 6]}},
    "widths from no number": {"entries": {"W": [1.5, [500]]}},
    "widths that are no list": {"entries": {"W": {"1": 2}}},
    "ranges of letters": {"letters": cmap((5, "A"), more="1 beginbfrange <0006> <0007> <0042> endbfrange")},
    "another font's letters": {"letters": cmap((5, "A"), more="/Other usecmap")},
}


@pytest.mark.parametrize("what", OTHER_KINDS)
def test_a_font_of_another_kind_is_refused(what: str) -> None:
    with pytest.raises(UnreadableError, match="a font of another kind"):
        font(**OTHER_KINDS[what])


def test_a_glyph_means_one_letter() -> None:
    with pytest.raises(UnreadableError, match="means two letters"):
        font(letters=cmap((5, "A"), (5, "B")))


def test_an_opentype_font_has_its_own_program() -> None:
    parts = {"FontDescriptor": {"FontFile3": Stream({}, b"xyz")}, "CIDToGIDMap": None, "Subtype": "CIDFontType0"}
    assert not font(entries=parts).truetype and font(entries=parts).program == b"xyz" and font().truetype


def test_letters_look_like_what_they_mean() -> None:
    """The same glyphs at the same widths, give or take a fiftieth of an em."""
    every, (a, o, _, one) = sorted(NUMBERS.values()), NUMBERS.values()
    assert font().unlike(PLAIN) == []
    assert font(program=BOLD).unlike(PLAIN) == every and font().unlike(BOLD) == every
    assert font(letters=cmap((a, "B"), (o, "O"))).unlike(PLAIN) == [a]
    assert font(letters=cmap((one, "1"), (o, "A"), (a, "AA"))).unlike(PLAIN) == sorted([a, o])
    for more, wrong in ((19, []), (21, [a]), (-19, []), (-21, [a])):
        assert font(letters=cmap((a, "A")), entries={"W": [a, [WIDTHS["A"] + more]]}).unlike(PLAIN) == wrong
    assert font(letters=cmap((a, "A")), entries={"W": [], "DW": WIDTHS["A"]}).unlike(PLAIN) == []


#: A letter of a line, a curve of the second degree and one of the third, corner by corner.
CORNERS = (20, 30, 500, 40, 600, 300, 510, 700, 400, 800, 100, 810, 50, 650)


def drawn(corners: tuple[int, ...], em: int = 1000, cubic: bool = True) -> bytes:
    """Return a font whose letter A has these corners; TrueType has curves of the second degree alone."""
    start, line, control, end, *curve = list(zip(corners[::2], corners[1::2], strict=True))
    builder = FontBuilder(em, isTTF=not cubic)
    builder.setupGlyphOrder([".notdef", "A"])
    builder.setupCharacterMap({ord("A"): "A"})
    pens = {name: T2CharStringPen(600, None) if cubic else TTGlyphPen(None) for name in (".notdef", "A")}
    pen = pens["A"]
    pen.moveTo(start)
    pen.lineTo(line)
    if cubic:
        pen.curveTo(control, end, curve[0])
    else:
        pen.qCurveTo(control, end)
    pen.lineTo(curve[1])
    pen.lineTo(curve[2])
    pen.closePath()
    if cubic:
        builder.setupCFF("Own", {}, {name: each.getCharString() for name, each in pens.items()}, {})
    else:
        builder.setupGlyf({name: each.glyph() for name, each in pens.items()})
    builder.setupHorizontalMetrics({".notdef": (600, 0), "A": (600, 0)})
    builder.setupHorizontalHeader()
    builder.setupPost()
    builder.save(out := BytesIO())
    return out.getvalue()


@pytest.mark.parametrize("cubic", [False, True])
def test_a_letter_whose_outline_is_altered_in_any_corner_is_another(cubic: bool) -> None:
    right = drawn(CORNERS, cubic=cubic)

    def unlike(program: bytes) -> list[int]:
        return font(program=program, letters=cmap((1, "A")), entries={"W": [1, [600]]}).unlike(right)

    assert unlike(right) == []
    for place, value in enumerate(CORNERS):
        if cubic or place not in (8, 9):  # the third corner of a curve of the third degree
            assert unlike(drawn((*CORNERS[:place], value + 9, *CORNERS[place + 1 :]), cubic=cubic)) == [1], place
    assert unlike(drawn(CORNERS, em=500, cubic=cubic)) == [1]  # the same numbers, but twice as large
