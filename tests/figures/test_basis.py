"""Ranges by hand, every basis of the guide told somewhere."""

from __future__ import annotations

from typing import get_args

import pytest

from chartmaker.figures.basis import Basis, Range, total


def test_ranges_by_hand() -> None:
    assert Range.exact(3.0) == Range(3.0, 3.0, 3.0)
    assert Range.around(200, 0.1) == Range(pytest.approx(180), 200, pytest.approx(220))
    assert Range(1, 2, 4).times(3) == Range(3, 6, 12)
    assert Range(1, 2, 4).plus(10) == Range(11, 12, 14)
    assert total([Range(1, 2, 4), Range(10, 20, 40), Range.exact(100)]) == Range(111, 122, 144)
    assert total([]) == Range(0, 0, 0)


def test_a_figure_rests_on_one_of_six_things() -> None:
    """The words of the guide and of summary.json."""
    assert get_args(Basis) == ("given", "measured here", "published", "common practice", "estimate", "arithmetic")
