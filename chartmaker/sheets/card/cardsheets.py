"""The yarn card as a PDF to hang in the yarn store, with the symbol of each yarn and a ring to tie a tuft of it to."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import BinaryIO

from chartmaker.ground.colourwords import colour_words
from chartmaker.ground.language import say, told
from chartmaker.paper.drawing import GREY, PALE, Book, Sheet
from chartmaker.paper.papers import Paper, paper_of
from chartmaker.paper.symbols.table import INK
from chartmaker.sheets.chart.cells import Palette, palette_of
from chartmaker.sheets.chart.legend import base_line, draw_swatch, draw_symbol
from chartmaker.yarns.yarn import Yarn

#: The height of a line of the card, its columns on a sheet, the height of the head, and the ring to tie a tuft to.
LINE_MM, COLUMNS, HEAD_MM, TUFT_MM = 9.0, 2, 18.0, 6.0
#: The room of a symbol in the table of all symbols, with its number below it.
PLACE_MM, SYMBOL_MM = 12.0, 6.0


def write_card_pdf(stream: BinaryIO, yarns: tuple[Yarn, ...], title: str, *, font_bytes: bytes | None = None) -> int:
    """Write the card as a PDF and return the number of its sheets.

    Parameters
    ----------
    stream : binary file object
    yarns : tuple of Yarn
        The yarns in the order of the card. Those without a symbol of their own are given one in each rug.
    title : str
        What the card is called.
    font_bytes : bytes, optional
        The font file for letters that the built-in font lacks.

    Raises
    ------
    SheetError
        If a letter is in no font.
    """
    paper = paper_of("A4")
    free = paper.height_mm - 2 * paper.margin_mm - HEAD_MM
    a_sheet = int(free / LINE_MM) * COLUMNS
    across = int((paper.width_mm - 2 * paper.margin_mm) / PLACE_MM)
    of_table = across * int(free / PLACE_MM)
    sheets = -(-len(yarns) // a_sheet) + -(-len(INK) // of_table)
    with Book(stream, title=say("{card}: yarns with their symbols", card=title), font_bytes=font_bytes) as book:
        book.use_symbols(range(1, len(INK) + 1))
        number, words = 0, say("Yarns with their symbols")
        symbols = [yarn.symbol for yarn in yarns if yarn.symbol is not None]
        if len(set(symbols)) < len(symbols):
            words = say(
                "Yarns with their symbols. Of two with one symbol in a rug, the second gets another: see its chart."
            )
        for start in range(0, len(yarns), a_sheet):
            number += 1
            sheet = _begin(book, paper, title, words, number, sheets)
            _draw_yarns(sheet, paper, yarns[start : start + a_sheet])
            sheet.done()
        for start in range(1, len(INK) + 1, of_table):
            number += 1
            words = say("All symbols by number, for the column symbol of the card")
            sheet = _begin(book, paper, title, words, number, sheets)
            _draw_table(sheet, paper, range(start, min(start + of_table, len(INK) + 1)), across)
            sheet.done()
    return sheets


def _begin(book: Book, paper: Paper, title: str, words: str, number: int, sheets: int) -> Sheet:
    sheet = book.sheet(paper.width_mm, paper.height_mm, str(number), outline=[(0, words)])
    left, right, top = paper.margin_mm, paper.width_mm - paper.margin_mm, paper.height_mm - paper.margin_mm
    sheet.text(left, top - 5, title, 14, bold=True, most_mm=right - left - 32)
    where = told("sheet {sheet} of {sheets}", sheet=number, sheets=sheets)
    sheet.text(right, top - 5, where, 7, colour=GREY, align="right")
    sheet.text(left, top - 11, words, 9, colour=GREY)
    sheet.line(left, top - 13.5, right, top - 13.5, 0.3)
    return sheet


def _palettes(yarns: Sequence[Yarn]) -> Iterator[tuple[Yarn, Palette]]:
    """Yield each yarn with how its cell is printed, since a card may hold more yarns than a map."""
    for yarn in yarns:
        yield yarn, palette_of((yarn,), "both" if yarn.symbol is not None else "colour")


def _draw_yarns(sheet: Sheet, paper: Paper, yarns: tuple[Yarn, ...]) -> None:
    """Draw the yarns in two columns, each with its cell, ring and code, and its name above its colour and symbol."""
    rows = -(-len(yarns) // COLUMNS)
    width = (paper.width_mm - 2 * paper.margin_mm) / COLUMNS
    shades = colour_words([yarn.lab for yarn in yarns])
    for place, (yarn, palette) in enumerate(_palettes(yarns)):
        column, row = divmod(place, rows)
        x = paper.margin_mm + column * width
        middle = paper.height_mm - paper.margin_mm - HEAD_MM - (row + 0.5) * LINE_MM
        draw_swatch(sheet, x, middle - 3, 6, 0, palette, key=yarn.code)
        sheet.ring(x + 8 + TUFT_MM / 2, middle, TUFT_MM / 2, colour=GREY)
        sheet.text(x + 16, base_line(middle, 9), yarn.code, 9, bold=True)
        sheet.text(x + 33, base_line(middle + 1.6, 8.5), yarn.name, 8.5, most_mm=width - 37)
        number = "" if yarn.symbol is None else told("symbol {symbol}", symbol=yarn.symbol)
        under = told("{shade}, {number}", shade=shades[place], number=number) if number else shades[place]
        sheet.text(x + 33, base_line(middle - 2, 6.5), under, 6.5, most_mm=width - 37)
        sheet.line(x, middle - LINE_MM / 2, x + width - 4, middle - LINE_MM / 2, 0.06, colour=PALE)


def _draw_table(sheet: Sheet, paper: Paper, glyphs: range, across: int) -> None:
    for place, glyph in enumerate(glyphs):
        row, column = divmod(place, across)
        x = paper.margin_mm + column * PLACE_MM
        y = paper.height_mm - paper.margin_mm - HEAD_MM - (row + 1) * PLACE_MM
        draw_symbol(sheet, x + 1, y + 4, SYMBOL_MM, glyph)
        sheet.text(x + 1 + SYMBOL_MM / 2, y + 1, str(glyph), 6.5, align="centre")
