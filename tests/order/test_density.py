"""Densities agree with published tables, and ambiguous or impossible ones are refused."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from chartmaker.ground.errors import RugError
from chartmaker.order.density import NEVER_OBLONG, NOTATIONS, indian_trade_figure, parse_density
from chartmaker.order.rug import Rug


@pytest.mark.parametrize(
    ("text", "per_square_inch", "tolerance"),
    [
        # In quality a/b there are 40a knots a yard across and 8b along (carpetandrugs.blogspot.com, April 2009).
        ("9/54 indian", 120, 0),
        ("9/60 indian", Fraction(400, 3), 0),  # the source prints 133.33
        ("12/60 indian", Fraction(1600, 9), 0),  # the source prints 177.8
        # Pakistani qualities give knots per inch (common practice).
        ("16/18 pakistani", 288, 0),
        ("12/24 pakistani", 288, 0),
        # A Chinese line gives knots per foot, the same both ways (common practice): 120 line is 100, 90 line is 56.25.
        ("120 line", 100, 0),
        ("90 line", Fraction("56.25"), 0),
        # 50 raj of 7 cm is about 329 per square inch (kibek.de lexicon, "raj").
        ("50 raj (7 cm)", 329.16, 0.005),
        # These are nominally 36, 52 and 81 per square inch (nepalcarpet.org, quality of carpets).
        ("60 knot tibetan", 36, 0.2),
        ("80 knot tibetan", 52, 0.5),
        ("100 knot tibetan", 81, 0.5),
        ("180 kpsi", 180, 1e-6),
        ("100 kpsi", 100, 0),
        ("10x12 per inch", 120, 0),
        ("10x12/in", 120, 0),
        ("10 X 12 / inch", 120, 0),
    ],
)
def test_published_knots_per_square_inch(text: str, per_square_inch: Fraction, tolerance: float) -> None:
    assert abs(parse_density(text).per_square_inch - Fraction(per_square_inch)) <= tolerance


@pytest.mark.parametrize(
    ("text", "per_m2", "tolerance"),
    [
        ("9/54 indian", 186_000.4, 0.05),  # carpetandrugs.blogspot.com prints 186,002
        ("50 raj (7 cm)", 510_204, 0.5),  # kibek.de prints 510,000
        ("1 kpsi", 1550.0031, 0.0001),  # follows from the definition of the inch
        ("70 raj (7 cm)", 1_000_000, 0),  # 10,000 per dm2 (kibek.de)
        ("18 raj (7 cm)", 66_120, 5),  # 661.2 per dm2 (kibek.de)
        ("60 knot tibetan", 56_000, 0.001),  # nepalcarpet.org gives it by the square metre
        ("80 knot tibetan", 80_000, 0.001),
        ("100 knot tibetan", 125_000, 0.001),
        ("40x45 per dm", 180_000, 0),
        ("8x8 per cm", 640_000, 0),
    ],
)
def test_published_knots_per_square_metre(text: str, per_m2: float, tolerance: float) -> None:
    if text == "1 kpsi":
        text = "100 kpsi"
        per_m2, tolerance = per_m2 * 100, tolerance * 100
    assert abs(float(parse_density(text).per_m2) - per_m2) <= tolerance


def test_an_indian_quality_by_the_yard() -> None:
    # 9/54 is 360 x 432 knots a yard, or 155,520 a square yard (carpetandrugs.blogspot.com).
    density = parse_density("9/54 indian")
    assert (density.across_per_inch * 36, density.along_per_inch * 36) == (360, 432)
    nine_sixty = parse_density("9/60 indian")
    assert (nine_sixty.across_per_inch, nine_sixty.along_per_inch) == (10, Fraction(40, 3))


def test_the_trades_quick_figure_is_one_and_a_quarter_per_cent_high() -> None:
    a, b = Fraction(9), Fraction(60)
    assert indian_trade_figure(a, b) == 135
    assert indian_trade_figure(a, b) / parse_density("9/60 indian").per_square_inch == Fraction("1.0125")


@pytest.mark.parametrize(
    ("size", "density", "columns", "rows"),
    [
        ("104x156 cm", "40 raj (6.5 cm)", 640, 960),  # Ahrari, iran-carpet.com 1705
        ("208x312 cm", "50 raj (6.5 cm)", 1600, 2400),  # siti1.com, introduction to units
        ("7x12 in", "7x12 per inch", 49, 144),
    ],
)
def test_published_grids(size: str, density: str, columns: int, rows: int) -> None:
    rug = Rug(size=size, density=density)
    assert (rug.columns, rug.rows) == (columns, rows)


def test_the_proportion_of_a_knot() -> None:
    # "7 x 12 paper" has 84 points a square inch (jkworthy.com, carpets and rugs, page 23).
    density = parse_density("7x12 per inch")
    assert density.per_square_inch == 84
    assert density.knot_width_mm / density.knot_height_mm == Fraction(12, 7)


@given(st.integers(4, 400), st.integers(4, 400))
@example(10, 300)
def test_a_density_comes_back_from_its_own_notation(across: int, along: int) -> None:
    assume(max(across, along) <= NEVER_OBLONG * min(across, along))
    density = parse_density(f"{across}x{along} per dm")
    assert (density.across_per_dm, density.along_per_dm) == (across, along)
    assert parse_density(density.notation) == density
    assert density.per_m2 == 100 * density.per_dm2 == 100 * across * along
    assert density.knot_width_mm * density.across_per_dm == 100


def test_what_a_notation_leaves_open_is_reported() -> None:
    for text in ("40x45 per dm", "9/60 indian", "16/18 pakistani", "50 raj (7 cm)"):
        assert parse_density(text).assumption == ""
    for text in ("100 kpsi", "120 line", "80 knot tibetan"):
        assert "taken as" in parse_density(text).assumption


def test_every_notation_that_is_recommended_is_understood() -> None:
    for text in NOTATIONS.split(", "):
        assert parse_density(text).notation == text


def test_spaces_and_capitals_do_not_matter() -> None:
    for text in (" 9/60 indian ", "9 / 60   INDIAN", "9/60\tindian"):
        assert parse_density(text).per_square_inch == Fraction(400, 3)
    assert parse_density("9/60\n  indian").notation == "9/60 indian"


def test_the_sides_are_across_then_along() -> None:
    # 1 inch = 25.4 mm and 1 dm = 100 mm: 10 x 12 an inch is 39.37 x 47.24 a decimetre, with a knot of 2.54 x 2.117 mm.
    density = parse_density("10x12 per inch")
    assert (density.across_per_dm, density.along_per_dm) == (Fraction(5000, 127), Fraction(6000, 127))
    assert (density.across_per_inch, density.along_per_inch) == (10, 12)
    assert (density.knot_width_mm, density.knot_height_mm) == (Fraction("2.54"), Fraction("25.4") / 12)


@pytest.mark.parametrize("text", ["4x4 per dm", "400x400 per dm"])
def test_the_least_and_the_greatest_density_can_be_made(text: str) -> None:
    assert parse_density(text).across_per_dm in (4, 400)


@given(st.fractions(5, 300, max_denominator=999))
def test_square_densities_are_square(kpsi: Fraction) -> None:
    density = parse_density(f"{float(kpsi):.6f} kpsi")
    assert density.across_per_dm == density.along_per_dm
    assert float(density.per_square_inch) == pytest.approx(float(kpsi), abs=1e-6)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("9/60", r"two ways: '9/60 indian' = 10 x 13.33 knots per inch, 133.3 per .* or '9/60 pakistani' = 9 x 60"),
        ("50 raj", r"which is 6.5 to 7 cm by province: '50 raj \(6.5 cm\)' = .* or '50 raj \(7 cm\)' = 18.14 x"),
        ("10x12", "needs its unit: '10x12 per inch', '10x12 per dm' or '10x12 per cm'"),
        ("70 knot tibetan", "'70 knot tibetan' is a nominal quality that is not in any table; only 60, 80, 100 knot"),
        ("dense", "is not a knot density; known notations: 100 kpsi"),
        ("", "is not a knot density"),
        ("100", "is not a knot density"),
        ("-9x9 per inch", "is not a knot density"),
        ("0 kpsi", "must be above zero"),
        ("10x0 per inch", "must be above zero"),
        ("9/0.0 indian", "must be above zero"),
        ("50 raj (0 cm)", "must be above zero"),
        ("50 raj (wide)", "'wide' is not a length"),
        ("1x1 per dm", "rugs have 4 to 400 per dm"),
        ("10x1000 per dm", "gives 1000 knots per dm"),
        ("9/1 indian", "rugs have 4 to 400"),
        ("60/9 indian", "33 times as long one way as the other, which nobody weaves: have its two numbers changed"),
    ],
)
def test_bad_densities_are_refused_with_the_reason(text: str, message: str) -> None:
    with pytest.raises(RugError, match=message):
        parse_density(text)


def test_ambiguous_notations_beyond_the_loom_are_still_refused_plainly() -> None:
    with pytest.raises(RugError):
        parse_density("900/6000")
    with pytest.raises(RugError):
        parse_density("5000 raj")


def test_the_notation_is_written_as_one_plain_line() -> None:
    """Digits of any script are read, but are written in the ones that every font has."""
    assert parse_density("\u06f5\u06f0  raj\n(\u06f7 cm)") == parse_density("50 raj (7 cm)")


def test_where_one_reading_is_impossible_the_other_is_offered() -> None:
    """14/14 is a Pakistani quality (common practice); read as an Indian one its knots would be five times as long as
    wide."""
    with pytest.raises(RugError, match=r"'14/14 pakistani' = 14 x 14 .* or '14/14 indian' = 15\.56 x 3\.111") as found:
        parse_density("14/14")
    assert "5.0 times as long" in str(found.value) and str(found.value).endswith("write '14/14 pakistani'")
    with pytest.raises(RugError, match=r"write '9/60 indian'$"):
        parse_density("9/60")
