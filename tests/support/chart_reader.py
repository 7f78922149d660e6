"""Reads a chart back from its PDF as a person would: by the numbers, the legend and the words on each sheet.

Nothing of the package is used: where rows and columns lie follows from the printed numbers, what a symbol means from
the printed legend, what a sheet shows from its printed head, how it is turned from the printed sentences.
"""

from __future__ import annotations

import ctypes
import re
from collections import defaultdict
from dataclasses import dataclass, field
from itertools import combinations

import numpy as np
import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_c

MM = 72 / 25.4
EMPTY = None
HEAD = re.compile(r"rows (\d+)–(\d+) · columns (\d+)–(\d+)")
MIRROR_COLUMNS = re.compile(
    r"Columns (\d+)–(\d+)(?:: each row goes on back over this| \(strip \d+(?:, weaver \d+)?\): leave the) sheet"
)
MIRROR_ROWS = re.compile(r"Rows (\d+)–(\d+), on the way back: leave the sheet as it hangs")
LEGEND_OF = re.compile(r"Yarns of sheet (\d+)")
LEGEND_ON = re.compile(r"yarns of this sheet: sheet (\d+)")


@dataclass
class Word:
    text: str
    left: float
    bottom: float
    right: float
    top: float

    @property
    def x(self) -> float:
        return (self.left + self.right) / 2

    @property
    def y(self) -> float:
        return (self.bottom + self.top) / 2


@dataclass
class Sheet:
    """What one sheet says, with positions in points, and rows and columns counted from 1."""

    index: int
    text: str
    rows: range | None = None
    columns: range | None = None
    xs: dict[int, float] = field(default_factory=dict)
    ys: dict[int, float] = field(default_factory=dict)
    pitch: tuple[float, float] = (0.0, 0.0)
    codes: dict[str, str] = field(default_factory=dict)
    knots: dict[str, int] = field(default_factory=dict)
    symbols: dict[tuple[int, int], str] = field(default_factory=dict)
    counts: list[tuple[float, float, str]] = field(default_factory=list)


def is_symbol(letter: str) -> bool:
    return "\ue000" < letter <= "\ue0ff"


def characters(page: pdfium.PdfPage) -> list[tuple[str, float, float, float, float, float, float]]:
    """Return (letter, left, bottom, right, top, origin x, origin y) of each character that lies on the paper."""
    text = page.get_textpage()
    raw, (width, height) = text.raw, page.get_size()
    found = []
    x, y, left, right, bottom, top = (ctypes.c_double() for _ in range(6))
    loose = pdfium_c.FS_RECTF()
    for i in range(text.count_chars()):
        code = pdfium_c.FPDFText_GetUnicode(raw, i)
        assert pdfium_c.FPDFText_GetCharBox(raw, i, left, right, bottom, top)
        assert pdfium_c.FPDFText_GetLooseCharBox(raw, i, loose)
        assert pdfium_c.FPDFText_GetCharOrigin(raw, i, x, y)
        if loose.left < 0 or bottom.value < 0 or loose.right > width or top.value > height:
            continue  # printed beside the paper, where nobody would read it
        found.append((chr(code), loose.left, bottom.value, loose.right, top.value, x.value, y.value))
    return found


def words_of(chars: list[tuple[str, float, float, float, float, float, float]]) -> list[Word]:
    """Group neighbouring letters that stand on one base line into words."""
    words: list[Word] = []
    last = None
    for letter, left, bottom, right, top, x, y in chars:
        if letter.isspace() or is_symbol(letter) or not letter.isprintable():
            last = None
            continue
        gap = (top - bottom) * 0.6
        if last is not None and abs(y - last[1]) < 0.05 and -gap < left - words[-1].right < gap:
            word = words[-1]
            word.text += letter
            word.right, word.top, word.bottom = right, max(top, word.top), min(bottom, word.bottom)
        else:
            words.append(Word(letter, left, bottom, right, top))
        last = (x, y)
    return words


