"""Fonts as a PDF carries them: every glyph by its number, only the glyphs that are used."""

from __future__ import annotations

import struct
from collections.abc import Iterable, Mapping
from typing import Any

import uharfbuzz as hb

from chartmaker.ground.errors import SheetError
from chartmaker.ground.language import say
from chartmaker.paper.pdfobjects import pdfdoc

#: A font remembers the lengths of so many words.
_KEPT = 20_000


class Font:
    """A TrueType or OpenType font, embedded as a composite font with two-byte glyph numbers (ISO 32000-1, 9.7).

    Parameters
    ----------
    key : str
        Its name in the PDF's resources.
    data : bytes
        The font file; of a collection the first font is taken.

    Raises
    ------
    SheetError
        If `data` is not a font that can be embedded.
    """

    def __init__(self, key: str, data: bytes) -> None:
        self.key = key
        self.face = hb.Face(hb.Blob(data))
        tags = set(self.face.table_tags)
        if not ({"glyf", "CFF "} & tags and "cmap" in tags and "head" in tags and self.face.glyph_count):
            raise SheetError(say("the font file is not a TrueType or OpenType font with outlines"))
        self.outlines = "glyf" if "glyf" in tags else "CFF "
        self.hb_font = hb.Font(self.face)
        self.em = self.face.upem
        self.used: dict[int, str] = {}
        self._glyphs: dict[str, int] = {}
        self._advances: dict[int, float] = {}
        self._widths: dict[str, float] = {}
        self._measured: dict[str, float] = {}

    def glyph(self, letter: str) -> int:
        """Return the glyph number of one letter, 0 if the font lacks it."""
        number = self._glyphs.get(letter)
        if number is None:
            number = self._glyphs[letter] = self.hb_font.get_nominal_glyph(ord(letter)) or 0
        return number

    def glyphs(self, text: str) -> list[int]:
        """Return the glyph number of each letter, 0 where the font lacks it."""
        known = self._glyphs
        return [known[letter] if letter in known else self.glyph(letter) for letter in text]

    def advance(self, glyph: int) -> float:
        """Return the advance of a glyph in em."""
        advance = self._advances.get(glyph)
        if advance is None:
            advance = self._advances[glyph] = self.hb_font.get_glyph_h_advance(glyph) / self.em
        return advance

    def length(self, glyphs: Iterable[int]) -> float:
        """Return the sum of the advances of some glyphs in em."""
        known = self._advances
        return sum([known[glyph] if glyph in known else self.advance(glyph) for glyph in glyphs])

    def width(self, text: str) -> float | None:
        """Return the sum of the advances of the letters in em, None if the font lacks one; it embeds no glyph yet."""
        length = self._measured.get(text)  # a table measures the same words for each width that it tries
        if length is None:
            widths = self._widths
            for letter in set(text).difference(widths):
                glyph = self.glyph(letter)
                if not glyph:
                    return None
                widths[letter] = self.advance(glyph)
            length = sum([widths[letter] for letter in text])
            if len(self._measured) > _KEPT:
                self._measured.clear()
            self._measured[text] = length
        return length

    def use(self, glyph: int, text: str) -> bool:
        """Note that `glyph` stands for `text`, so that it is embedded; say whether that is what it means everywhere."""
        if not self.used.get(glyph):
            self.used[glyph] = text
        return self.used[glyph] == text

    def use_all(self, glyphs: Iterable[int], letters: Iterable[str]) -> None:
        """Note that each of `glyphs` stands for the letter beside it."""
        used = self.used
        for glyph, letter in zip(glyphs, letters, strict=True):
            if not used.get(glyph):
                used[glyph] = letter

    def _program(self) -> bytes:
        wanted = hb.SubsetInput()
        wanted.glyph_set.update({0, *self.used})
        wanted.layout_feature_tag_set.clear()
        wanted.flags |= hb.SubsetFlags.RETAIN_GIDS | hb.SubsetFlags.NOTDEF_OUTLINE
        face = hb.subset(self.face, wanted)
        return bytes(face.blob.data)

    def _descriptor(self, document: Any, name: str) -> Any:
        stream = pdfdoc.PDFStream(content=self._program(), filters=[pdfdoc.PDFZCompress])
        if self.outlines == "glyf":
            stream.dictionary["Length1"] = len(stream.content)
        else:
            stream.dictionary["Subtype"] = pdfdoc.PDFName("OpenType")
        box = struct.unpack(">4h", bytes(self.face.reference_table("head").data)[36:44])
        extents = self.hb_font.get_font_extents("ltr")
        return pdfdoc.PDFDictionary(
            {
                "Type": pdfdoc.PDFName("FontDescriptor"),
                "FontName": pdfdoc.PDFName(name),
                "Flags": 4,
                "FontBBox": pdfdoc.PDFArray([round(side * 1000 / self.em) for side in box]),
                "ItalicAngle": 0,
                "Ascent": round(extents.ascender * 1000 / self.em),
                "Descent": round(extents.descender * 1000 / self.em),
                "CapHeight": round(extents.ascender * 800 / self.em),
                "StemV": 80,
                "FontFile2" if self.outlines == "glyf" else "FontFile3": document.Reference(stream),
            }
        )

    def pdf_font(self, document: Any) -> Any:
        """Return the font's dictionary, its parts registered in the reportlab `document`."""
        name = f"CHARTS+{self.key}"
        glyphs = sorted(self.used)
        widths: list[Any] = []
        for glyph in glyphs:
            widths += [glyph, pdfdoc.PDFArray([round(self.advance(glyph) * 1000, 2)])]
        truetype = self.outlines == "glyf"
        descendant = {
            "Type": pdfdoc.PDFName("Font"),
            "Subtype": pdfdoc.PDFName("CIDFontType2" if truetype else "CIDFontType0"),
            "BaseFont": pdfdoc.PDFName(name),
            "CIDSystemInfo": pdfdoc.PDFDictionary(
                {"Registry": pdfdoc.PDFString("Adobe"), "Ordering": pdfdoc.PDFString("Identity"), "Supplement": 0}
            ),
            "FontDescriptor": document.Reference(self._descriptor(document, name)),
            "DW": 1000,
            "W": pdfdoc.PDFArray(widths),
        }
        if truetype:
            descendant["CIDToGIDMap"] = pdfdoc.PDFName("Identity")
        meaning = pdfdoc.PDFStream(content=to_unicode(self.used), filters=[pdfdoc.PDFZCompress])
        return pdfdoc.PDFDictionary(
            {
                "Type": pdfdoc.PDFName("Font"),
                "Subtype": pdfdoc.PDFName("Type0"),
                "BaseFont": pdfdoc.PDFName(name),
                "Encoding": pdfdoc.PDFName("Identity-H"),
                "DescendantFonts": pdfdoc.PDFArray([document.Reference(pdfdoc.PDFDictionary(descendant))]),
                "ToUnicode": document.Reference(meaning),
            }
        )


def to_unicode(meaning: Mapping[int, str]) -> bytes:
    """Return the CMap that gives the text of each glyph number (ISO 32000-1, 9.10.3)."""
    entries = [f"<{glyph:04x}> <{text.encode('utf-16-be').hex()}>" for glyph, text in sorted(meaning.items()) if text]
    parts = [
        "/CIDInit /ProcSet findresource begin 12 dict begin begincmap",
        "/CIDSystemInfo << /Registry (Adobe) /Ordering (UCS) /Supplement 0 >> def",
        "/CMapName /Adobe-Identity-UCS def /CMapType 2 def",
        "1 begincodespacerange <0000> <ffff> endcodespacerange",
    ]
    for start in range(0, len(entries), 100):  # a block holds at most 100 entries
        block = entries[start : start + 100]
        parts += [f"{len(block)} beginbfchar", *block, "endbfchar"]
    parts.append("endcmap CMapName currentdict /CMap defineresource pop end end")
    return "\n".join(parts).encode("ascii")
