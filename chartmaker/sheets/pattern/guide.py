"""The tufter's colour guide as a PDF, with the yarn, the amount and the turn of each number on the pattern."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import BinaryIO

import numpy as np

from chartmaker.figures.heights import Assumed, assumed_of, base_heights, is_loop
from chartmaker.figures.pile import YarnPile
from chartmaker.figures.reckoning import Figures
from chartmaker.ground.colourwords import ColourWord, words_apart
from chartmaker.ground.language import field, joined, say, told
from chartmaker.ground.lengths import both_sizes
from chartmaker.ground.rounding import percents
from chartmaker.outlines.lattice import Points
from chartmaker.outlines.tracing import Outlines
from chartmaker.paper import operators as op
from chartmaker.paper.document import POINTS_PER_MM
from chartmaker.paper.drawing import BLACK, GREY, PALE, Book, Sheet, colour_of
from chartmaker.paper.papers import paper_of
from chartmaker.reports.pileheights import marked, origin_words
from chartmaker.reports.settled import settled_lines
from chartmaker.reports.words import whole_grams
from chartmaker.sheets.pattern.drawing import Drawing, turned_over
from chartmaker.sheets.pattern.drawnareas import drawn_more
from chartmaker.techniques.crafts import craft_of

#: In the order of work, a yarn that covers at least this share of the rug counts as a ground.
GROUND_SHARE = 0.25
#: The mass of yarn on a cone (estimate; weigh one of yours).
CONE_G = 1000.0
_HEAD_MM, _MARGIN_MM = 9.0, 14.0
#: The height of the small pictures and that of a line; the closer ways are taken where one sheet then holds all yarns.
_SETTINGS_MM = ((92.0, 13.0), (92.0, 11.5), (70.0, 11.5))
#: What stands at the foot of a sheet takes this height, and the last sheet of several has at least so many lines.
_FOOT_MM, _LEAST_LINES = 43.0, 3
#: The height of the title with the margin above, and the air below the pictures.
_TITLE_MM, _KEY_GAP_MM = 30.0, 6.0
#: The width of a picture and of the gap to the next, and the room for the name of each tufter below it.
_PICTURE_MM, _APART_MM, _NAMES_MM = 86.0, 92.0, 5.0
#: The size and the height of a line of what is to be settled, and how many lines of it there are at most.
_SETTLED_PT, _SETTLED_MM, _MOST_SETTLED = 7.5, 3.5, 24
#: At most so many yarns are named of which the fields take more as they are drawn.
_MOST_MORE = 5
CAUTIONS = (
    "A tufting tool has a needle and a blade that move fast: keep fingers and loose clothes away, take the power or "
    "the air off before threading or cleaning, and wear eye and ear protection.",
    "Latex and its solvents: air the room, wear gloves, keep fire away. Follow the data sheets of tool and latex, "
    "local rules and trained people.",
)


@dataclass(frozen=True)
class GuideLine:
    """A line of the guide: a yarn with its number, what it takes, and its place in the order of work.

    `mass_g` and `percent` are rounded as in every other document of the rug, where they add up.
    """

    number: str
    pile: YarnPile
    mass_g: float
    percent: float
    turn: int
    loop: bool
    assumed: Assumed


def guide_lines(drawing: Drawing, figures: Figures) -> tuple[GuideLine, ...]:
    """Return the lines of the guide in the order of work.

    Small parts are tufted before the ground that closes round them, or after it, as [pattern] ground says. Within both
    groups the rarest yarn comes first, because it has the finest parts.
    """
    asked = figures.workshop.pattern
    by_code = {line.yarn.code: line for line in figures.pile.yarns}
    piles = [by_code[yarn.code] for yarn in drawing.yarns]
    last = asked.ground == "last"
    order = sorted(range(len(piles)), key=lambda i: ((piles[i].share >= GROUND_SHARE) is last, piles[i].share, i))
    codes = [line.yarn.code for line in figures.pile.yarns]
    masses = dict(zip(codes, whole_grams(figures), strict=True))
    shares = dict(zip(codes, percents([line.knots for line in figures.pile.yarns]), strict=True))
    rug, workshop = figures.knot_map.rug, figures.workshop
    return tuple(
        GuideLine(
            *(drawing.number(i), piles[i], masses[code], shares[code], turn),
            *(is_loop(code, rug, workshop), assumed_of(code, rug, workshop)),
        )
        for turn, (i, code) in enumerate(((i, piles[i].yarn.code) for i in order), start=1)
    )


def write_guide_pdf(
    stream: BinaryIO,
    drawing: Drawing,
    figures: Figures,
    settle: Sequence[str] = (),
    *,
    font_bytes: bytes | None = None,
) -> int:
    """Write the colour guide, which begins with what is to be `settle`d, and return the number of its sheets."""
    paper = paper_of("A4")
    lines = guide_lines(drawing, figures)
    area_m2 = float(drawing.outlines.areas_mm2.sum()) / 1e6
    front = drawing.outlines if drawing.side == "front" else turned_over(drawing.outlines)
    with Book(stream, title=say("{name}: colour guide", name=drawing.name), font_bytes=font_bytes) as book:
        height_mm = paper.height_mm - _TITLE_MM - _FOOT_MM - _HEAD_MM
        most_em = (paper.width_mm - 2 * _MARGIN_MM) * POINTS_PER_MM / _SETTLED_PT
        settled = settled_lines(settle, _MOST_SETTLED, lambda words: book.lettering.lines(words, most_em))
        first_mm = height_mm - _settled_mm(settled)
        key_mm, row_mm = next((each for each in _SETTINGS_MM if len(lines) <= _room(first_mm, *each)), _SETTINGS_MM[0])
        rooms = (_room(first_mm, key_mm, row_mm), int(height_mm // row_mm))
        for number, portion in enumerate(_portions(lines, *rooms), start=1):
            sheet = book.sheet(paper.width_mm, paper.height_mm, str(number))
            y = _head(sheet, drawing, area_m2)
            if number == 1:
                _settled(sheet, settled, y)
                y -= _settled_mm(settled)
                for column, (side, outlines) in enumerate((("back", turned_over(front)), ("front", front))):
                    at_mm = _MARGIN_MM + column * _APART_MM, y - key_mm
                    _key(sheet, drawing, figures, outlines, side, at_mm, key_mm)
                y -= key_mm + _KEY_GAP_MM
            _table(sheet, portion, drawing, area_m2, y, row_mm)
            _foot(sheet, lines, drawing, figures)
            sheet.done()
        return book.document.pages


def _room(height_mm: float, key_mm: float, row_mm: float) -> int:
    """Return how many lines stand below the pictures."""
    return int((height_mm - key_mm - _KEY_GAP_MM) // row_mm)


def _portions(lines: tuple[GuideLine, ...], first: int, further: int) -> Iterator[list[GuideLine]]:
    """Yield the lines of each sheet; the last of several takes some of the sheet before rather than one line alone."""
    left, room = list(lines), first
    while left or room == first:
        rest = len(left) - room
        taken = room - (_LEAST_LINES - rest) if 0 < rest < _LEAST_LINES else room
        yield left[:taken]
        del left[:taken]
        room = further


def _head(sheet: Sheet, drawing: Drawing, area_m2: float) -> float:
    y = sheet.height_mm - _MARGIN_MM - 4
    sheet.text(_MARGIN_MM, y, say("{name}: colour guide", name=drawing.name), 15, bold=True, most_mm=180)
    words = told(
        "{size}, {area:.2f} m2 tufted; the numbers are those of the pattern; map {map}",
        size=both_sizes(drawing.width_mm, drawing.height_mm),
        area=area_m2,
        map=drawing.code,
    )
    sheet.text(_MARGIN_MM, y - 6, words, 8.5, most_mm=180, tag="identity")
    return y - 12


def _settled_mm(lines: Sequence[str]) -> float:
    """Return the height of what is to be settled, its title included."""
    return (len(lines) + 1) * _SETTLED_MM + 3 if lines else 0.0


def _settled(sheet: Sheet, lines: Sequence[str], top_mm: float) -> None:
    """Write what is to be settled before anything is tufted."""
    if not lines:
        return
    sheet.text(_MARGIN_MM, top_mm, say("To settle before weaving"), _SETTLED_PT, bold=True, tag="settle")
    for number, words in enumerate(lines, start=1):
        sheet.text(_MARGIN_MM, top_mm - number * _SETTLED_MM, words, _SETTLED_PT, tag="settle")


def _key(
    sheet: Sheet,
    drawing: Drawing,
    figures: Figures,
    outlines: Outlines,
    side: str,
    at_mm: tuple[float, float],
    key_mm: float,
) -> None:
    """Draw the rug small and in colour, with the place of each tufter below it if there are several."""
    x_mm, y_mm = at_mm
    seats = figures.issue.seats
    names_mm = _NAMES_MM if len(seats) > 1 else 0.0
    scale = min(_PICTURE_MM / outlines.width_mm, (key_mm - 6 - names_mm) / outlines.height_mm)
    words = say("from the back, as it is tufted") if side == "back" else say("from the front, as it will lie")
    sheet.text(x_mm, y_mm + key_mm - 3, words, 8, bold=True)
    low = y_mm + key_mm - 6 - outlines.height_mm * scale
    sheet.add(op.SAVE, op.scaled(scale, scale, x_mm, low))
    for label, rings in outlines.rings:
        fill = op.fill_colour(colour_of(drawing.yarns[label].srgb))
        closed = [op.line(op.outline(_coarse(ring, 0.12 / scale)), op.CLOSE) for ring in rings]
        sheet.add(fill, *closed, op.FILL_EVEN_ODD)
    sheet.add(op.RESTORE)
    width_mm = outlines.width_mm * scale
    sheet.box(x_mm, low, width_mm, outlines.height_mm * scale, edge=GREY, edge_mm=0.2)
    if names_mm:
        column_mm, hand = width_mm / figures.knot_map.columns, craft_of(figures.knot_map.rug).words.hand
        for number, seat in enumerate(seats, start=1):
            ends = (seat.start * column_mm, seat.stop * column_mm)
            left, right = ends if side == "front" else (width_mm - ends[1], width_mm - ends[0])
            for edge in (left, right):
                sheet.line(x_mm + edge, low, x_mm + edge, low - names_mm, 0.3)
            name: str = told(hand, number=number)
            if sheet.book.lettering.width(name, bold=True) * 7 / POINTS_PER_MM > right - left - 1:
                name = field("number", number)
            sheet.text(x_mm + (left + right) / 2, low - 3.5, name, 7, bold=True, align="centre", tag="hand")


def _coarse(ring: Points, apart_mm: float) -> list[tuple[float, float]]:
    """Return some points of a ring for a small drawing, along which it goes on by about `apart_mm` between two."""
    along = np.abs(np.diff(ring, axis=0)).sum(axis=1).cumsum() / apart_mm
    kept = ring[:-1][np.diff(along.astype(np.int64), prepend=-1) > 0]
    kept = kept if len(kept) > 2 else ring[:3]
    return list(zip(kept[:, 0].tolist(), kept[:, 1].tolist(), strict=True))


def _shades(drawing: Drawing) -> tuple[ColourWord, ...]:
    """Return the word for each yarn's colour that tells it from the others of the rug."""
    return words_apart(tuple(yarn.lab for yarn in drawing.yarns))


