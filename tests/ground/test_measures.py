"""Units of measurement are those that the standards define."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chartmaker.ground.measures import IMPERIAL, METRIC, US_GALLON_L, Unit, measures_of
from chartmaker.ground.ranges import Range, total


def test_imperial_units_are_the_exact_ones() -> None:
    # NIST Handbook 44, appendix C: 1 yd = 0.9144 m, 1 lb = 453.59237 g, 1 oz = 28.349523125 g, 1 in = 25.4 mm,
    # 1 US gallon = 3.785411784 l, 1 ft2 = 0.09290304 m2.
    assert IMPERIAL.yarn_length.size == pytest.approx(0.9144, rel=1e-12)
    assert IMPERIAL.yarn_mass.size == pytest.approx(453.59237, rel=1e-12)
    assert IMPERIAL.bundle_mass.size == pytest.approx(28.349523125, rel=1e-12)
    assert IMPERIAL.pile.size == 25.4
    assert pytest.approx(3.785411784, rel=1e-12) == US_GALLON_L
    assert IMPERIAL.area.size == pytest.approx(0.09290304, rel=1e-12)
    # 1 oz/yd2 is 33.90575 g/m2 (ASTM D3776), and 1 lb/ft2 is 144 times that.
    assert IMPERIAL.area_density.size == pytest.approx(144 * 33.90575, rel=1e-6)


def test_measures_are_written_with_their_units() -> None:
    assert METRIC.mass.text(12_345) == "12.35 kg"
    assert METRIC.mass.between(Range(1000, 2000, 3000)) == "1.00 to 3.00"
    assert METRIC.size(1234, 2000) == "123.4 x 200 cm"
    assert IMPERIAL.size(1219.2, 1524 + 12.7) == "4'0\" x 5'0 1/2\""
    assert measures_of("imperial").yarn_length.text(914.4) == "1,000 yd"
    assert measures_of("metric") is METRIC


@given(st.lists(st.floats(0, 1e5), min_size=1, max_size=30))
def test_columns_add_up_in_any_unit(values: list[float]) -> None:
    for unit in (METRIC.yarn_mass, IMPERIAL.yarn_mass, IMPERIAL.bundle_mass):
        words = unit.column(values)
        shown = sum(float(word.replace(",", "")) for word in words)
        assert shown == pytest.approx(sum(values) / unit.size, abs=0.5001 * 10**-unit.decimals)


def test_a_range_is_written_with_both_its_ends() -> None:
    both = total((Range(1, 2, 3), Range.around(10, 0.1)))
    assert (both.low, both.best, both.high) == (10, 12, 14)
    assert Range(1, 2, 3).plus(1).times(2) == Range(4, 6, 8)
    assert total(()) == Range(0, 0, 0)
    assert Unit("x", 2, 1).bare(5) == "2.5"


def test_a_single_figure_is_rounded_as_it_is_in_a_column() -> None:
    """Of one yarn 13 g stood above 12 g in all, since 12.5 went up in the one and to the even figure in the other."""
    assert METRIC.yarn_mass.bare(12.5) == METRIC.yarn_mass.column([12.5])[0] == "13"
    assert METRIC.mass.bare(1125.0) == METRIC.mass.column([1125.0])[0] == "1.13"
