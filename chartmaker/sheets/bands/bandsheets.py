"""The table of bands as a PDF: the yarn of each band, its rods and where it ends, with each repeat told only once."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import BinaryIO

import numpy as np

from chartmaker.figures.heights import assumed_of
from chartmaker.figures.reckoning import Figures
from chartmaker.ground.language import field, phrase, say, told, told_n
from chartmaker.ground.lengths import both_sizes
from chartmaker.knots.bands import Band, Fold, folded
from chartmaker.paper.drawing import BLACK, GREY, PALE, Book, Sheet, colour_of
from chartmaker.paper.papers import paper_of
from chartmaker.reports.bandlist import BandPlan, band_plan
from chartmaker.reports.lotwords import new_lots
from chartmaker.reports.pileheights import marked
from chartmaker.sheets.chart.frame import Box
from chartmaker.sheets.chart.heads import draw_identity
from chartmaker.sheets.chart.legend import draw_shade

_MARGIN_MM, _LINE_MM, _ROOM_MM = 14.0, 7.0, 182.0
_COLUMNS_MM = (14.0, 30.0, 42.0, 62.0, 122.0, 160.0, 196.0)
#: So many turns of a repeat stand side by side.
_TURNS_A_LINE = 3
#: So many lines of the table stand between head and foot, on the first sheet if nothing is said of lots, and on the
#: others.
_FIRST_LINES, _LINES = 31, 33
CAUTION = phrase(
    "A rod's knife is sharp along its whole length: wear gloves, cut away from the body, and put the guard on before "
    "laying it down. See to good seats, light and breaks; local labour law comes before any number of days."
)


@dataclass(frozen=True)
class _Line:
    """A line of the table: a band with its number, perhaps within a repeat, the head of a repeat, or some of its turns.

    `turns` counts the times that the bands of a repeat come, from 0.
    """

    fold: Fold | None
    band: Band | None = None
    number: int = 0
    inside: bool = False
    turns: range = range(0)


def write_bands_pdf(stream: BinaryIO, figures: Figures, *, font_bytes: bytes | None = None) -> int:
    """Write the table of bands and return the number of its sheets."""
    paper, plan = paper_of("A4"), band_plan(figures)
    title = say("{name}: bands", name=figures.knot_map.rug.name)
    first_lines = _FIRST_LINES - len(figures.issue.changes)
    pages = _pages(list(_lines(folded(plan.banded.bands))), first_lines)
    with Book(stream, title=title, font_bytes=font_bytes) as book:
        for number, lines in enumerate(pages, start=1):
            sheet = book.sheet(paper.width_mm, paper.height_mm, str(number))
            y = _head(sheet, figures, plan, number, len(pages))
            for line in lines:
                y -= _LINE_MM
                _show(sheet, figures, plan, line, y)
            _foot(sheet, plan, last=number == len(pages))
            sheet.done()
        return book.document.pages


def _pages(left: list[_Line], first_lines: int) -> list[list[_Line]]:
    """Return the lines of each sheet, so many on the first; there is one sheet at least."""
    pages: list[list[_Line]] = []
    while left or not pages:
        room = _LINES if pages else first_lines
        pages.append(left[:room])
        left = left[room:]
    return pages


def _lines(folds: tuple[Fold, ...]) -> Iterator[_Line]:
    """Yield the lines of the table, with the bands numbered as they are told."""
    number = 0
    for fold in folds:
        repeats = fold.times > 1
        if repeats:
            yield _Line(fold)
        for band in fold.bands:
            number += 1
            yield _Line(None, band, number, repeats)
        for first in range(0, fold.times if repeats else 0, _TURNS_A_LINE):
            yield _Line(fold, turns=range(first, min(first + _TURNS_A_LINE, fold.times)))


def _head(sheet: Sheet, figures: Figures, plan: BandPlan, number: int, sheets: int) -> float:
    """Set the title, what the weaver needs, and the heads of the columns, and return where the table begins."""
    rug, ground = figures.knot_map.rug, figures.foundation
    y = sheet.height_mm - _MARGIN_MM - 4
    box = Box(_MARGIN_MM, y - 4, _ROOM_MM, 8)
    free_mm = _ROOM_MM - draw_identity(sheet, box, figures.knot_map, number, sheets) - 4
    sheet.text(_MARGIN_MM, y, told("{name}: bands", name=rug.name), 15, bold=True, most_mm=free_mm, tag="heading")
    if number == 1:
        assumed = assumed_of("", rug, figures.workshop)
        rods, finished = (
            told("{mm} mm", mm=field(name, ", ".join(f"{mm:.4g}" for mm in sorted(heights))))
            for name, heights in (
                ("height", {yarn.cut_mm for yarn in figures.pile.yarns}),
                ("finished", {yarn.pile_mm for yarn in figures.pile.yarns}),
            )
        )
        words = (
            told(
                "{size} finished; on the loom {loom}",
                size=both_sizes(rug.woven_width_mm, rug.woven_length_mm),
                loom=both_sizes(ground.loom_width_mm, ground.loom_length_mm),
            ),
            told(
                "{ends:,} ends, {selvedge:,} of them selvedge, in a reed of {reed:g} ends on 2 inches",
                ends=ground.warp_ends,
                selvedge=figures.workshop.loom.selvedge_ends,
                reed=ground.reed,
            ),
            told(
                "{rods:,} rods {height} high, {per_dm:.1f} on 10 cm; {pile}",
                rods=rug.rows,
                height=marked(rods, assumed.cut, "assumed_cut"),
                per_dm=ground.rows_per_dm,
                pile=say("left in loops") if figures.workshop.pile.loops else say("cut along the rod"),
            ),
            told_n(
                "pile of {n} strand: {counts}; finished {finished}; weft passes after each rod: {picks}",
                "pile of {n} strands together: {counts}; finished {finished}; weft passes after each rod: {picks}",
                figures.workshop.pile.strands,
                counts=_counts(figures),
                finished=marked(finished, assumed.finished, "assumed_pile"),
                picks=figures.workshop.loom.picks,
            ),
            *(lot.words for lot in new_lots(figures)),
        )
        for part in words:
            y -= 5.0
            sheet.text(_MARGIN_MM, y, part, 8.5, most_mm=_ROOM_MM, tag="fact")
    y -= 8
    if plan.columns:
        heads = (say("no."), "", say("yarn"), say("name"), say("ends"), say("from, to end"), say("reaches"))
    else:
        heads = (say("no."), "", say("yarn"), say("name"), say("rods"), say("from, to rod"), say("reaches"))
    for x, head in zip(_COLUMNS_MM, heads, strict=True):
        sheet.text(x, y, head, 7.5, bold=True, align="right" if x > 100 else "left")
    sheet.line(_MARGIN_MM, y - 1.5, sheet.width_mm - _MARGIN_MM, y - 1.5, 0.3)
    return y - 1.5


def _counts(figures: Figures) -> str:
    """Return the count of the pile yarn, or each count with the codes of its yarns where they differ."""
    codes: dict[str, list[str]] = {}
    for line in figures.pile.yarns:
        codes.setdefault(line.count.notation, []).append(line.yarn.code)
    if len(codes) == 1:
        return next(iter(codes))
    return ", ".join(f"{count} ({', '.join(each)})" for count, each in codes.items())


def _show(sheet: Sheet, figures: Figures, plan: BandPlan, line: _Line, y: float) -> None:
    """Set a line of the table."""
    if line.fold is not None:
        if line.turns:
            _show_turns(sheet, plan, line.fold, line.turns, y)
        else:
            _show_repeat(sheet, plan, line.fold, y)
        return
    band = line.band
    assert band is not None
    yarn = figures.knot_map.yarns[band.yarn]
    base = y + 2
    if line.inside:
        sheet.line(_MARGIN_MM - 2, y, _MARGIN_MM - 2, y + _LINE_MM, 0.6)
    else:
        sheet.box(_MARGIN_MM + 8, base - 0.6, 3.2, 3.2, edge=GREY)
    with sheet.tagged("band"):
        sheet.text(_COLUMNS_MM[0], base, field("number", line.number), 9)
        sheet.box(_COLUMNS_MM[1], y + 1, 9, _LINE_MM - 2, fill=colour_of(yarn.srgb), edge=BLACK)
        sheet.text(_COLUMNS_MM[2], base, yarn.code, 10, bold=True, tag="code")
        sheet.text(_COLUMNS_MM[3], base + 1.3, field("name", yarn.name), 8, most_mm=46)
        draw_shade(sheet, _COLUMNS_MM[3], base - 1.3, figures.knot_map.yarns, band.yarn, 6.5, 46)
        sheet.text(_COLUMNS_MM[4], base, str(band.lines), 12, bold=True, align="right", tag="lines")
        reach = told("{first:,} to {last:,}", first=band.first + 1, last=band.end)
        sheet.text(_COLUMNS_MM[5], base, reach, 9, align="right")
        sheet.text(_COLUMNS_MM[6], base, _cm(band.end * plan.line_mm), 9, align="right")
    sheet.line(_MARGIN_MM, y, sheet.width_mm - _MARGIN_MM, y, 0.1, colour=PALE)


def _show_repeat(sheet: Sheet, plan: BandPlan, fold: Fold, y: float) -> None:
    """Set the head of a repeat: how many bands, how many times, and how far they reach."""
    number, base = len(fold.bands), y + 2
    with sheet.tagged("band-repeat"):
        x = _MARGIN_MM + sheet.text(_MARGIN_MM, base, say("the next"), 9, bold=True) + 1.5
        x += sheet.text(x, base, str(number), 11, bold=True, tag="bands") + 1.2
        x += sheet.text(x, base, say("bands,"), 9, bold=True) + 1.5
        x += sheet.text(x, base, str(fold.times), 11, bold=True, tag="times") + 1.2
        sheet.text(x, base, say("times in all"), 9, bold=True)
        sheet.text(_COLUMNS_MM[5], base, told("up to {last:,}", last=fold.end), 9, align="right")
        sheet.text(_COLUMNS_MM[6], base, _cm(fold.end * plan.line_mm), 9, align="right")
    sheet.line(_MARGIN_MM - 2, y, _MARGIN_MM - 2, y + _LINE_MM, 0.6)


def _show_turns(sheet: Sheet, plan: BandPlan, fold: Fold, turns: range, y: float) -> None:
    """Set some turns of a repeat, each with a box to tick, its first and last line, and how far it reaches."""
    base, wide = y + 2, _ROOM_MM / _TURNS_A_LINE
    for place, turn in enumerate(turns):
        x = _MARGIN_MM + place * wide
        words = told(
            "turn {turn:,}: {first:,} to {last:,}, up to {reached}",
            turn=turn + 1,
            first=fold.first + turn * fold.lines + 1,
            last=fold.first + (turn + 1) * fold.lines,
            reached=_cm((fold.first + (turn + 1) * fold.lines) * plan.line_mm),
        )
        sheet.box(x, base - 0.6, 3.2, 3.2, edge=GREY)
        sheet.text(x + 4.6, base, words, 8.5, most_mm=wide - 6, tag="band-turn")
    sheet.line(_MARGIN_MM - 2, y, _MARGIN_MM - 2, y + _LINE_MM, 0.6)


def _cm(length_mm: float) -> str:
    return told("{cm:.1f} cm", cm=length_mm / 10)


def _foot(sheet: Sheet, plan: BandPlan, *, last: bool) -> None:
    """Set how the table is read, what lies on the bands, and the cautions."""
    if plan.columns:
        way = say(
            "From left to right, seen from the pile side. Widths are those on the loom, from the left edge. The "
            "numbers beside the bands of a repeat are those of its first turn; all its turns stand below them."
        )
    else:
        way = say(
            "Band 1 is woven first, at the rug's foot. Lengths are those on the loom, from the first rod. The numbers "
            "beside the bands of a repeat are those of its first turn; all its turns stand below them."
        )
    words = [way]
    free = plan.banded.free_lines
    if last and free.any():
        first, end = (int(each) for each in (np.flatnonzero(free)[0], np.flatnonzero(free)[-1]))
        words.append(
            say(
                "Lines {first:,} to {last:,} carry a free pattern: weave them in the yarn of their band, and tuft the "
                "pattern in afterwards, by pattern.pdf.",
                first=first + 1,
                last=end + 1,
            )
        )
    words.append(say(CAUTION))
    y = 26.0
    for paragraph in words:
        for part in sheet.wrapped(paragraph, 7.0, _ROOM_MM):
            sheet.text(_MARGIN_MM, y, part, 7.0)
            y -= 3.2
