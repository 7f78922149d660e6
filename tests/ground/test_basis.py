"""Ranges are calculated as by hand, and every kind of basis that a figure can have is shown somewhere."""

from __future__ import annotations

import re
from pathlib import Path
from typing import get_args

import pytest
from support.worked import worked_example

from chartmaker.ground.basis import Basis
from chartmaker.ground.ranges import Range, total


def test_ranges_are_added_and_multiplied_as_by_hand() -> None:
    assert Range.exact(3.0) == Range(3.0, 3.0, 3.0)
    around = Range.around(200, 0.1)
    assert (around.low, around.best, around.high) == pytest.approx((180, 200, 220))
    assert Range(1, 2, 4).times(3) == Range(3, 6, 12)
    assert Range(1, 2, 4).plus(10) == Range(11, 12, 14)
    assert total([Range(1, 2, 4), Range(10, 20, 40), Range.exact(100)]) == Range(111, 122, 144)
    assert total([]) == Range(0, 0, 0)


def test_a_figure_rests_on_one_of_six_things() -> None:
    """The worked example has figures of every basis and of no other; the README names the four that defaults have."""
    figures = worked_example()
    bases = set(get_args(Basis))
    assert len(bases) == 6
    assert {r.basis for r in figures.reached} | {a.basis for a in figures.assumptions} == bases
    readme = Path(__file__).parents[2].joinpath("README.md").read_text(encoding="utf-8")
    listed = " ".join(readme.split()).partition("listed with its basis: ")[2].partition(".")[0]
    assert set(re.split(r", | or ", listed)) == bases - {"given", "arithmetic"}
