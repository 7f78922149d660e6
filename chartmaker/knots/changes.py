"""The differences between two knot maps of one rug."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.errors import DifferenceError
from chartmaker.ground.language import say
from chartmaker.ground.plaintext import table_lines
from chartmaker.knots.knotmap import NO_KNOT, KnotArray, KnotMap
from chartmaker.knots.mapfile import MapFile
from chartmaker.order.rugfile import to_tables
from chartmaker.yarns.yarn import Yarn

#: Listed in place of a yarn's code for a cell outside the rug's outline.
OUTSIDE = "-"
PLACES_HEADER = "row,start,knots,before,after"

_BAND_CELLS = 4_000_000


@dataclass(frozen=True, slots=True)
class ChangedRun:
    """`knots` neighbouring knots of `row`, from `column` (both from 0), that go from one yarn to another by code."""

    row: int
    column: int
    knots: int
    before: str
    after: str


@dataclass(frozen=True)
class YarnChange:
    """A yarn's knots before and after; 0 where the map does not tie it. `before` or `after` is None likewise."""

    code: str
    before: Yarn | None
    after: Yarn | None
    knots_before: int
    knots_after: int

    @property
    def redyed(self) -> bool:
        """Whether both maps tie the code, but in two colours."""
        return self.before is not None and self.after is not None and self.before.srgb != self.after.srgb

    @property
    def name(self) -> str:
        yarn = self.after or self.before
        assert yarn is not None
        return yarn.name


@dataclass(frozen=True)
class Move:
    """A number of knots that go from one yarn to another, by code; OUTSIDE stands for no knot."""

    before: str
    after: str
    knots: int


