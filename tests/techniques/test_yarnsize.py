"""Yarns are as thick as Peirce says, default yarns follow a published warping, and impossible yarns are refused."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chartmaker.ground.errors import RugError
from chartmaker.ground.units import parse_yarn_count
from chartmaker.order.density import parse_density
from chartmaker.techniques import yarnsize


@pytest.mark.parametrize("ne", [4, 10, 16, 40])
def test_cotton_is_as_thick_as_peirce_says(ne: int) -> None:
    # F. T. Peirce, Journal of the Textile Institute 28 (1937): diameter in inch = 1 / (28 sqrt(Ne)), cotton.
    tex = float(parse_yarn_count(f"Ne {ne}").tex)
    assert yarnsize.diameter_mm(tex, "cotton") == pytest.approx(25.4 / (28 * math.sqrt(ne)), rel=0.01)


def test_default_yarns_give_the_published_example_back() -> None:
    # Ahrari 1718, 1726, 1819: 40 raj of 6.5 cm has a pile of two-ply Nm 8, a warp of three-ply Nm 8 and a weft of
    # twelve-ply Ne 10.
    density = parse_density("40 raj (6.5 cm)")
    assert yarnsize.default_pile_yarn(density).tex == 250
    assert yarnsize.default_warp(density).tex == 380  # 375 tex, to two figures
    assert yarnsize.default_weft(density, 1).tex == 710  # 708.7 tex
    assert yarnsize.default_weft(density, 2).tex == 350


def test_coarse_rugs_are_not_strung_with_rope() -> None:
    density = parse_density("60 knot tibetan")
    assert yarnsize.default_warp(density).tex == 530
    assert yarnsize.default_weft(density, 2).tex == 350


def test_the_finest_rug_still_gets_yarns() -> None:
    """By hand: 400 a dm are knots of 0.25 mm, and (0.25 / 1.625)^2 = 0.02367 of the costing's 250, 375, 708.7 tex."""
    density = parse_density("400x400 per dm")  # no density is finer
    assert yarnsize.default_pile_yarn(density).tex == 6  # 5.92 tex
    assert yarnsize.default_warp(density).tex == 9  # 8.88 tex
    assert yarnsize.default_weft(density, 8).tex == 2  # 16.77 tex / 8


@given(st.integers(10, 200), st.integers(10, 200), st.integers(1, 8))
def test_default_yarns_can_always_be_tied(across: int, along: int, picks: int) -> None:
    density = parse_density(f"{across}x{along} per dm")
    yarnsize.check_pile_yarn(float(yarnsize.default_pile_yarn(density).tex), "wool", density, "key")
    assert yarnsize.check_warp(yarnsize.default_warp(density), density)
    yarnsize.check_weft(yarnsize.default_weft(density, picks), density)


def test_a_yarn_too_thick_for_the_pitch_is_refused_by_its_key() -> None:
    density = parse_density("9/60 indian")
    with pytest.raises(RugError, match=r"\[pile\] yarn: .*thick.*use a yarn below"):
        yarnsize.check_pile_yarn(3000, "wool", density, "[pile] yarn")
    with pytest.raises(RugError, match=r"\[loom\] warp: .*use a finer warp"):
        yarnsize.check_warp(parse_yarn_count("tex 8000"), density)
    with pytest.raises(RugError, match=r"\[loom\] weft: .*use a finer weft"):
        yarnsize.check_weft(parse_yarn_count("tex 8000"), density)


def test_a_warp_thicker_than_its_pitch_needs_depressed_warps() -> None:
    density = parse_density("9/60 indian")  # a knot is 2.54 mm wide, so the warp pitch is 1.27 mm
    assert not yarnsize.check_warp(parse_yarn_count("tex 2000"), density)  # this warp is 1.67 mm thick


#: Densities in g/cm3, from memory of Morton & Hearle, Physical Properties of Textile Fibres, chapter on density.
DENSITIES = {
    "New Zealand Wool": 1.31,
    "mohair": 1.31,
    "CASHMERE": 1.31,
    "Mulberry Silk": 1.34,
    "cotton, mercerised": 1.52,
    "Linen": 1.50,
    "jute": 1.44,
    "Viscose (artificial silk is another word)": 1.34,  # the first of these fibres that is named counts
    "viscose": 1.52,
    "nylon 6": 1.14,
    "recycled polyester": 1.39,
    "acrylic": 1.19,
    "moon hair": 1.31,  # nobody knows the fibre, so it counts as wool
    "": 1.31,
}


