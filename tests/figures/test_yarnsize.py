"""Yarn thickness against Peirce, default yarns against the published warping, impossible yarns refused."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chartmaker.density import parse_density
from chartmaker.errors import RugError
from chartmaker.figures import yarnsize
from chartmaker.units import parse_yarn_count


@pytest.mark.parametrize("ne", [4, 10, 16, 40])
def test_cotton_is_as_thick_as_peirce_says(ne: int) -> None:
    # F. T. Peirce, Journal of the Textile Institute 28 (1937): diameter in inch = 1 / (28 sqrt(Ne)), cotton.
    tex = float(parse_yarn_count(f"Ne {ne}").tex)
    assert yarnsize.diameter_mm(tex, "cotton") == pytest.approx(25.4 / (28 * math.sqrt(ne)), rel=0.01)


def test_default_yarns_give_the_published_example_back() -> None:
    # Ahrari 1718, 1726, 1819: 40 raj of 6.5 cm, pile two-ply Nm 8, warp three-ply Nm 8, weft Ne 10 twelve-ply.
    density = parse_density("40 raj (6.5 cm)")
    assert yarnsize.default_pile_yarn(density).tex == 250
    assert yarnsize.default_warp(density).tex == 380  # 375, said to two figures
    assert yarnsize.default_weft(density, 1).tex == 710  # 708.7
    assert yarnsize.default_weft(density, 2).tex == 350


def test_coarse_rugs_are_not_strung_with_rope() -> None:
    density = parse_density("60 knot tibetan")
    assert yarnsize.default_warp(density).tex == 530
    assert yarnsize.default_weft(density, 2).tex == 350


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
    density = parse_density("9/60 indian")  # a knot is 2.54 mm wide, a warp pitch 1.27 mm
    assert not yarnsize.check_warp(parse_yarn_count("tex 2000"), density)  # 1.67 mm thick


def test_fibre_is_found_within_words() -> None:
    assert yarnsize.fibre_density("Mulberry Silk") == 1.34
    assert yarnsize.fibre_density("moon hair") == yarnsize.fibre_density(None) == 1.31
