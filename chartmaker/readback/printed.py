"""What a sheet prints, as a tree of tagged spans that hold texts, filled boxes, pictures and repeated drawings.

Places are in millimetres from the lower left corner of the page.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache

Colour = tuple[float, ...]


#: The tag of a line of words that is shown whole; its values say where its fields begin and end.
WORDS = "words"


@dataclass(slots=True)
class Block:
    """A tagged span with its items in the order in which they are painted; the root of a page has no tag."""

    tag: str
    values: dict[str, tuple[float, ...]]
    items: list[Item] = field(default_factory=list)
    _inner: tuple[int, list[Block]] = field(default=(0, []), init=False, repr=False, compare=False)

    def _spans(self) -> list[Block]:
        """Return the spans directly within this one, which are looked for again only where items were added."""
        if self._inner[0] != len(self.items):
            self._inner = len(self.items), [each for each in self.items if isinstance(each, Block)]
        return self._inner[1]

    def blocks(self, tag: str = "") -> Iterator[Block]:
        """Yield the spans directly within this one: all of them, or those with a tag."""
        return (each for each in self._spans() if tag in ("", each.tag))

    def find(self, tag: str) -> Iterator[Block]:
        """Yield the outermost spans with a tag, wherever they lie within this one."""
        for each in self._spans():
            if each.tag == tag:
                yield each
            else:
                yield from each.find(tag)

    def texts(self) -> Iterator[Text]:
        """Yield the texts within this span, leaving out forms and groups."""
        for each in self.items:
            if isinstance(each, Text):
                yield each
            elif isinstance(each, Block):
                yield from each.texts()

    @property
    def words(self) -> str:
        return "".join(text.words for text in self.texts())

    def fields(self) -> dict[str, list[str]]:
        """Return what is printed in each field within this span, by the field's name.

        In a line that is shown whole, the tag says where each field begins and ends; elsewhere each field is a span.
        """
        found: dict[str, list[str]] = {}
        for each in self.blocks():
            if each.tag != WORDS:
                found.setdefault(each.tag, []).append(each.words)
                continue
            words = each.words
            for name, places in each.values.items():
                for start, end in zip(places[::2], places[1::2], strict=True):
                    found.setdefault(name, []).append(words[int(start) : int(end)])
        return found


@dataclass(slots=True)
class Text:
    """Letters shown at one place; `glyphs` has two bytes for each, and a row of symbols has no `words`."""

    words: str
    x_mm: float
    y_mm: float
    size_mm: float
    pitch_mm: float
    length_mm: float
    font: str
    glyphs: bytes
    upright: bool
    colour: Colour


@dataclass(slots=True)
class Fill:
    """A filled box, or the box round a filled polygon; `edge` says whether it is a box with an outline as well."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    colour: Colour | None
    edge: bool


@dataclass(slots=True)
class Line:
    """A line from one point to another, with its width and its colour; wider ones that hide things are fills."""

    x_mm: float
    y_mm: float
    to_x_mm: float
    to_y_mm: float
    width_mm: float
    colour: Colour


@dataclass(slots=True)
class Picture:
    """A picture with the box that it fills."""

    name: str
    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float


@dataclass(slots=True)
class Group:
    """A drawing that is repeated, such as a form or a run, moved by (x, y)."""

    name: str
    x_mm: float
    y_mm: float
    root: Block


Item = Text | Fill | Line | Picture | Group | Block


def stands_out(ink: Colour, ground: Colour, least: float = 2.5) -> bool:
    """Return whether ink is seen on its ground, which it is by a contrast of so much or more (WCAG 2, 1.4.3)."""
    one, other = _luminance(ink), _luminance(ground)
    return (max(one, other) + 0.05) / (min(one, other) + 0.05) >= least


@lru_cache(maxsize=1024)
def _luminance(colour: Colour) -> float:
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in colour]
    weights = (0.2126, 0.7152, 0.0722) if len(linear) == 3 else (1.0,)
    return sum(weight * part for weight, part in zip(weights, linear, strict=True))


def extent_of(item: Item) -> tuple[float, float, float, float]:
    """Return the left, lower, right and upper end of a text's figures, a box, a line or a picture."""
    if isinstance(item, Text):
        high = 0.73 * item.size_mm
        if item.upright:
            return item.x_mm, item.y_mm, item.x_mm + item.length_mm, item.y_mm + high
        return item.x_mm - high, item.y_mm, item.x_mm, item.y_mm + item.length_mm
    if isinstance(item, Line):
        ends = (item.x_mm, item.to_x_mm), (item.y_mm, item.to_y_mm)
        return min(ends[0]), min(ends[1]), max(ends[0]), max(ends[1])
    if isinstance(item, Fill | Picture):
        return item.x_mm, item.y_mm, item.x_mm + item.width_mm, item.y_mm + item.height_mm
    raise TypeError(item)


def flat(block: Block, x_mm: float = 0.0, y_mm: float = 0.0) -> Iterator[tuple[Item, float, float]]:
    """Yield every text, fill, line and picture within, also in groups, each with how far its group is moved."""
    for each in block.items:
        if isinstance(each, Block):
            yield from flat(each, x_mm, y_mm)
        elif isinstance(each, Group):
            yield from flat(each.root, x_mm + each.x_mm, y_mm + each.y_mm)
        else:
            yield each, x_mm, y_mm
