"""Units follow the standards that define them, and bad lengths, masses, shares and yarn counts are refused."""

from __future__ import annotations

import re
from collections.abc import Callable
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chartmaker.ground.errors import RugError
from chartmaker.ground.units import (
    DIRECT_COUNTS_TEX,
    INDIRECT_COUNTS_TEX,
    LENGTH_UNITS_MM,
    MASS_UNITS_G,
    parse_length_mm,
    parse_mass_g,
    parse_share,
    parse_yarn_count,
    single_tex,
)


@pytest.mark.parametrize(
    ("text", "mm"),
    # International yard and pound agreement, 1959: 1 inch = 25.4 mm, 1 foot = 12 inch, 1 yard = 3 feet.
    [
        ("170 cm", 1700),
        ("1.7m", 1700),
        (".5 m", 500),
        ("25mm", 25),
        ("2 dm", 200),
        ("1 in", Fraction("25.4")),
        ("5ft", 1524),
        ("5 feet", 1524),
        ("5'", 1524),
        ("1 yd", Fraction("914.4")),
        ("5'3\"", 63 * Fraction("25.4")),
        ("5' 3''", 63 * Fraction("25.4")),
        ("5′3″", 63 * Fraction("25.4")),
        ("5’3”", 63 * Fraction("25.4")),
        ("5ft 3in", 63 * Fraction("25.4")),
        ("7'10 1/2\"", Fraction("94.5") * Fraction("25.4")),
        ("5'3 1/2", Fraction("63.5") * Fraction("25.4")),
        ("7/8 in", Fraction(7, 8) * Fraction("25.4")),
        ("1 1/2 in", Fraction("38.1")),
        ("\u0661\u0667\u0660 cm", 1700),  # Arabic-Indic digits (Unicode 0660 to 0669)
        ("\u06f1\u06f7\u06f0 cm", 1700),  # Persian digits (Unicode 06F0 to 06F9)
        ("1\u00a01/2\tin", Fraction("38.1")),
    ],
)
def test_lengths_are_read_in_every_unit(text: str, mm: Fraction) -> None:
    assert parse_length_mm(text) == mm


def test_a_bare_number_takes_the_unit_that_is_given() -> None:
    assert parse_length_mm("3", "cm") == 30
    with pytest.raises(RugError, match="'3' is not a length; write it like 170 cm"):
        parse_length_mm("3")


@pytest.mark.parametrize(
    "text", ["", "cm", "wide", "1e3 cm", "-5 cm", "5 3 in", "1/0 in", "5'3 cm", "5 furlong", "nan m", "5'x", "٣ parsec"]
)
def test_text_that_is_no_length_is_refused(text: str) -> None:
    with pytest.raises(RugError, match="is not a length"):
        parse_length_mm(text)


@pytest.mark.parametrize("text", ["0 cm", "0", "0/5 in"])
def test_a_length_must_be_above_zero(text: str) -> None:
    with pytest.raises(RugError, match="is not a length above zero"):
        parse_length_mm(text, "cm")


@given(st.fractions(min_value="0.001", max_value=10**6), st.sampled_from(sorted(LENGTH_UNITS_MM)))
def test_lengths_come_back_exactly(number: Fraction, unit: str) -> None:
    written = f"{number.numerator}/{number.denominator} {unit}"
    assert parse_length_mm(written) == number * LENGTH_UNITS_MM[unit]


@pytest.mark.parametrize(
    ("text", "grams"),
    # 1959 agreement: 1 lb = 453.59237 g exactly, and 1 oz = 1/16 lb.
    [("250 g", 250), ("1.5 kg", 1500), ("2 lb", Fraction("907.18474")), ("8 oz", Fraction("226.796185"))],
)
def test_masses_are_read_in_every_unit(text: str, grams: Fraction) -> None:
    assert parse_mass_g(text) == grams


@given(st.decimals("0.001", "1000000", places=3), st.sampled_from(sorted(MASS_UNITS_G)))
def test_masses_come_back_exactly(number: object, unit: str) -> None:
    assert parse_mass_g(f"{number} {unit}") == Fraction(str(number)) * MASS_UNITS_G[unit]


def test_a_bare_mass_takes_the_unit_that_is_given() -> None:
    assert parse_mass_g("2", "kg") == 2000


@pytest.mark.parametrize("text", ["", "250", "0 g", "-1 kg", "5 stone", "heavy"])
def test_text_that_is_no_mass_is_refused(text: str) -> None:
    with pytest.raises(RugError, match="is not a mass above zero; write it like 250 g"):
        parse_mass_g(text)


@pytest.mark.parametrize(("text", "share"), [("15%", 0.15), ("15 %", 0.15), (0.15, 0.15), ("0.15", 0.15), (0, 0)])
def test_shares_are_read_as_fractions_and_per_cents(text: str | float, share: float) -> None:
    assert parse_share(text) == pytest.approx(share)


@pytest.mark.parametrize("text", ["15", 1, 1.0, "100%", "-1%", -0.1, "much", "", "nan", float("nan")])
def test_text_that_is_no_share_is_refused(text: str | float) -> None:
    with pytest.raises(RugError, match=r"is not a share; write it like 15% or 0\.15"):
        parse_share(text)


