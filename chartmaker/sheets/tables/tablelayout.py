"""Tables of figures are set in lines and broken over sheets."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from dataclasses import field as default
from functools import partial
from typing import Literal

from chartmaker.ground.errors import SheetError
from chartmaker.ground.language import field, fields_of, part_of, say
from chartmaker.paper.document import POINTS_PER_MM
from chartmaker.paper.lettering import Lettering
from chartmaker.reports.figuretable import FigureTable
from chartmaker.yarns.yarn import Yarn

#: A cell that is drawn as an empty box to tick.
TICK = "\N{BALLOT BOX}"
PAD_MM = 1.2
TITLE_MM, NOTE_MM, GAP_MM = 6.5, 3.6, 5.0
#: The air between two tables that stand side by side.
ABREAST_MM = 8.0
#: Side by side, tables may become so much narrower or taller, and their type not smaller than this.
MOST_SQUEEZED, LEAST_ABREAST_PT = 1.25, 7.0
NOTE_PT, TITLE_PT = 7.0, 10.0
#: The type is never made smaller than this.
SMALLEST_PT = 5.0
#: A table neither begins at the foot of a sheet nor ends at the head of one with fewer rows than this.
FEWEST_ROWS = 3
#: A table that takes less than this share of a sheet is not broken.
SHORT = 0.5

Kind = Literal["header", "body", "total"]
#: Rows of a table that stand together, and whether they begin a new column of text.
_Piece = tuple[range, bool]


@dataclass(frozen=True, slots=True)
class Look:
    """How a table is set: its type size, the least height of a row, and the swatch before each row, 0 for none."""

    size_pt: float = 7.4
    row_mm: float = 4.6
    swatch_mm: float = 0.0
    symbols: bool = False
    together: bool = False
    shaded: frozenset[int] = default(default_factory=frozenset)

    @property
    def line_mm(self) -> float:
        return self.size_pt / POINTS_PER_MM * 1.2


@dataclass(frozen=True, slots=True)
class SetRow:
    """A row whose cells are set in lines, with a tuple of lines for each cell."""

    cells: tuple[tuple[str, ...], ...]
    height_mm: float
    kind: Kind
    yarn: Yarn | None = None
    name: str = "line"


@dataclass(frozen=True, slots=True)
class SetTable:
    """A table with the widths of its columns and with its cells set in lines."""

    title: str
    widths_mm: tuple[float, ...]
    right: frozenset[int]
    header: SetRow
    rows: tuple[SetRow, ...]
    notes: tuple[str, ...]
    look: Look
    key: str = ""

    @property
    def width_mm(self) -> float:
        return self.look.swatch_mm + sum(self.widths_mm)

    @property
    def notes_mm(self) -> float:
        return len(self.notes) * NOTE_MM + (1.5 if self.notes else 0.0)

    def height_mm(self, rows: range) -> float:
        """Return the height of these rows with title and header, but without notes."""
        return TITLE_MM + self.header.height_mm + sum(self.rows[row].height_mm for row in rows)


@dataclass(frozen=True, slots=True)
class Portion:
    """The rows of a table that stand on one sheet; `top_mm` is measured down from the top of the text."""

    table: SetTable
    rows: range
    top_mm: float
    continued: bool
    with_notes: bool


def _natural_mm(texts: Sequence[str], size_mm: float, lettering: Lettering, *, bold: bool = False) -> float:
    widths = [lettering.width(text, bold=bold) for text in texts if text and text != TICK]
    return max(widths, default=0.0) * size_mm + 2 * PAD_MM


def _needs(table: FigureTable, look: Look, lettering: Lettering, *, whole: bool) -> list[float]:
    """Return the width that each column needs for its cells unbroken (`whole`), or for their longest word."""
    size_mm = look.size_pt / POINTS_PER_MM

    def pieces(texts: Sequence[str]) -> list[str]:
        return [piece for text in texts for piece in (text.split("\n") if whole else text.split())]

    needs = []
    for column, title in enumerate(table.header):
        last = [table.total[column]] if table.total is not None else []
        need = max(
            _natural_mm(pieces([row[column] for row in table.rows]), size_mm, lettering),
            _natural_mm(pieces(last), size_mm, lettering, bold=True),
            _natural_mm(title.split(), size_mm * 0.86, lettering, bold=True),
        )
        needs.append(need)
    return needs


def _in_two_mm(title: str, size_mm: float, lettering: Lettering) -> float:
    """Return what a column needs so that its title takes no more than two lines, or those that it is written in."""
    if "\n" in title:
        return _natural_mm(title.split("\n"), size_mm, lettering, bold=True)
    words = title.split()
    halves = [(" ".join(words[:at]), " ".join(words[at:])) for at in range(1, len(words))]
    return min((_natural_mm(both, size_mm, lettering, bold=True) for both in halves), default=0.0)


def _widths(table: FigureTable, look: Look, room_mm: float, lettering: Lettering) -> tuple[float, ...]:
    """Return each column's width, which is what it needs; if not all fit, columns of long texts share what is left.

    The sum may be more than `room_mm` if not even the longest words fit.
    """
    needs = _needs(table, look, lettering, whole=True)
    if sum(needs) <= room_mm:
        size_mm = look.size_pt / POINTS_PER_MM * 0.86
        wide = [
            max(need, _in_two_mm(title, size_mm, lettering)) for need, title in zip(needs, table.header, strict=True)
        ]
        return tuple(wide if sum(wide) <= room_mm else needs)
    least = _needs(table, look, lettering, whole=False)
    for column in table.right:
        least[column] = needs[column]
    spare_mm = room_mm - sum(least)
    wanted_mm = sum(needs) - sum(least)
    if spare_mm <= 0:
        return tuple(least)
    return tuple(low + spare_mm * (need - low) / wanted_mm for low, need in zip(least, needs, strict=True))


def _look_that_fits(table: FigureTable, look: Look, room_mm: float, lettering: Lettering) -> Look:
    """Return `look`, with smaller type if the table would not fit otherwise."""
    while sum(_widths(table, look, room_mm - look.swatch_mm, lettering)) > room_mm - look.swatch_mm + 1e-6:
        if look.size_pt <= SMALLEST_PT:
            raise SheetError(
                say("the table {title!r} does not fit the paper; name shorter vessels or yarns", title=table.title)
            )
        look = replace(look, size_pt=look.size_pt - 0.4)
    return look


def _lines(text: str, width_mm: float, size_mm: float, lettering: Lettering, *, bold: bool) -> tuple[str, ...]:
    if text == TICK or not text:
        return (text,)
    most_em = (width_mm - 2 * PAD_MM) / size_mm + 1e-6
    parts: list[str] = []
    start = 0
    for plain in text.split("\n"):
        parts.append(part_of(text, start, start + len(plain)))
        start += len(plain) + 1
    return tuple(line for part in parts for line in lettering.lines(part, most_em, bold=bold))


def set_table(table: FigureTable, look: Look, room_mm: float, lettering: Lettering) -> SetTable:
    """Return `table`, set within a width of `room_mm`.

    Raises
    ------
    SheetError
        If it does not fit in the smallest type.
    """
    look = _look_that_fits(table, look, room_mm, lettering)
    widths = _widths(table, look, room_mm - look.swatch_mm, lettering)
    size_mm = look.size_pt / POINTS_PER_MM

    def set_row(cells: Sequence[str], kind: Kind, yarn: Yarn | None = None, name: str = "line") -> SetRow:
        size = size_mm * 0.86 if kind == "header" else size_mm
        bold = kind != "body"
        lines = tuple(_lines(c, w, size, lettering, bold=bold) for c, w in zip(cells, widths, strict=True))
        height_mm = max(look.row_mm, max(map(len, lines)) * look.line_mm + 1.4)
        return SetRow(lines, height_mm, kind, yarn, name)

    yarns = table.yarns or (None,) * len(table.rows)
    names = table.lines or ("line",) * len(table.rows)
    rows = [
        set_row(_named(row, table.fields), "body", yarn, name)
        for row, yarn, name in zip(table.rows, yarns, names, strict=True)
    ]
    if table.total is not None:
        sums = tuple(name if column in table.right else "" for column, name in enumerate(table.fields))
        rows.append(set_row(_named(table.total, sums), "total", None, "sum"))
    note_em = room_mm / (NOTE_PT / POINTS_PER_MM)
    notes = tuple(line for note in table.notes for line in lettering.lines(note, note_em))
    head, right = set_row(table.header, "header", None, "head"), frozenset(table.right)
    return SetTable(table.title, widths, right, head, tuple(rows), notes, look, table.key)


def _named(cells: Sequence[str], names: Sequence[str]) -> list[str]:
    """Return the cells, tagged with the names of their columns unless they have fields of their own."""
    named = zip(cells, names or [""] * len(cells), strict=True)
    bare = ("", TICK)
    return [field(name, cell) if name and cell not in bare and not fields_of(cell) else cell for cell, name in named]


def _rows_that_fit(table: SetTable, first: int, room_mm: float) -> range:
    """Return as many rows from `first` as fit, but at least one; the last row stands with the notes and not alone."""
    stop, last = first + 1, len(table.rows)
    while stop < last:
        notes_mm = table.notes_mm if stop + 1 == last else 0.0
        if table.height_mm(range(first, stop + 1)) + notes_mm > room_mm:
            break
        stop += 1
    if stop < last:
        stop = max(min(stop, last - FEWEST_ROWS), min(stop, first + FEWEST_ROWS))
    return range(first, stop)


def _portions(table: SetTable, free_mm: float, rooms_mm: Callable[[int], float], *, begun: bool) -> list[_Piece]:
    """Return the rows of each portion, and whether the portion begins a new column.

    The first portion has `free_mm` of room, and the n-th new column after it `rooms_mm(n)`. `begun` says that something
    stands in the column already.
    """
    every = range(len(table.rows))
    whole_mm = table.height_mm(every) + table.notes_mm
    if whole_mm <= free_mm:
        return [(every, False)]
    unbroken = whole_mm <= rooms_mm(1) and (table.look.together or whole_mm <= rooms_mm(1) * SHORT)
    fresh = begun and (unbroken or table.height_mm(every[:FEWEST_ROWS]) > free_mm)
    portions = [(_rows_that_fit(table, 0, rooms_mm(1) if fresh else free_mm), fresh)]
    new = int(fresh)
    while (stop := portions[-1][0].stop) < len(every):
        new += 1
        portions.append((_rows_that_fit(table, stop, rooms_mm(new)), True))
    return portions


def paginate(tables: Sequence[SetTable], first_mm: float, room_mm: float, abreast: int = 1) -> list[list[Portion]]:
    """Return the portions of each column of text, of which `abreast` stand side by side on a sheet.

    Parameters
    ----------
    tables : sequence of SetTable
    first_mm, room_mm : float
        The height for tables on the first sheet, and on each further one.
    abreast : int
    """

    def high(column: int, further: int = 0) -> float:
        return first_mm if column + further < abreast else room_mm

    columns: list[list[Portion]] = [[]]
    free_mm = first_mm
    for table in tables:
        at = len(columns) - 1
        for rows, fresh in _portions(table, free_mm, partial(high, at), begun=bool(columns[-1])):
            if fresh:
                columns.append([])
                free_mm = high(len(columns) - 1)
            ends = rows.stop == len(table.rows)
            top_mm = high(len(columns) - 1) - free_mm
            columns[-1].append(Portion(table, rows, top_mm, rows.start > 0, ends))
            free_mm -= table.height_mm(rows) + (table.notes_mm if ends else 0.0) + GAP_MM
    return columns


def set_abreast(setter: Setter, lettering: Lettering, width_mm: float) -> tuple[Sequence[SetTable], int]:
    """Return the tables and how many stand side by side: two where all of several fit in little smaller type.

    Some cells may then take two lines, but no table becomes much taller.
    """
    tables, half_mm = setter(lettering, width_mm), (width_mm - ABREAST_MM) / 2
    if len(tables) < 2 or any(table.width_mm > MOST_SQUEEZED * half_mm for table in tables):
        return tables, 1
    narrow = setter(lettering, half_mm)
    for plain, other in zip(tables, narrow, strict=True):
        rows = range(len(plain.rows))
        if other.look.size_pt < LEAST_ABREAST_PT or other.height_mm(rows) > MOST_SQUEEZED * plain.height_mm(rows):
            return tables, 1
    return narrow, 2


#: It sets tables for a given width.
Setter = Callable[[Lettering, float], Sequence[SetTable]]