@dataclass(frozen=True, eq=False)
class Changes:
    """The changes from one knot map to another of the same size and density; yarns are compared by code.

    `settings` is what else their files say differently: one sentence a key of the rug file.
    """

    before: KnotMap
    after: KnotMap
    settings: tuple[str, ...] = ()

    @cached_property
    def _codes(self) -> tuple[str, ...]:
        codes = [yarn.code for yarn in self.before.yarns]
        return (*codes, *(yarn.code for yarn in self.after.yarns if yarn.code not in codes), OUTSIDE)

    def _shared(self, knot_map: KnotMap) -> KnotArray:
        """Return the lookup from a map's cell values to indices into `_codes`."""
        lookup = np.full(NO_KNOT + 1, len(self._codes) - 1, dtype=np.uint16)
        lookup[: len(knot_map.yarns)] = [self._codes.index(yarn.code) for yarn in knot_map.yarns]
        return lookup

    def _bands(self) -> Iterator[tuple[int, KnotArray, KnotArray]]:
        """Yield (first row, cells before, cells after) band by band, both as indices into `_codes`."""
        old, new = self._shared(self.before), self._shared(self.after)
        step = max(1, _BAND_CELLS // self.before.columns)
        for row in range(0, self.before.rows, step):
            yield row, old[self.before.knots[row : row + step]], new[self.after.knots[row : row + step]]

    @cached_property
    def changed(self) -> NDArray[np.bool_]:
        """Where the yarn differs, shape (rows, columns), row 0 first woven."""
        mask = np.empty(self.before.knots.shape, dtype=bool)
        for row, old, new in self._bands():
            np.not_equal(old, new, out=mask[row : row + len(old)])
        return mask

    @cached_property
    def knots(self) -> int:
        """How many knots have changed."""
        return int(self.changed.sum())

    @property
    def rows(self) -> NDArray[np.intp]:
        """The rows, counted from 0, in which any knot has changed."""
        return np.flatnonzero(self.changed.any(axis=1))

    @cached_property
    def kept(self) -> float:
        """The share of the drawing that is the same in both, whichever yarn each of its yarns became.

        The drawing is where two yarns meet, so that a ground that two rugs share counts for nothing. Of the map with
        fewer such places it is the share that the other has too, beyond what two drawings would have by chance.
        """
        places = meet_before = meet_after = meet_both = 0
        step = max(1, _BAND_CELLS // self.before.columns)
        for row in range(0, self.before.rows, step):
            old, new = (each.knots[row : row + step + 1] for each in (self.before, self.after))
            for before, after in (
                (old[:step, 1:] != old[:step, :-1], new[:step, 1:] != new[:step, :-1]),
                (old[1:] != old[:-1], new[1:] != new[:-1]),
            ):
                places += before.size
                meet_before += int(before.sum())
                meet_after += int(after.sum())
                meet_both += int((before & after).sum())
        least = min(meet_before, meet_after)
        if not least:
            return 1.0
        chance = meet_before * meet_after / places
        return max(meet_both - chance, 0.0) / (least - chance) if least > chance else meet_both / least

    @cached_property
    def moves(self) -> tuple[Move, ...]:
        """How many knots went from which yarn to which, the most first."""
        size = len(self._codes)
        table = np.zeros(size * size, dtype=np.int64)
        for row, old, new in self._bands():
            mask = self.changed[row : row + len(old)]
            table += np.bincount(old[mask].astype(np.int64) * size + new[mask], minlength=size * size)
        found = [Move(self._codes[i // size], self._codes[i % size], int(table[i])) for i in np.flatnonzero(table)]
        return tuple(sorted(found, key=lambda move: -move.knots))

    @cached_property
    def yarns(self) -> tuple[YarnChange, ...]:
        """Every yarn of either map, those before first."""
        old = {yarn.code: (yarn, int(n)) for yarn, n in zip(self.before.yarns, self.before.counts, strict=True)}
        new = {yarn.code: (yarn, int(n)) for yarn, n in zip(self.after.yarns, self.after.counts, strict=True)}
        none: tuple[Yarn | None, int] = (None, 0)
        pairs = ((code, old.get(code, none), new.get(code, none)) for code in self._codes[:-1])
        return tuple(YarnChange(code, a[0], b[0], a[1], b[1]) for code, a, b in pairs)

    def runs(self) -> Iterator[ChangedRun]:
        """Yield the changed places row by row from the first woven, left to right, one run at a time."""
        size = len(self._codes)
        for first, old, new in self._bands():
            move = np.where(old != new, old.astype(np.int32) * size + new, -1)
            for offset in np.flatnonzero((move >= 0).any(axis=1)):
                line = move[offset]
                starts = np.flatnonzero(np.concatenate(([True], line[1:] != line[:-1])))
                lengths = np.diff(np.append(starts, line.size))
                for start, length in zip(starts.tolist(), lengths.tolist(), strict=True):
                    if (code := int(line[start])) >= 0:
                        was, now = self._codes[code // size], self._codes[code % size]
                        yield ChangedRun(first + int(offset), start, length, was, now)

    @property
    def any(self) -> bool:
        """Whether there is any difference in knots, colours or settings."""
        return bool(self.knots or self.settings or any(yarn.redyed for yarn in self.yarns))


def _said(tables: dict[str, Any], table: str, key: str) -> str:
    return str(tables.get(table, {}).get(key, "default"))


def setting_changes(before: MapFile, after: MapFile) -> tuple[str, ...]:
    """Return how two map files differ on the rug and the workshop, one sentence for each key."""
    old, new = (to_tables(each.knot_map.rug, each.workshop) for each in (before, after))
    return tuple(
        f"[{table}] {key}: {_said(old, table, key)} before, {_said(new, table, key)} after"
        for table in {**old, **new}
        for key in {**old.get(table, {}), **new.get(table, {})}
        if old.get(table, {}).get(key) != new.get(table, {}).get(key)
    )


def changes_between(before: KnotMap, after: KnotMap, settings: tuple[str, ...] = ()) -> Changes:
    """Return the changes from `before` to `after`; `settings` as `setting_changes` gives them.

    Raises
    ------
    DifferenceError
        If the maps differ in columns, rows or density, so that no knot of one has its place in the other.
    """
    sizes = [f"{each.columns} x {each.rows}" for each in (before, after)]
    if sizes[0] != sizes[1]:
        raise DifferenceError(
            say(
                "the maps differ in size, {before} and {after} knots: they are two rugs, and no knot can be compared",
                before=sizes[0],
                after=sizes[1],
            )
        )
    old, new = before.rug.density, after.rug.density
    if (old.across_per_dm, old.along_per_dm) != (new.across_per_dm, new.along_per_dm):
        raise DifferenceError(
            say(
                "the maps differ in density, {before} and {after}: they are two rugs, and no knot can be compared",
                before=old.notation,
                after=new.notation,
            )
        )
    return Changes(before, after, settings)


def places_csv(changes: Changes) -> Iterator[str]:
    """Return the lines of the list of changed places, the header first; row 1 is the first woven, start 1 leftmost."""
    rows = ((run.row + 1, run.column + 1, run.knots, run.before, run.after) for run in changes.runs())
    return table_lines(PLACES_HEADER.split(","), rows)
