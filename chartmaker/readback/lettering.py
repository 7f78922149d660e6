"""The letters of a PDF's fonts: what each glyph means, how wide it is, and whether it looks like that letter."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Any

import uharfbuzz as hb

from chartmaker.ground.language import say
from chartmaker.readback.pdffile import PdfFile, Reference, UnreadableError, decoded

#: No font file in a chart is larger than this.
MOST_FONT_BYTES = 40_000_000
#: Larger fonts are not kept for the next file.
_KEPT_BYTES = 1_000_000
#: What the descendant of a font may say of itself, and the keys of programs of which it has one.
_KEYS = {"Type", "Subtype", "BaseFont", "CIDSystemInfo", "FontDescriptor", "DW", "W", "CIDToGIDMap"}
_PROGRAMS = {"FontFile", "FontFile2", "FontFile3"}
_MEANING = re.compile(rb"<([0-9A-Fa-f]{4})>\s*<((?:[0-9A-Fa-f]{4}){0,40})>")


class PrintedFont:
    """A font as the file carries it, composite and with two-byte glyph numbers (ISO 32000-1, 9.7).

    Raises
    ------
    UnreadableError
        If it is another kind of font.
    """

    def __init__(self, pdf: PdfFile, value: Any) -> None:
        entries = pdf.dictionary(value)
        if entries.get("Subtype") != "Type0" or entries.get("Encoding") != "Identity-H":
            raise UnreadableError(say("it has a font of another kind than charts have"))
        (descendant,) = pdf.resolved(entries.get("DescendantFonts")) or [None]
        font = pdf.dictionary(descendant)
        self.meaning = _meaning(decoded(pdf.resolved(entries.get("ToUnicode")), MOST_FONT_BYTES))
        descriptor = pdf.dictionary(font.get("FontDescriptor"))
        self.truetype = font.get("Subtype") == "CIDFontType2"
        program = "FontFile2" if self.truetype else "FontFile3"
        glyphs = "Identity" if self.truetype else None  # the number of a letter is that of its glyph in the program
        if set(font) - _KEYS or font.get("CIDToGIDMap") != glyphs or _PROGRAMS.intersection(descriptor) != {program}:
            raise UnreadableError(say("it has a font of another kind than charts have"))
        default = font.get("DW", 1000)
        self._default = float(default) / 1000
        self._widths = _widths(pdf, pdf.resolved(font.get("W")) or [])
        self.program = decoded(pdf.resolved(descriptor[program]), MOST_FONT_BYTES)
        self._known: dict[bytes, tuple[str, float, bytes]] = {}

    def read(self, token: bytes) -> tuple[str, float, bytes]:
        """Return the words of a string in the contents, its length in em, and its glyph numbers of two bytes each."""
        known = self._known.get(token)
        if known is None:
            glyphs = bytes.fromhex(token[1:-1].decode("ascii"))
            if len(glyphs) % 2:
                raise UnreadableError(say("what a page holds is damaged"))
            numbers = [glyphs[i] << 8 | glyphs[i + 1] for i in range(0, len(glyphs), 2)]
            words = "".join([self.meaning.get(number, "") for number in numbers])
            known = words, sum([self._widths.get(number, self._default) for number in numbers]), glyphs
            if len(self._known) > 20_000:
                self._known.clear()
            self._known[token] = known
        return known

    def unlike(self, font_file: bytes) -> list[int]:
        """Return the glyphs that do not look as they do in `font_file`, or do not mean the same letter."""
        own, other = _outlines_of(self.program), _outlines_of(font_file)
        if own.upem != other.upem:
            return sorted(self.meaning)
        wrong = []
        for glyph, words in self.meaning.items():
            nominal = other.font.get_nominal_glyph(ord(words)) if len(words) == 1 else None
            width = self._widths.get(glyph, self._default) * own.upem
            same = own.steps(glyph) == other.steps(glyph)
            if nominal != glyph or not same or abs(other.font.get_glyph_h_advance(glyph) - width) > 0.02 * own.upem:
                wrong.append(glyph)
        return sorted(wrong)


class _Outlines:
    """The outlines of a font's glyphs, each drawn once."""

    def __init__(self, font_file: bytes) -> None:
        face = hb.Face(hb.Blob(font_file))
        self.font, self.upem = hb.Font(face), face.upem
        self._known: dict[int, tuple[tuple[float, ...], ...]] = {}
        self._steps = steps = list[tuple[float, ...]]()
        self._draw = draw = hb.DrawFuncs()
        draw.set_move_to_func(lambda x, y, _: steps.append((x, y, 0.0)))
        draw.set_line_to_func(lambda x, y, _: steps.append((x, y)))
        draw.set_quadratic_to_func(lambda a, b, x, y, _: steps.append((a, b, x, y)))
        draw.set_cubic_to_func(lambda a, b, c, d, x, y, _: steps.append((a, b, c, d, x, y)))

    def steps(self, glyph: int) -> tuple[tuple[float, ...], ...]:
        """Return the outline of a glyph: a move has three numbers, a line two, a curve four or six."""
        if glyph not in self._known:
            self._steps.clear()
            self.font.draw_glyph(glyph, self._draw)
            self._known[glyph] = tuple(self._steps)
        return self._known[glyph]


def _outlines_of(font_file: bytes) -> _Outlines:
    """Return the outlines of a font, which are kept where it is no larger than those of charts."""
    return _known_outlines(font_file) if len(font_file) <= _KEPT_BYTES else _Outlines(font_file)


@lru_cache(maxsize=8)  # all the PDFs of a set have the same fonts, or the same letters of them
def _known_outlines(font_file: bytes) -> _Outlines:
    return _Outlines(font_file)


def _meaning(cmap: bytes) -> dict[int, str]:
    """Return the text of each glyph number (ISO 32000-1, 9.10.3)."""
    found: dict[int, str] = {}
    for block in re.findall(rb"beginbfchar(.*?)endbfchar", cmap, re.DOTALL):
        for number, words in _MEANING.findall(block):
            if int(number, 16) in found:
                raise UnreadableError(say("a glyph of it means two letters"))
            found[int(number, 16)] = bytes.fromhex(words.decode("ascii")).decode("utf-16-be", "replace")
    if b"beginbfrange" in cmap or b"usecmap" in cmap:
        raise UnreadableError(say("it has a font of another kind than charts have"))
    return found


def _widths(pdf: PdfFile, listed: Any) -> dict[int, float]:
    """Return the width of each glyph in em from a list of numbers, each followed by the widths from it onward."""
    found: dict[int, float] = {}
    if not isinstance(listed, list) or len(listed) % 2:
        raise UnreadableError(say("it has a font of another kind than charts have"))
    for first, widths in zip(listed[::2], listed[1::2], strict=True):
        each = pdf.resolved(widths) if isinstance(widths, Reference) else widths
        if not isinstance(first, int) or not isinstance(each, list):
            raise UnreadableError(say("it has a font of another kind than charts have"))
        for step, width in enumerate(each):
            found[first + step] = float(width) / 1000
    return found
