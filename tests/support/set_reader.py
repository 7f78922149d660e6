"""Reads each file of a set back to knots by the rules of that file alone.

Nothing of the package is used. A grid is an array of yarn codes, shape (rows, columns), row 0 the first woven, column 0
the left; "" where there is no knot, "?" where the file does not say.
"""

from __future__ import annotations

import base64
import csv
import io
import json
import struct
import zlib
from dataclasses import dataclass
from html.parser import HTMLParser

import numpy as np

from support import chart_reader, rows_reader

Grid = np.ndarray
UNSAID = "?"


def png_chunks(data: bytes) -> dict[bytes, bytes]:
    """Return the chunks of a PNG (ISO/IEC 15948) with its image data joined, after checking every checksum."""
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    found: dict[bytes, bytes] = {}
    place = 8
    while place < len(data):
        (length,) = struct.unpack(">I", data[place : place + 4])
        kind, body = data[place + 4 : place + 8], data[place + 8 : place + 8 + length]
        assert struct.unpack(">I", data[place + 8 + length : place + 12 + length]) == (zlib.crc32(kind + body),)
        found[kind] = found.get(kind, b"") + body
        place += 12 + length
    assert kind == b"IEND"
    return found


def _unfiltered(raw: bytes, width: int, height: int) -> Grid:
    """Return an image of at most a byte a pixel, shape (height, width in bytes) (ISO/IEC 15948, clause 9)."""
    lines = np.frombuffer(raw, dtype=np.uint8).reshape(height, width + 1)
    out = np.zeros((height, width), dtype=np.uint8)
    above = np.zeros(width, dtype=np.uint8)
    for y in range(height):
        kind, line = int(lines[y, 0]), lines[y, 1:]
        if kind == 0:
            out[y] = line
        elif kind == 1:
            out[y] = np.cumsum(line, dtype=np.uint64).astype(np.uint8)
        elif kind == 2:
            out[y] = line + above
        else:
            left = corner = 0
            for x in range(width):
                up = int(above[x])
                if kind == 3:
                    guess = (left + up) // 2
                else:
                    assert kind == 4
                    near = left + up - corner
                    guess = min((left, up, corner), key=lambda value: abs(near - value))
                left = (int(line[x]) + guess) & 255
                corner = up
                out[y, x] = left
        above = out[y]
    return out


