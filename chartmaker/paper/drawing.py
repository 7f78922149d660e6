"""What every sheet is drawn with: lines, boxes, text, tables, rulers, in millimetres."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from itertools import accumulate, pairwise
from types import TracebackType
from typing import BinaryIO, Literal, NamedTuple, Protocol

from chartmaker.ground.language import part_of
from chartmaker.ground.tags import Values
from chartmaker.paper import operators as op
from chartmaker.paper.document import POINTS_PER_MM, Document
from chartmaker.paper.fonts import Font
from chartmaker.paper.lettering import Lettering
from chartmaker.paper.operators import Colour, Operator
from chartmaker.paper.symbols import FIRST_CODE, SYMBOL_FONT, symbol_font

Align = Literal["left", "right", "centre"]

BLACK: Colour = (0.0, 0.0, 0.0)
WHITE: Colour = (1.0, 1.0, 1.0)
#: The size of a ruler's figures on a sheet that is read in the hand.
RULER_PT = 4.5
#: Second-rank text, frames, what stands back; dark enough for a photocopy.
GREY: Colour = (0.36, 0.36, 0.36)
PALE: Colour = (0.72, 0.72, 0.72)
WASH: Colour = (0.94, 0.94, 0.94)

#: Where a capital's middle stands above the base line, in em (measured on the base font).
MIDDLE_EM = 0.365
#: Text that is too long is narrowed to this share before it is cut.
NARROWEST = 0.8


def colour_of(srgb: tuple[int, int, int]) -> Colour:
    """Return a yarn's colour, 0 to 255, in the 0 to 1 that a PDF takes."""
    return (srgb[0] / 255, srgb[1] / 255, srgb[2] / 255)


class FormKey(Protocol):
    """The key of a drawing that the PDF keeps once: equal keys mean equal drawings. Keys are frozen values."""

    @property
    def name(self) -> str:
        """What the PDF calls the drawing: different keys have different names."""


class Book:
    """A PDF of sheets on its way into `stream`; use it as a context manager.

    Parameters
    ----------
    stream : binary file object
    title : str
    subject : str
    font_bytes : bytes, optional
        The font file of the workshop's own letters.

    Raises
    ------
    SheetError
        If `font_bytes` is not a font; later, if a text has a letter that no font here has.
    """

    def __init__(self, stream: BinaryIO, *, title: str, subject: str = "", font_bytes: bytes | None = None) -> None:
        self.lettering = Lettering(font_bytes)
        self.document = Document(stream, title=title, subject=subject)
        self._symbols: Font | None = None
        self._forms: dict[str, FormKey] = {}
        self._stamps: dict[object, Operator] = {}

    @property
    def symbols(self) -> Font:
        """The font of the yarns' symbols."""
        if self._symbols is None:
            self._symbols = Font(SYMBOL_FONT, symbol_font())
        return self._symbols

    def use_symbols(self, glyphs: Iterable[int]) -> None:
        """Let the symbols with these glyph numbers be embedded."""
        for glyph in glyphs:
            self.symbols.use(glyph, chr(FIRST_CODE + glyph))

    @property
    def fonts(self) -> list[Font]:
        """The fonts of all sheets, which the book alone makes and embeds."""
        return [*self.lettering.fonts, *([] if self._symbols is None else [self._symbols])]

    def form(self, key: FormKey, bounds_mm: tuple[float, float, float, float], draw: Drawing) -> str:
        """Return the name of the form with what `draw` draws, which is added once for each key.

        The drawing lies within `bounds_mm`: left, bottom, right, top from its own origin.
        """
        if key.name not in self._forms:
            inner = Sheet(self, bounds_mm[2] - bounds_mm[0], bounds_mm[3] - bounds_mm[1], key.name)
            draw(inner)
            self.document.add_form(key.name, bounds_mm, inner.operators)
            self._forms[key.name] = key
        assert self._forms[key.name] == key, f"{self._forms[key.name]} and {key} have one name"
        return key.name

    def stamp(self, key: object, draw: Drawing) -> Operator:
        """Return what `draw` draws, worked out once for each key."""
        if key not in self._stamps:
            inner = Sheet(self, 0, 0, "")
            draw(inner)
            self._stamps[key] = op.line(*inner.operators)
        return self._stamps[key]

    def sheet(self, width_mm: float, height_mm: float, label: str, *, outline: Sequence[tuple[int, str]] = ()) -> Sheet:
        """Begin a sheet called `label`; `outline` are the (level, title) that lead to it. End it with `Sheet.done`."""
        for level, title in outline:
            self.document.add_outline(title, level)
        return Sheet(self, width_mm, height_mm, label)

    def __enter__(self) -> Book:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if kind is None:
            self.document.close(self.fonts)


