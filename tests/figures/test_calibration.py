"""Calibration finds the length of yarn in a knot again from the yarn that such knots took."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.making import SettledMap, knot_maps, make_map, settled

from chartmaker.figures.calibration import calibrate_by_yarn, calibrate_in_all, used_of
from chartmaker.figures.reckoning import figures_of
from chartmaker.ground.errors import RugError
from chartmaker.order.workshop import Loom, Pile, Workshop
from chartmaker.reports.records.figures import calibration_dict


def with_pile(knot_map: SettledMap, binding: str = "0 mm", **pile: Any) -> SettledMap:
    workshop = Workshop(pile=Pile(**pile), loom=Loom(binding=binding))
    return SettledMap(knot_map.knots, knot_map.yarns, knot_map.rug, workshop)


def two_colours() -> SettledMap:
    cells = np.zeros((50, 40), dtype=int)
    cells[:, 30:] = 1
    return make_map(cells)


@settings(max_examples=40)
@given(knot_maps(most_yarns=9), st.integers(20, 90))
def test_calibration_gives_back_the_length_that_the_yarn_came_from(knot_map: SettledMap, length_mm: int) -> None:
    heights = {"Y001": "14 mm"}
    used = figures_of(*settled(with_pile(knot_map, "6 mm", length_per_knot=f"{length_mm} mm", heights=heights))).pile
    before = with_pile(knot_map, "6 mm", heights=heights)
    by_yarn = calibrate_by_yarn(before, before.workshop, {line.yarn.code: line.mass_g.best for line in used.yarns})
    in_all = calibrate_in_all(before, before.workshop, used.mass_g.best)
    assert by_yarn.length_per_knot_mm == pytest.approx(length_mm)
    assert in_all.length_per_knot_mm == pytest.approx(length_mm)
    assert by_yarn.spread == pytest.approx(0.01 if len(used.yarns) > 1 else 0.05)
    assert in_all.spread == 0.05
    assert by_yarn.used_g == pytest.approx(in_all.used_g)
    assert by_yarn.estimated_g == pytest.approx(in_all.estimated_g)


def test_the_rug_file_lines_make_the_next_estimate_right() -> None:
    knot_map = two_colours()
    calibration = calibrate_in_all(knot_map, knot_map.workshop, 41.7)
    length, spread, waste = (line.split(" = ")[1].strip('"') for line in calibration.rug_file_lines)
    again = figures_of(
        *settled(with_pile(knot_map, "5 mm", length_per_knot=length, spread=spread, waste=waste))
    ).pile.mass_g
    assert again.best == pytest.approx(41.7, rel=1e-3)
    assert again.low < 41.7 < again.high


def test_spread_by_hand() -> None:
    # 1,500 knots used 41 mm each and 500 used 37 mm: by knots the mean is 40 mm, and the deviation is sqrt(3) mm.
    knot_map = with_pile(two_colours(), yarn="tex 400", waste="20%")
    used = {"Y000": 1500 * 41 * 0.4e-3 / 0.8, "Y001": 500 * 37 * 0.4e-3 / 0.8}
    calibration = calibrate_by_yarn(knot_map, knot_map.workshop, used)
    assert calibration.length_per_knot_mm == pytest.approx(40)
    assert calibration.spread == pytest.approx(3**0.5 / 40)
    assert [use.length_per_knot_mm for use in calibration.yarns] == pytest.approx([41, 37])
    assert calibration.rug_file_lines == ('length_per_knot = "40.00 mm"', 'spread = "4.4%"', "waste = 0.2")
    # At the model's length the same yarn weighs what the figures say, since no pile is higher than another.
    reckoned = figures_of(knot_map, knot_map.workshop).pile
    assert [(use.code, use.knots, use.used_g) for use in calibration.yarns] == [
        ("Y000", 1500, used["Y000"]),
        ("Y001", 500, used["Y001"]),
    ]
    assert [use.estimated_g for use in calibration.yarns] == pytest.approx([y.mass_g.best for y in reckoned.yarns])
    assert calibration.estimated_g == pytest.approx(reckoned.mass_g.best)
    assert calibrate_in_all(knot_map, knot_map.workshop, 50).yarns == ()
    assert Pile(length_per_knot="40.00 mm").length_per_knot_mm == Fraction(40)


@pytest.mark.parametrize(
    ("used", "message"),
    [
        ({"NOPE": 5.0}, "yarn NOPE is not tied in this rug; it ties Y000, Y001"),
        ({"Y000": 0.0}, "Y000: 0 g; give what was issued less what came back"),
        ({"Y000": -4.0}, "Y000: -4 g"),
        ({"Y000": float("nan")}, "Y000: nan g"),
        ({}, "nothing to calibrate from"),
    ],
)
def test_bad_masses_are_refused(used: dict[str, float], message: str) -> None:
    with pytest.raises(RugError, match=f"^yarn used: .*{message}"):
        calibrate_by_yarn(*settled(two_colours()), used)


def test_impossible_masses_in_all_are_refused() -> None:
    with pytest.raises(RugError, match=r"^yarn used: 0 g were used for 2,000 knots; both must be above zero"):
        calibrate_in_all(*settled(two_colours()), 0)
    raised = with_pile(two_colours(), heights={"Y000": "40 mm"})
    estimated_g = figures_of(*settled(raised)).pile.mass_g.best  # most of the yarn is that of the longer ends
    with pytest.raises(RugError, match=r"^yarn used: so little yarn"):
        calibrate_in_all(raised, raised.workshop, estimated_g / 3)


def test_the_option_used_is_read_as_code_and_mass() -> None:
    assert used_of(["W-01=1.25 kg", "M-11 = 900", "B=2 lb"]) == {"W-01": 1250, "M-11": 900, "B": 907.18474}
    assert used_of([]) == {}


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["W-01"], "write what a yarn used as CODE=MASS"),
        (["A=B=5 g"], "yarn A: 'B=5 g' is not a mass"),
        (["=5 g"], "write what a yarn used as CODE=MASS"),
        (["A=5 g", "A=6 g"], "yarn A is there twice"),
        (["A=heavy"], "yarn A: 'heavy' is not a mass above zero"),
        (["A=-5 g"], "yarn A: '-5 g' is not a mass above zero"),
    ],
)
def test_a_wrong_option_used_is_refused_with_the_reason(words: list[str], message: str) -> None:
    with pytest.raises(RugError, match=f"^yarn used: .*{message}"):
        used_of(words)


def test_the_record_for_programs_has_the_calibration() -> None:
    said = calibration_dict(calibrate_by_yarn(*settled(two_colours()), {"Y000": 100.0}))
    assert said["yarns"][0]["code"] == "Y000"
    assert said["rug_file_lines"][0].startswith("length_per_knot = ")


def test_a_knot_of_several_strands_by_hand() -> None:
    # 2,000 knots of 3 strands of 200 tex, without waste: 48 g are 40 mm a knot.
    knot_map = with_pile(two_colours(), yarn="tex 200", strands=3, waste=0)
    assert calibrate_in_all(knot_map, knot_map.workshop, 48).length_per_knot_mm == pytest.approx(40)
    assert calibrate_by_yarn(knot_map, knot_map.workshop, {"Y001": 12}).length_per_knot_mm == pytest.approx(40)


def test_the_spread_is_rounded_up_to_a_tenth_of_a_per_cent() -> None:
    # 1,000 knots each of 42 mm and 38 mm deviate from 40 mm by 5 %, which is printed as 5 %; 42.01 and 38 mm by a
    # little more.
    cells = np.zeros((50, 40), dtype=int)
    cells[:, 20:] = 1
    knot_map = with_pile(make_map(cells), yarn="tex 1000", waste=0)
    for longer_mm, spread in ((42, "5%"), (42.01, "5.1%")):
        said = calibrate_by_yarn(knot_map, knot_map.workshop, {"Y000": longer_mm, "Y001": 38.0}).rug_file_lines[1]
        assert said == f'spread = "{spread}"'


def test_yarn_that_no_rug_uses_is_refused_with_its_ratio() -> None:
    # 2,000 knots of 40 mm at 500 tex are 40 g. A real rug takes between half and twice that, not a fifth or five times,
    # and surely not 700 kg.
    knot_map = with_pile(two_colours(), yarn="tex 500", waste=0, length_per_knot="40 mm")
    for grams, times in ((700_000, r"1.75e\+04"), (201, "5.03"), (7.9, "0.198")):
        with pytest.raises(RugError, match=rf"^yarn used: {grams:,.0f} g is {times} times the 40 g"):
            calibrate_in_all(knot_map, knot_map.workshop, grams)
        with pytest.raises(RugError, match=r"^yarn used: .* times the 30 g"):
            calibrate_by_yarn(knot_map, knot_map.workshop, {"Y000": grams * 0.75})
    for grams, odd in ((199, True), (8.1, True), (71, True), (69, False), (24, False)):
        calibration = calibrate_in_all(knot_map, knot_map.workshop, grams)
        assert calibration.length_per_knot_mm == pytest.approx(grams)
        assert [finding.severity for finding in calibration.findings] == ["warning"] * odd
        assert calibration.ratio == pytest.approx(grams / 40)
