"""The operators of a PDF's content streams, a small function each, called as ISO 32000-1 (annex A) describes them.

Whatever is drawn is put together from these, so that no drawing code spells an operator or places its operands.
Numbers are rounded to a thousandth, which is a micrometre mostly. Where many of them add up, as the cells of a sheet
do, more digits are kept, and the function says so.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import NewType, cast

from chartmaker.ground import tags

#: One operator with its operands, or several in a row.
Operator = NewType("Operator", str)

#: Red, green, blue, 0..1.
Colour = tuple[float, float, float]


@lru_cache(maxsize=16_384)  # what stands on a sheet stands in few columns, few lines
def number(value: float) -> str:
    """Return `value` with three decimals at most, as short as can be."""
    return f"{round(value, 3):g}"


def line(*operators: Operator) -> Operator:
    """Return operators in a row as one."""
    return Operator(" ".join(operators))


def lines(operators: Iterable[Operator]) -> Operator:
    """Return operators as one, each on a line of its own."""
    return Operator("\n".join(operators))


# The graphics state: kept and restored, moved and scaled.

SAVE, RESTORE = Operator("q"), Operator("Q")


def moved(x: float, y: float) -> Operator:
    """Move the origin."""
    return Operator(f"1 0 0 1 {number(x)} {number(y)} cm")


def scaled(scale_x: float, scale_y: float, x: float, y: float) -> Operator:
    """Scale to five digits about the origin, which is moved to (x, y)."""
    return Operator(f"{scale_x:.5g} 0 0 {scale_y:.5g} {number(x)} {number(y)} cm")


def cell_unit(width: float, height: float, x: float, y: float) -> Operator:
    """Make a cell one unit wide and one high from (x, y); to six digits, since hundreds of cells add up."""
    return Operator(f"{width:.6g} 0 0 {height:.6g} {x:.6g} {y:.6g} cm")


def unit(scale: float) -> Operator:
    """Reckon in another unit than points from here on; to six decimals, since every other length depends on it."""
    return Operator(f"{scale:.6f} 0 0 {scale:.6f} 0 0 cm")


def drawn(name: str) -> Operator:
    """Draw a form or a picture."""
    return Operator(f"/{name} Do")


# Colours and pens.


def fill_colour(colour: Colour) -> Operator:
    """Fill, and write, in this colour from here on; equal parts are a grey."""
    red, green, blue = colour
    if red == green == blue:
        return Operator(f"{number(red)} g")
    return fill_rgb(colour)


def fill_rgb(colour: Colour) -> Operator:
    """Fill in this colour, grey or not, as red, green and blue."""
    red, green, blue = colour
    return Operator(f"{number(red)} {number(green)} {number(blue)} rg")


def stroke_colour(colour: Colour) -> Operator:
    """Draw lines in this colour from here on."""
    red, green, blue = colour
    if red == green == blue:
        return Operator(f"{number(red)} G")
    return Operator(f"{number(red)} {number(green)} {number(blue)} RG")


def line_width(width: float) -> Operator:
    """Draw lines of this width from here on."""
    return Operator(f"{number(width)} w")


def dashes(lengths: Sequence[float]) -> Operator:
    """Draw lines in dashes and gaps of these lengths from here on; whole if there are none."""
    return Operator(f"[{' '.join(map(number, lengths))}] 0 d")


#: Let lines end in a square beyond their ends, so that corners are closed.
SQUARE_ENDS = Operator("2 J")

# Paths, and what becomes of them.

STROKE, FILL, FILL_AND_STROKE, DROP = Operator("S"), Operator("f"), Operator("B"), Operator("n")
#: Close the path's last part; fill what is inside an odd number of its parts, so that holes stay open.
CLOSE, FILL_EVEN_ODD = Operator("h"), Operator("f*")
#: Show nothing beyond the path from here on, until the graphics state is restored.
CLIP = Operator("W n")
#: Let lines end, and meet, in half a disc.
ROUND_ENDS = Operator("1 J 1 j")


def segments(ends: Iterable[tuple[float, float, float, float]]) -> Operator:
    """Add straight lines to the path, each (x1, y1, x2, y2)."""
    return Operator(" ".join([f"{number(x1)} {number(y1)} m {number(x2)} {number(y2)} l" for x1, y1, x2, y2 in ends]))


def outline(points: Sequence[tuple[float, float]]) -> Operator:
    """Add a polygon to the path; filling closes it."""
    return Operator(" ".join([f"{number(x)} {number(y)} {'l' if i else 'm'}" for i, (x, y) in enumerate(points)]))


def rectangle(x: float, y: float, width: float, height: float) -> Operator:
    """Add a rectangle to the path."""
    return Operator(f"{number(x)} {number(y)} {number(width)} {number(height)} re")


def cell_rectangles(
    lefts: Iterable[int], bottoms: Iterable[int], widths: Iterable[int], heights: Iterable[int]
) -> list[Operator]:
    """Add rectangles of whole cells to the path."""
    every = zip(lefts, bottoms, widths, heights, strict=True)
    return cast("list[Operator]", [f"{left} {low} {width} {height} re" for left, low, width, height in every])


# Text objects.

BEGIN_TEXT, END_TEXT = Operator("BT"), Operator("ET")


def text_moved(x: float, y: float) -> Operator:
    """Begin a line of text at (x, y) from the beginning of the one before."""
    return Operator(f"{number(x)} {number(y)} Td")


def text_moved_finely(x: float, y: float) -> Operator:
    """Begin a line of text at (x, y), to six digits, for text that goes on for hundreds of lines."""
    return Operator(f"{x:.6g} {y:.6g} Td")


def text_moved_by_hundredths(x: int, y: int, shown: Operator) -> Operator:
    """Show a line of text (x, y) hundredths away from the one before: whole steps, so that they do not drift."""
    return Operator(f"{x / 100:g} {y / 100:g} Td {shown}")


def text_upward(x: float, y: float) -> Operator:
    """Begin a line of text at (x, y), turned a quarter to the left."""
    return Operator(f"0 1 -1 0 {number(x)} {number(y)} Tm")


def font(key: str, size: float, digits: int = 4) -> Operator:
    """Write in a font from here on, its size rounded to some digits."""
    return Operator(f"/{key} {size:.{digits}g} Tf")


def letter_spacing(width: float) -> Operator:
    """Set letters further apart from here on, also in later text objects."""
    return Operator(f"{width:.5g} Tc")


def line_pitch(height: float) -> Operator:
    """Let a next line begin so far below, to six digits, since hundreds of lines add up."""
    return Operator(f"{height:.6g} TL")


def squeezed(percent: float) -> Operator:
    """Write narrower from here on; 100 is as wide as usual."""
    return Operator(f"{percent:.4g} Tz")


def lifted(height: float) -> Operator:
    """Write above the base line from here on."""
    return Operator(f"{height:.4g} Ts")


def glyph_string(glyphs: Iterable[int]) -> str:
    """Return glyphs of a font with two-byte numbers as the operand of an operator that shows them."""
    return f"<{''.join([f'{glyph:04x}' for glyph in glyphs])}>"


def shown(string: str) -> Operator:
    """Show a string of glyphs."""
    return Operator(f"{string} Tj")


def shown_shifted(strings: str) -> Operator:
    """Show strings of glyphs with shifts between them, in thousandths of an em to the left."""
    return Operator(f"[{strings}] TJ")


def next_lines_shown(lines_of_glyphs: Iterable[bytes]) -> list[Operator]:
    """Show glyphs, two bytes each, on the next line and the lines after it."""
    return cast("list[Operator]", [f"<{glyphs.hex()}> '" for glyphs in lines_of_glyphs])


# Marked content: spans that readers find by meaning.

END_SPAN = Operator(tags.CLOSING)


def span(tag: str, values: tags.Values | None = None) -> Operator:
    """Begin a span of what `ground.tags` calls by this name."""
    return Operator(tags.opening(tag, values))


def meant(text: str) -> Operator:
    """Begin a span that readers are to take for `text` (ISO 32000-1, 14.9.4)."""
    return Operator(f"/Span <</ActualText <feff{text.encode('utf-16-be').hex()}>>> BDC")
