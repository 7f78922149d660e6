"""Printed values of a table are accepted within what rounding allows, to the last figure, and not beyond."""

from __future__ import annotations

from fractions import Fraction

import pytest

from chartmaker.ground.ranges import Range
from chartmaker.verify.fields import feet
from chartmaker.verify.tabletypes import METRIC
from chartmaker.verify.values import AnyWords, Feet, Name, Number, Numbers, Perhaps, Text

RIGHT = [
    (Number(1234.4), ["1,234"]),
    (Number(1234.5), ["1,234"]),
    (Number(1234.5), ["1,235"]),
    (Number(12.344, 2), ["12.34"]),
    (Number(12.345, 2), ["12.35"]),
    (Number(7.0, 0, "", 1), ["8"]),
    (Number(7.0, 0, "", 1), ["6"]),
    (Number(-3.04, 1), ["-3.0"]),
    (Number(120, 0, "litres"), ["120 litres"]),
    (Number(120, 0, "litres"), ["120", "litres"]),
    (Number(3.4, 1, "US gal"), ["3.4 US", "gal"]),
    (Number(0, 0, "g"), ["0 g"]),
    (Numbers((Number(3), Number(12))), ["3", "12"]),
    (Numbers((Number(3, 0, "l"), Number(12, 0, "l"))), ["3 l", "12 l"]),
    (Text("Nm 5 x2"), ["Nm 5", "x2"]),
    (Name("Old madder"), ["Old", "madder"]),
    (Name("Old madder red"), ["Old mad…"]),
    (Name("Krapprotfeuerfarben hell"), ["Krapprotfe…", "hell"]),
    (Name("…"), ["…"]),
    (Name("сок вишнёвый"), ["йывёнши…"]),
    (AnyWords(), ["open pot"]),
    (Perhaps(Number(12)), []),
    (Perhaps(Number(12)), ["12"]),
]
WRONG = [
    (Number(1234.4), ["1,235"]),
    (Number(1234.4), ["1,233"]),
    (Number(1234), ["1234"]),
    (Number(1234.0), ["1,234.0"]),
    (Number(12.344, 2), ["12.35"]),
    (Number(12.344, 2), ["12.33"]),
    (Number(12.3, 2), ["12.3"]),
    (Number(7.0, 0, "", 1), ["9"]),
    (Number(7.0, 0, "", 1), ["5"]),
    (Number(3.0, 1), ["-3.0"]),
    (Number(120, 0, "litres"), ["120 g"]),
    (Number(120, 0, "litres"), ["120"]),
    (Number(120), ["120 litres"]),
    (Number(12), ["1", "2"]),
    (Number(12), []),
    (Numbers((Number(3), Number(12))), ["3"]),
    (Numbers((Number(3), Number(12))), ["12", "3"]),
    (Numbers((Number(3, 0, "l"), Number(12, 0, "l"))), ["3 l", "13 l"]),
    (Text("Nm 5 x2"), ["Nm 5 x3"]),
    (Text("R1"), ["r1"]),
    (Name("Old madder"), ["Old maddex"]),
    (Name("Old madder"), ["…"]),
    (Name("Old madder red"), ["Old max…"]),
    (Name("Old madder"), ["Old madder", "red"]),
    (Name("сок вишнёвый"), ["йывёжш…"]),
    (AnyWords(), []),
    (Text(""), ["a"]),
    (Perhaps(Number(12)), ["13"]),
]


def test_feet_are_told_to_the_eighth_and_either_way_only_at_the_half() -> None:
    """An eighth of an inch is 3.175 mm, so 1.5875 mm lie halfway; a hundredth of a millimetre decides."""
    none, one = (feet(Fraction(mm)) for mm in (1, 2))
    assert none != one
    assert [Feet(1.5875).accepts([words]) for words in (none, one)] == [True, True]
    assert [Feet(1.5775).accepts([words]) for words in (none, one)] == [True, False]
    assert [Feet(1.5975).accepts([words]) for words in (none, one)] == [False, True]


@pytest.mark.parametrize(("value", "pieces"), RIGHT, ids=str)
def test_a_value_within_rounding_is_accepted(value: Number | Text, pieces: list[str]) -> None:
    assert value.accepts(pieces)


@pytest.mark.parametrize(("value", "pieces"), WRONG, ids=str)
def test_a_value_beyond_rounding_is_not_accepted(value: Number | Text, pieces: list[str]) -> None:
    assert not value.accepts(pieces)


@pytest.mark.parametrize(
    ("low_g", "high_g", "high"),
    [
        (1234.0, 1244.0, [Number]),  # 1.23 to 1.24 kg
        (1236.0, 1244.0, []),  # both 1.24 kg
        (1235.0 - 1e-9, 1244.0, [Perhaps]),  # whoever reckons it another way may find 1.24 or 1.23
        (1232.0, 1235.0 + 1e-9, [Perhaps]),
        (1235.0, 1235.0, []),  # 1.23 or 1.24, but both alike
    ],
)
def test_a_range_has_a_high_end_where_it_is_printed_otherwise_than_the_low(
    low_g: float, high_g: float, high: list[type]
) -> None:
    """A high end may be there or not where reckoning twice can fall on either side of a half."""
    fields = METRIC.mass.between(Range(low_g, (low_g + high_g) / 2, high_g))
    assert fields["low"].accepts(["1.23"]) or fields["low"].accepts(["1.24"])
    assert [type(fields[name]) for name in fields if name != "low"] == high
