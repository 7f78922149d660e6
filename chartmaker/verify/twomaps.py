"""What the two kinds of revision have in common: the maps that they name, when all is new, and how cells look."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator

import numpy as np
from numpy.typing import NDArray

from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.knots.mapfile import MapFile
from chartmaker.paper.symbols import symbols_of
from chartmaker.verify.expected import Expected, expected_of
from chartmaker.verify.fields import head_faults
from chartmaker.verify.recount.whole import recount_of
from chartmaker.verify.sheets import Sheet
from chartmaker.yarns.yarn import Yarn


def old_map(before: MapFile) -> Expected:
    """Return what the sheets of the old map say, how long the rug is on the loom included."""
    knot_map, workshop = before.knot_map, before.workshop
    return expected_of(knot_map, workshop, recount_of(knot_map, workshop))


def all_new(old: Expected, expected: Expected) -> bool:
    """Return whether nothing of the old sheets can stay.

    That is so where the rug's size, the printed sheets' settings or its mirrors are others, and where its strips or its
    weavers' columns are, which every sheet names, or how long it is on the loom, which every sheet measures by.
    """
    if (old.rug, old.chart, old.strips, old.seats) != (expected.rug, expected.chart, expected.strips, expected.seats):
        return True
    if old.loom_length_factor != expected.loom_length_factor:
        return True
    return old.knots.shape != expected.knots.shape or old.mirrored != expected.mirrored


def named_differences(sheet: Sheet, old: str, expected: Expected) -> Iterator[str]:
    """Yield a fault if the first sheet names other maps than `old` and the new one, or another rug."""
    yield from head_faults(sheet.root, expected.rug.name, old=old, map=expected.code)


def looks_of(
    old: Expected, expected: Expected, look: Callable[[Yarn], Hashable]
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return what each cell of the old map and of the new looks like, as numbers with one meaning in both.

    Parameters
    ----------
    look : callable
        What is printed of a yarn besides its symbol.
    """
    known: dict[Hashable, int] = {}
    found = []
    for each in (old, expected):
        numbers = np.full(NO_KNOT + 1, -1, dtype=np.int64)
        for index, (yarn, glyph) in enumerate(zip(each.yarns, symbols_of(each.yarns).tolist(), strict=True)):
            numbers[index] = known.setdefault((look(yarn), glyph), len(known))
        found.append(numbers[each.knots])
    return found[0], found[1]
