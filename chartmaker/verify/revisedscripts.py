"""The rows of a script that are told anew are read back, and held against both maps.

Whoever follows them strikes the rows that are named out of the old script and leaves the rest. So every row in which
the maps differ must be named and told, and so must the row above one whose beginning has moved, since it says how far
from there it begins itself.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.language import say
from chartmaker.knots.knotmap import NO_KNOT, KnotArray
from chartmaker.knots.mapfile import MapFile
from chartmaker.verify.bookmarks import bookmark_differences
from chartmaker.verify.difference import first_few, once
from chartmaker.verify.expected import Expected
from chartmaker.verify.fields import whole
from chartmaker.verify.legends import legend_differences
from chartmaker.verify.overlaps import overlap_differences
from chartmaker.verify.scriptrows import Script, numbers_of
from chartmaker.verify.scripts import sheet_differences, twin_of
from chartmaker.verify.sheets import Paper, Sheet
from chartmaker.verify.twomaps import all_new, looks_of, named_differences, old_map

#: What the lines are found by that say which rows to strike out.
TAG = "rows-revision"
_NUMBERS = re.compile(r"(\d{1,9})(?:–(\d{1,9}))?")


def is_rows_revision(sheet: Sheet) -> bool:
    """Return whether a sheet says which rows of an old script are told anew."""
    return any(sheet.root.find(TAG))


@dataclass(slots=True)
class _Named:
    """The rows of one strip as the first sheet names them: the strip, their numbers, or how many they are."""

    strip: int
    listed: list[str] = field(default_factory=list)
    count: int | None = None

    @property
    def numbers(self) -> list[int]:
        found: list[int] = []
        for first, last in _NUMBERS.findall(" ".join(self.listed)):
            found += range(int(first), min(int(last or first), int(first) + 1_000_000) + 1)
        return found


def rows_revision_differences(data: bytes, expected: Expected, before: MapFile | None) -> Iterator[str]:
    """Yield how the rows that are told anew differ from the map, and which rows are missing.

    Parameters
    ----------
    data : bytes
    expected : Expected
        The new map.
    before : MapFile, optional
        The map of the script that is revised. Without it, nothing can be said of the rows that stay.

    Raises
    ------
    ValueError
        If it is not a PDF of the kind that row scripts are.
    """
    if before is None:
        yield say("it is a revision: give the map of the old script with --since")
        return
    paper = Paper(data, expected.knots.size)
    old = old_map(before)
    script = Script(expected, len(paper.pages) - 1, codes={yarn.code: n for n, yarn in enumerate(expected.yarns)})
    named: list[_Named] = []
    anew = all_new(old, expected)
    for sheet in paper.sheets():
        if sheet.number == 1:
            named = _named(sheet)
            anew = anew or (not named and len(paper.pages) > 1)  # it strikes out the whole script
            yield from _first(sheet, old.code, expected)
        else:
            wrong = sheet_differences(script, sheet, sheet.number - 1, picked=not anew)
            yield from first_few(once([(sheet.number, wrong)]))
    wanted = dict(enumerate(expected.counts.tolist()))
    yield from first_few(legend_differences(script.entries, wanted, expected, None))
    yield from _unlike(named, script, anew=anew)
    yield from _lacking(script, old, anew=anew)
    yield from bookmark_differences(paper, expected, script.due, inserted=True)


def _named(sheet: Sheet) -> list[_Named]:
    """Return the rows that the first sheet names, strip by strip."""
    found: list[_Named] = []
    for span in sheet.root.find(TAG):
        for name, pieces in span.fields().items():
            if name == "strip":
                found.append(_Named(whole(pieces[0])))
            elif name == "rows" and found:
                found[-1].listed += pieces
            elif name == "count" and found:
                found[-1].count = whole(pieces[0])
    return found


def _first(sheet: Sheet, old: str, expected: Expected) -> Iterator[str]:
    """Yield how the first sheet names other maps or another rug."""
    yield from named_differences(sheet, old, expected)
    said = [words for span in sheet.root.find(TAG) for words in span.fields().get("old", [])]
    if not said or any(words != old for words in said):
        yield say("it does not say that rows of the script of map {old} are struck out", old=old)
    yield from overlap_differences(sheet)


def _unlike(named: Sequence[_Named], script: Script, *, anew: bool) -> Iterator[str]:
    """Yield a fault where the rows that are named are not those that follow."""
    if anew and not named:  # the whole script is struck out
        return
    expected = script.expected
    strips = [next(n for n, each in enumerate(expected.strips, 1) if part.start in each) for part in script.told]
    if [each.strip for each in named] != strips:
        yield say("it does not name the strips whose rows follow")
        return
    for each, told in zip(named, script.told.values(), strict=True):
        numbers = sorted(number for row in told for number in numbers_of(expected, row))
        right = each.count == len(numbers) if each.count is not None else each.numbers == numbers
        if not right:
            yield say("strip {strip}: it names other rows than those that follow", strip=each.strip)


def _begins(knots: KnotArray, *, leftward: bool) -> NDArray[np.int64]:
    """Return at which column each row begins as it is read, counted from there; -1 where it has no knot."""
    tied = (knots[:, ::-1] if leftward else knots) != NO_KNOT
    return np.where(tied.any(axis=1), tied.argmax(axis=1), -1)


def _lacking(script: Script, old: Expected, *, anew: bool) -> Iterator[str]:
    """Yield which rows are not told that the old script tells otherwise."""
    expected = script.expected
    across, along = expected.mirrored
    if anew:
        left = np.ones(expected.knots.shape, dtype=bool)
    else:
        before, after = looks_of(old, expected, lambda yarn: (yarn.code, yarn.call, yarn.srgb))
        left = before != after
    half = expected.rows - expected.rows // 2 if along else expected.rows
    for columns, told in script.told.items():
        part = slice(columns.start, columns.stop)
        if not anew:
            began = [_begins(each.knots[:, part], leftward=script.leftward) for each in (old, expected)]
            moved = np.flatnonzero(began[0] != began[1]) + 1
            if not along and (missing := sorted(set(moved[moved < half].tolist()) - set(told))):
                yield say("row {row} is not told, and the row below begins elsewhere", row=missing[0] + 1)
        for row in told:
            for number in numbers_of(expected, row):
                left[number - 1, part] = False
                if (twin := twin_of(expected, columns)) is not None:
                    left[number - 1, twin.start : twin.stop] = False
    if across:
        left &= left[:, ::-1]
    if left.any():
        row, column = np.argwhere(left)[0].tolist()
        yield say("row {row} is not told anew, and differs in column {column}", row=row + 1, column=column + 1)