def _table(
    sheet: Sheet, lines: list[GuideLine], drawing: Drawing, area_m2: float, top_mm: float, row_mm: float
) -> None:
    """Set the lines of the guide, each with a swatch and a place to tie a tuft."""
    columns = (14.0, 24.0, 40.0, 76.0, 97.0, 111.0, 122.5, 135.0, 149.0, 191.0)
    heads = (
        say("no."),
        say("colour"),
        say("yarn"),
        say("sample tuft"),
        say("share"),
        say("m2"),
        say("grams"),
        say("strands"),
        say("pile"),
        say("turn"),
    )
    for x, head in zip(columns, heads, strict=True):
        sheet.text(x, top_mm - 5, head, 7.5, bold=True)
    sheet.line(_MARGIN_MM, top_mm - 7, sheet.width_mm - _MARGIN_MM, top_mm - 7, 0.3)
    words = {yarn.code: word.told for yarn, word in zip(drawing.yarns, _shades(drawing), strict=True)}
    y = top_mm - _HEAD_MM
    for line in lines:
        pile = line.pile
        base = y - row_mm / 2 - 1.5
        with sheet.tagged("guide-line"):
            sheet.text(columns[0], base - 0.5, line.number, 14, bold=True, tag="number")
            sheet.box(columns[1], y - row_mm + 1.5, 13, row_mm - 3, fill=colour_of(pile.yarn.srgb), edge=BLACK)
            sheet.text(columns[2], base + 2.8, pile.yarn.code, 10, bold=True, tag="code")
            sheet.text(columns[2], base - 0.6, pile.yarn.name, 7.5, most_mm=35)
            sheet.text(columns[2], base - 3.6, words[pile.yarn.code], 7.5, most_mm=35)
            sheet.box(columns[3], y - row_mm + 1.5, 20, row_mm - 3, edge=GREY)
            sheet.text(columns[4], base, say("{share:.2f} %", share=line.percent), 8.5, tag="share")
            sheet.text(columns[5], base, f"{pile.share * area_m2:.3f}", 8.5)
            sheet.text(columns[6], base + 1.5, f"{line.mass_g:,.0f}", 8.5, bold=True, tag="grams")
            sheet.text(columns[6], base - 2, cones_words(line.mass_g), 6.5, most_mm=columns[7] - columns[6] - 1)
            sheet.text(columns[7], base, str(pile.strands), 8.5)
            _heights(sheet, columns[8], base, line)
            sheet.text(columns[9], base, str(line.turn), 11, bold=True, tag="turn")
        y -= row_mm
        sheet.line(_MARGIN_MM, y, sheet.width_mm - _MARGIN_MM, y, 0.1, colour=PALE)


