"""Numbers, names and lengths in the fields of a sheet are read as they are printed, and no others pass for them."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from chartmaker.readback.printed import Block, Text
from chartmaker.verify import fields


@pytest.mark.parametrize(
    ("words", "number"),
    [
        ("0", 0),
        ("1234", 1234),
        ("1,234", 1234),
        ("1,234,567", 1234567),
        ("12,34", -1),
        ("", -1),
        ("-3", -1),
        ("1.5", -1),
    ],
)
def test_whole_numbers_may_be_parted_by_threes(words: str, number: int) -> None:
    assert fields.whole(words) == number


@pytest.mark.parametrize(
    ("printed", "name", "same"),
    [
        ("Old madder", "Old madder", True),
        ("Old madder", "Old madder red", False),
        ("Old mad…", "Old madder", True),
        ("Old …", "Old madder", True),
        ("Old max…", "Old madder", False),
        ("Old madder…", "Old madder…", True),
        ("Old…", "Old madder…", False),
        ("Old madder", "Old madder…", False),
        ("שלום", "םולש", True),  # letters from right to left are compared whatever their order
        ("שלו…", "םולש", True),
        ("שלו", "םולש", False),
        ("שלוםם", "םולש", False),
        ("שלוx…", "םולש", False),
        ("ו ל ש ם", "םולש", True),
    ],
)
def test_a_name_is_printed_whole_or_cut_short(printed: str, name: str, same: bool) -> None:
    assert fields.same_name(printed, name) == same


@pytest.mark.parametrize(
    ("words", "value", "off", "near"),
    [
        ("12.35", 12.3, 0.0501, True),
        ("12.36", 12.3, 0.0501, False),
        ("1234", 1234.4, 0.0, True),
        ("1235", 1233.9, 0.0, False),
        ("1.2e+03", 1200.0, 0.0, True),
        ("", 0.0, 1.0, False),
        ("1,234", 1234.0, 1.0, False),
        ("-1", -1.0, 1.0, False),
        ("nan", 0.0, 1.0, False),
    ],
)
def test_a_measure_is_near_or_has_the_same_four_figures(words: str, value: float, off: float, near: bool) -> None:
    assert fields.near(words, value, off) == near


@pytest.mark.parametrize(
    ("mm", "words"),
    # An inch is 25.4 mm, a foot twelve of them (NIST Handbook 44, appendix C).
    [
        (Fraction(0), "0'0\""),
        (Fraction(3048, 10), "1'0\""),
        (Fraction(254, 10), "0'1\""),
        (Fraction(3048) + 254 + Fraction(127, 10), "10'10 1/2\""),
        (Fraction(3175, 1000), "0'0 1/8\""),
        (Fraction(3048, 10) - 1, "1'0\""),
        (Fraction(3048, 10) - 2, "0'11 7/8\""),
    ],
)
def test_a_length_is_told_in_feet_and_eighths_of_an_inch(mm: Fraction, words: str) -> None:
    assert fields.feet(mm) == words


def test_only_english_words_can_name_another_kind() -> None:
    kinds = ("asymmetric", "asymmetric, open left", "symmetric")
    assert not fields.wrong_words("the asymmetric knot", "asymmetric", kinds)
    assert not fields.wrong_words("the asymmetric, open left knot", "asymmetric, open left", kinds)
    assert not fields.wrong_words("der offene Knoten", "asymmetric", kinds)
    assert fields.wrong_words("the asymmetric, open left knot", "asymmetric", kinds)
    assert fields.wrong_words("the symmetric knot", "asymmetric", kinds)
    assert fields.wrong_reading("from left to right", "right to left")
    assert not fields.wrong_reading("from left to right", "left to right")
    assert not fields.wrong_reading("de droite", "left to right")


def span(tag: str, **told: str) -> Block:
    letters = Text("", 0.0, 0.0, 2.0, 0.0, 1.0, "T", b"", True, (0.0,))
    items: list[Any] = [Block(name, {}, [replace(letters, words=words)]) for name, words in told.items()]
    return Block(tag, {}, items)


def test_a_head_bears_each_code_and_number_once() -> None:
    def wrong(*spans: Block) -> list[str]:
        return list(fields.head_faults(Block("", {}, [*spans]), "Pond", map="abc", sheet=1234))

    name, right = span("heading", name="Pond"), span("identity", map="abc", sheet="1,234")
    assert wrong(name, right) == []
    assert wrong(span("heading", name="Po…"), right) == []
    for heads in ((), (name, name), (span("heading", name="Lake"),)):
        assert wrong(*heads, right) == ["it does not name the rug"]
    assert wrong(name, span("identity", map="ABC", sheet="1234")) == ["for map it prints 'ABC', not abc"]
    assert wrong(name, span("identity", map="abc", sheet="1235")) == ["for sheet it prints '1235', not 1234"]
    assert wrong(name, span("identity", map="abc")) == ["for sheet it prints nothing, not 1234"]
    assert wrong(name, *[right] * 4) == [
        "for map it prints 'abc', 'abc', 'abc', not abc",
        "for sheet it prints '1,234', '1,234', '1,234', not 1234",
    ]
    assert wrong(name, span("identity", map="abc", sheet="1234", more="7")) == [
        "it prints a more that should not be there: '7'"
    ]
