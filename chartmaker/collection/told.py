"""The values of a collection: all that is asked for, and what became of every set."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import Any, Literal

from chartmaker.collection.combining import Wanted
from chartmaker.order.collectionfile import CollectionFile
from chartmaker.order.workshop import Dye

State = Literal["kept", "made", "failed", "to make"]


@dataclass(frozen=True)
class Season:
    """A collection as it is asked for: its file, and every set."""

    file: CollectionFile
    wanted: tuple[Wanted, ...]


@dataclass(frozen=True)
class SetTold:
    """What became of a set: its record if there is one, or else the error with the exit code of `make`."""

    wanted: Wanted
    state: State
    record: dict[str, Any] | None = None
    error: str = ""
    exit_code: int = 0


@dataclass(frozen=True)
class Told:
    """What became of every set, in the order of the file.

    Attributes
    ----------
    season : Season
    sets : tuple of SetTold
    left : tuple of str
        Sets in the folder that are no longer asked for.
    dye : Dye
        The one dye house; `dyes_differ` if the rug files have several, of which this is the first.
    stock_g : dict of float, optional
        The yarn in stock by code, if the collection says it.
    orders : tuple of str
        The orders that were chosen; none stands for all.
    """

    season: Season
    sets: tuple[SetTold, ...]
    left: tuple[str, ...] = ()
    dye: Dye = field(default_factory=Dye)
    dyes_differ: bool = False
    stock_g: dict[str, float] | None = None
    orders: tuple[str, ...] = ()

    @property
    def failed(self) -> tuple[SetTold, ...]:
        """The sets that could not be made."""
        return tuple(each for each in self.sets if each.state == "failed")

    def count(self, state: State) -> int:
        """Return how many sets are in a state."""
        return Counter(each.state for each in self.sets)[state]