def _heights(sheet: Sheet, x_mm: float, base_mm: float, line: GuideLine) -> None:
    """Write how high a yarn is tufted, how high it stands in the finished rug, and how its tufts end."""
    pile, room_mm = line.pile, 40.0
    tufted = marked(told("{cut_mm:.4g} mm tufted", cut_mm=pile.cut_mm), line.assumed.cut)
    finished = marked(told("{pile_mm:.4g} mm finished", pile_mm=pile.pile_mm), line.assumed.finished)
    sheet.text(x_mm, base_mm + 2.8, tufted, 8, bold=True, most_mm=room_mm, tag="tufted-height")
    sheet.text(x_mm, base_mm - 0.6, finished, 7.5, most_mm=room_mm, tag="finished-height")
    end, tag = (say("loop"), "loop-pile") if line.loop else (say("cut"), "cut-pile")
    sheet.text(x_mm, base_mm - 3.6, end, 6.5, most_mm=room_mm, tag=tag)


def cones_words(mass_g: float) -> str:
    """Return how many cones hold a mass of yarn, to a tenth; nothing that is tufted takes 0.0 of them."""
    if mass_g < CONE_G / 20:
        return say("<0.1 cones")
    return say("{cones:.1f} cones", cones=mass_g / CONE_G)


def _tool_words(lines: Sequence[GuideLine], figures: Figures) -> str:
    """Return at which height the tool is set: for all yarns, or for all but those that have a height of their own."""
    rug, workshop = figures.knot_map.rug, figures.workshop
    base = told("{height:.4g} mm", height=base_heights(rug, workshop).cut_mm)
    at = marked(base, assumed_of("", rug, workshop).cut)
    others = [line for line in lines if line.pile.cut_mm != base_heights(rug, workshop).cut_mm]
    if not others:
        return say("Tool at {height} for all yarns.", height=at)
    each = ", ".join(
        say("{number} at {height:.4g} mm", number=line.number, height=line.pile.cut_mm)
        for line in sorted(others, key=lambda line: int(line.number))
    )
    return say("Tool at {height}; {each}.", height=at, each=each)


