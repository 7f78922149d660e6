"""The knot map: which yarn is tied at every place of the rug's grid."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.colour import hex_of
from chartmaker.ground.errors import KnotFileError
from chartmaker.ground.language import say, say_n
from chartmaker.ground.rounding import percents
from chartmaker.order.rug import Rug
from chartmaker.yarns.yarn import Yarn

#: The cell value outside the rug's outline.
NO_KNOT = 65535
#: A palette picture keeps one of its 256 entries for NO_KNOT.
MOST_YARNS = 255

KnotArray = NDArray[np.uint16]


@dataclass(frozen=True, eq=False)
class KnotMap:
    """The knots of a rug.

    Parameters
    ----------
    knots : ndarray of uint16, shape (rows, columns)
        Index into `yarns`, or NO_KNOT. Row 0 is the first woven (the bottom edge), column 0 the left edge
        seen from the pile side. Copied: nothing that happens to the caller's array afterwards reaches the map.
    yarns : tuple of Yarn
        The yarns that are used, and no others.
    rug : Rug

    Notes
    -----
    How the workshop makes the rug, and what it pays for that, is not part of the map: those settings are a value of
    their own (`Workshop`) that is handed over beside it.
    """

    knots: KnotArray
    yarns: tuple[Yarn, ...]
    rug: Rug

    def __post_init__(self) -> None:
        knots = _kept(self.knots)
        object.__setattr__(self, "knots", knots)
        if knots.shape != (self.rug.rows, self.rug.columns):
            raise KnotFileError(
                say(
                    "the map has {map_columns} x {map_rows} knots, but the rug {columns} x {rows}",
                    map_columns=knots.shape[1],
                    map_rows=knots.shape[0],
                    columns=self.rug.columns,
                    rows=self.rug.rows,
                )
            )
        if len(self.yarns) > MOST_YARNS:
            raise KnotFileError(
                say("a map holds at most {most} yarns, not {yarns}", most=MOST_YARNS, yarns=len(self.yarns))
            )
        if len({yarn.code for yarn in self.yarns}) != len(self.yarns):
            raise KnotFileError(say("two yarns of the map have the same code"))
        highest = int(knots.max(where=knots != NO_KNOT, initial=0))
        if highest >= max(len(self.yarns), 1):
            one, many = (
                "a knot names yarn {yarn}; the map has {n} yarn",
                "a knot names yarn {yarn}; the map has {n} yarns",
            )
            raise KnotFileError(say_n(one, many, len(self.yarns), yarn=highest))

    @property
    def rows(self) -> int:
        return int(self.knots.shape[0])

    @property
    def columns(self) -> int:
        return int(self.knots.shape[1])

    @cached_property
    def counts(self) -> NDArray[np.int64]:
        """Knots of each yarn, shape (yarns,)."""
        return _tally(self.knots)[: len(self.yarns)]

    @property
    def tied(self) -> int:
        """Knots to tie."""
        return int(self.counts.sum())

    @cached_property
    def percents(self) -> tuple[float, ...]:
        """The share of each yarn in the knots to tie, as it is printed everywhere: two decimals that add up to 100."""
        return percents(self.counts)

    @property
    def empty(self) -> int:
        """Cells outside the rug's outline."""
        return self.rows * self.columns - self.tied

    @cached_property
    def sha256(self) -> str:
        """What identifies this map: its size, its yarns and their colours, and every cell."""
        digest = hashlib.sha256(f"{self.rows} {self.columns}\n".encode("ascii"))
        for yarn in self.yarns:
            digest.update(f"{yarn.code} {hex_of(yarn.srgb)}\n".encode("ascii"))
        digest.update(self.knots.astype("<u2", copy=False).data)
        return digest.hexdigest()

    @property
    def map_code(self) -> str:
        """The first eight digits of `sha256`, printed on every sheet."""
        return self.sha256[:8]


def _kept(knots: KnotArray) -> KnotArray:
    """Return `knots` in read-only memory of their own; an array already held that way is shared."""
    cells = np.asarray(knots, dtype=np.uint16)
    if isinstance(cells.base, bytes) and cells.flags.c_contiguous and not cells.flags.writeable:
        return cells
    return np.ndarray(cells.shape, dtype=np.uint16, buffer=cells.tobytes())


def _tally(knots: KnotArray) -> NDArray[np.int64]:
    """Return how many cells have each value, shape (NO_KNOT + 1,)."""
    tally = np.zeros(NO_KNOT + 1, dtype=np.int64)
    for row in range(0, len(knots), 256):  # in bands: bincount widens to 64 bits
        tally += np.bincount(knots[row : row + 256].ravel(), minlength=NO_KNOT + 1)
    return tally


def tied_only(knots: KnotArray, yarns: tuple[Yarn, ...]) -> tuple[KnotArray, tuple[Yarn, ...]]:
    """Return (knots renumbered, yarns) with only the yarns that are tied, in their order; `yarns` may be any number."""
    used = np.flatnonzero(_tally(knots)[:NO_KNOT])
    if len(used) == len(yarns):
        return knots, yarns
    renumber = np.full(NO_KNOT + 1, NO_KNOT, dtype=np.uint16)
    renumber[used] = np.arange(len(used), dtype=np.uint16)
    return renumber[knots], tuple(yarns[index] for index in used)


def without_unused(knot_map: KnotMap) -> KnotMap:
    """Return the same map with only the yarns that are tied, in their order."""
    knots, yarns = tied_only(knot_map.knots, knot_map.yarns)
    return knot_map if yarns is knot_map.yarns else KnotMap(knots, yarns, knot_map.rug)
