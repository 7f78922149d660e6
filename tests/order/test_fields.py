"""The fields of the rug file turn text with units into exact values and back."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from chartmaker.order.fields import Count, DensityField, LengthFromZeroMm, LengthMm, MassG, Share, Shrinkage, Table


class Everything(Table):
    """A model with one field of each kind."""

    length: LengthMm = Fraction(1)
    from_zero: LengthFromZeroMm = Fraction(1)
    mass: MassG = Fraction(1)
    share: Share = 0.1
    shrinkage: Shrinkage = 0.0
    count: Count | None = None
    density: DensityField | None = None


@pytest.mark.parametrize(
    ("key", "text", "value"),
    [
        ("length", "12 mm", 12),
        ("length", Fraction(1, 3), Fraction(1, 3)),
        ("from_zero", "0 cm", 0),
        ("from_zero", "0.0in", 0),
        ("from_zero", "1 in", Fraction("25.4")),
        ("mass", "1 kg", 1000),
        ("mass", Fraction(5), 5),
        ("share", "15%", 0.15),
        ("share", 0.15, 0.15),
        ("shrinkage", "2%", 0.02),
        ("shrinkage", "-1.5 %", -0.015),
        ("shrinkage", -0.01, -0.01),
        ("shrinkage", 0, 0),
    ],
)
def test_text_with_units_becomes_exact_values(key: str, text: Any, value: Any) -> None:
    assert getattr(Everything(**{key: text}), key) == value


@pytest.mark.parametrize(
    ("key", "given", "message"),
    [
        ("length", 12, "12 is not in quotes; write a length with its unit, such as '12 mm'"),
        ("length", "12", "is not a length"),
        ("length", "0 mm", "above zero"),
        ("from_zero", 0, "write a length with its unit"),
        ("from_zero", "-1 cm", "is not a length"),
        ("mass", 100, "100 is not in quotes; write a mass with its unit, such as '100 g'"),
        ("mass", "100", "is not a mass"),
        ("share", True, "true is not a share; write it like '15%' or 0.15"),
        ("share", "150%", "is not a share"),
        ("shrinkage", [1], r"\[1\] is not a share"),
        ("shrinkage", "60%", "shrinkage lies between -50% and 50%"),
        ("shrinkage", -0.5, "shrinkage lies between"),
        ("shrinkage", -3, "is not a share"),
        ("count", 8, "8 is not in quotes; write a yarn count, such as 'Nm 8 x3'"),
        ("count", "6/10", "two ways"),
        ("density", 100, "100 is not in quotes; write a density, such as '9/60 indian'"),
        ("density", "9/60", "two ways"),
        ("share", float("nan"), "is not a share|finite"),
    ],
)
def test_impossible_values_are_refused_with_the_reason(key: str, given: Any, message: str) -> None:
    with pytest.raises(ValidationError, match=message):
        Everything(**{key: given})


def test_values_that_are_already_parsed_are_taken_as_they_are() -> None:
    before = Everything(count="Nm 8 x3", density="9/60 indian")
    assert Everything(count=before.count, density=before.density) == before


@given(
    st.fractions("0.001", 10**5, max_denominator=10**4),
    st.fractions("0.001", 10**5, max_denominator=10**4),
    st.sampled_from(["Nm 8 x3", "Ne 10", "tex 12.5 x2"]),
    st.sampled_from(["9/60 indian", "50 raj (6.5 cm)", "100 kpsi"]),
)
def test_values_come_back_from_json(length: Fraction, mass: Fraction, count: str, density: str) -> None:
    before = Everything(length=length, from_zero="0 mm", mass=mass, count=count, density=density, shrinkage="-1%")
    assert Everything.model_validate_json(before.model_dump_json()) == before
