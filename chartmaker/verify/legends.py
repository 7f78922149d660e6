"""Legends, which say what symbol and colour stand for which yarn and how many knots of it there are."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from chartmaker.ground.colourwords import WORDS, words_apart
from chartmaker.ground.language import say
from chartmaker.readback.printed import Block, Fill, Text, flat, stands_out
from chartmaker.verify.expected import Expected
from chartmaker.verify.fields import near, same_name, whole

#: Rounding may shift a printed colour by this much, out of 255.
MOST_OFF = 2
#: A swatch stands at most this many of its own widths before its code.
MOST_BEFORE = 3.0
SYMBOL_FONT = "S"
#: A symbol takes at least this share of the height of its swatch or its cell.
SMALLEST_SHARE = 0.4

#: The word for a colour as it is printed, with the numbers that say the same in every language.
Shade = tuple[str, tuple[int, ...]]


@dataclass(frozen=True, slots=True)
class Entry:
    """A line of a legend as it is printed; `glyph` is 0 where the swatch has no symbol.

    `shade` is the word for the colour with the numbers that say the same in every language.
    """

    colour: tuple[float, ...]
    glyph: int
    code: str
    name: str | None
    knots: str
    share: str | None
    grams: str | None
    shade: Shade | None = None
    height: tuple[str, ...] = ()


def entries_of(spans: Iterable[Block]) -> list[Entry]:
    """Return the entries of some legend spans, each a swatch with the words that stand beside it.

    Raises
    ------
    ValueError
        If swatches, codes, names and figures do not stand beside each other one to one.
    """
    entries: list[Entry] = []
    for span in spans:
        boxes, symbols = _swatches(span)
        columns = {tag: [text for block in span.find(tag) for text in block.texts()] for tag in ("code", "knots")}
        columns |= {tag: [_whole(block) for block in span.find(tag)] for tag in ("name", "share", "grams")}
        number = len(boxes)
        full: dict[str, Sequence[Text | None]] = {tag: texts or [None] * number for tag, texts in columns.items()}
        if any(len(texts) != number for texts in full.values()) or not columns["code"] or not columns["knots"]:
            raise ValueError(say("the legend does not have one code and one figure for each swatch"))
        for place, (fill, x, y) in enumerate(boxes):
            texts = [full[tag][place] for tag in ("code", "name", "knots", "share", "grams")]
            _beside(fill, x, y, texts, span_end(boxes, place))
            code, name, knots, share, grams = (None if text is None else text.words for text in texts)
            said = (code or "", name, knots or "", share, grams)
            entries.append(
                Entry(fill.colour or (), symbols.get(place, 0), *said, *_shade_and_height(span, boxes, place))
            )
    return entries


def _shade_and_height(
    span: Block, boxes: Sequence[tuple[Fill, float, float]], place: int
) -> tuple[Shade | None, tuple[str, ...]]:
    """Return the word for the colour and the heights of the pile that stand on the line of a swatch, if any do."""
    fill, x, y = boxes[place]
    middle, end = y + fill.height_mm / 2, span_end(boxes, place)
    shade: Shade | None = None
    height: tuple[str, ...] = ()
    for block in (each for tag in ("shade", "height") for each in span.find(tag)):
        first = next(block.texts())
        if x < first.x_mm < end and abs(first.y_mm + 0.365 * first.size_mm - middle) < fill.height_mm / 2:
            if block.tag == "shade":
                shade = _shade(block)
            else:
                height = tuple(words[0] for words in block.fields().values())
    return shade, height


def _shade(block: Block) -> Shade:
    return block.words, tuple(round(value) for value in block.values.get("Word", ()))


def shade_of(block: Block) -> Shade | None:
    """Return the word for a colour that stands within a block, if it has just one."""
    found = [_shade(each) for each in block.find("shade")]
    return found[0] if len(found) == 1 else None


def _whole(block: Block) -> Text:
    """Return one text for words that may be set in several pieces."""
    texts = list(block.texts())
    length = texts[-1].x_mm + texts[-1].length_mm - texts[0].x_mm
    return replace(texts[0], words=block.words, length_mm=length)


def _swatches(span: Block) -> tuple[list[tuple[Fill, float, float]], dict[int, int]]:
    """Return the boxes with their lower left corners, and the glyph in each that has one."""
    boxes: list[tuple[Fill, float, float]] = []
    symbols: dict[int, int] = {}
    for item, dx, dy in flat(span):
        if isinstance(item, Fill):
            boxes.append((item, item.x_mm + dx, item.y_mm + dy))
        elif isinstance(item, Text) and item.font == SYMBOL_FONT:
            fill, x, y = boxes[-1] if boxes else (None, 0.0, 0.0)
            middle = item.x_mm + dx + item.size_mm / 2, item.y_mm + dy + item.size_mm / 2
            if fill is None or not (x < middle[0] < x + fill.width_mm and y < middle[1] < y + fill.height_mm):
                raise ValueError(say("a symbol of the legend does not stand in its swatch"))
            if len(boxes) - 1 in symbols or len(item.glyphs) != 2:
                raise ValueError(say("a swatch of the legend bears several symbols"))
            if not is_seen(item, fill, (dx - x + fill.x_mm, dy - y + fill.y_mm)):
                raise ValueError(say("a symbol of the legend is not seen in its swatch"))
            symbols[len(boxes) - 1] = int.from_bytes(item.glyphs, "big")
    return boxes, symbols


def is_seen(symbol: Text, swatch: Fill, moved: tuple[float, float] = (0.0, 0.0)) -> bool:
    """Return whether a symbol, `moved` so far, is large enough in its swatch, within it, and of another lightness."""
    x, y = (symbol.x_mm + moved[0] - swatch.x_mm, symbol.y_mm + moved[1] - swatch.y_mm)
    inside = 0 < x + symbol.size_mm / 2 < swatch.width_mm and 0 < y + symbol.size_mm / 2 < swatch.height_mm
    large = symbol.size_mm >= SMALLEST_SHARE * swatch.height_mm
    return inside and large and stands_out(symbol.colour, swatch.colour or (1.0,))


def span_end(boxes: Sequence[tuple[Fill, float, float]], place: int) -> float:
    """Return where the next swatch on the line of swatch `place` begins."""
    fill, x, y = boxes[place]
    beyond = [other_x for _, other_x, other_y in boxes if abs(other_y - y) < fill.height_mm / 2 and other_x > x]
    return min(beyond, default=float("inf"))


def _beside(fill: Fill, x: float, y: float, texts: Sequence[Text | None], end_mm: float) -> None:
    """Refuse words that do not stand in order on the line of their swatch and before the next swatch."""
    at = x + fill.width_mm
    middle = y + fill.height_mm / 2
    for number, text in enumerate(texts):
        if text is None:
            continue
        near = number > 0 or text.x_mm - at < MOST_BEFORE * fill.width_mm
        if text.x_mm < at - 0.3 or not near or abs(text.y_mm + 0.365 * text.size_mm - middle) > fill.height_mm / 2:
            raise ValueError(say("{words!r} of the legend does not stand beside its swatch", words=text.words))
        at = text.x_mm + text.length_mm
    if at > end_mm + 0.3:
        raise ValueError(say("words of the legend run into the next swatch"))


def legend_differences(
    entries: Sequence[Entry],
    wanted: Mapping[int, int],
    expected: Expected,
    glyphs: Mapping[int, int] | None,
    *,
    heights: bool = True,
) -> Iterator[str]:
    """Yield how a legend differs from the knots `wanted` of each yarn, by the yarn's place in the map.

    `glyphs` are the symbols that the yarns have elsewhere in the chart, or None where there is nothing to compare with.
    `heights` says whether the legend must tell the heights of the pile where they are not the same for all yarns.
    """
    by_code = {yarn.code: index for index, yarn in enumerate(expected.yarns)}
    left = dict(wanted)
    marks = expected.chart.marks
    for entry in entries:
        index = by_code.get(entry.code)
        if index is None or index not in left:
            yield say("the legend has {code!r}, which does not belong in it or is there twice", code=entry.code)
            continue
        knots, yarn = left.pop(index), expected.yarns[index]
        if whole(entry.knots) != knots:
            said = {"code": entry.code, "printed": entry.knots, "knots": f"{knots:,}"}
            yield say("the legend gives {code} {printed!r} knots, not {knots}", **said)
        if entry.name is not None and not same_name(entry.name, yarn.name):
            yield say("the legend calls {code} {printed!r}", code=entry.code, printed=entry.name)
        yield from _told_of(entry, index, expected, heights)
        if marks != "symbol" and not is_colour(entry.colour, yarn.srgb):
            yield say("the swatch of {code} in the legend has another colour", code=entry.code)
        if (entry.glyph > 0) != (marks != "colour") or (glyphs is not None and glyphs.get(index, 0) != entry.glyph):
            yield say("the swatch of {code} in the legend bears another symbol", code=entry.code)
        elif entry.glyph and not _own(entry.glyph, index, expected):
            words = "the swatch of {code} in the legend bears symbol {printed}, and the yarn's own is {symbol}"
            yield say(words, code=entry.code, printed=entry.glyph, symbol=yarn.symbol)
    for index in left:
        yield say("the legend lacks {code}", code=expected.yarns[index].code)


def _told_of(entry: Entry, index: int, expected: Expected, must: bool) -> Iterator[str]:
    """Yield how the word for a yarn's colour or the heights of its pile differ from what they should be."""
    yield from shade_differences(entry.shade, index, expected)
    heights = expected.heights_mm[index] if len(set(expected.heights_mm)) > 1 else ()
    if not entry.height and not (must and heights):
        return
    right = [near(words, height, 1e-3 * height) for words, height in zip(entry.height, heights, strict=False)]
    if len(entry.height) != len(heights) or not all(right):
        printed = ", ".join(entry.height)
        yield say(
            "the legend gives the pile of {code} other heights than its own: {printed}",
            code=entry.code,
            printed=printed,
        )