@pytest.mark.parametrize("fibre", DENSITIES)
def test_fibre_is_found_within_words(fibre: str) -> None:
    assert yarnsize.fibre_density(fibre) == DENSITIES[fibre]
    # 1,000 tex are 1 g/m, so there are 1 / density mm2 of fibre, which is 60 % of the yarn.
    assert yarnsize.cross_section_mm2(1000, fibre) == pytest.approx(1 / DENSITIES[fibre] / 0.6, rel=1e-12)
    assert yarnsize.fibre_density(None) == 1.31


@given(st.integers(12, 199), st.integers(12, 199))
def test_default_yarns_follow_the_published_costing(across: int, along: int) -> None:
    """They are scaled from Ahrari's 40 raj: pile by the knot's area, warp by the square of width, weft of height."""
    density = parse_density(f"{across}x{along} per dm")
    wide, high = 100 / across / 1.625, 100 / along / 1.625  # the costing's knot is 6.5 cm / 40
    wanted = {
        yarnsize.default_pile_yarn(density).tex: 250 * wide * high,
        # ASTM D2260; the weft is at most Ne 10 nine-ply
        yarnsize.default_warp(density).tex: min(375 * wide**2, 590.541 / 10 * 9),
        yarnsize.default_weft(density, 1).tex: min(708.7 * high**2, 708.7),
        yarnsize.default_weft(density, 3).tex: min(708.7 * high**2, 708.7) / 3,
    }
    for tex, exact in wanted.items():
        step = 10 ** max(len(str(int(exact))) - 2, 0)  # the tolerance is that of two figures
        assert abs(float(tex) - exact) <= max(step / 2, 0.5) + 1e-9
        assert float(tex) % step == 0


def test_a_default_yarn_says_its_count() -> None:
    """The count is in the Tex system of ISO 1144, as a single yarn."""
    yarn = yarnsize.default_pile_yarn(parse_density("40 raj (6.5 cm)"))
    assert yarn.notation == "tex 250"
    assert parse_yarn_count(yarn.notation).tex == 250


def test_a_yarn_that_just_fits_is_taken_and_one_a_little_thicker_refused() -> None:
    """By hand: 10 x 10 a dm give a knot 10 x 10 mm, and cotton of x tex is sqrt(4 x / 1000 / 0.912 / pi) mm thick."""
    density = parse_density("10x10 per dm")
    full = 10**2 * math.pi / 4 * 0.912 * 1000  # in tex, 10 mm thick
    wool = 100 / 2 * 1.31 * 0.6 * 1000  # in tex, where two legs fill the knot
    assert yarnsize.check_warp(parse_yarn_count(f"tex {full / 4 - 1:.0f}"), density)
    assert not yarnsize.check_warp(parse_yarn_count(f"tex {full / 4 + 1:.0f}"), density)
    assert not yarnsize.check_warp(parse_yarn_count(f"tex {full - 1:.0f}"), density)
    yarnsize.check_weft(parse_yarn_count(f"tex {full - 1:.0f}"), density)
    yarnsize.check_pile_yarn(wool - 1, None, density, "key")
    for check in (yarnsize.check_warp, yarnsize.check_weft):
        with pytest.raises(RugError, match=r"is 10 mm thick"):
            check(parse_yarn_count(f"tex {full + 1:.0f}"), density)
    with pytest.raises(RugError, match=r"would take 100 mm2, .* a knot has 100 mm2; use a yarn below 39300 tex in all"):
        yarnsize.check_pile_yarn(wool + 1, "wool", density, "key")
    with pytest.raises(RugError, match=r"key: 9000\.3 tex is"):  # a count in metres per gram may give such a value
        yarnsize.check_pile_yarn(9_000.28, "wool", parse_density("40x40 per dm"), "key")
    # Silk of 40,200 tex fills it exactly: 2 x 40.2 / (1.34 x 0.6) = 100 mm2, and is no thicker than its place.
    yarnsize.check_pile_yarn(40_200, "silk", density, "key")
    # Silk is denser, and so thinner at the same count: 2 x 10 / (1.34 x 0.6) mm2, 3.99 mm thick.
    with pytest.raises(RugError, match=r"10000 tex is 4 mm thick: .* would take 24.9 mm2"):
        yarnsize.check_pile_yarn(10_000, "silk", parse_density("20x25 per dm"), "key")
    with pytest.raises(RugError, match=r"is 7.1 mm thick"):
        yarnsize.check_pile_yarn(32_000, "silk", parse_density("20x25 per dm"), "key")
