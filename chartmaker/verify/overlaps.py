"""Whether anything on a sheet hides what was printed before it, or is printed so that nobody can read it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from chartmaker.ground.language import say
from chartmaker.readback.printed import Block, Fill, Group, Item, Picture, Text, flat
from chartmaker.verify.legends import SYMBOL_FONT
from chartmaker.verify.sheets import Sheet

#: Letters lighter than this on white paper cannot be read on a copy.
LIGHTEST = 0.62
#: Letters smaller than this, in millimetres from line to line, cannot be read at a loom.
SMALLEST_MM = 1.0
#: Of the workshop's own font a line may be set in pieces, since marks stand over letters and letters are joined.
SHAPED_FONT = "W"
#: Texts may share this part of the lower one's height, which ascenders and marks of other scripts may take.
WITHIN = 0.35
#: Blocks that fill an area below their own letters; the code that reads them looks at that.
_CELLS = ("cells", "join")

Area = tuple[float, float, float, float]
#: A text or a filled area, with how far it is moved, and whether it belongs to the cells.
Placed = tuple[Text | Area, float, float, bool]


def overlap_differences(sheet: Sheet) -> Iterator[str]:
    """Yield which texts of a sheet are hidden, run into each other or off the paper, or are too pale or too small."""
    texts: list[tuple[Text, Area]] = []
    hidden: set[str] = set()
    cells: list[Area] = []
    width, height = sheet.width_mm, sheet.height_mm
    for item, x, y, inside in _in_order(sheet.root, 0.0, 0.0):
        if isinstance(item, Text):
            area = _area(item, x, y)
            if not (area[0] >= 0 and area[2] <= width + 0.5 and area[1] >= 0 and area[3] <= height):
                yield say("{words!r} runs off the paper", words=item.words[:40])
            if inside:
                continue
            texts.append((item, area))
            if item.font != SYMBOL_FONT:
                yield from _legible(item)
        else:
            hidden |= {each.words[:40] for each, area in texts if _covers(item, area)}
            cells += [item] if inside else []
    for words in sorted(hidden):
        yield say("something is painted over {words!r}", words=words)
    for item, area in texts:
        if any(_covers(each, area) for each in cells):
            yield say("{words!r} stands on the cells", words=item.words[:40])
    yield from _colliding([(text, area) for text, area in texts if text.words.strip()])


def _legible(text: Text) -> Iterator[str]:
    """Yield a fault if a text is too pale or too small to be read."""
    if max(text.colour) > LIGHTEST:
        yield say("{words!r} is too pale to be read", words=text.words[:40])
    if text.size_mm < SMALLEST_MM:
        yield say("{words!r} is too small to be read", words=text.words[:40])


def _colliding(texts: Sequence[tuple[Text, Area]]) -> Iterator[str]:
    """Yield a fault if two texts stand so far in each other that neither can be read."""
    if not texts:
        return
    boxes = np.array([area for _, area in texts])
    low, high = boxes[:, :2], boxes[:, 2:]
    shared = np.minimum(high[:, None], high[None]) - np.maximum(low[:, None], low[None])
    size = high - low
    least = np.minimum(size.min(axis=1)[:, None], size.min(axis=1)[None])  # of the heights, as texts are long
    both = (shared > WITHIN * least[..., None]).all(axis=2)
    own = np.array([text.font == SHAPED_FONT for text, _ in texts])
    both &= ~(own[:, None] & own[None] & (low[:, None, 1] == low[None, :, 1]))  # pieces of one line, set by its font
    pairs = np.argwhere(np.triu(both, 1))
    if len(pairs):
        one, other = (texts[int(place)][0].words[:40] for place in pairs[0])
        yield say("{one!r} and {other!r} are printed into each other", one=one, other=other)


def hidden_differences(sheet: Sheet) -> Iterator[str]:
    """Yield a fault if runs or words are hidden by a filled shape, run off the paper, or cannot be read."""
    xs: list[float] = []
    ys: list[float] = []
    hidden = False
    known: set[int] = set()
    for item in _leaves(sheet.root):
        if isinstance(item, Group | Text):
            xs.append(item.x_mm + 0.5)
            ys.append(item.y_mm + 0.1)
            if isinstance(item, Text):
                yield from _legible(item)
            elif id(item.root) not in known:
                known.add(id(item.root))
                inner = (each for each, _, _ in flat(item.root) if isinstance(each, Text))
                yield from (words for text in inner if text.font != SYMBOL_FONT for words in _legible(text))
        elif isinstance(item, Fill):
            across = (np.array(xs) > item.x_mm) & (np.array(xs) < item.x_mm + item.width_mm)
            hidden |= bool((across & (np.array(ys) > item.y_mm) & (np.array(ys) < item.y_mm + item.height_mm)).any())
    if hidden:
        yield say("something is painted over its runs")
    if xs and not (min(xs) > 0 and max(xs) < sheet.width_mm and min(ys) > 0 and max(ys) < sheet.height_mm):
        yield say("a run or a word runs off the paper")


def _leaves(block: Block) -> Iterator[Item]:
    for item in block.items:
        if isinstance(item, Block):
            yield from _leaves(item)
        else:
            yield item


def _in_order(block: Block, x: float, y: float, cells: bool = False) -> Iterator[Placed]:
    """Yield texts and filled areas in the order of painting; the cells of a sheet count as one area."""
    inside = cells or block.tag in _CELLS
    if inside and not cells:
        left, low, width, height = block.values.get("Box", (0.0, 0.0, 0.0, 0.0))
        yield (left, low, left + width, low + height), 0.0, 0.0, True
    for item in block.items:
        yield from _each(item, x, y, inside)


def _each(item: Item, x: float, y: float, inside: bool) -> Iterator[Placed]:
    if isinstance(item, Block):
        yield from _in_order(item, x, y, inside)
    elif isinstance(item, Group):
        yield from _in_order(item.root, x + item.x_mm, y + item.y_mm, inside)
    elif isinstance(item, Text):
        yield item, x, y, inside
    elif isinstance(item, Fill | Picture) and not inside:
        left, low = item.x_mm + x, item.y_mm + y
        yield (left, low, left + item.width_mm, low + item.height_mm), 0.0, 0.0, False


def _area(text: Text, x: float, y: float) -> Area:
    left, low, size = text.x_mm + x, text.y_mm + y, text.size_mm
    if text.font == SYMBOL_FONT:  # set apart, each in its cell
        return left, low, left + text.length_mm - text.pitch_mm + size, low + size
    if text.upright:
        return left, low, left + text.length_mm, low + 0.7 * size
    return left - 0.7 * size, low, left, low + text.length_mm


def _covers(shape: Area, area: Area) -> bool:
    """Return whether a shape hides more than the edge of a text."""
    left, low, right, high = area
    along = min(shape[3], high) - max(shape[1], low)
    if not along > 0.35 * (high - low):  # as of nearly all, so that the rest is not reckoned
        return False
    return min(shape[2], right) - max(shape[0], left) > 0.25 * min(right - left, high - low)
