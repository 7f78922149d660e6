"""The rug is read in sizes as the trade writes them and has whole knots; impossible sides are refused."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from pydantic import ValidationError

from chartmaker.ground.errors import RugError
from chartmaker.order.rug import MOST_KNOTS, Rug, parse_size_mm, proportion_error

INCH = Fraction("25.4")  # 1 inch is exactly 25.4 mm since 1959


@pytest.mark.parametrize(
    ("text", "width_mm", "length_mm"),
    [
        ("5x8ft", 1524, Fraction("2438.4")),
        ("5 x 8 ft", 1524, Fraction("2438.4")),
        ("5'x8'", 1524, Fraction("2438.4")),
        ("5x8'", 1524, Fraction("2438.4")),
        ("1.5x2.5 m", 1500, 2500),
        ("5'3\" x 7'10\"", 63 * INCH, 94 * INCH),
        ("5′3″ × 7′10″", 63 * INCH, 94 * INCH),
        ("5ft x 240cm", 1524, 2400),
        ("170x240 cm", 1700, 2400),
        ("1.7 x 2.4 m", 1700, 2400),
        ("1.7X2.4M", 1700, 2400),
        ('60x96"', 60 * INCH, 96 * INCH),
        ("5'3 1/2\" x 8 ft", Fraction("63.5") * INCH, 96 * INCH),
    ],
)
def test_sizes_are_read_as_the_trade_writes_them(text: str, width_mm: Fraction, length_mm: Fraction) -> None:
    assert parse_size_mm(text) == (width_mm, length_mm)


@given(st.integers(1, 5000), st.integers(1, 5000), st.sampled_from(["cm", "mm", "m", "ft", "in"]))
def test_a_unit_at_the_end_counts_for_both_sides(width: int, length: int, unit: str) -> None:
    assert parse_size_mm(f"{width}x{length} {unit}") == parse_size_mm(f"{width} {unit} x {length} {unit}")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "is not a size; write width x length, like 5x8ft"),
        ("5ft", "is not a size"),
        ("5x8x9ft", "is not a size"),
        ("x8ft", "is not a size"),
        ("5x8", "'5x8' needs its unit: 5x8ft, 5x8 cm or 5x8 m"),
        ("1.5x2.5", "'1.5x2.5' needs its unit: 1.5x2.5ft, 1.5x2.5 cm or 1.5x2.5 m"),
        (".5x2.", "needs its unit"),
        ("1.5.5x2", "size '1.5.5x2': '1.5.5' is not a length"),
        ("5 x 7'10\"", "give the width its own unit, like 5' x 7'10\"$"),
        ("5x8 miles", "size '5x8 miles': '5' is not a length"),
        ("5ft x tall", "size '5ft x tall': 'tall' is not a length"),
        ("0x8ft", "size '0x8ft': '0' is not a length above zero"),
        ("-5x8ft", "size '-5x8ft': '-5' is not a length"),
        ("9" * 999 + "x8ft", "is too long for a size"),
    ],
)
def test_bad_sizes_are_refused_with_the_reason(text: str, message: str) -> None:
    with pytest.raises(RugError, match=message):
        parse_size_mm(text)


@given(
    st.fractions(50, 12_000, max_denominator=1000),
    st.fractions(50, 12_000, max_denominator=1000),
    st.integers(20, 100),
    st.integers(20, 100),
)
def test_whole_knots_come_within_half_a_knot(width: Fraction, length: Fraction, across: int, along: int) -> None:
    assume(width * length * across * along < 10_000 * MOST_KNOTS // 2)
    rug = Rug(width=width, length=length, density=f"{across}x{along} per dm")
    assert abs(rug.woven_width_mm - width) <= rug.density.knot_width_mm / 2
    assert abs(rug.woven_length_mm - length) <= rug.density.knot_height_mm / 2
    assert rug.knots == rug.columns * rug.rows
    again = Rug(width=rug.woven_width_mm, length=rug.woven_length_mm, density=f"{across}x{along} per dm")
    assert (again.columns, again.rows) == (rug.columns, rug.rows)


@pytest.mark.parametrize("side", ["1 cm", "50 m"])
def test_the_least_and_the_longest_side_can_be_ordered(side: str) -> None:
    rug = Rug(width=side, length="1 m", density="20x20 per dm")
    assert (rug.columns, rug.knots) == (rug.width_mm / 5, 200 * rug.width_mm / 5)


def test_the_fewest_and_the_most_knots_can_be_woven() -> None:
    assert Rug(size="1x1 cm", density="20x20 per dm").knots == 4
    assert Rug(size="15x10 m", density="100x100 per dm").knots == 150_000_000
    with pytest.raises(ValidationError, match="this rug has 150,010,000 knots"):
        Rug(width="15.001 m", length="10 m", density="100x100 per dm")


def test_keys_that_are_left_out_have_their_documented_defaults() -> None:
    # These are the documented defaults of the rug file.
    rug = Rug(size="1x1 m", density="20x20 per dm")
    assert (rug.name, rug.knot, rug.shape, rug.technique) == ("Untitled rug", "asymmetric", "rectangle", "knotted")
    assert rug.pile_mm is None
    assert Rug(size="1x1 m", density="20x20 per dm", pile="12 mm").pile_mm == 12


def test_the_woven_size_is_that_of_whole_knots() -> None:
    # 101 mm at 50 a decimetre are 51 knots of 2 mm, and 103 mm at 25 are 26 rows of 4 mm.
    rug = Rug(width="101 mm", length="103 mm", density="50x25 per dm")
    assert (rug.woven_width_mm, rug.woven_length_mm) == (102, 104)


def test_half_a_knot_is_rounded_up() -> None:
    rug = Rug(width="101 mm", length="103 mm", density="50x50 per dm")  # the size is 50.5 x 51.5 knots
    assert (rug.columns, rug.rows) == (51, 52)


def test_size_is_another_way_to_give_width_and_length() -> None:
    rug = Rug(size="5x8ft", density="9/60 indian")
    assert (rug.width_mm, rug.length_mm, rug.columns, rug.rows) == (1524, Fraction("2438.4"), 600, 1280)
    assert rug == Rug.model_validate(rug.model_dump(by_alias=True))
    assert rug == Rug.model_validate_json(rug.model_dump_json(by_alias=True))


@pytest.mark.parametrize(
    ("table", "message"),
    [
        ({"size": "5x8ft", "width": "5ft"}, "give either size, or width and length"),
        ({"size": "5x8"}, "needs its unit"),
        ({"size": 58}, "is not a size"),
        ({"width": "5ft"}, "length\n  Field required"),
        ({"width": "9 mm", "length": "1 m"}, "width 0.9 cm cannot be right for a rug; it must lie between 1 cm and"),
        ({"width": "1 m", "length": "51 m"}, "length 5100 cm cannot be right for a rug"),
        ({"width": 170, "length": "1 m"}, "170 is not in quotes; write a length with its unit, such as '12 mm'"),
        ({"size": "5x8ft", "density": "0/60 indian"}, "must be above zero"),
        (
            {"size": "50x50m", "density": "100x100 per dm"},
            "this rug has 2,500,000,000 knots, but the most is 150,000,000",
        ),
        ({"size": "5x8ft", "knot": "granny"}, "asymmetric"),
        ({"size": "5x8ft", "colour": "red"}, "Extra inputs are not permitted"),
        ({"size": "5x8ft", "name": "  "}, "must be printable text"),
        ({"size": "5x8ft", "name": "a\nb"}, "must be printable text"),
        ({"size": "5x8ft", "name": "a" * 201}, "too long; it may have at most 200 letters"),
        ({"size": "5x8ft", "pile": "0 mm"}, "is not a length above zero"),
        ("5x8ft", "valid dictionary"),
    ],
)
def test_impossible_rugs_are_refused(table: Any, message: str) -> None:
    whole = {"density": "9/60 indian"} | table if isinstance(table, dict) else table
    with pytest.raises(ValidationError, match=message):
        Rug.model_validate(whole)


def test_a_rug_of_one_row_is_too_small_to_weave() -> None:
    with pytest.raises(ValidationError, match="at this density the rug has 1 x 150 knots, which is too small to weave"):
        Rug(width="3 cm", length="1 m", density="4x15 per dm")


@pytest.mark.parametrize(
    ("width", "height", "error"), [(1000, 1600, 0.0), (1020, 1600, 0.02), (1000, 1632, 0.02), (1600, 1000, 1.56)]
)
def test_the_error_of_a_picture_s_proportions(width: int, height: int, error: float) -> None:
    rug = Rug(size="5x8ft", density="9/60 indian")
    assert proportion_error(width, height, rug) == pytest.approx(error, abs=1e-9)


#: Words that these keys of the rug file take; the names of the knots are the trade's (common practice).
WORDS = {
    "knot": {"asymmetric", "symmetric", "looped"},
    "shape": {"rectangle", "ellipse", "octagon", "artwork"},
    "technique": {"knotted", "tufted"},
}


@pytest.mark.parametrize("key", WORDS)
def test_the_words_of_the_rug_file_are_taken_exactly_as_listed(key: str) -> None:
    plain = {"size": "1x2 m", "density": "40x50 per dm"}
    for word in WORDS[key]:
        assert getattr(Rug.model_validate(plain | {key: word}), key) == word
    for word in ("", "round", *(word.upper() for word in WORDS[key])):
        with pytest.raises(ValidationError, match=f"(?s){key}.*{'.*'.join(sorted(WORDS[key])[:1])}"):
            Rug.model_validate(plain | {key: word})


@pytest.mark.parametrize("other", [{"width": "1 m"}, {"length": "2 m"}, {"width": "1 m", "length": "2 m"}])
def test_a_size_and_a_side_cannot_both_be_given(other: dict[str, str]) -> None:
    with pytest.raises(ValidationError, match="give either size, or width and length"):
        Rug.model_validate({"size": "1x2 m", "density": "40x50 per dm"} | other)


@pytest.mark.parametrize(
    ("size", "shape", "width_mm", "length_mm"),
    [
        ("6 ft round", "ellipse", 1828.8, 1828.8),
        ("180 cm round", "ellipse", 1800, 1800),
        ("2.5x10 ft runner", "rectangle", 762, 3048),
        ("5'3\" Round", "ellipse", 1600.2, 1600.2),
        ("6 ft square", "rectangle", 1828.8, 1828.8),
        ("2 m octagon", "octagon", 2000, 2000),
        ("5x7 ft octagon", "octagon", 1524, 2133.6),
    ],
)
def test_round_sizes_and_runners_are_read_as_the_trade_writes_them(
    size: str, shape: str, width_mm: float, length_mm: float
) -> None:
    """These sizes are written as shops list them (common practice)."""
    rug = Rug.model_validate({"size": size, "density": "40x40 per dm"})
    assert (rug.shape, float(rug.width_mm), float(rug.length_mm)) == (shape, width_mm, length_mm)


def test_a_round_size_of_another_shape_is_refused() -> None:
    with pytest.raises(ValueError, match="a size with the word round already has the shape ellipse"):
        Rug.model_validate({"size": "6 ft round", "shape": "octagon", "density": "40x40 per dm"})


@pytest.mark.parametrize("side", ["left", "right"])
def test_an_asymmetric_knot_may_say_to_which_side_it_opens(side: str) -> None:
    """Both sides are in use, by region, and all weavers of a rug tie the same one (common practice)."""
    rug = Rug.model_validate({"size": "1x1 m", "density": "40x40 per dm", "knot": f"asymmetric, open {side}"})
    assert (rug.knot, rug.knot_kind) == (f"asymmetric, open {side}", "asymmetric")
