"""Sentences that are kept as values and said later, in the language of the reader."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from chartmaker.ground.language import Told, for_programs, say, say_n, speaking, told, told_n


@dataclass(frozen=True)
class Sentence:
    """A sentence with its fields, not yet said; `str` says it in the language in force.

    Attributes
    ----------
    template : str
        The whole sentence in English, its values as named fields.
    fields : tuple of (name, value)
        The values; one may be a sentence itself, which is then said along with it.
    many : str or None
        The sentence for numbers other than one, where it counts things.
    n : int
        How many things it counts.
    """

    template: str
    fields: tuple[tuple[str, object], ...] = ()
    many: str | None = None
    n: int = 1

    def __str__(self) -> str:
        if self.many is None:
            return say(self.template, **dict(self.fields))
        return say_n(self.template, self.many, self.n, **dict(self.fields))

    @property
    def told(self) -> Told:
        """The sentence in the language in force, with the places of its fields."""
        fields = {name: value.told if isinstance(value, Sentence) else value for name, value in self.fields}
        if self.many is None:
            return told(self.template, **fields)
        return told_n(self.template, self.many, self.n, **fields)

    def in_english(self) -> str:
        """Return the sentence in English, whatever language is in force; a dialect stays."""
        with speaking(for_programs()):
            return str(self)


#: Words that are said as they are, or a sentence to be said later.
Words = Sentence | str


def english(words: Words) -> str:
    """Return words in English, as programs get them."""
    return words.in_english() if isinstance(words, Sentence) else words


def told_words(words: Words) -> str:
    """Return words in the language in force; of a sentence with the places of its fields."""
    return words.told if isinstance(words, Sentence) else words


def later(template: str, **fields: object) -> Sentence:
    """Return a sentence to be said later.

    Examples
    --------
    >>> str(later("The card has no yarn {code}.", code="M-11"))
    'The card has no yarn M-11.'
    """
    return Sentence(template, tuple(fields.items()))


def later_n(one: str, many: str, n: int, **fields: object) -> Sentence:
    """Return a sentence about `n` things, to be said later; `n` is a named field as well.

    Examples
    --------
    >>> str(later_n("{n} knot stands alone.", "{n:,} knots stand alone.", 1200))
    '1,200 knots stand alone.'
    """
    return Sentence(one, tuple(fields.items()), many, n)


def listed(sentences: Sequence[Sentence]) -> Sentence:
    """Return several sentences as one to be said later, with semicolons between them.

    Examples
    --------
    >>> str(listed([later("one"), later("two"), later("three")]))
    'one; two; three'
    """
    first, *rest = sentences
    return first if not rest else later("{first}; {rest}", first=first, rest=listed(rest))
