"""How chartmaker speaks: whole sentences with named fields, looked up in one catalogue.

A sentence is written where it is needed, whole and in plain English, with its values as named fields:
``say("The card has no yarn {code}.", code=code)``. Before the fields are filled in, the sentence is looked up in the
catalogue in force, as gettext does it, so that another language can put its words in another order. English is the
catalogue that changes nothing. Values stay values: no word is ever made by adding an ending to another word.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from functools import lru_cache
from typing import NamedTuple, Protocol


class Catalogue(Protocol):
    """Gives each sentence in the reader's language."""

    def sentence(self, template: str) -> str:
        """Return the sentence for `template`, with the same named fields."""

    def plural(self, one: str, many: str, number: int) -> str:
        """Return the sentence for `number` things, with the same named fields."""


class English:
    """The language that the sentences are written in; it has a singular for one and a plural for all other numbers."""

    def sentence(self, template: str) -> str:
        return template

    def plural(self, one: str, many: str, number: int) -> str:
        return one if number == 1 else many


#: What a dialect leaves as it is: fields, keys of the rug file, options, names of files, the knot map; then a word.
_PART = r"\{[^{}]*\}|\[[a-z]+\] \w+|--[\w-]+|\w+\.[a-z]\w+|[Kk]not maps?\b|[A-Za-z]+"


class Dialect(NamedTuple):
    """A trade's own words in a language; a sentence is put into them first, then looked up whole like any other.

    Attributes
    ----------
    words : tuple of (usual, own)
        Single words in small letters; those that begin with a capital keep it.
    sentences : tuple of (usual, own)
        Whole sentences, which come before the single words.
    language : Catalogue
        Where the sentences are looked up.
    """

    words: tuple[tuple[str, str], ...]
    sentences: tuple[tuple[str, str], ...] = ()
    language: Catalogue = English()

    def over(self, language: Catalogue) -> Dialect:
        """Return the dialect with its sentences looked up in `language`."""
        return Dialect(self.words, self.sentences, language)

    def sentence(self, template: str) -> str:
        return self.language.sentence(_in_own_words(template, self.words, self.sentences))

    def plural(self, one: str, many: str, number: int) -> str:
        one, many = (_in_own_words(template, self.words, self.sentences) for template in (one, many))
        return self.language.plural(one, many, number)


@lru_cache(maxsize=4096)
def _in_own_words(template: str, words: tuple[tuple[str, str], ...], sentences: tuple[tuple[str, str], ...]) -> str:
    for usual, own in sentences:
        if template == usual:
            return own
    table = {**dict(words), **{usual.capitalize(): own.capitalize() for usual, own in words}}
    return re.sub(_PART, lambda part: table.get(part[0], part[0]), template)


_in_force: list[Catalogue] = [English()]


def in_force() -> Catalogue:
    """Return the catalogue in force."""
    return _in_force[-1]


@contextmanager
def speaking(catalogue: Catalogue) -> Iterator[None]:
    """Take all sentences from `catalogue` while the context lasts, in every thread of this process."""
    _in_force.append(catalogue)
    try:
        yield
    finally:
        _in_force.remove(catalogue)


def for_programs() -> Catalogue:
    """Return the catalogue of what programs are told: English, in the dialect in force."""
    catalogue = in_force()
    return catalogue.over(English()) if isinstance(catalogue, Dialect) else English()


@contextmanager
def in_dialect(dialect: Dialect | None) -> Iterator[None]:
    """Let all sentences be said in a dialect of the language in force while the context lasts; none changes nothing."""
    if dialect is None:
        yield
        return
    catalogue = in_force()
    language = catalogue.language if isinstance(catalogue, Dialect) else catalogue
    with speaking(dialect.over(language)):
        yield


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


class Told(str):
    """A sentence that knows where its fields stand, so that paper can tag them: (start, end, name) of each, in order.

    Everywhere else it is a plain string.
    """

    fields: tuple[tuple[int, int, str], ...]

    def __new__(cls, words: str, fields: tuple[tuple[int, int, str], ...] = ()) -> Told:
        made = super().__new__(cls, words)
        made.fields = fields
        return made


