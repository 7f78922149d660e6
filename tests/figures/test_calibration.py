"""Calibration gives back the length that the yarn came from."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from making import knot_maps, make_map

from chartmaker.errors import RugError
from chartmaker.figures.calibration import calibrate_by_yarn, calibrate_in_all, used_of
from chartmaker.figures.gather import figures_of
from chartmaker.figures.summary import calibration_dict
from chartmaker.knotmap import KnotMap
from chartmaker.workshop import Pile, Workshop


def with_pile(knot_map: KnotMap, **pile: Any) -> KnotMap:
    return KnotMap(knot_map.knots, knot_map.yarns, knot_map.rug, Workshop(pile=Pile(**pile)))


def two_colours() -> KnotMap:
    cells = np.zeros((50, 40), dtype=int)
    cells[:, 30:] = 1
    return make_map(cells)


@settings(max_examples=40)
@given(knot_maps(most_yarns=9), st.integers(20, 90))
def test_round_trip(knot_map: KnotMap, length_mm: int) -> None:
    heights = {"Y001": "14 mm"}
    used = figures_of(with_pile(knot_map, length_per_knot=f"{length_mm} mm", heights=heights)).pile
    before = with_pile(knot_map, heights=heights)
    by_yarn = calibrate_by_yarn(before, {line.yarn.code: line.mass_g.best for line in used.yarns})
    in_all = calibrate_in_all(before, used.mass_g.best)
    assert by_yarn.length_per_knot_mm == pytest.approx(length_mm)
    assert in_all.length_per_knot_mm == pytest.approx(length_mm)
    assert by_yarn.spread == pytest.approx(0.01 if len(used.yarns) > 1 else 0.05)
    assert in_all.spread == 0.05
    assert by_yarn.used_g == pytest.approx(in_all.used_g)
    assert by_yarn.estimated_g == pytest.approx(in_all.estimated_g)


def test_the_rug_file_lines_make_the_next_estimate_right() -> None:
    knot_map = two_colours()
    calibration = calibrate_in_all(knot_map, 1234)
    length, spread, waste = (line.split(" = ")[1].strip('"') for line in calibration.rug_file_lines)
    again = figures_of(with_pile(knot_map, length_per_knot=length, spread=spread, waste=waste)).pile.mass_g
    assert again.best == pytest.approx(1234, rel=1e-3)
    assert again.low < 1234 < again.high


def test_spread_by_hand() -> None:
    # 1,500 knots used 41 mm each, 500 used 37 mm: mean 40 mm weighed by knots, deviation sqrt(3) mm.
    knot_map = with_pile(two_colours(), yarn="tex 400", waste="20%")
    used = {"Y000": 1500 * 41 * 0.4e-3 / 0.8, "Y001": 500 * 37 * 0.4e-3 / 0.8}
    calibration = calibrate_by_yarn(knot_map, used)
    assert calibration.length_per_knot_mm == pytest.approx(40)
    assert calibration.spread == pytest.approx(3**0.5 / 40)
    assert [use.length_per_knot_mm for use in calibration.yarns] == pytest.approx([41, 37])
    assert calibration.rug_file_lines == ('length_per_knot = "40.00 mm"', 'spread = "4.4%"', "waste = 0.2")
    assert Pile(length_per_knot="40.00 mm").length_per_knot_mm == Fraction(40)


@pytest.mark.parametrize(
    ("used", "message"),
    [
        ({"NOPE": 5.0}, "yarn NOPE is not tied in this rug; it ties Y000, Y001"),
        ({"Y000": 0.0}, "Y000: 0 g; give what was issued less what came back"),
        ({"Y000": -4.0}, "Y000: -4 g"),
        ({"Y000": float("nan")}, "Y000: nan g"),
        ({}, "nothing to calibrate by"),
    ],
)
def test_bad_masses_are_refused(used: dict[str, float], message: str) -> None:
    with pytest.raises(RugError, match=message):
        calibrate_by_yarn(two_colours(), used)


def test_impossible_masses_in_all_are_refused() -> None:
    with pytest.raises(RugError, match="both must be above zero"):
        calibrate_in_all(two_colours(), 0)
    raised = with_pile(two_colours(), heights={"Y000": "40 mm"})
    with pytest.raises(RugError, match="so little yarn"):
        calibrate_in_all(raised, 1)


def test_used_words() -> None:
    assert used_of(["W-01=1.25 kg", "M-11 = 900", "B=2 lb"]) == {"W-01": 1250, "M-11": 900, "B": 907.18474}
    assert used_of([]) == {}


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["W-01"], "write what a yarn used as CODE=MASS"),
        (["=5 g"], "write what a yarn used as CODE=MASS"),
        (["A=5 g", "A=6 g"], "yarn A is there twice"),
        (["A=heavy"], "yarn A: 'heavy' is not a mass above zero"),
        (["A=-5 g"], "yarn A: '-5 g' is not a mass above zero"),
    ],
)
def test_bad_used_words_are_refused(words: list[str], message: str) -> None:
    with pytest.raises(RugError, match=message):
        used_of(words)


def test_for_programs() -> None:
    said = calibration_dict(calibrate_by_yarn(two_colours(), {"Y000": 100.0}))
    assert said["yarns"][0]["code"] == "Y000"
    assert said["rug_file_lines"][0].startswith("length_per_knot = ")
