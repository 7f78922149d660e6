"""The runs of a row are set in columns, line by line, with repeats folded if that saves a line."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from chartmaker.ground.errors import SheetError
from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.paper.document import POINTS_PER_MM
from chartmaker.paper.lettering import Lettering
from chartmaker.sheets.rows.folding import Group, Span
from chartmaker.yarns.yarn import Yarn

#: The air on either side of a run, the room of its swatch, and the widest figure of the bold letters in em.
GAP_MM, SWATCH_MM, FIGURE_EM = 0.7, 4.6, 0.696
#: A call name's height over the number's, the size of the code beside it, and a wide letter of another font in em.
CALL_SHARE, SMALL_CODE_PT, WIDE_EM = 0.9, 5.5, 1.0
#: The words that say where the next run begins, after places without knots, take as much room as this many runs.
JUMP_ROOMS = 2
#: The room behind a code for the bracket that closes a group.
CLOSING_MM = 2.6


@dataclass(frozen=True, slots=True)
class RunSetting:
    """The measures of a run on paper, which is either large with a swatch or dense as text.

    All places are measured from the left of a run's room: `knots_mm` is where its number ends, `call_mm` where the name
    that is called aloud begins (if yarns have none, `call_pt` is 0), and `code_mm` where its code begins. `a_line` is
    how many runs stand on a line.
    """

    swatch: bool
    knots_pt: float
    call_pt: float
    code_pt: float
    line_mm: float
    air_mm: float
    knots_mm: float
    call_mm: float
    code_mm: float
    run_mm: float
    a_line: int

    def height_mm(self, lines: int) -> float:
        """Return the height of a row of so many lines."""
        return max(lines, 1) * self.line_mm + self.air_mm


def run_setting(yarns: Sequence[Yarn], most_knots: int, width_mm: float, *, dense: bool) -> RunSetting:
    """Return the setting in which every code, call name and number up to `most_knots` is printed whole.

    If yarns have a name to be called, it is about as large as the number, and the code is small. `width_mm` is the
    length of a line.
    """
    called = any(yarn.call for yarn in yarns)
    knots_pt, code_pt = (9.0, 7.0) if dense else (11.0, 8.0)
    line_mm, air_mm = (4.3, 1.8) if dense else (6.6, 2.6)
    call_pt = CALL_SHARE * knots_pt if called else 0.0
    if called:
        code_pt = SMALL_CODE_PT
    figures = max(len(str(most_knots)), 2) * FIGURE_EM * knots_pt / POINTS_PER_MM
    knots_mm = (0.0 if dense else SWATCH_MM) + figures
    call_mm = knots_mm + GAP_MM
    code_mm = call_mm + (_widest([yarn.call or "" for yarn in yarns]) * call_pt / POINTS_PER_MM + GAP_MM) * called
    code = _widest([yarn.code for yarn in yarns]) * code_pt / POINTS_PER_MM
    run_mm = math.ceil(2 * (code_mm + code + CLOSING_MM)) / 2
    a_line = max(1, int((width_mm + 1e-6) / run_mm))
    return RunSetting(
        not dense, knots_pt, call_pt, code_pt, line_mm, air_mm, knots_mm, call_mm, code_mm, run_mm, a_line
    )


def _widest(words: Sequence[str]) -> float:
    """Return the width in em of the longest of some words; letters of another font count as wide ones."""
    lettering = Lettering()

    def width(text: str) -> float:
        try:
            return lettering.width(text, bold=True)
        except SheetError:
            return len(text) * WIDE_EM

    return max(map(width, words), default=0.0)


@dataclass(frozen=True, slots=True)
class Mark:
    """One thing printed in a row, such as a run, the column where the next run begins, or a bracket.

    `place` counts the rooms of a line from the edge at which reading begins, and `line` counts down from 0. `told` is
    how many places are behind the reader. An opening bracket says how often its group is tied; a closing one stands in
    the room of the group's last run.
    """

    place: int
    line: int
    span: Span | None = None
    times: int = 0
    told: int = 0


@dataclass(frozen=True, slots=True)
class RowText:
    """A row as it is set, with its marks in reading order and the places behind the reader after each line."""

    key: bytes
    marks: tuple[Mark, ...]
    reached: tuple[int, ...]

    @property
    def lines(self) -> int:
        return len(self.reached)


def set_row(key: bytes, entries: Sequence[Span | Group], a_line: int) -> RowText:
    """Return a row set with `a_line` runs on a line.

    A group is folded only if that makes the row a line shorter, and then it is kept whole on one line. Otherwise its
    runs are given one by one, which is easier to follow.
    """
    folds = _folds(entries, a_line)
    if _end(entries, folds, a_line) >= _end(entries, frozenset(), a_line):
        folds = frozenset()
    return _set(key, entries, folds, a_line)


def _runs(entry: Span | Group) -> int:
    return entry.times * len(entry.spans) if isinstance(entry, Group) else 1


def _room(used: int, span: Span, a_line: int) -> tuple[int, int]:
    """Return a span's first room, counted through all lines, after `used` rooms are taken, and the room behind it."""
    rooms = min(JUMP_ROOMS, a_line) if span.yarn == NO_KNOT else 1
    if used % a_line + rooms > a_line:
        used += -used % a_line
    return used, used + rooms