def _lattice(
    words: list[Word], numbers: range, upright: bool, cell: float, between: tuple[float, float]
) -> dict[int, float]:
    """Return where each of `numbers` lies, from labels that are printed twice, at both sides or at both ends."""
    by_value: dict[int, list[Word]] = defaultdict(list)
    for word in words:
        if word.text.isdecimal() and int(word.text) in numbers:
            by_value[int(word.text)].append(word)
    groups: dict[tuple[float, float], dict[int, float]] = {}

    def note(first: float, second: float, value: int, place: float) -> None:
        sides = (min(first, second), max(first, second))
        near = [key for key in groups if max(abs(key[0] - sides[0]), abs(key[1] - sides[1])) < 0.8]
        groups.setdefault(near[0] if near else sides, {})[value] = place

    for value, same in by_value.items():
        for a, b in combinations(same, 2):
            if upright and abs(a.y - b.y) < 0.15:  # row numbers stand flush right on both sides
                note(a.right, b.right, value, a.y)
            elif not upright and abs(a.x - b.x) < 0.15 and min(a.y, b.y) < between[0] and between[1] < max(a.y, b.y):
                note(a.bottom, b.bottom, value, a.x)
    best: dict[int, float] = {}
    for found in groups.values():
        values = np.array(sorted(found))
        places = np.array([found[v] for v in values])
        if len(values) > 1:  # evenly spaced, as far apart as the cell that the cover gives
            slope, start = np.polyfit(values, places, 1)
            if abs(slope / cell - 1) > 0.03 or abs(places - (slope * values + start)).max() > 0.6:
                continue
        if (len(found), max(found.values())) > (len(best), max(best.values(), default=0)):
            best = found
    assert best, (numbers, upright, sorted((w.text, round(w.x), round(w.y)) for w in words if w.text.isdecimal()))
    if len(best) == 1:  # a narrow strip may have room for only one number
        ((value, place),) = best.items()
        return {n: place + (n - value) * cell for n in numbers}
    values = np.array(sorted(best))
    slope, start = np.polyfit(values, [best[v] for v in values], 1)
    return {n: slope * n + start for n in numbers}


def printed_cell(document: pdfium.PdfDocument) -> tuple[float, float]:
    """Return the cell's width and height in points, as the cover gives them."""
    found = re.search(r"Cell\s+([\d.]+) x ([\d.]+) mm", document[0].get_textpage().get_text_range())
    assert found, "the cover does not give the cell"
    return float(found[1]) * MM, float(found[2]) * MM


def read_sheet(document: pdfium.PdfDocument, index: int, cell: tuple[float, float]) -> Sheet:
    """Return what sheet `index` (from 0) says; `cell` is needed where a sheet has only one row or one column."""
    page = document[index]
    text = page.get_textpage().get_text_range()
    sheet = Sheet(index, text)
    chars = characters(page)
    words = words_of(chars)
    head = HEAD.search(text)
    if head and not LEGEND_OF.search(text):
        first_row, last_row, first_column, last_column = map(int, head.groups())
        sheet.rows, sheet.columns = range(first_row, last_row + 1), range(first_column, last_column + 1)
        page_top = page.get_height() - 24.3 * MM  # numbers in the head do not belong to the grid
        body = [word for word in words if word.top < page_top]
        sheet.ys = _lattice(body, sheet.rows, True, cell[1], (0, 0))
        sheet.xs = _lattice(body, sheet.columns, False, cell[0], (min(sheet.ys.values()), max(sheet.ys.values())))
        sheet.pitch = tuple(  # type: ignore[assignment]
            (max(d.values()) - min(d.values())) / (len(d) - 1) if len(d) > 1 else side
            for d, side in zip((sheet.xs, sheet.ys), cell, strict=True)
        )
    _read_symbols(sheet, chars, words)
    return sheet


def _read_symbols(
    sheet: Sheet, chars: list[tuple[str, float, float, float, float, float, float]], words: list[Word]
) -> None:
    width, height = sheet.pitch
    if sheet.rows is not None:
        low, high = min(sheet.ys.values()) - height / 2, max(sheet.ys.values()) + height / 2
        left, right = min(sheet.xs.values()) - width / 2, max(sheet.xs.values()) + width / 2
    for letter, _, _, _, _, x, y in chars:
        if not is_symbol(letter):
            continue
        if sheet.rows is not None and low - 0.05 < y < high and left - 0.05 < x < right:
            row = sheet.rows.start + int((y - low) / height + 1e-3)
            column = sheet.columns.start + int((x - left) / width + 1e-3)  # type: ignore[union-attr]
            assert (row, column) not in sheet.symbols, f"two symbols in row {row}, column {column}"
            sheet.symbols[row, column] = letter
            continue
        beside = [
            w
            for w in words
            if not w.text.isdecimal() and 0 < w.left - x < 8 * MM and w.bottom - 2.6 * MM < y < w.top + 1
        ]
        if beside and (sheet.rows is None or y < low):
            first = min(w.left for w in beside)  # the code, and below it the word for the colour
            name = max((w for w in beside if w.left < first + MM), key=lambda w: w.y)
            assert sheet.codes.get(letter, name.text) == name.text
            sheet.codes[letter] = name.text
            sheet.knots[name.text] = 0
    if sheet.rows is not None:
        for word in words:
            if word.text.strip("«»").isdecimal() and low < word.y < high and left < word.x < right:
                sheet.counts.append((word.x, word.y, word.text))