def _area_words(drawing: Drawing, figures: Figures) -> tuple[str, ...]:
    """Return by what shares, areas and grams are counted if the fields as drawn take more of some yarns."""
    more = drawn_more(drawing, figures)
    if not more:
        return ()
    listed = joined(
        "; ", [each.words for each in more[:_MOST_MORE]] + ([say("and others")] if more[_MOST_MORE:] else [])
    )
    words = "Share, m2 and grams are those of the map, tuft by tuft. As drawn, fields take more of number {listed}."
    return (say(words, listed=listed),)


def _foot(sheet: Sheet, lines: Sequence[GuideLine], drawing: Drawing, figures: Figures) -> None:
    words = (
        *_area_words(drawing, figures),
        say(
            "Turn is the order of work: large grounds are tufted {when} ([pattern] ground). Grams include the waste of "
            "[pile] waste; a cone holds {cone:,.0f} g here.",
            when=say("last") if figures.workshop.pattern.ground == "last" else say("first"),
            cone=CONE_G,
        ),
        f"{_tool_words(lines, figures)} "
        f"{origin_words([line.pile.yarn.code for line in lines], figures.knot_map.rug, figures.workshop)}",
        *(say(caution) for caution in CAUTIONS),
    )
    y = _FOOT_MM - 4
    for paragraph in words:
        for part in sheet.wrapped(paragraph, 6.8, sheet.width_mm - 2 * _MARGIN_MM):
            sheet.text(_MARGIN_MM, y, part, 6.8)
            y -= 3.0
