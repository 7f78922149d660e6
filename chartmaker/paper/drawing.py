"""What every sheet is drawn with: lines, boxes, text, tables, rulers, in millimetres."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from functools import lru_cache
from types import TracebackType
from typing import BinaryIO, Literal

from chartmaker.ground.tags import CLOSING, Values, opening
from chartmaker.paper.document import POINTS_PER_MM, Document
from chartmaker.paper.lettering import Lettering

Colour = tuple[float, float, float]
Align = Literal["left", "right", "centre"]

BLACK: Colour = (0.0, 0.0, 0.0)
WHITE: Colour = (1.0, 1.0, 1.0)
#: Second-rank text, frames, what stands back; dark enough for a photocopy.
GREY: Colour = (0.36, 0.36, 0.36)
PALE: Colour = (0.72, 0.72, 0.72)
WASH: Colour = (0.94, 0.94, 0.94)

#: Where a capital's middle stands above the base line, in em (measured on the base font).
MIDDLE_EM = 0.365


def colour_of(srgb: tuple[int, int, int]) -> Colour:
    """Return a yarn's colour, 0..255, as a PDF takes it, 0..1."""
    return (srgb[0] / 255, srgb[1] / 255, srgb[2] / 255)


@lru_cache(maxsize=16_384)  # what stands on a sheet stands in few columns, few lines
def number(value: float) -> str:
    """Return `value` with three decimals at most, as short as can be."""
    return f"{round(value, 3):g}"