def shade_differences(shade: Shade | None, index: int, expected: Expected) -> Iterator[str]:
    """Yield a fault if the word for a yarn's colour is not the one that tells it from the rug's other yarns.

    In a language other than English, the numbers that the word is tagged with are judged alone.
    """
    printed, numbers = shade or ("", ())
    due = words_apart(tuple(yarn.lab for yarn in expected.yarns))[index]
    in_english = printed.partition(",")[0].rstrip("0123456789 ") in WORDS
    if not printed.strip() or numbers != due.numbers or (in_english and printed != due.english):
        yield say("the colour of {code} is called {printed!r}", code=expected.yarns[index].code, printed=printed)


def _own(glyph: int, index: int, expected: Expected) -> bool:
    """Return whether a yarn has its own symbol, if it has one that no yarn before it in the map has."""
    symbol = expected.yarns[index].symbol
    return symbol is None or glyph == symbol or any(each.symbol == symbol for each in expected.yarns[:index])


def is_colour(printed: tuple[float, ...], srgb: tuple[int, int, int]) -> bool:
    shown = printed * 3 if len(printed) == 1 else printed
    return len(shown) == 3 and bool(np.abs(np.array(shown) * 255 - np.array(srgb)).max() <= MOST_OFF)


def glyphs_of(entries: Sequence[Entry], expected: Expected) -> dict[int, int]:
    """Return the symbol of each yarn as the legend shows it, by the yarn's place in the map.

    Raises
    ------
    ValueError
        If two yarns bear the same symbol.
    """
    by_code = {yarn.code: index for index, yarn in enumerate(expected.yarns)}
    glyphs = {by_code[entry.code]: entry.glyph for entry in entries if entry.code in by_code and entry.glyph}
    if len(set(glyphs.values())) != len(glyphs):
        raise ValueError(say("two yarns bear the same symbol in the legend"))
    return glyphs
