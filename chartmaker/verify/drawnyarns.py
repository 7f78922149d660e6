"""A pattern filled with the yarns that its numbers name, held against the knot map, and field by field."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.language import say
from chartmaker.knots.knotmap import NO_KNOT, KnotMap

#: Share of the places off every edge that have the right yarn, at least.
LEAST_ALIKE = 0.995
#: The yarn of an area so small that it need not have a number of its own.
UNTOLD = -2
#: How many fields with a wrong number are named.
_MOST_FIELDS = 8

Yarns = NDArray[np.int32]


@dataclass(frozen=True, eq=False)
class Drawn:
    """What a pattern shows, turned back to the pile side, the top row first.

    Attributes
    ----------
    yarns : ndarray of int32, shape (height, width)
        The yarn of each pixel, -1 where no field lies, UNTOLD where nothing is told of it.
    fields : ndarray of int32, shape (height, width)
        The field of each pixel, counted from 0.
    scale : float
        Pixels a millimetre.
    """

    yarns: Yarns
    fields: Yarns
    scale: float

    def at(self, rows: NDArray[np.float64], columns: NDArray[np.float64]) -> tuple[Yarns, Yarns]:
        """Return yarns and fields at some rows and columns, as shares of height and width from the top left."""
        height, width = self.yarns.shape
        down = np.minimum((rows * height).astype(int), height - 1)
        across = np.minimum((columns * width).astype(int), width - 1)
        return self.yarns[np.ix_(down, across)], self.fields[np.ix_(down, across)]


def map_differences(drawn: Drawn, knot_map: KnotMap) -> Iterator[str]:
    """Yield whether a pattern has the map's yarn at the knots that lie off every edge, and in which fields it has not.

    Knots whose neighbours have another yarn tell nothing, because a drawn edge does not follow the knots' steps.
    """
    knots = knot_map.knots
    rows, columns = knots.shape
    due = np.where(knots == NO_KNOT, -1, knots.astype(np.int32))[::-1]
    shown, fields = drawn.at((np.arange(rows) + 0.5) / rows, (np.arange(columns) + 0.5) / columns)
    off = off_edges(due) & (shown != UNTOLD)
    wrong = off & (shown != due)
    if wrong.sum() > (1 - LEAST_ALIKE) * off.sum():
        row, column = (int(value) for value in np.argwhere(wrong[::-1])[0])
        yield say(
            "{share:.2f} % of the places off the edges have another yarn than the map, the first in row {row}, column "
            "{column}",
            share=100 * wrong.sum() / off.sum(),
            row=row + 1,
            column=column + 1,
        )
    codes = [yarn.code for yarn in knot_map.yarns]
    for field in wrong_fields(fields[off], wrong[off])[:_MOST_FIELDS]:
        there = off & (fields == field)
        row, column = (int(value) for value in np.argwhere(there)[0])
        yield say(
            "a field is {shown}, and the map has {due} there, in row {row}, column {column}",
            shown=_named(codes, shown[row, column]),
            due=_named(codes, due[row, column]),
            row=rows - row,
            column=column + 1,
        )


def wrong_fields(fields: Yarns, wrong: NDArray[np.bool_]) -> list[int]:
    """Return the fields of which more than half of what can be judged is wrong, the largest first."""
    if not wrong.any():
        return []
    judged, bad = np.bincount(fields), np.bincount(fields, wrong)
    most = np.flatnonzero(bad > 0.5 * judged)
    return [int(field) for field in most[np.argsort(-bad[most], kind="stable")]]


def off_edges(due: Yarns) -> NDArray[np.bool_]:
    """Return where all eight neighbours are the same."""
    around = np.pad(due, 1, mode="edge")
    same = np.ones(due.shape, dtype=bool)
    for down in range(3):
        for right in range(3):
            same &= around[down : down + due.shape[0], right : right + due.shape[1]] == due
    return same


def _named(codes: list[str], yarn: int) -> str:
    return codes[yarn] if yarn >= 0 else say("left out")
