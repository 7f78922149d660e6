"""Text set for a sheet: any string into glyphs of known width, or a refusal by name."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from importlib import resources

import uharfbuzz as hb

from chartmaker.ground.errors import SheetError
from chartmaker.ground.language import fields_of, part_of, say, shortened
from chartmaker.paper import operators as op
from chartmaker.paper.bidi import visual_pieces
from chartmaker.paper.fonts import Font
from chartmaker.paper.operators import Operator

#: Lines of text kept ready; sheets repeat the same numbers and names.
_KEPT = 1_500
_WORD = re.compile(r"\S+")


@dataclass(frozen=True, slots=True)
class Part:
    """Glyphs of one font: `shows` are (rise in em, operands of TJ, text if the glyphs' own meaning is another).

    `tag` is the name of the field that they are, if they are one.
    """

    key: str
    shows: tuple[tuple[float, str, str], ...]
    tag: str = ""

    def operators(self, size: float) -> Operator:
        """Return what shows the part, within a text object."""
        words = [op.font(self.key, size)]
        rise = 0.0
        for lift, strings, actual in self.shows:
            if lift != rise:
                words.append(op.lifted(lift * size))
                rise = lift
            show = op.shown_shifted(strings)
            words.append(op.line(op.meant(actual), show, op.END_SPAN) if actual else show)
        if rise:
            words.append(op.lifted(0))
        return op.line(op.span(self.tag), *words, op.END_SPAN) if self.tag else op.line(*words)


@dataclass(frozen=True, slots=True)
class Setting:
    """A line of text, set: its parts from left to right, `width_em` long.

    `simple` is (font key, operator that shows the line in that font), if one part without shaping is all there is.
    """

    parts: tuple[Part, ...]
    width_em: float
    simple: tuple[str, Operator] | None = None

    def operators(self, size: float) -> Operator:
        """Return what shows the line, within a text object."""
        if self.simple is not None:
            return op.line(op.font(self.simple[0], size), self.simple[1])
        return op.line(*[part.operators(size) for part in self.parts])


def base_font(name: str) -> bytes:
    """Return Bitstream Vera, which reportlab carries."""
    return (resources.files("reportlab") / "fonts" / name).read_bytes()


def _ignorable(letter: str) -> bool:
    """Say if `letter` only steers shaping (joiners, variation selectors) and needs no glyph of its own."""
    return letter in ("\u200c", "\u200d", "\u2060", "\u00ad") or "\ufe00" <= letter <= "\ufe0f"


class Lettering:
    """What sets text: the base font in two weights, with the workshop's own font for the letters it lacks.

    Parameters
    ----------
    font_bytes : bytes, optional
        The font file that the rug file names.

    Raises
    ------
    SheetError
        If `font_bytes` is not a usable font.
    """

    def __init__(self, font_bytes: bytes | None = None) -> None:
        self.plain = Font("T", base_font("Vera.ttf"))
        self.bold = Font("B", base_font("VeraBd.ttf"))
        self.own = Font("W", font_bytes) if font_bytes is not None else None
        self._kept: dict[tuple[str, object, bool], Setting] = {}
        self._fitted: dict[tuple[str, bool, float], str] = {}

    @property
    def fonts(self) -> tuple[Font, ...]:
        """Those that sheets may have used."""
        return tuple(font for font in (self.plain, self.bold, self.own) if font is not None)

    def set(self, text: str, *, bold: bool = False) -> Setting:
        """Return `text` as glyphs in the order of the line.

        Raises
        ------
        SheetError
            If neither font has one of the letters; the message names the letter.
        """
        key = (text, None if type(text) is str else fields_of(text), bold)
        setting = self._kept.get(key)
        if setting is None:
            setting = self._set(text, self.bold if bold else self.plain)
            if len(self._kept) > _KEPT:
                self._kept.clear()
            self._kept[key] = setting
        return setting

    def width(self, text: str, *, bold: bool = False) -> float:
        """Return the length of `text` in em; tables measure many more words than they show."""
        width = (self.bold if bold else self.plain).width(text)
        return self.set(text, bold=bold).width_em if width is None else width

    def fitted(self, text: str, most_em: float, *, bold: bool = False) -> str:
        """Return `text`, or as much of it as `most_em` holds with an ellipsis behind."""
        if self.width(text, bold=bold) <= most_em:
            return text
        key = (text, bold, round(most_em, 3))
        if key not in self._fitted:
            low, high = 0, len(text)
            while low < high:
                middle = (low + high + 1) // 2
                if self.width(text[:middle].rstrip() + "…", bold=bold) <= most_em:
                    low = middle
                else:
                    high = middle - 1
            if len(self._fitted) > _KEPT:
                self._fitted.clear()
            self._fitted[key] = text[:low].rstrip() + "…" if low else ""
        return shortened(text, self._fitted[key])

    def lines(self, text: str, most_em: float, *, bold: bool = False) -> list[str]:
        """Return `text` broken at spaces into lines of at most `most_em`; a longer word is cut with an ellipsis."""
        lines: list[str] = []
        line, begins = "", 0
        for word in _WORD.finditer(text):
            longer = f"{line} {word[0]}" if line else word[0]
            if line and self.width(longer, bold=bold) > most_em:
                lines.append(_line(line, text, begins))
                line, longer = "", word[0]
            if not line:
                begins = word.start()
            line = longer
        lines.append(_line(line, text, begins))
        return [self.fitted(line, most_em, bold=bold) for line in lines]

    def _font_of(self, letter: str, base: Font, text: str) -> Font:
        for font in (base, self.own):
            if font is not None and font.glyph(letter):
                return font
        name = unicodedata.name(letter, "a letter without a name")
        message = (
            "{text!r}: the built-in font has no {letter!r} (U+{number:04X}, {name}); name a font file that has it: "
            'font = "..." under [chart]'
        )
        if self.own is not None:
            message = (
                "{text!r}: neither the built-in font nor that of the rug file has {letter!r} (U+{number:04X}, {name}); "
                'name a font file that has it: font = "..." under [chart]'
            )
        raise SheetError(say(message, text=text, letter=letter, number=ord(letter), name=name))

    def _set(self, text: str, base: Font) -> Setting:
        glyphs = base.glyphs(text)
        if all(glyphs):  # the base font has letters written left to right alone, so that order is settled
            base.use_all(glyphs, text)
            hexed = op.glyph_string(glyphs)
            shown = _with_fields(op.shown(hexed), fields_of(text))
            part = Part(base.key, ((0.0, hexed, ""),))
            return Setting((part,), base.length(glyphs), (base.key, shown))
        pieces: list[Part] = []
        width = 0.0
        tags = [""] * len(text)
        for start, end, name in fields_of(text):
            tags[start:end] = [name] * (end - start)
        for piece in visual_pieces(text):
            runs: list[tuple[Font, str, str]] = []
            for letter, tag in zip(piece.text, tags[piece.start :], strict=False):
                font = runs[-1][0] if runs and _stays(letter, runs[-1][0]) else self._font_of(letter, base, text)
                if runs and runs[-1][0] is font and runs[-1][2] == tag:
                    runs[-1] = (font, runs[-1][1] + letter, tag)
                else:
                    runs.append((font, letter, tag))
            for font, run, tag in runs if piece.rightward else reversed(runs):
                shaped = font is self.own or not piece.rightward
                part, advance = _shaped(font, run, piece.rightward) if shaped else _plain(font, run)
                pieces.append(replace(part, tag=tag))
                width += advance
        return Setting(tuple(pieces), width)


def _line(words: str, text: str, begins: int) -> str:
    """Return `words`, which stand in `text` from `begins` on, with the fields that they hold of it.

    Words that stood further apart in the text than on the line have lost their places.
    """
    part = part_of(text, begins, begins + len(words))
    return part if part == words else words


def _with_fields(shown: Operator, fields: Sequence[tuple[int, int, str]]) -> Operator:
    """Return the operator that shows a line, tagged with where its fields begin and end.

    The line stays whole, so that whoever copies it from the page has it whole.
    """
    if not fields:
        return shown
    places: dict[str, list[float]] = {}
    for start, end, name in fields:
        places.setdefault(name, []).extend((start, end))
    return op.line(op.span("words", places), shown, op.END_SPAN)


def _stays(letter: str, font: Font) -> bool:
    """Say if `letter` keeps to the font of the letter before it: marks, joiners, spaces."""
    return _ignorable(letter) or (bool(font.glyph(letter)) and (letter == " " or unicodedata.combining(letter) > 0))


def _plain(font: Font, text: str) -> tuple[Part, float]:
    glyphs = [font.glyph(letter) for letter in text]
    for glyph, letter in zip(glyphs, text, strict=True):
        font.use(glyph, letter)
    return Part(font.key, ((0.0, op.glyph_string(glyphs), ""),)), sum(map(font.advance, glyphs))


@cache
def _ligature(letters: str) -> str:
    """Return the one letter of Unicode's Arabic presentation forms for a ligature; `letters` where there is none.

    Readers of a page turn several letters that stand in one place to the left, and so backwards.
    """
    forms = (chr(code) for code in (*range(0xFB50, 0xFE00), *range(0xFE70, 0xFF00)) if len(letters) > 1)
    return next((form for form in forms if unicodedata.normalize("NFKC", form) == letters), letters)


def _shaped(font: Font, text: str, rightward: bool) -> tuple[Part, float]:
    """Shape a run with HarfBuzz; each glyph carries its own letters, so that readers of the page find them in place.

    One text for the whole run would be read backwards where the run goes to the left: readers turn what stands there.
    """
    buffer = hb.Buffer()
    buffer.cluster_level = hb.BufferClusterLevel.MONOTONE_CHARACTERS
    buffer.add_str(text)
    buffer.guess_segment_properties()
    buffer.direction = "ltr" if rightward else "rtl"
    hb.shape(font.hb_font, buffer)
    starts = sorted({info.cluster for info in buffer.glyph_infos})
    letters = {start: text[start:end] for start, end in zip(starts, [*starts[1:], len(text)], strict=True)}
    shows: list[tuple[float, str, str]] = []
    total = 0.0
    for info, position in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
        meant = _ligature(letters.pop(info.cluster, ""))  # of several glyphs the first one carries the letters
        # what only steers is drawn as a space is, with nothing of it, and must not take the space's meaning
        known = font.use(info.codepoint, "" if _ignorable(meant) else meant) and not _ignorable(meant)
        actual = "" if known else meant
        shift, lift, advance = (value / font.em for value in (position.x_offset, position.y_offset, position.x_advance))
        before, after = -shift * 1000, -(advance - font.advance(info.codepoint) - shift) * 1000
        numbers = [f"{number:.5g}" if abs(number) > 0.01 else "" for number in (before, after)]
        operand = f"{numbers[0]}{op.glyph_string([info.codepoint])}{numbers[1]}"
        if shows and shows[-1][0] == lift and not actual and not shows[-1][2]:
            operand = f"{shows.pop()[1]} {operand}"
        shows.append((lift, operand, actual))
        total += advance
    return Part(font.key, tuple(shows)), total