def _unfolded(used: int, entry: Span | Group, a_line: int) -> int:
    """Return how many rooms are taken after an entry that is told run by run; no group has places without knots."""
    return used + _runs(entry) if isinstance(entry, Group) else _room(used, entry, a_line)[1]


def _after(place: int, line: int, group: Group, a_line: int) -> tuple[int, int]:
    """Return the (place, line) that comes after a folded group at `place`."""
    needed = 1 + len(group.spans)
    return (place + needed, line) if place + needed <= a_line else (needed, line + 1)


def _folds(entries: Sequence[Span | Group], a_line: int) -> frozenset[int]:
    """Return which entries are folded, which are the groups whose folding makes the row end on an earlier line."""
    found: set[int] = set()
    used = 0
    for number, entry in enumerate(entries):
        if isinstance(entry, Group) and 1 + len(entry.spans) <= a_line:
            place, line = _after(used % a_line, used // a_line, entry, a_line)
            if line < (used + _runs(entry) - 1) // a_line:
                found.add(number)
                used = line * a_line + place
                continue
        used = _unfolded(used, entry, a_line)
    return frozenset(found)


def _end(entries: Sequence[Span | Group], folds: frozenset[int], a_line: int) -> int:
    """Return how many lines the row takes."""
    used = 0
    for number, entry in enumerate(entries):
        if isinstance(entry, Group) and number in folds:
            place, line = _after(used % a_line, used // a_line, entry, a_line)
            used = line * a_line + place
        else:
            used = _unfolded(used, entry, a_line)
    return -(-used // a_line)


def _set(key: bytes, entries: Sequence[Span | Group], folds: frozenset[int], a_line: int) -> RowText:
    marks: list[Mark] = []
    reached: list[int] = []
    used, told = 0, 0
    for number, entry in enumerate(entries):
        if isinstance(entry, Group) and number in folds:
            if used % a_line + 1 + len(entry.spans) > a_line:
                used += -used % a_line
            place, line = used % a_line, used // a_line
            marks.append(Mark(place, line, times=entry.times))
            marks += [Mark(place + n, line, span) for n, span in enumerate(entry.spans, start=1)]
            marks.append(Mark(place + len(entry.spans), line))
            used += 1 + len(entry.spans)
            told += entry.times * sum(span.knots for span in entry.spans)
            _reach(reached, line, told)
            continue
        spans = entry.spans * entry.times if isinstance(entry, Group) else (entry,)
        for span in spans:
            used, behind = _room(used, span, a_line)
            marks.append(Mark(used % a_line, used // a_line, span, told=told))
            told += span.knots
            _reach(reached, used // a_line, told)
            used = behind
    return RowText(key, tuple(marks), tuple(reached))


def _reach(reached: list[int], line: int, told: int) -> None:
    """Take note that `told` places are behind the reader at the end of `line`."""
    if line == len(reached):
        reached.append(told)
    else:
        reached[line] = told