def fields_of(words: str) -> tuple[tuple[int, int, str], ...]:
    """Return where the fields of a sentence stand; plain words have none."""
    return words.fields if isinstance(words, Told) else ()


@lru_cache(maxsize=4096)
def _pieces(template: str) -> tuple[tuple[str, str | None, str], ...]:
    """Return (words, name of the field after them, its format) for each field of a sentence."""
    from string import Formatter  # the help of the command line is sooner there without it

    return tuple((words, name, form or "") for words, name, form, _ in Formatter().parse(template))


def _told(template: str, fields: dict[str, object]) -> Told:
    words: list[str] = []
    found: list[tuple[int, int, str]] = []
    length = 0
    for literal, name, form in _pieces(template):
        words.append(literal)
        length += len(literal)
        if name is None:
            continue
        value = fields[name]
        shown = format(value, form)
        inner = fields_of(value) if isinstance(value, str) else ()
        if inner:  # a sentence within a sentence keeps its own fields, which say more than the outer name
            found += [(length + start, length + end, each) for start, end, each in inner]
        else:
            found.append((length, length + len(shown), name))
        words.append(shown)
        length += len(shown)
    return Told("".join(words), tuple(found))


def told(template: str, **fields: object) -> Told:
    """Return the sentence as `say` does, with the places of its fields.

    Examples
    --------
    >>> told("sheet {sheet} of {sheets}", sheet=3, sheets=20).fields
    ((6, 7, 'sheet'), (11, 13, 'sheets'))
    """
    return _told(_in_force[-1].sentence(template), fields)


def told_n(one: str, many: str, n: int, **fields: object) -> Told:
    """Return the sentence for `n` things as `say_n` does, with the places of its fields."""
    return _told(_in_force[-1].plural(one, many, n), {"n": n, **fields})


def field(name: str, value: object) -> Told:
    """Return a value that stands alone, as a field called `name`."""
    return Told(str(value), ((0, len(str(value)), name),))


def joined(separator: str, sentences: Iterable[str]) -> Told:
    """Return sentences joined by `separator`, with the places of their fields."""
    words: list[str] = []
    found: list[tuple[int, int, str]] = []
    length = 0
    for sentence in sentences:
        if words:
            words.append(separator)
            length += len(separator)
        found += [(length + start, length + end, name) for start, end, name in fields_of(sentence)]
        words.append(sentence)
        length += len(sentence)
    return Told("".join(words), tuple(found))


def shortened(sentence: str, shorter: str) -> str:
    """Return `shorter`, cut from `sentence` with an ellipsis, with what is left of its fields."""
    if sentence == shorter or not fields_of(sentence):
        return shorter
    kept = len(shorter) - 1
    found = [
        (start, len(shorter) if end > kept else end, name) for start, end, name in fields_of(sentence) if start < kept
    ]
    return Told(shorter, tuple(found))


def part_of(sentence: str, start: int, end: int) -> str:
    """Return the letters from `start` to `end` of a sentence, with what lies in them of its fields.

    Examples
    --------
    >>> part_of(told("{low} to {high} g", low=12, high=14), 6, 10).fields
    ((0, 2, 'high'),)
    """
    found = [
        (max(first, start) - start, min(last, end) - start, name)
        for first, last, name in fields_of(sentence)
        if first < end and last > start
    ]
    return Told(sentence[start:end], tuple(found)) if found else str(sentence[start:end])


def wrapped_words(words: str, letters: int) -> list[str]:
    """Return words in lines of at most `letters` letters, with the fields that stand in each line."""
    lines: list[str] = []
    place = 0
    for line in textwrap.wrap(words, letters, break_long_words=False, break_on_hyphens=False):
        place = words.index(line, place)
        lines.append(part_of(words, place, place + len(line)))
    return lines


def phrase(template: str) -> str:
    """Return `template` as it is: it marks a sentence in a constant that `say` looks up later."""
    return template
