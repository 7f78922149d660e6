"""How a figure was reached, and the defaults that it rests on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from chartmaker.ground.sentence import Words

Basis = Literal["given", "measured here", "published", "common practice", "estimate", "arithmetic"]


@dataclass(frozen=True)
class Reached:
    """How a figure was reached.

    Attributes
    ----------
    figure : Sentence or str
        What the figure is called.
    reckoned : Sentence or str
        The arithmetic in words.
    basis : str
        What that arithmetic rests on.
    """

    figure: Words
    reckoned: Words
    basis: Basis

    @property
    def what(self) -> str:
        """What the figure is called, in the language in force."""
        return str(self.figure)

    @property
    def how(self) -> str:
        """The arithmetic in words, in the language in force."""
        return str(self.reckoned)


@dataclass(frozen=True)
class Assumption:
    """A default that stands in for a key that was not given.

    Attributes
    ----------
    place : Sentence or str
        The key of the rug file, or what else was not given.
    taken : Sentence or str
        What stands in for it.
    reason : Sentence or str
        Why that is taken.
    basis : str
        What the reason rests on.
    """

    place: Words
    taken: Words
    reason: Words
    basis: Basis

    @property
    def key(self) -> str:
        """The key of the rug file, or what else was not given, in the language in force."""
        return str(self.place)

    @property
    def value(self) -> str:
        """What stands in for it, in the language in force."""
        return str(self.taken)

    @property
    def why(self) -> str:
        """Why that is taken, in the language in force."""
        return str(self.reason)
