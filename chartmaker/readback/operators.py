"""The operators that charts are drawn with (ISO 32000-1, Annex A) are a method each, and there are no others."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Protocol

from chartmaker.ground.language import say
from chartmaker.ground.tags import PREFIX
from chartmaker.readback.lettering import PrintedFont
from chartmaker.readback.pdffile import UnreadableError
from chartmaker.readback.printed import Block, Colour, Fill, Group, Item, Line, Picture, Text

_TOKENS = re.compile(rb"<<|>>|\[|\]|<[0-9A-Fa-f]*>|/[^\s()<>\[\]{}/%]*|[^\s()<>\[\]{}/%]+|[({})%]")
_RUN = re.compile(rb"q 1 0 0 1 (\S+) (\S+) cm (/" + PREFIX.encode("ascii") + rb"run BMC .*) Q")
#: Graphics states and tags are nested no deeper than this.
_MOST_STATES = 40
#: Lines wider than the edges of a grid hide what they cross.
WIDEST_LINE_MM = 1.5

Matrix = tuple[float, float, float, float, float, float]


@dataclass(slots=True)
class State:
    """The graphics state, which the operator q keeps and Q brings back."""

    matrix: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    fill: Colour = (0.0,)
    font: str = ""
    size: float = 0.0
    spacing: float = 0.0
    narrow: float = 1.0
    leading: float = 0.0
    rise: float = 0.0
    width: float = 1.0
    ink: Colour = (0.0,)

    def copy(self) -> State:
        text = self.font, self.size, self.spacing, self.narrow, self.leading, self.rise
        return State(self.matrix, self.fill, *text, self.width, self.ink)

    @property
    def key(self) -> tuple[Any, ...]:
        """All that a drawing inherits except its place."""
        text = self.font, self.size, self.spacing, self.narrow, self.leading
        return self.matrix[:4], self.fill, *text, self.width, self.ink


class Source(Protocol):
    """Where a drawing's fonts and repeated drawings come from, and its limits."""

    def spend(self, operators: int) -> None:
        """Count operators, and refuse them where they are too many."""

    def font(self, key: str) -> PrintedFont:
        """Return a font by its key."""

    def form(self, name: str) -> bytes | None:
        """Return the contents of a form, or None for a picture."""

    def group(self, name: str, content: bytes, state: State, depth: int) -> Block:
        """Return a drawing about (0, 0), which is worked out once for all the places where it stands."""


