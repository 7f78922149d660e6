"""Rounded parts add up to the rounded whole."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from chartmaker.ground.rounding import adding_up, ceil_of, floor_of, half_up, percents, shared_out


def test_the_textbook_case_of_largest_remainders() -> None:
    # These are three equal thirds of 100; the odd one goes to the first, because nothing else distinguishes them.
    assert shared_out(100, np.array([1, 1, 1])).tolist() == [34, 33, 33]
    # This is the worked example of Hamilton's method in Wikipedia, "Largest remainder method": 100,000 votes, 10 seats.
    votes = np.array([47_000, 16_000, 15_800, 12_000, 6_100, 3_100])
    assert shared_out(10, votes).tolist() == [5, 2, 1, 1, 1, 0]


@given(st.integers(0, 10**9), st.lists(st.integers(0, 10**7), min_size=1, max_size=60))
def test_shares_add_up_and_stay_within_one(whole: int, weights: list[int]) -> None:
    shares = shared_out(whole, np.array(weights))
    assert shares.sum() == (whole if sum(weights) else 0)
    for share, weight in zip(shares.tolist(), weights, strict=True):  # the quota rule of largest remainders
        quota = Fraction(whole * weight, sum(weights) or 1)
        assert math.floor(quota) <= share <= math.ceil(quota)


@given(st.lists(st.floats(0, 1e7), min_size=1, max_size=40), st.integers(0, 3))
def test_columns_add_up(values: list[float], decimals: int) -> None:
    rounded = adding_up(values, decimals)
    assert math.fsum(rounded) == pytest.approx(half_up(math.fsum(values) * 10**decimals) / 10**decimals, abs=1e-6)
    assert all(abs(a - b) <= 10.0**-decimals * 1.001 for a, b in zip(rounded, values, strict=True))


def test_a_column_of_few_units_keeps_each_number_within_one() -> None:
    """5.53 g are 6 g; the half that is gained goes to the largest remainder below it, and 4.93 g are not 6 g."""
    assert adding_up([4.93, 0.34, 0.26], 0) == [5, 1, 0]


def test_per_cents_have_two_decimals_that_add_up() -> None:
    """Each rounded by itself, the sevenths would be 14.29 seven times, which is 100.03 in all (arithmetic)."""
    assert percents([1] * 7) == (14.29, 14.29, 14.29, 14.29, 14.28, 14.28, 14.28)
    assert percents(np.array([5, 0])) == (100.0, 0.0)
    assert percents([0, 0]) == (0.0, 0.0)


def test_equal_remainders_go_to_the_earlier_ones() -> None:
    assert shared_out(60, np.ones(100)).tolist() == [1] * 60 + [0] * 40
    # the quotas are 0.39, 0.78 and 1.17
    ones, twos, threes = shared_out(700, np.tile([1, 2, 3], 300)).reshape(300, 3).T
    assert (twos == 1).all() and (threes == 1).all()
    assert ones.tolist() == [1] * 100 + [0] * 200


def test_weights_may_be_shares() -> None:
    assert shared_out(10, np.array([0.06, 0.03, 0.01])).tolist() == [6, 3, 1]


def test_rounding_keeps_the_shape_of_the_array() -> None:
    assert shared_out(7, np.ones((2, 3, 2))).shape == (2, 3, 2)
    assert shared_out(5, np.zeros((2, 2))).tolist() == [[0, 0], [0, 0]]
    assert shared_out(5, np.zeros(2)).dtype == shared_out(5, np.ones(2)).dtype == np.int64
    assert adding_up([], 1) == []


@pytest.mark.parametrize(("value", "below", "above"), [(38.0, 38, 38), (38.4, 38, 39), (38.6, 38, 39)])
@pytest.mark.parametrize("bits", [-4, 0, 4])
def test_the_last_bits_of_a_float_decide_nothing(value: float, below: int, above: int, bits: int) -> None:
    """Values that the order of reckoning shifts by some units in the last place (IEEE 754) are rounded as the exact."""
    near = value + bits * math.ulp(value)
    assert (floor_of(near), ceil_of(near)) == (below, above)
    assert half_up(near + 0.5 - value % 1) == 39 == half_up(38.5)
