"""One is one, all else are many, nought among them (common English)."""

from __future__ import annotations

import pytest

from chartmaker.ground.language import counted


@pytest.mark.parametrize(
    ("number", "words"), [(0, "0 knots"), (1, "1 knot"), (2, "2 knots"), (1_234_567, "1,234,567 knots")]
)
def test_things_are_counted(number: int, words: str) -> None:
    assert counted(number, "knot") == words


def test_what_is_not_formed_with_an_s_is_given() -> None:
    assert counted(1, "knot is", "knots are") == "1 knot is"
    assert counted(2, "pass", "passes") == "2 passes"
