"""Colour arithmetic is held against published pairs and against an independent library."""

from __future__ import annotations

import json
from pathlib import Path

import colour as colour_science
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from chartmaker.ground import colour

FIXTURES = Path(__file__).parents[2] / "fixtures"
BYTES = st.tuples(*[st.integers(0, 255)] * 3)


def test_ciede2000_gives_the_published_pairs() -> None:
    # Sharma, Wu, Dalal, Color Research and Application 30 (2005), table 1: 34 pairs, four decimals.
    pairs = json.loads((FIXTURES / "sharma34.json").read_text())
    assert len(pairs) == 34
    for pair in pairs:
        assert colour.ciede2000(pair["lab1"], pair["lab2"]) == pytest.approx(pair["de00"], abs=1e-4)
        assert colour.ciede2000(pair["lab2"], pair["lab1"]) == pytest.approx(pair["de00"], abs=1e-4)


def test_lab_agrees_with_colour_science() -> None:
    # The reference is colour-science (BSD-3) with its sRGB of IEC 61966-2-1 and the D65 white, for 20,000 colours and
    # the corners of the cube.
    rng = np.random.default_rng(61966)
    srgb = np.concatenate([rng.integers(0, 256, (20_000, 3)), np.array(np.meshgrid(*[[0, 255]] * 3)).reshape(3, -1).T])
    white = colour_science.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D65"]
    expected = colour_science.XYZ_to_Lab(colour_science.sRGB_to_XYZ(srgb / 255), white)
    np.testing.assert_allclose(colour.lab_from_srgb8(srgb), expected, atol=1e-3)


def test_black_and_white_as_whole_numbers() -> None:
    # In IEC 61966-2-1 black is 0 and white is 1, both as coded values and as light.
    assert colour.linear_from_srgb([0, 1]) == pytest.approx([0, 1])
    assert colour.srgb_from_linear([0, 1]) == pytest.approx([0, 1])


def test_bulk_ciede2000_agrees_with_colour_science() -> None:
    rng = np.random.default_rng(142)
    lab = colour.lab_from_srgb8(rng.integers(0, 256, (2, 50_000, 3)))
    expected = colour_science.delta_E(lab[0], lab[1], method="CIE 2000")
    np.testing.assert_allclose(colour.ciede2000(lab[0], lab[1]), expected, atol=1e-9)


def test_white_and_greys_are_neutral() -> None:
    greys = np.repeat(np.arange(256)[:, None], 3, axis=1)
    lab = colour.lab_from_srgb8(greys)
    np.testing.assert_allclose(lab[:, 1:], 0, atol=0.01)  # the four decimals of the standard's matrix leave this much
    assert lab[255, 0] == pytest.approx(100)


@given(BYTES)
def test_srgb_comes_back_from_lab_and_from_light(srgb: tuple[int, int, int]) -> None:
    assert tuple(colour.srgb8_from_lab(colour.lab_from_srgb8(np.array(srgb)))) == srgb
    assert tuple(colour.srgb8_from_linear(colour.LINEAR_OF_BYTE[np.array(srgb)])) == srgb


@given(BYTES, BYTES)
def test_difference_is_symmetric_and_zero_only_on_equals(a: tuple[int, int, int], b: tuple[int, int, int]) -> None:
    first, second = colour.lab_from_srgb8(np.array(a)), colour.lab_from_srgb8(np.array(b))
    forth, back = colour.ciede2000(first, second), colour.ciede2000(second, first)
    assert forth == pytest.approx(float(back), abs=1e-9)
    assert (forth < 1e-9) == (a == b)


def test_out_of_gamut_is_clipped() -> None:
    red, green, _ = colour.srgb8_from_lab([50, 120, 120])
    assert (red, green) == (255, 0)
    assert colour.hex_of((1, 171, 255)) == "#01abff"
