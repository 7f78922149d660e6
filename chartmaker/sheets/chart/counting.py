"""The counts in long runs: which runs of a sheet show theirs, where it stands, and how the sheet explains it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from chartmaker.ground.language import Told, phrase, told
from chartmaker.knots.knotmap import NO_KNOT, KnotArray
from chartmaker.order.workshop import Chart, Marks

#: Runs of at least this many knots show their count.
COUNTED_RUN = 5
#: Runs of at least this many knots show it at both ends, since nobody looks further along a row for a number.
TWICE_COUNTED = 16
#: How far from the symbol at its end a count stands that is shown at both ends, in cells.
BESIDE = 0.25
#: They stand where a run goes on past the edge; a plus could be taken for a yarn's symbol.
BEFORE, BEHIND = "«", "»"
#: The number by which counts are explained.
SHOWN = 12
#: How a sheet explains counts, by what its cells show.
EXPLAINED: dict[Marks, str] = {
    "both": phrase(
        "Runs of {least} and more: their symbol at both ends, between them their knots on this sheet. {shown}» "
        "means {here} here, and more of that run beyond the »."
    ),
    "symbol": phrase(
        "Runs of {least} and more: the number in them is that of their knots on this sheet. {shown}» means {here} "
        "here, and more of that run beyond the »."
    ),
}


@dataclass(frozen=True, slots=True)
class CountedRun:
    """A run that shows its count.

    Attributes
    ----------
    row, column : int
        Where it begins, from the sheet's first row and column.
    words : str
        The number of its knots, with an arrow on the side where it goes on beyond the edge.
    middles : tuple of float
        Where the count stands, in cells from the left.
    bare : tuple of (first, last)
        The cells without a symbol, from a column up to before another.
    """

    row: int
    column: int
    words: str
    middles: tuple[float, ...]
    bare: tuple[tuple[int, int], ...]


def counted(chart: Chart) -> bool:
    """Return whether runs show their counts, for which the cells must have symbols."""
    return chart.counts and chart.marks != "colour"


def explained(marks: Marks) -> Told:
    """Return what a sheet says of its counts."""
    return told(EXPLAINED[marks], least=COUNTED_RUN, shown=SHOWN, here=SHOWN)


def counted_runs(
    cells: KnotArray,
    wide: Callable[[str], float],
    *,
    coloured: bool,
    heavy: Sequence[int] = (),
    cuts: Sequence[int] = (),
    beside: tuple[KnotArray, KnotArray] | None = None,
) -> list[CountedRun]:
    """Return the runs that are long enough to show their count.

    A run bears its symbol at both ends, because it is read from one end on the way up and from the other on a
    mirrored half, and because dark yarns are alike in a grey copy. On colour it has no other symbols; without colour an
    empty cell would belong to no yarn, so only the cells under the figures have none. A count stands in the middle of
    its run, or beside both ends of a long one, or as near to it as it can without a heavy line through its figures.

    Parameters
    ----------
    cells : ndarray of uint16, shape (rows, columns)
    wide : callable
        It returns how many cells a count is wide in print.
    coloured : bool
    heavy : sequence of int
        The columns that have a heavy line at their left edge.
    cuts : sequence of int
        The columns at whose left edge a count begins anew: another weaver begins there, or it is the centre column,
        which only one half is tied with, or the one behind it.
    beside : tuple of two ndarray of uint16, shape (rows,), optional
        The column to the left of the sheet and the one to the right, with NO_KNOT where there is none.
    """
    none = np.full(len(cells), NO_KNOT, dtype=np.uint16)
    before, behind = beside or (none, none)
    padded = np.column_stack([before, cells, behind])
    begins = np.ones(cells.shape, dtype=bool)
    begins[:, 1:] = cells[:, 1:] != cells[:, :-1]
    begins[:, [cut for cut in cuts if 0 < cut < cells.shape[1]]] = True
    found = []
    for row, line in enumerate(cells):
        starts = np.flatnonzero(begins[row])
        lengths = np.diff(np.append(starts, line.size))
        long = (lengths >= COUNTED_RUN) & (line[starts] != NO_KNOT)
        for start, length in zip(starts[long].tolist(), lengths[long].tolist(), strict=True):
            same = padded[row, [start, start + length + 1]] == line[start]
            words = f"{BEFORE * bool(same[0])}{length}{BEHIND * bool(same[1])}"
            places = _places(start + 1, start + length - 1, wide(words), coloured, heavy, length >= TWICE_COUNTED)
            found.append(CountedRun(row, start, words, *places))
    return found


def _places(
    first: int, last: int, wide: float, coloured: bool, heavy: Sequence[int], twice: bool
) -> tuple[tuple[float, ...], tuple[tuple[int, int], ...]]:
    """Return where a count stands between the symbols at the ends of its run, and which cells have no symbol then."""
    if coloured:
        ends, step = wide + 2 * BESIDE, 0.5
        middle = (first + last) / 2
    else:
        wide = ends = min(last - first, math.ceil(wide))
        step, middle = 1.0, first + (last - first - ends) // 2 + ends / 2
    if twice:
        half = (first + last) // 2
        near = _clear(first, half, wide, first + ends / 2, step, heavy)
        middles: tuple[float, ...] = (near, _clear(half, last, wide, last - ends / 2, step, heavy))
    else:
        middles = (_clear(first, last, wide, middle, step, heavy),)
    if coloured:
        return middles, ((first, last),)
    return middles, tuple((int(place - wide / 2), int(place - wide / 2) + int(wide)) for place in middles)


def _clear(first: int, last: int, wide: float, wanted: float, step: float, heavy: Sequence[int]) -> float:
    """Return where the middle of figures `wide` cells wide stands between two columns, clear of heavy lines."""
    low, high = first + wide / 2, last - wide / 2
    places = [wanted + side * number * step for number in range(int((last - first) / step) + 1) for side in (1, -1)]
    inside = [place for place in places if low - 1e-9 <= place <= high + 1e-9]
    clear = (place for place in inside if not any(place - wide / 2 < line < place + wide / 2 for line in heavy))
    return next(clear, wanted)