@pytest.mark.parametrize(
    ("text", "tex"),
    [
        # Conversion factors of ASTM D2260: tex = 590.541 / Ne cotton = 885.812 / Ne worsted = 1000 / Nm = denier / 9.
        ("Ne 1", 590.541),
        ("Worsted 1", 885.812),
        ("Nm 1", 1000),
        ("den 9", 1),
        ("dtex 10", 1),
        ("ktex 1", 1000),
        ("Ne 19.6847", 30),  # by the same table 30 tex is Ne 19.6847
        ("Ne 20 x12", 354.325),  # published as 354.3
        ("Nm 8 x3", 375),
        ("Nm 5x2", 400),
        ("nm 5 x 2 ply", 400),
        ("Nm 5 x2-ply", 400),
        ("NeC 10", 59.0541),
        ("NeW 10", 88.5812),
        ("300 tex", 300),
        ("1200 den x2", 266.667),
        ("1200 denier", 133.333),
        ("300 tex x2", 600),
        ("Nm .5", 2000),
    ],
)
def test_yarn_counts_are_read_in_every_system(text: str, tex: float) -> None:
    assert float(parse_yarn_count(text).tex) == pytest.approx(tex, rel=2e-5)


def test_published_lengths_and_masses() -> None:
    # The metric count is metres a gram (ISO 1144 with ASTM D2260): 2,000 m in 60 g is Nm 33.3, and 50 g of Nm 10 are
    # 500 m.
    assert float(parse_yarn_count("tex 30").nm) == pytest.approx(33.3, abs=0.05)
    assert parse_yarn_count("tex 30").mass_g(2_000) == pytest.approx(60)
    assert parse_yarn_count("Nm 10").length_m(50) == pytest.approx(500)


@given(st.floats(0.01, 1e6), st.sampled_from(["Nm 8 x3", "Ne 10 x12", "Worsted 6 x2", "tex 300", "den 1200"]))
def test_mass_and_length_give_each_other_back(grams: float, count: str) -> None:
    yarn = parse_yarn_count(count)
    assert yarn.mass_g(yarn.length_m(grams)) == pytest.approx(grams)
    assert parse_yarn_count(yarn.notation) == yarn


@given(st.sampled_from([*INDIRECT_COUNTS_TEX, *DIRECT_COUNTS_TEX]), st.integers(1, 999), st.integers(1, 20))
def test_counts_come_back_in_every_system(system: str, number: int, ply: int) -> None:
    yarn = parse_yarn_count(f"{system} {number} x{ply}")
    assert (yarn.single_tex, yarn.ply) == (single_tex(system, Fraction(number)), ply)


@pytest.mark.parametrize("text", ["6/10", "Nm 6/10", "2/20 Ne", "Ne 10/2"])
def test_a_count_with_a_stroke_is_read_both_ways_and_refused(text: str) -> None:
    with pytest.raises(RugError, match="can be read two ways, as count/ply and as ply/count; write 'N"):
        parse_yarn_count(text)


def test_both_readings_are_shown_in_the_count_that_was_meant() -> None:
    with pytest.raises(RugError, match="write 'Ne 2 x20' for 20 plies of Ne 2, or 'Ne 20 x2' for 2 plies of Ne 20"):
        parse_yarn_count("2/20 Ne")


def test_a_count_without_its_system_is_shown_in_metric_count() -> None:
    message = "write 'Nm 6 x10' for 10 plies of Nm 6, or 'Nm 10 x6' for 6 plies of Nm 10, and Ne, Worsted"
    with pytest.raises(RugError, match=message):
        parse_yarn_count("6/10")
    with pytest.raises(RugError) as named:
        parse_yarn_count("Ne 6/10")
    assert "likewise" not in named.value.message
    assert named.value.message.endswith("6 plies of Ne 10")


def test_every_count_that_a_refusal_recommends_is_understood() -> None:
    with pytest.raises(RugError) as refused:
        parse_yarn_count("heavy")
    recommended = re.findall("'([^']+)'", refused.value.message)[1:]
    assert [parse_yarn_count(text).notation for text in recommended] == recommended
    assert len(recommended) == 5


@pytest.mark.parametrize("text", ["", "8", "Nm", "Ng 8", "Nm 8 x", "Nm 8 3", "8 Nm", "tex -3"])
def test_text_that_is_no_yarn_count_is_refused(text: str) -> None:
    with pytest.raises(RugError, match="is not a yarn count; write it like 'Nm 8 x3'"):
        parse_yarn_count(text)


@pytest.mark.parametrize("text", ["Nm 0", "Nm 8 x0", "0 tex"])
def test_a_yarn_count_of_zero_is_refused(text: str) -> None:
    with pytest.raises(RugError, match="must be above zero"):
        parse_yarn_count(text)


@pytest.mark.parametrize("parse", [parse_length_mm, parse_mass_g, parse_yarn_count])
def test_numbers_of_thousands_of_digits_are_refused(parse: Callable[[str], object]) -> None:
    # Python itself raises a ValueError for numbers of more than 4,300 digits.
    with pytest.raises(RugError, match=r"'9{20}'\.\.\. is too long for a size, a density, a mass or a count"):
        parse("9" * 5000)


def test_two_hundred_letters_are_not_too_long() -> None:
    assert parse_length_mm("5" + " " * 197 + "cm") == 50
    with pytest.raises(RugError, match="201 letters"):
        parse_length_mm("5" + " " * 198 + "cm")


def test_the_notation_of_a_count_is_one_plain_line() -> None:
    assert parse_yarn_count("Nm\u2028\u06f8\n x3") == parse_yarn_count("Nm 8 x3")
