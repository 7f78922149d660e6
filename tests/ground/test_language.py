"""Sentences come from the catalogue in force; only one is singular, and nought is plural (common English)."""

from __future__ import annotations

import doctest

import pytest

from chartmaker.ground import language
from chartmaker.ground.language import fields_of, joined, say, say_n, shortened, speaking, told, told_n


class Backwards:
    """A language that puts the field first, as a gettext catalogue may do with named fields."""

    def sentence(self, template: str) -> str:
        return {"The card has no yarn {code}.": "{code}: on the card it is not."}.get(template, template)

    def plural(self, one: str, many: str, number: int) -> str:
        return "{n}-fold " + (one if number == 2 else many)


def test_the_examples_in_the_docstrings_hold() -> None:
    assert doctest.testmod(language).attempted >= 2
    assert doctest.testmod(language).failed == 0


def test_sentences_are_taken_from_the_catalogue_in_force() -> None:
    with speaking(Backwards()):
        assert say("The card has no yarn {code}.", code="M-11") == "M-11: on the card it is not."
        assert say_n("sheet", "sheets", 2) == "2-fold sheet"
    assert say("The card has no yarn {code}.", code="M-11") == "The card has no yarn M-11."


def test_values_are_never_read_as_sentences() -> None:
    assert say("The rug is named {name}.", name="{code} {0} }{") == "The rug is named {code} {0} }{."


@pytest.mark.parametrize(
    ("number", "words"), [(0, "0 knots"), (1, "1 knot"), (2, "2 knots"), (1_234_567, "1,234,567 knots")]
)
def test_singular_and_plural_follow_the_number(number: int, words: str) -> None:
    assert say_n("{n} knot", "{n:,} knots", number) == words


def test_a_sentence_keeps_its_fields_in_every_language() -> None:
    with speaking(Backwards()):
        sentence = told("The card has no yarn {code}.", code="M-11")
    assert sentence == "M-11: on the card it is not."
    assert sentence.fields == ((0, 4, "code"),)
    assert told_n("{n} sheet", "{n:,} sheets", 1200).fields == ((0, 5, "n"),)


def test_sentences_are_joined_and_cut_with_their_fields() -> None:
    inner = told("rows {first}", first=7)
    both = joined(" · ", [told("in {what}", what=inner), "plain", told("{n}", n=2)])
    assert both == "in rows 7 · plain · 2"
    assert [(both[a:b], name) for a, b, name in both.fields] == [("7", "first"), ("2", "n")]
    assert fields_of(shortened(both, "in rows 7 · pl…")) == both.fields[:1]
    assert fields_of(shortened(told("a {name} b", name="Long name"), "a Lo…")) == ((2, 5, "name"),)
    assert fields_of("plain") == ()