def raster(document: pdfium.PdfDocument, sheet: Sheet, per_point: float) -> np.ndarray:
    """Return the rendered cells of the sheet by pdfium, shape (height, width, 3), 0..255."""
    page = document[sheet.index]
    left, low, right, high = bounds(sheet)
    crop = (left, low, page.get_width() - right, page.get_height() - high)
    array = page.render(scale=per_point, crop=crop, rev_byteorder=True).to_numpy()
    return np.asarray(array[:, :, :3])


def bounds(sheet: Sheet) -> tuple[float, float, float, float]:
    """Return left, low, right and high of the sheet's cells, in points."""
    width, height = sheet.pitch
    xs, ys = sheet.xs.values(), sheet.ys.values()
    return min(xs) - width / 2, min(ys) - height / 2, max(xs) + width / 2, max(ys) + height / 2


def cell_colours(sheet: Sheet, picture: np.ndarray) -> dict[tuple[int, int], tuple[int, int, int]]:
    """Return the colour of each cell of the cropped `picture`: the commonest in its corners, beside the symbol."""
    left, low, right, high = bounds(sheet)
    width, height = sheet.pitch
    across, along = picture.shape[1] / (right - left), picture.shape[0] / (high - low)
    rows, columns = list(sheet.ys), list(sheet.xs)
    x, y = np.array([sheet.xs[column] for column in columns]), np.array([sheet.ys[row] for row in rows])
    corners = np.array(
        [
            picture[
                np.ix_(((high - y - dy * height) * along).astype(int), ((x + dx * width - left) * across).astype(int))
            ]
            for dx in (-0.34, 0.34)
            for dy in (-0.34, 0.34)
        ]
    )
    votes = (corners[:, None] == corners[None]).all(axis=-1).sum(axis=1)
    chosen = np.take_along_axis(corners, votes.argmax(axis=0)[None, ..., None], axis=0)[0].tolist()
    return {(row, column): tuple(chosen[r][c]) for r, row in enumerate(rows) for c, column in enumerate(columns)}


def turned(sheet: Sheet) -> tuple[list[tuple[int, int]], list[tuple[int, int]]]:
    """Return pairs (row on the sheet, row of the rug) and the same for columns, with the mirrored ones as printed."""
    assert sheet.rows is not None and sheet.columns is not None
    rows = [(row, row) for row in sheet.rows]
    columns = [(column, column) for column in sheet.columns]
    for pairs, pattern, name in ((rows, MIRROR_ROWS, "Row"), (columns, MIRROR_COLUMNS, "Column")):
        once = {int(number) for number in re.findall(rf"{name} (\d+) is the centre, tied once", sheet.text)}
        if again := pattern.search(sheet.text):
            first, last = map(int, again.groups())
            told = [number for number, _ in pairs if number not in once]
            pairs += list(zip(reversed(told), range(first, last + 1), strict=True))
    return rows, columns


def read_chart(data: bytes) -> tuple[pdfium.PdfDocument, list[Sheet]]:
    """Return the document with its sheets of cells, to which legends with sheets of their own are added."""
    document = pdfium.PdfDocument(data)
    cell = printed_cell(document)
    sheets = [read_sheet(document, index, cell) for index in range(len(document))]
    legends = {int(m[1]): sheet.codes for sheet in sheets if (m := LEGEND_OF.search(sheet.text))}
    grids = [sheet for sheet in sheets if sheet.rows is not None]
    for sheet in grids:
        if LEGEND_ON.search(sheet.text):
            sheet.codes = legends[sheet.index + 1]
    return document, grids
