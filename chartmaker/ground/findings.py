"""A finding: something that the designer should know before the rug is woven."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from chartmaker.ground.sentence import Sentence, Words, later

Severity = Literal["note", "warning", "error"]
#: (row_from, row_to, column_from, column_to), half-open, counted from 0; row 0 is the first woven.
Place = tuple[int, int, int, int]


@dataclass(frozen=True)
class Finding:
    """Something that the designer should know, how severe it is, and where it shows.

    Attributes
    ----------
    said : Sentence or str
        What the designer should know, in one or two plain sentences.
    about : Sentence or str
        What it is about: a place, a yarn, a key of the rug file.
    severity : str
    places : tuple of Place
        Where it shows on the knot grid.
    """

    said: Words
    about: Words
    severity: Severity
    places: tuple[Place, ...] = ()

    @property
    def what(self) -> str:
        """What the designer should know, in the language in force."""
        return str(self.said)

    @property
    def where(self) -> str:
        """What it is about, in the language in force."""
        return str(self.about)


def place_words(place: Place) -> Sentence:
    """Return ``row 3, columns 5 to 9``, counted from 1."""
    row_from, row_to, column_from, column_to = place
    rows = later("row {first}", first=row_to)
    if row_to - row_from > 1:
        rows = later("rows {first} to {last}", first=row_from + 1, last=row_to)
    columns = later("column {first}", first=column_to)
    if column_to - column_from > 1:
        columns = later("columns {first} to {last}", first=column_from + 1, last=column_to)
    return later("{rows}, {columns}", rows=rows, columns=columns)
