"""Lengths in words are right by the inch of 25.4 mm (international yard agreement, 1959) and are read back."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chartmaker.ground.lengths import both_sizes, cm_words, feet_inches, mm_words
from chartmaker.ground.units import parse_length_mm

lengths = st.fractions(Fraction(10), Fraction(50_000), max_denominator=1000)


@pytest.mark.parametrize(
    ("length_mm", "metric", "imperial"),
    [
        (Fraction(304800, 1000), "30.5 cm", "1'0\""),  # one foot
        (Fraction(9144, 10), "91.4 cm", "3'0\""),  # one yard
        (Fraction(229870, 100), "229.9 cm", "7'6 1/2\""),  # 90.5 inches
        (1200, "120 cm", "3'11 1/4\""),  # 47.24 inches
        (1800, "180 cm", "5'10 7/8\""),  # 70.87 inches
        (Fraction(3048 - 1), "304.7 cm", "10'0\""),  # 119.96 inches are ten feet, and never 9'12"
    ],
)
def test_lengths_in_both_systems(length_mm: Fraction, metric: str, imperial: str) -> None:
    assert cm_words(length_mm) == metric
    assert feet_inches(length_mm) == imperial


@given(lengths)
def test_a_length_in_words_is_right_to_its_last_figure(length_mm: Fraction) -> None:
    """Centimetres are right to half a millimetre and inches to a sixteenth; a float gives the words of its fraction."""
    assert abs(parse_length_mm(cm_words(length_mm)) - length_mm) <= Fraction(1, 2)
    assert abs(parse_length_mm(feet_inches(length_mm)) - length_mm) <= Fraction(254, 160)
    assert feet_inches(float(length_mm)) == feet_inches(Fraction(float(length_mm)))


def test_sizes_and_small_lengths() -> None:
    assert both_sizes(1200, 1800) == "120 x 180 cm (3'11 1/4\" x 5'10 7/8\")"
    assert mm_words(Fraction(1905, 1000)) == "1.905 mm"
    assert mm_words(9) == "9 mm"