class Drawing:
    """One reading of some contents, operator by operator."""

    def __init__(self, contents: Source, state: State, depth: int) -> None:
        self.contents, self.depth = contents, depth
        self.state = state.copy()
        self.root = Block("", {})
        self.open: list[tuple[Block, int]] = [(self.root, 0)]  # with how many foreign spans lie open within it
        self.states: list[State] = []
        self.path: list[tuple[float, float, float, float]] = []
        self.rectangles = True
        self.lines: list[tuple[float, float, float, float]] = []
        self.line: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
        self.at = 0.0
        self.in_text = False
        self.actual: list[str | None] = []

    def read(self, content: bytes) -> None:
        """Read all operators of `content`."""
        operands: list[bytes] = []
        count = 0
        for line in content.replace(b"\r", b"\n").split(b"\n"):
            if line.startswith(b"<") and line.endswith(b"> '") and not operands:
                self.next_line_show([line[:-2]])
                count += 1
                continue
            if line.endswith(b" Q") and not operands and (found := _RUN.fullmatch(line)):
                self._stamp(*found.groups())
                count += 8
                continue
            tokens = _TOKENS.findall(line) if b"[" in line or b"<<" in line or b"(" in line else line.split()
            if tokens and not operands and tokens[-1] in _OPERATORS and _OPERATORS.keys().isdisjoint(tokens[:-1]):
                _OPERATORS[tokens[-1]](self, tokens[:-1])  # as most lines are: some operands and what uses them
            else:
                for token in tokens:
                    if (operator := _OPERATORS.get(token)) is None:
                        operands.append(token)
                    else:
                        operator(self, operands)
                        operands.clear()
            count += len(tokens)
            if count > 50_000:
                self.contents.spend(count)
                count = 0
            if len(operands) > 4096:
                raise UnreadableError(say("what a page holds is damaged"))
        self.contents.spend(count)
        if operands or len(self.open) > 1 or self.states or self.in_text or self.actual:
            raise UnreadableError(say("what a page holds is not complete"))

    def _stamp(self, x: bytes, y: bytes, body: bytes) -> None:
        place = _multiplied((1.0, 0.0, 0.0, 1.0, float(x), float(y)), self.state.matrix)
        root = self.contents.group("run", body, self.state, self.depth)
        self._put(Group("run", place[4], place[5], root))

    def _put(self, item: Item) -> None:
        self.open[-1][0].items.append(item)

    # graphics state

    def keep(self, o: list[bytes]) -> None:
        _none(o)
        if len(self.states) > _MOST_STATES:
            raise UnreadableError(say("what a page holds is damaged"))
        self.states.append(self.state)
        self.state = self.state.copy()

    def bring_back(self, o: list[bytes]) -> None:
        _none(o)
        self.state = self.states.pop()

    def transform(self, o: list[bytes]) -> None:
        self.state.matrix = _multiplied(_six(o), self.state.matrix)

    def grey(self, o: list[bytes]) -> None:
        (level,) = map(float, o)
        self.state.fill = (level,)

    def colour(self, o: list[bytes]) -> None:
        red, green, blue = map(float, o)
        self.state.fill = (red, green, blue)

    def ink_grey(self, o: list[bytes]) -> None:
        (level,) = map(float, o)
        self.state.ink = (level,)

    def ink_colour(self, o: list[bytes]) -> None:
        red, green, blue = map(float, o)
        self.state.ink = (red, green, blue)

    def ignored(self, o: list[bytes]) -> None:
        """Pass over an operator that changes nothing but lines."""
        for token in o:
            if token not in (b"[", b"]"):
                float(token)

    # paths

    def rectangle(self, o: list[bytes]) -> None:
        x, y, width, height = map(float, o)
        self.path.append((x, y, x + width, y + height))

    def point(self, o: list[bytes]) -> None:
        x, y = map(float, o)
        self.path.append((x, y, x, y))
        self.rectangles = False

    def line_to(self, o: list[bytes]) -> None:
        *_, x, y = self.path[-1]
        self.point(o)
        self.lines.append((x, y, *self.path[-1][:2]))

    def close(self, o: list[bytes]) -> None:
        _none(o)

    def fill(self, o: list[bytes], edge: bool = False) -> None:
        _none(o)
        shapes = self.path if self.rectangles or not self.path else [_around(self.path)]
        a, b, c, d, e, f = self.state.matrix
        if b or c:
            raise UnreadableError(say("a shape in it stands askew"))
        colour = self.state.fill
        items = self.open[-1][0].items
        for left, low, right, high in shapes:
            items.append(Fill(a * left + e, d * low + f, a * (right - left), d * (high - low), colour, edge))
        self.forget(o)

    def fill_even_odd(self, o: list[bytes]) -> None:
        if self.rectangles:
            raise UnreadableError(say("it has operators that no chart has: {words}", words="f*"))
        self.fill(o)

    def fill_and_stroke(self, o: list[bytes]) -> None:
        self.fill(o, edge=True)

    def line_width(self, o: list[bytes]) -> None:
        (self.state.width,) = map(float, o)

    def stroke(self, o: list[bytes]) -> None:
        _none(o)
        a, _, _, d, e, f = self.state.matrix
        half = self.state.width / 2
        if half * max(a, d) > WIDEST_LINE_MM / 2:  # so wide a line hides what it crosses
            points = self.path if self.rectangles else [_around(pair) for pair in pairwise(self.path)]
            for left, low, right, high in points:
                x, y, wide, tall = left - half, low - half, right - left + 2 * half, high - low + 2 * half
                self._put(Fill(a * x + e, d * y + f, a * wide, d * tall, None, False))
        else:
            for x, y, to_x, to_y in self.lines:
                ends = a * x + e, d * y + f, a * to_x + e, d * to_y + f
                self._put(Line(*ends, 2 * half * min(a, d), self.state.ink))
        self.forget(o)

    def forget(self, o: list[bytes]) -> None:
        _none(o)
        self.path, self.lines, self.rectangles = [], [], True

    # tags

    def begin(self, o: list[bytes]) -> None:
        name, *rest = o
        tag = name.decode("ascii")[1:]
        if not tag.startswith(PREFIX):
            if tag != "Span":
                raise UnreadableError(say("it has spans of another kind than charts have"))
            actual = next((rest[i + 1] for i, token in enumerate(rest[:-1]) if token == b"/ActualText"), b"")
            words = bytes.fromhex(actual[1:-1].decode("ascii")) if actual else b""
            self.actual.append(words.decode("utf-16").lstrip("\ufeff") if words else None)
            block, foreign = self.open[-1]
            self.open[-1] = (block, foreign + 1)
            return
        if len(self.open) > _MOST_STATES:
            raise UnreadableError(say("what a page holds is damaged"))
        block = Block(tag[len(PREFIX) :], _values(rest))
        self._put(block)
        self.open.append((block, 0))

    def end(self, o: list[bytes]) -> None:
        _none(o)
        block, foreign = self.open[-1]
        if foreign:
            self.actual.pop()
            self.open[-1] = (block, foreign - 1)
        elif len(self.open) > 1:
            self.open.pop()
        else:
            raise UnreadableError(say("what a page holds is not complete"))

    # text

    def begin_text(self, o: list[bytes]) -> None:
        _none(o)
        if self.in_text:
            raise UnreadableError(say("what a page holds is damaged"))
        self.in_text = True
        self.line, self.at = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0), 0.0

    def end_text(self, o: list[bytes]) -> None:
        _none(o)
        self.in_text = False

    def font(self, o: list[bytes]) -> None:
        name, size = o
        self.state.font, self.state.size = name.decode("ascii")[1:], float(size)

    def move(self, o: list[bytes]) -> None:
        x, y = map(float, o)
        self.line, self.at = _multiplied((1.0, 0.0, 0.0, 1.0, x, y), self.line), 0.0

    def set_line(self, o: list[bytes]) -> None:
        self.line, self.at = _six(o), 0.0

    def spacing(self, o: list[bytes]) -> None:
        (self.state.spacing,) = map(float, o)

    def narrowing(self, o: list[bytes]) -> None:
        (percent,) = map(float, o)
        self.state.narrow = percent / 100

    def leading(self, o: list[bytes]) -> None:
        (self.state.leading,) = map(float, o)

    def rise(self, o: list[bytes]) -> None:
        (self.state.rise,) = map(float, o)

    def next_line_show(self, o: list[bytes]) -> None:
        self.move([b"0", str(-self.state.leading).encode("ascii")])
        self.show(o)

    def show(self, o: list[bytes]) -> None:
        (token,) = o
        if not self.in_text or token[:1] != b"<":
            raise UnreadableError(say("what a page holds is damaged"))
        state = self.state
        font = self.contents.font(state.font)
        words, em, glyphs = font.read(token)
        a, b, _, _, e, f = _multiplied(self.line, state.matrix)
        if state.size <= 0 or state.narrow <= 0 or not ((a > 0 and not b) or (b > 0 and not a)):
            raise UnreadableError(say("a text in it stands askew or is set backwards"))
        scale = a or b
        length = (em * state.size + len(glyphs) // 2 * state.spacing) * state.narrow
        if self.actual and self.actual[-1] is not None:
            words, self.actual[-1] = self.actual[-1], ""
        x, y = e + self.at * a, f + self.at * b
        pitch = (state.size + state.spacing) * state.narrow * scale
        self._put(Text(words, x, y, state.size * scale, pitch, length * scale, state.font, glyphs, not b, state.fill))
        self.at += length

    def show_array(self, o: list[bytes]) -> None:
        if o[0] != b"[" or o[-1] != b"]":
            raise UnreadableError(say("what a page holds is damaged"))
        for token in o[1:-1]:
            if token[:1] == b"<":
                self.show([token])
            else:
                self.at -= float(token) / 1000 * self.state.size * self.state.narrow

    # forms and pictures

    def draw(self, o: list[bytes]) -> None:
        (name_,) = o
        name = name_.decode("ascii")[1:]
        content = self.contents.form(name)
        a, b, c, d, e, f = self.state.matrix
        if b or c:
            raise UnreadableError(say("a drawing in it stands askew"))
        if content is None:
            self._put(Picture(name, e, f, a, d))
        else:
            self._put(Group(name, e, f, self.contents.group(name, content, self.state, self.depth)))


def _around(points: Sequence[tuple[float, float, float, float]]) -> tuple[float, float, float, float]:
    """Return the box round some boxes."""
    lefts, lows, rights, highs = zip(*points, strict=True)
    return min(lefts), min(lows), max(rights), max(highs)


def _none(o: list[bytes]) -> None:
    if o:
        raise UnreadableError(say("it has operators that no chart has: {words}", words=repr(o[-1][:20])))


def _six(o: list[bytes]) -> Matrix:
    a, b, c, d, e, f = map(float, o)
    return a, b, c, d, e, f


def _multiplied(one: Matrix, other: Matrix) -> Matrix:
    """Return the transformation that does `one`, then `other`."""
    a, b, c, d, e, f = one
    g, h, i, j, k, m = other
    if not (b or c or h or i):
        return a * g, 0.0, 0.0, d * j, e * g + k, f * j + m
    return a * g + b * i, a * h + b * j, c * g + d * i, c * h + d * j, e * g + f * i + k, e * h + f * j + m


def _values(tokens: list[bytes]) -> dict[str, tuple[float, ...]]:
    """Return the values of a tag: lists of numbers by name."""
    values: dict[str, tuple[float, ...]] = {}
    if not tokens:
        return values
    if tokens[0] != b"<<" or tokens[-1] != b">>":
        raise UnreadableError(say("a tag in it is damaged"))
    name = ""
    numbers: list[float] = []
    for token in tokens[1:-1]:
        if token[:1] == b"/":
            name, numbers = token.decode("ascii")[1:], []
        elif token == b"]":
            values[name] = tuple(numbers)
        elif token != b"[":
            numbers.append(float(token))
    return values


_OPERATORS: dict[bytes, Callable[[Drawing, list[bytes]], None]] = {
    b"q": Drawing.keep,
    b"Q": Drawing.bring_back,
    b"cm": Drawing.transform,
    b"g": Drawing.grey,
    b"rg": Drawing.colour,
    b"G": Drawing.ink_grey,
    b"RG": Drawing.ink_colour,
    **dict.fromkeys((b"J", b"d"), Drawing.ignored),
    b"w": Drawing.line_width,
    b"re": Drawing.rectangle,
    b"m": Drawing.point,
    b"l": Drawing.line_to,
    b"h": Drawing.close,
    b"f": Drawing.fill,
    b"f*": Drawing.fill_even_odd,
    b"B": Drawing.fill_and_stroke,
    b"S": Drawing.stroke,
    b"n": Drawing.forget,
    b"BMC": Drawing.begin,
    b"BDC": Drawing.begin,
    b"EMC": Drawing.end,
    b"BT": Drawing.begin_text,
    b"ET": Drawing.end_text,
    b"Tf": Drawing.font,
    b"Td": Drawing.move,
    b"Tm": Drawing.set_line,
    b"Tc": Drawing.spacing,
    b"Tz": Drawing.narrowing,
    b"TL": Drawing.leading,
    b"Ts": Drawing.rise,
    b"'": Drawing.next_line_show,
    b"Tj": Drawing.show,
    b"TJ": Drawing.show_array,
    b"Do": Drawing.draw,
}
