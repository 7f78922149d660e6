"""How chartmaker speaks: whole sentences with named fields, looked up in one catalogue.

A sentence is written where it is needed, whole and in plain English, with its values as named fields:
``say("The card has no yarn {code}.", code=code)``. Before the fields are filled in, the sentence is looked up in the
catalogue in force, as gettext does it, so that another language can put its words in another order. English is
the catalogue that changes nothing. Values stay values: no word is ever made by adding an ending to another.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Protocol


class Catalogue(Protocol):
    """What gives a sentence in the language of the reader."""

    def sentence(self, template: str) -> str:
        """Return the sentence for `template`, with the same named fields."""

    def plural(self, one: str, many: str, number: int) -> str:
        """Return the sentence for `number` things, with the same named fields."""


class English:
    """The language that the sentences are written in: one is one, and all other numbers are many."""

    def sentence(self, template: str) -> str:
        return template

    def plural(self, one: str, many: str, number: int) -> str:
        return one if number == 1 else many


_in_force: list[Catalogue] = [English()]


@contextmanager
def speaking(catalogue: Catalogue) -> Iterator[None]:
    """Let all sentences come from `catalogue` while the context lasts, in every thread of this process."""
    _in_force.append(catalogue)
    try:
        yield
    finally:
        _in_force.remove(catalogue)


def say(template: str, **fields: object) -> str:
    """Return the sentence `template` in the language in force, its named fields filled in.

    Examples
    --------
    >>> say("The card has no yarn {code}.", code="M-11")
    'The card has no yarn M-11.'
    """
    return _in_force[-1].sentence(template).format(**fields)


def say_n(one: str, many: str, n: int, **fields: object) -> str:
    """Return the sentence for `n` things; `n` is a named field as well.

    Examples
    --------
    >>> say_n("{n} sheet", "{n:,} sheets", 1), say_n("{n} sheet", "{n:,} sheets", 1200)
    ('1 sheet', '1,200 sheets')
    """
    return _in_force[-1].plural(one, many, n).format(n=n, **fields)


def phrase(template: str) -> str:
    """Return `template` as it is: the mark of a sentence that stands in a constant and is looked up later by `say`."""
    return template


def counted(number: int, one: str, many: str = "") -> str:
    """Return ``1 knot``, ``1,234 knots``; `many` where it is not `one` with an s, as in ``1 knot is``.

    It makes words by adding an ending, so new sentences use `say_n`; it goes when the last of its callers is gone.
    """
    return f"{number:,} {one if number == 1 else many or one + 's'}"