def _paint(colour: Colour, *, stroke: bool = False) -> str:
    red, green, blue = colour
    if red == green == blue:
        return f"{number(red)} {'G' if stroke else 'g'}"
    return f"{number(red)} {number(green)} {number(blue)} {'RG' if stroke else 'rg'}"


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
        If `font_bytes` is no font; later, if a text has a letter that no font here has.
    """

    def __init__(self, stream: BinaryIO, *, title: str, subject: str = "", font_bytes: bytes | None = None) -> None:
        self.lettering = Lettering(font_bytes)
        self.document = Document(stream, title=title, subject=subject)
        self.more_fonts: list[object] = []
        self.stamps: dict[object, str] = {}

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
            self.document.close([*self.lettering.fonts, *self.more_fonts])  # type: ignore[list-item]


class Sheet:
    """One page being drawn; every length in millimetres from its lower left corner, text sizes in points."""

    def __init__(self, book: Book, width_mm: float, height_mm: float, label: str) -> None:
        self.book = book
        self.width_mm = width_mm
        self.height_mm = height_mm
        self._label = label
        self._operators: list[str] = []

    def raw(self, *operators: str) -> None:
        """Add PDF operators as they are."""
        self._operators += operators

    @contextmanager
    def tagged(self, tag: str, values: Values | None = None) -> Iterator[None]:
        """Let what is drawn meanwhile be marked content that readers find by `tag`, see `ground.tags`."""
        self._operators.append(opening(tag, values))
        yield
        self._operators.append(CLOSING)

    def done(self) -> None:
        """Write the sheet."""
        self.book.document.add_page(self.width_mm, self.height_mm, self._operators, self._label)

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
    ) -> float:
        """Set `text` with its base line at (x, y); return its length in millimetres.

        Parameters
        ----------
        most_mm : float, optional
            No longer than this: the text is first narrowed to 80 %, then cut with an ellipsis.
        upright : bool
            False turns the text a quarter to the left.
        """
        size_mm = size_pt / POINTS_PER_MM
        lettering = self.book.lettering
        setting = lettering.set(text, bold=bold)
        narrow = 100.0
        if most_mm is not None and setting.width_em * size_mm > most_mm:
            narrow = max(80.0, 100 * most_mm / (setting.width_em * size_mm))
            setting = lettering.set(
                lettering.fitted(text, most_mm / size_mm * 100 / narrow + 1e-6, bold=bold), bold=bold
            )
        length = setting.width_em * size_mm * narrow / 100
        back = {"left": 0.0, "right": length, "centre": length / 2}[align]
        if upright:
            place = f"{number(x_mm - back)} {number(y_mm)} Td"
        else:
            place = f"0 1 -1 0 {number(x_mm)} {number(y_mm - back)} Tm"
        squeeze = ("", "") if narrow == 100 else (f"{narrow:.4g} Tz ", " 100 Tz")
        self._operators.append(f"BT {_paint(colour)} {place} {squeeze[0]}{setting.operators(size_mm)}{squeeze[1]} ET")
        return length

    def labels(
        self,
        places: Iterable[tuple[float, float, str]],
        size_pt: float,
        *,
        bold: bool = False,
        colour: Colour = BLACK,
        align: Align = "left",
        also_mm: Sequence[tuple[float, float]] = (),
    ) -> None:
        """Set many short texts of one kind, each at its (x, y), in one text object; then all moved by `also_mm`."""
        size_mm = size_pt / POINTS_PER_MM
        share = {"left": 0.0, "right": 1.0, "centre": 0.5}[align]
        words = [f"BT {_paint(colour)}"]
        last_x = last_y = 0  # hundredths, so that steps do not drift
        last_key = ""
        lettering = self.book.lettering
        for x_mm, y_mm, text in places:
            setting = lettering.set(text, bold=bold)
            x, y = int((x_mm - setting.width_em * size_mm * share) * 100 + 0.5), int(y_mm * 100 + 0.5)
            shown = setting.simple
            if shown is None:
                show, last_key = setting.operators(size_mm), ""
            elif shown[0] == last_key:
                show = shown[1]
            else:
                show, last_key = f"/{shown[0]} {size_mm:.4g} Tf {shown[1]}", shown[0]
            words.append(f"{(x - last_x) / 100:g} {(y - last_y) / 100:g} Td {show}")
            last_x, last_y = x, y
        words.append("ET")
        labels = "\n".join(words)
        self._operators.append(labels)
        for x_mm, y_mm in also_mm:
            self._operators.append(f"q 1 0 0 1 {number(x_mm)} {number(y_mm)} cm {labels} Q")

    def lines(
        self,
        segments: Iterable[tuple[float, float, float, float]],
        width_mm: float = 0.1,
        *,
        colour: Colour = BLACK,
        dash_mm: Sequence[float] = (),
    ) -> None:
        """Draw straight lines, each (x1, y1, x2, y2)."""
        path = " ".join(f"{number(x1)} {number(y1)} m {number(x2)} {number(y2)} l" for x1, y1, x2, y2 in segments)
        dash = ("[" + " ".join(map(number, dash_mm)) + "] 0 d ", " [] 0 d") if dash_mm else ("", "")
        self._operators.append(f"{dash[0]}{number(width_mm)} w {_paint(colour, stroke=True)} {path} S{dash[1]}")

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
        paint = [_paint(fill)] if fill is not None else []
        if edge is not None:
            paint.append(f"{number(edge_mm)} w {_paint(edge, stroke=True)}")
        ending = {(True, True): "B", (True, False): "f", (False, True): "S"}.get(
            (fill is not None, edge is not None), "n"
        )
        shape = f"{number(x_mm)} {number(y_mm)} {number(width_mm)} {number(height_mm)} re"
        self._operators.append(f"{' '.join(paint)} {shape} {ending}")

    def polygon(self, points: Sequence[tuple[float, float]], *, fill: Colour = BLACK) -> None:
        """Fill a polygon."""
        path = " ".join(f"{number(x)} {number(y)} {'l' if i else 'm'}" for i, (x, y) in enumerate(points))
        self._operators.append(f"{_paint(fill)} {path} f")

    def place(self, name: str, x_mm: float, y_mm: float, scale_x: float = 1, scale_y: float = 1) -> None:
        """Draw the form or picture `name` of the document; a picture is one by one millimetre before scaling."""
        self._operators.append(f"q {scale_x:.5g} 0 0 {scale_y:.5g} {number(x_mm)} {number(y_mm)} cm /{name} Do Q")

    def form(self, name: str, x_mm: float, y_mm: float, width_mm: float, height_mm: float, draw: Drawing) -> None:
        """Draw what `draw` draws on a sheet of its own with (x, y) as its corner; the PDF keeps it once under `name`.

        The drawing reaches at most `width_mm` to either side, `height_mm` up or down.
        """
        if not self.book.document.has_xobject(name):
            inner = Sheet(self.book, width_mm, height_mm, name)
            draw(inner)
            self.book.document.add_form(name, (-width_mm, -height_mm, width_mm, height_mm), inner._operators)
        self.place(name, x_mm, y_mm)

    def stamp(self, key: object, x_mm: float, y_mm: float, draw: Drawing) -> None:
        """Draw what `draw` draws about (0, 0), here at (x, y); it is worked out once for each `key` of the book.

        Unlike a form it stays in the page itself, where every reader finds its text.
        """
        operators = self.book.stamps.get(key)
        if operators is None:
            inner = Sheet(self.book, self.width_mm, self.height_mm, "")
            draw(inner)
            operators = self.book.stamps[key] = " ".join(inner._operators)
        self._operators.append(f"q 1 0 0 1 {number(x_mm)} {number(y_mm)} cm {operators} Q")

    def across_ruler(self, x_mm: float, y_mm: float, length_mm: int, *, colour: Colour = BLACK) -> None:
        """Draw a ruler to the right of (x, y), to check the printed size with."""

        def draw(sheet: Sheet) -> None:
            ticks = [(i, 0, i, _tick(i)) for i in range(length_mm + 1)]
            sheet.lines([(0, 0, length_mm, 0), *ticks], 0.1, colour=colour)
            words = [(i, 2.6, str(i)) for i in range(0, length_mm - 9, 10)] + [(length_mm, 2.6, f"{length_mm} mm")]
            sheet.labels(words, 4.5, colour=colour, align="centre")

        self.form(f"Across{length_mm}", x_mm, y_mm, length_mm + 10, 10, draw)

    def upward_ruler(self, x_mm: float, y_mm: float, length_mm: int, *, colour: Colour = BLACK) -> None:
        """Draw a ruler up from (x, y), its ticks to the left."""

        def draw(sheet: Sheet) -> None:
            sheet.lines(
                [(0, 0, 0, length_mm), *((0, i, -_tick(i), i) for i in range(length_mm + 1))], 0.1, colour=colour
            )
            for i in (*range(0, length_mm - 9, 10), length_mm):
                words = f"{i} mm" if i == length_mm else str(i)
                sheet.text(-2.4, i, words, 4.5, colour=colour, align="centre", upright=False)

        self.form(f"Upward{length_mm}", x_mm, y_mm, 10, length_mm + 10, draw)


#: Draws on the sheet it is given.
Drawing = Callable[[Sheet], None]


def _tick(millimetre: int) -> float:
    return 2.2 if millimetre % 10 == 0 else 1.6 if millimetre % 5 == 0 else 1.0
