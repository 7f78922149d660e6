"""A place where a file of a set does not say what the knot map says."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chartmaker.ground.language import say, say_n

#: At most this many differences of one kind are named one by one.
MOST_NAMED = 5


@dataclass(frozen=True)
class Difference:
    """One difference: the `file` of the set that has it, and `what` is different, in one sentence."""

    file: str
    what: str


def first_few(every: Iterable[str], most: int = MOST_NAMED) -> Iterator[str]:
    """Yield the first `most` of `every`, and then how many more there are."""
    left = 0
    for number, words in enumerate(every):
        if number < most:
            yield words
        else:
            left += 1
    if left:
        yield say_n("and {n} more difference", "and {n:,} more differences", left)


def once(sheets: Iterable[tuple[int, Iterable[str]]]) -> Iterator[str]:
    """Yield what is wrong on each sheet (number, sentences), naming a fault that many sheets share only once."""
    said: set[str] = set()
    for sheet, sentences in sheets:
        for words in sentences:
            if words not in said:
                said.add(words)
                yield say("sheet {sheet}: {words}", sheet=sheet, words=words)


def cells_words(wrong: NDArray[np.bool_], what: str, first_row: int = 0, first_column: int = 0) -> str | None:
    """Return how many cells of `wrong`, shape (rows, columns), are `what` and where the first is; None if none is."""
    number = int(wrong.sum())
    if not number:
        return None
    row, column = np.argwhere(wrong)[0].tolist()
    return say_n(
        "{n} cell {what}, the first in row {row}, column {column}",
        "{n:,} cells {what}, the first in row {row}, column {column}",
        number,
        what=what,
        row=first_row + row + 1,
        column=first_column + column + 1,
    )
