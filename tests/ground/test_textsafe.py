"""Text from outside is shown as it stands where that is harmless, and by its code number where it is not."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chartmaker.ground.textsafe import guess, inert, printable

#: Words that are spelt with joiners (Unicode Standard, 9.2 "Cursive joining", 12 "Rendering Devanagari" and "Bengali",
#: and 13.2 "Sinhala").
WITH_JOINERS = {
    "Persian, within a word": "\u0645\u06cc\u200c\u062e\u0648\u0627\u0647\u0645",
    "Persian, before a suffix": "\u06af\u0644\u200c\u0647\u0627 \u0633\u0628\u0632",
    "Persian, an abbreviation": "\u0647\u200d.\u0642",
    "Arabic, behind a vowel mark": "\u0628\u064f\u200c\u0628",
    "Hindi, a half letter": "\u0915\u094d\u200d\u0937",
    "Hindi, a visible virama": "\u0915\u094d\u200c\u0937",
    "Bengali, ra before a virama": "\u09b0\u200d\u09cd\u09af",
    "Sinhala": "\u0dc1\u0dca\u200d\u0dbb\u0dd3",
}
WITHOUT_USE = {
    "in Latin": "Ro\u200dse",
    "at the beginning": "\u200c\u06af\u0644",
    "behind Latin": "Rose\u200c",
    "twice": "\u06af\u0644\u200c\u200c\u0647\u0627",
    "behind a space": "\u06af\u0644 \u200c\u0647\u0627",
    "behind a mark on Latin": "e\u0301\u200ce",
    "between pictures": "\U0001f469\u200d\U0001f33e",
}


@pytest.mark.parametrize("name", WITH_JOINERS)
def test_a_joiner_stays_where_the_script_uses_it(name: str) -> None:
    assert printable(WITH_JOINERS[name])
    assert inert(WITH_JOINERS[name]) == WITH_JOINERS[name]


@pytest.mark.parametrize("name", WITHOUT_USE)
def test_a_joiner_is_shown_by_its_number_where_it_could_only_hide_something(name: str) -> None:
    assert not printable(WITHOUT_USE[name])
    assert "\\u200" in inert(WITHOUT_USE[name])


@given(st.text())
def test_text_that_was_made_inert_has_no_invisible_letter(text: str) -> None:
    shown = inert(text)
    unseen = [c for c in shown if unicodedata.category(c) in ("Cc", "Cs", "Co", "Cn", "Zl", "Zp")]
    assert unseen == []
    assert all(c in "\u200c\u200d" for c in shown if unicodedata.category(c) == "Cf")
    assert len(shown) <= 300


@given(st.text(max_size=200))
def test_printable_text_is_shown_as_it_stands(text: str) -> None:
    assert not printable(text) or inert(text) == text


def test_a_long_text_is_cut() -> None:
    assert inert("x" * 400) == "x" * 299 + "…"
    assert inert("x" * 400, longest=400) == "x" * 400


def test_a_word_that_is_nearly_right_is_guessed() -> None:
    assert guess("densty", ["density", "size"]) == "density"
    assert guess("zzz", ["density", "size"]) == ""