class Sheet:
    """One page being drawn; every length in millimetres from its lower left corner, text sizes in points."""

    def __init__(self, book: Book, width_mm: float, height_mm: float, label: str) -> None:
        self.book = book
        self.width_mm = width_mm
        self.height_mm = height_mm
        self._label = label
        self.operators: list[Operator] = []

    def add(self, *operators: Operator) -> None:
        """Add operators to what the sheet shows."""
        self.operators += operators

    @contextmanager
    def tagged(self, tag: str, values: Values | None = None) -> Iterator[None]:
        """Let what is drawn meanwhile be marked content that readers find by `tag`, see `ground.tags`."""
        self.add(op.span(tag, values))
        yield
        self.add(op.END_SPAN)

    def done(self) -> None:
        """Write the sheet."""
        self.book.document.add_page(self.width_mm, self.height_mm, self.operators, self._label)

    def text(
        self,
        x_mm: float,
        y_mm: float,
        text: str,
        size_pt: float,
        *,
        bold: bool = False,
        colour: Colour = BLACK,
        align: Align = "left",
        most_mm: float | None = None,
        upright: bool = True,
        tag: str = "",
    ) -> float:
        """Set `text` with its base line at (x, y); return its length in millimetres.

        Parameters
        ----------
        most_mm : float, optional
            No longer than this: the text is first narrowed to 80 %, then cut with an ellipsis.
        upright : bool
            False turns the text a quarter to the left.
        tag : str
            What readers find the text by, see `ground.tags`.
        """
        size_mm = size_pt / POINTS_PER_MM
        lettering = self.book.lettering
        setting = lettering.set(text, bold=bold)
        narrow = 100.0
        if most_mm is not None and setting.width_em * size_mm > most_mm:
            narrow = max(100 * NARROWEST, 100 * most_mm / (setting.width_em * size_mm))
            setting = lettering.set(
                lettering.fitted(text, most_mm / size_mm * 100 / narrow + 1e-6, bold=bold), bold=bold
            )
        length = setting.width_em * size_mm * narrow / 100
        back = {"left": 0.0, "right": length, "centre": length / 2}[align]
        place = op.text_moved(x_mm - back, y_mm) if upright else op.text_upward(x_mm, y_mm - back)
        words = setting.operators(size_mm)
        if narrow != 100:
            words = op.line(op.squeezed(narrow), words, op.squeezed(100))
        shown = op.line(op.BEGIN_TEXT, op.fill_colour(colour), place, words, op.END_TEXT)
        self.add(op.line(op.span(tag), shown, op.END_SPAN) if tag else shown)
        return length

    def wrapped(self, text: str, size_pt: float, most_mm: float, *, bold: bool = False) -> list[str]:
        """Return `text` in lines of at most `most_mm`, broken between words, each with the fields that stand in it."""
        lines = [""]
        for word in text.split(" "):
            tried = f"{lines[-1]} {word}".strip()
            if lines[-1] and self.book.lettering.set(tried, bold=bold).width_em * size_pt / POINTS_PER_MM > most_mm:
                lines.append(word)
            else:
                lines[-1] = tried
        ends = list(accumulate((len(line) + 1 for line in lines), initial=0))
        return [part_of(text, start, end - 1) for start, end in pairwise(ends)] if " ".join(lines) == text else lines

    def labels(
        self,
        places: Iterable[tuple[float, float, str]],
        size_pt: float,
        *,
        bold: bool = False,
        colour: Colour = BLACK,
        align: Align = "left",
        also_mm: Sequence[tuple[float, float]] = (),
        tag: str = "",
    ) -> None:
        """Set many short texts of one kind, each at its (x, y), in one text object; then all moved by `also_mm`.

        Readers find them by `tag`.
        """
        size_mm = size_pt / POINTS_PER_MM
        share = {"left": 0.0, "right": 1.0, "centre": 0.5}[align]
        words = [op.line(op.BEGIN_TEXT, op.fill_colour(colour))]
        last_x = last_y = 0  # hundredths, so that steps do not drift
        last_key = ""
        lettering = self.book.lettering
        for x_mm, y_mm, text in places:
            setting = lettering.set(text, bold=bold)
            x, y = int((x_mm - setting.width_em * size_mm * share) * 100 + 0.5), int(y_mm * 100 + 0.5)
            if setting.simple is not None and setting.simple[0] == last_key:
                show = setting.simple[1]
            else:
                show = setting.operators(size_mm)
                last_key = "" if setting.simple is None else setting.simple[0]
            words.append(op.text_moved_by_hundredths(x - last_x, y - last_y, show))
            last_x, last_y = x, y
        words.append(op.END_TEXT)
        labels = op.lines([op.span(tag), *words, op.END_SPAN] if tag else words)
        self.add(labels)
        for x_mm, y_mm in also_mm:
            self.add(op.line(op.SAVE, op.moved(x_mm, y_mm), labels, op.RESTORE))

    def lines(
        self,
        segments: Iterable[tuple[float, float, float, float]],
        width_mm: float = 0.1,
        *,
        colour: Colour = BLACK,
        dash_mm: Sequence[float] = (),
    ) -> None:
        """Draw straight lines, each (x1, y1, x2, y2)."""
        drawn = (op.line_width(width_mm), op.stroke_colour(colour), op.segments(segments), op.STROKE)
        self.add(op.line(op.dashes(dash_mm), *drawn, op.dashes(())) if dash_mm else op.line(*drawn))

    def line(
        self, x1: float, y1: float, x2: float, y2: float, width_mm: float = 0.1, *, colour: Colour = BLACK
    ) -> None:
        """Draw one straight line."""
        self.lines([(x1, y1, x2, y2)], width_mm, colour=colour)

    def box(
        self,
        x_mm: float,
        y_mm: float,
        width_mm: float,
        height_mm: float,
        *,
        fill: Colour | None = None,
        edge: Colour | None = BLACK,
        edge_mm: float = 0.15,
    ) -> None:
        """Draw a box from its lower left corner; without `edge` no outline."""
        paint = [op.fill_colour(fill)] if fill is not None else []
        if edge is not None:
            paint += [op.line_width(edge_mm), op.stroke_colour(edge)]
        endings = {(True, True): op.FILL_AND_STROKE, (True, False): op.FILL, (False, True): op.STROKE}
        ending = endings.get((fill is not None, edge is not None), op.DROP)
        self.add(op.line(*paint, op.rectangle(x_mm, y_mm, width_mm, height_mm), ending))

    def ring(
        self, x_mm: float, y_mm: float, radius_mm: float, *, colour: Colour = BLACK, line_mm: float = 0.12
    ) -> None:
        """Draw a circle about (x, y), as a polygon of so many sides that nobody sees them."""
        turns = [2 * math.pi * side / RING_SIDES for side in range(RING_SIDES)]
        points = [(x_mm + radius_mm * math.cos(turn), y_mm + radius_mm * math.sin(turn)) for turn in turns]
        begin = op.line(op.line_width(line_mm), op.stroke_colour(colour))
        self.add(op.line(begin, op.outline(points), op.CLOSE, op.STROKE))

    def polygon(self, points: Sequence[tuple[float, float]], *, fill: Colour = BLACK) -> None:
        """Fill a polygon."""
        self.add(op.line(op.fill_colour(fill), op.outline(points), op.FILL))

    def place(self, name: str, x_mm: float, y_mm: float, scale_x: float = 1, scale_y: float = 1) -> None:
        """Draw the form or picture `name` of the document; a picture is one by one millimetre before scaling."""
        self.add(op.line(op.SAVE, op.scaled(scale_x, scale_y, x_mm, y_mm), op.drawn(name), op.RESTORE))

    def form(self, key: FormKey, x_mm: float, y_mm: float, width_mm: float, height_mm: float, draw: Drawing) -> None:
        """Draw what `draw` draws with (x, y) as its origin; the PDF keeps it once for each `key`.

        The drawing reaches at most `width_mm` to either side, `height_mm` up or down.
        """
        self.place(self.book.form(key, (-width_mm, -height_mm, width_mm, height_mm), draw), x_mm, y_mm)

    def stamp(self, key: object, x_mm: float, y_mm: float, draw: Drawing) -> None:
        """Draw what `draw` draws about (0, 0), here at (x, y); it is worked out once for each `key` of the book.

        Unlike a form it stays in the page itself, where every reader finds its text.
        """
        self.add(op.line(op.SAVE, op.moved(x_mm, y_mm), self.book.stamp(key, draw), op.RESTORE))

    def across_ruler(
        self, x_mm: float, y_mm: float, length_mm: int, *, colour: Colour = BLACK, size_pt: float = RULER_PT
    ) -> None:
        """Draw a ruler to the right of (x, y), to check the printed size with."""

        def draw(sheet: Sheet) -> None:
            ticks = [(i, 0, i, _tick(i)) for i in range(length_mm + 1)]
            sheet.lines([(0, 0, length_mm, 0), *ticks], 0.1, colour=colour)
            words = [(i, 2.6, str(i)) for i in range(0, length_mm - 9, 10)] + [(length_mm, 2.6, f"{length_mm} mm")]
            sheet.labels(words, size_pt, colour=colour, align="centre")

        self.form(Ruler("Across", length_mm, colour, size_pt), x_mm, y_mm, length_mm + 10, 10, draw)

    def upward_ruler(
        self, x_mm: float, y_mm: float, length_mm: int, *, colour: Colour = BLACK, size_pt: float = RULER_PT
    ) -> None:
        """Draw a ruler up from (x, y), its ticks to the left."""

        def draw(sheet: Sheet) -> None:
            sheet.lines(
                [(0, 0, 0, length_mm), *((0, i, -_tick(i), i) for i in range(length_mm + 1))], 0.1, colour=colour
            )
            for i in (*range(0, length_mm - 9, 10), length_mm):
                words = f"{i} mm" if i == length_mm else str(i)
                sheet.text(-2.4, i, words, size_pt, colour=colour, align="centre", upright=False)

        self.form(Ruler("Upward", length_mm, colour, size_pt), x_mm, y_mm, 10, length_mm + 10, draw)


#: So many sides a ring has.
RING_SIDES = 32


class Ruler(NamedTuple):
    """The key of a ruler."""

    way: Literal["Across", "Upward"]
    length_mm: int
    colour: Colour
    size_pt: float

    @property
    def name(self) -> str:
        return f"{self.way}{self.length_mm}"


#: Draws on the sheet it is given.
Drawing = Callable[[Sheet], None]


def _tick(millimetre: int) -> float:
    return 2.2 if millimetre % 10 == 0 else 1.6 if millimetre % 5 == 0 else 1.0