def png_grid(data: bytes) -> Grid:
    """Return the knots of knots.png: palette entry i is yarn i of the text chunk; a transparent entry is no knot."""
    chunks = png_chunks(data)
    width, height, depth, colour_type, _, _, interlace = struct.unpack(">IIBBBBB", chunks[b"IHDR"])
    assert depth in (1, 2, 4, 8)
    assert (colour_type, interlace) == (3, 0)
    packed = _unfiltered(zlib.decompress(chunks[b"IDAT"]), -(-width * depth // 8), height)
    bits = np.unpackbits(packed, axis=1)[:, : width * depth].reshape(height, width, depth)
    pixels = bits @ (1 << np.arange(depth)[::-1])
    keyword, _, rest = chunks[b"iTXt"].partition(b"\0")
    assert keyword == b"chartmaker"
    text = rest[2:].split(b"\0", 2)[2]
    yarns = json.loads(zlib.decompress(text) if rest[0] else text)["yarns"]
    palette = np.frombuffer(chunks[b"PLTE"], dtype=np.uint8).reshape(-1, 3)
    for yarn, colour in zip(yarns, palette.tolist(), strict=False):
        assert yarn["srgb"] == "#{:02x}{:02x}{:02x}".format(*colour)
    alpha = np.full(256, 255)
    alpha[: len(chunks.get(b"tRNS", b""))] = list(chunks.get(b"tRNS", b""))
    codes = np.full(256, UNSAID, dtype="<U6")
    codes[: len(yarns)] = [yarn["code"] for yarn in yarns]
    codes[alpha == 0] = ""
    return codes[pixels[::-1]]


def csv_grid(data: bytes, shape: tuple[int, int]) -> Grid:
    """Return the knots of rows.csv, where a place that no run covers has no knot."""
    grid = np.full(shape, "", dtype="<U6")
    for run in csv.DictReader(io.StringIO(data.decode("utf-8"), newline="")):
        row, start, knots = int(run["row"]) - 1, int(run["start"]) - 1, int(run["knots"])
        cells = grid[row, start : start + knots]
        assert len(cells) == knots > 0
        assert (cells == "").all(), "two runs cover a knot"
        cells[:] = run["code"]
    return grid


class _Scripts(HTMLParser):
    """Collects the text of script elements by their id."""

    def __init__(self) -> None:
        super().__init__()
        self.here: str | None = None
        self.texts: dict[str, str] = {}

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.here = (dict(attrs).get("id") or "script") if tag == "script" else None

    def handle_endtag(self, tag: str) -> None:
        self.here = None

    def handle_data(self, data: str) -> None:
        if self.here:
            self.texts[self.here] = self.texts.get(self.here, "") + data


def scripts_of(page: str) -> dict[str, str]:
    """Return the texts of the script elements of `page` by id."""
    reader = _Scripts()
    reader.feed(page)
    reader.close()
    return reader.texts


def page_grid(page: str) -> Grid:
    """Return the knots in proof.html, unpacked as its own script does: base64, zlib, a byte a cell."""
    scripts = scripts_of(page)
    facts = json.loads(scripts["page-facts"])
    raw = zlib.decompress(base64.b64decode(scripts["proof-knots"]))
    codes = np.full(256, UNSAID, dtype="<U6")
    codes[: len(facts["yarns"])] = [yarn["code"] for yarn in facts["yarns"]]
    codes[255] = ""
    return codes[np.frombuffer(raw, dtype=np.uint8).reshape(facts["rows"], facts["columns"])]


def loom_grid(page: str) -> Grid:
    """Return the knots in loom.html, whose lines of base64 are zlib streams of some rows, a byte a cell."""
    scripts = scripts_of(page)
    facts = json.loads(scripts["page-facts"])
    raw = b"".join(zlib.decompress(base64.b64decode(line)) for line in scripts["loom-rows"].split("\n"))
    codes = np.full(256, UNSAID, dtype="<U6")
    codes[: len(facts["yarns"])] = [yarn["code"] for yarn in facts["yarns"]]
    codes[255] = ""
    return codes[np.frombuffer(raw, dtype=np.uint8).reshape(facts["rows"], facts["columns"])]


def rows_grid(data: bytes, shape: tuple[int, int]) -> Grid:
    """Return the knots of rows.pdf."""
    grid = np.full(shape, UNSAID, dtype="<U6")
    for (row, _), (knots, total, (first, last), reading) in rows_reader.read_rows(data).items():
        cells = ["" if code is None else code for code in knots]
        assert len(cells) == last - first + 1
        assert total == sum(map(bool, cells)), "the printed total differs"
        part = grid[row - 1, first - 1 : last]
        assert (part == UNSAID).all(), "a row of a strip is printed twice"
        part[:] = cells[::-1] if reading == "right to left" else cells
    return grid


@dataclass
class ChartGrids:
    """What a chart says: codes by its symbols and colours as painted, shape (rows, columns[, 3]).

    A code is "?" and a colour -1 where the cell is on no sheet; "!" and -2 where two sheets tell it differently.
    """

    codes: Grid
    colours: np.ndarray


def chart_grids(data: bytes, shape: tuple[int, int], *, marks: str, counts: bool) -> ChartGrids:
    """Return what the sheets of chart.pdf say together, with mirrored halves as their sentences say."""
    found = ChartGrids(np.full(shape, UNSAID, dtype="<U6"), np.full((*shape, 3), -1))
    document, sheets = chart_reader.read_chart(data)
    for sheet in sheets:
        codes = _sheet_codes(sheet, counts=counts)
        painted = {}
        if marks != "symbol":
            painted = chart_reader.cell_colours(sheet, chart_reader.raster(document, sheet, 32 / min(sheet.pitch)))
        rows, columns = chart_reader.turned(sheet)
        for row, rug_row in rows:
            for column, rug_column in columns:
                place = rug_row - 1, rug_column - 1
                if marks != "colour":
                    code = codes.get((row, column), "")
                    found.codes[place] = code if found.codes[place] in (UNSAID, code) else "!"
                if painted:
                    before, now = found.colours[place], painted[row, column]
                    found.colours[place] = now if (before == -1).all() or (before == now).all() else (-2, -2, -2)
    document.close()
    return found


def _sheet_codes(sheet: chart_reader.Sheet, *, counts: bool) -> dict[tuple[int, int], str]:
    """Return the code of each cell of `sheet`; with `counts`, a number in a run says how long the run is.

    A run is met from the left and from the right, as weavers meet it, and must have the same symbol at both ends.
    """
    codes = {place: sheet.codes[symbol] for place, symbol in sheet.symbols.items()}
    if not counts:
        return codes
    assert sheet.columns is not None
    runs = []
    for x, y, words in sheet.counts:
        row = min(sheet.ys, key=lambda n: abs(sheet.ys[n] - y))
        left = right = int((x - sheet.xs[sheet.columns.start]) / sheet.pitch[0] + 0.5) + sheet.columns.start
        while (row, left) not in sheet.symbols:
            left -= 1
        while (row, right) not in sheet.symbols:
            right += 1
        code = codes[row, left]
        assert codes[row, right] == code, (row, left, right)
        codes.update(dict.fromkeys(((row, column) for column in range(left, right)), code))
        runs.append((row, left, words))
    for row, column, words in runs:
        first = last = column
        while codes.get((row, first - 1)) == codes[row, column]:
            first -= 1
        while codes.get((row, last + 1)) == codes[row, column]:
            last += 1
        knots = int(words.strip("«»"))
        goes_on = not words.isdecimal()  # into the columns of another weaver, or the centre
        assert knots == last - first + 1 or (knots < last - first + 1 and goes_on)
    return codes


def differing(grid: Grid, wanted: Grid) -> int:
    """Return how many cells of `grid` differ from `wanted`, or all of them where the shapes differ."""
    return int((grid != wanted).sum()) if grid.shape == wanted.shape else wanted.size
