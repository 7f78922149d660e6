"""A field that repeats within a frame is woven in equal repeats, and the frame stays straight and where it is."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support import ornament
from support.drawings import card_of, picked
from support.holdouts import INKS
from support.making import SQUARE, make_rug

from chartmaker.artwork.artwork import Artwork
from chartmaker.convert.conversion import Conversion, convert, repeats_in
from chartmaker.order.design import Design, Repeat, YarnChoice

COLUMNS, ROWS, SCALE = 96, 110, 6.3
#: Frames from the rim inwards, in knots: a stripe, a line, and within them a border with stars, ink 9.
FRAMES = [(2.0, 1), (1.0, 4), (8.0, 9), (1.0, 4), (2.0, 3), (1.0, 4)]
RIM = 15
#: The same without a border.
PLAIN = [(2.0, 1), (1.0, 4), (10.0, 2), (2.0, 3), (1.0, 4)]


def drawn(
    name: str,
    pitch: float,
    kind: str = "square",
    stroke: float = 0.9,
    frames: list[tuple[float, int]] = FRAMES,
) -> np.ndarray:
    field = ornament.tiling(ornament.MOTIFS[name], pitch, kind, stroke, 1.0)
    paint = ornament.framed(field, COLUMNS, ROWS, frames, ornament.star, 10.4)
    return ornament.rendered(paint, COLUMNS, ROWS, (round(ROWS * SCALE), round(COLUMNS * SCALE)), INKS, fine=3)[0]


def asked(**design: object) -> Design:
    return Design.model_validate({"style": "flat", "fit": "stretch", **design})


def woven(srgb: np.ndarray, *said: Repeat, **design: object) -> Conversion:
    rug = make_rug(COLUMNS, ROWS, SQUARE)
    return convert(Artwork(srgb), rug, card_of(INKS), asked(**design), YarnChoice(), repeats=said)


def words(conversion: Conversion) -> str:
    return " ".join(str(finding.said) for finding in conversion.findings)


@settings(max_examples=4, deadline=None)
@given(st.sampled_from(["star", "drop", "flower", "hook", "cross"]), st.integers(118, 190), st.booleans())
def test_all_repeats_within_a_frame_are_the_same_to_the_knot(name: str, tenths: int, centred: bool) -> None:
    """What whole repeats leave over goes into at most six rows and columns at each side of the frame."""
    found = woven(drawn(name, tenths / 10, "centred" if centred else "square"))
    assert found.repeat is not None and found.repeat.field
    assert found.repeat.drawn == pytest.approx((tenths / 10, tenths / 10), abs=0.1)
    if found.repeat.knots is None:
        return
    high, wide = found.repeat.knots
    knots = picked(found)[RIM + 8 : -RIM - 8, RIM + 8 : -RIM - 8]
    assert np.array_equal(knots[:, wide:], knots[:, :-wide])
    if centred and found.repeat.centred and wide % 2 == 0:
        assert np.array_equal(knots[high:, wide // 2 :], knots[:-high, : -(wide // 2)])
    else:
        assert np.array_equal(knots[high:], knots[:-high])


def test_most_fields_are_made_whole() -> None:
    """The test above must not pass by finding nothing."""
    for name, tenths in (("flower", 143), ("star", 127), ("cross", 172), ("drop", 133)):
        found = woven(drawn(name, tenths / 10)).repeat
        assert found is not None and found.knots is not None
        assert found.cut == (0.0, 0.0)
        assert max(abs(knots / (tenths / 10) - 1) for knots in found.knots) <= 0.041


def test_frames_stay_straight_and_where_they_are() -> None:
    """Fields are cut by the line round them, which is never cut by them (common practice)."""
    srgb = drawn("cross", 17.2)
    knots = picked(woven(srgb))
    plain = picked(woven(srgb, repeats=False))
    for line in range(RIM):
        if 3 <= line < 11:
            continue  # the border's own motifs
        for side in (np.s_[line, :], np.s_[-1 - line, :], np.s_[:, line], np.s_[:, -1 - line]):
            own = knots[side][RIM:-RIM]
            assert (own == own[0]).all(), f"line {line} is not straight"
            assert own[0] == np.bincount(plain[side][RIM:-RIM]).argmax()


@settings(max_examples=5, deadline=None)
@given(
    st.sampled_from(["leaf", "drop", "cross", "hook"]),
    st.integers(90, 230),
    st.sampled_from(["square", "centred", "mirrored", "turned"]),
    st.sampled_from([0.0, 0.8]),
)
def test_a_mirrored_or_turned_field_gives_the_mirrored_or_turned_map(
    name: str, tenths: int, kind: str, stroke: float
) -> None:
    srgb = drawn(name, tenths / 10, kind, stroke, PLAIN)
    knots = picked(woven(srgb))
    assert np.array_equal(picked(woven(srgb[:, ::-1])), knots[:, ::-1])
    assert np.array_equal(picked(woven(srgb[::-1, ::-1])), knots[::-1, ::-1])


def test_of_drawings_that_are_as_common_shape_decides() -> None:
    """Drops of 14.1 knots come out in many ways, of which those met first from the top were once tried first."""
    srgb = drawn("drop", 14.1, "turned", 0.7)
    assert np.array_equal(picked(woven(srgb[::-1, ::-1])), picked(woven(srgb))[::-1, ::-1])


def test_the_field_is_made_symmetric_after_it_was_made_whole() -> None:
    found = woven(drawn("flower", 14.3), mirror="both")
    assert found.repeat is not None and found.repeat.field
    knots = picked(found)
    assert np.array_equal(knots, knots[::-1]) and np.array_equal(knots, knots[:, ::-1])


def test_a_note_says_what_became_of_the_field() -> None:
    """The field is 66 columns wide: at 14.3 knots it holds 4.6 repeats, which lose 0.3 of a knot each (by hand)."""
    said = words(woven(drawn("flower", 14.3)))
    assert "The field repeats every 14.3 x 14.3 knots; each repeat is woven as the same 14 x 14." in said
    assert "knots more at left and at right" in said
    longer = words(woven(drawn("flower", 14.7)))
    assert "woven as the same 15 x 15" in longer
    # 4.4 repeats of 14.7 knots are 0.3 of a knot each too long, and so is half of that at each side.
    assert "there are 0.6 knots fewer at left and at right" in longer
    assert "cut off" not in longer
    forced = woven(drawn("flower", 9.45))
    assert forced.repeat is not None and forced.repeat.knots is None
    assert "The field repeats every 9.45 x 9.45 knots. Whole repeats would be scaled too much" in words(forced)


def test_a_box_in_the_field_serves_as_well_as_finding_it() -> None:
    srgb = drawn("flower", 14.3)
    found, left = woven(srgb), round(30 * SCALE)
    length = round(14.3 * SCALE)
    said = woven(srgb, Repeat(box=(left, left, left + length, left + length)))
    assert said.repeat == found.repeat
    assert np.array_equal(picked(said), picked(found))
    wrong = woven(srgb, Repeat(box=(left, left, left + 70, left + 70)))
    assert np.array_equal(picked(wrong), picked(found))
    assert "Neither the drawing nor its field repeats by 70 x 70 pixels, so this box counts for nothing" in words(wrong)


def test_a_box_in_a_border_that_is_wrong_leaves_what_is_found_by_itself() -> None:
    srgb = drawn("flower", 14.3)
    found, wrong = woven(srgb), woven(srgb, Repeat(box=(200, 25, 250, 60)))
    assert np.array_equal(picked(wrong), picked(found))
    assert "The border does not repeat by 50 x 35 pixels where this box lies" in words(wrong)
    right = woven(srgb, Repeat(box=(200, 25, 200 + round(10.4 * SCALE), 60)))
    assert "counts for nothing" not in words(right)


def test_what_a_plan_says_of_a_field_is_what_a_conversion_does() -> None:
    srgb, rug = drawn("flower", 14.3), make_rug(COLUMNS, ROWS, SQUARE)
    repeat, _, _ = repeats_in(Artwork(srgb), rug, asked())
    done = woven(srgb).repeat
    assert repeat is not None and done is not None
    assert (repeat.field, repeat.drawn, repeat.knots, repeat.columns) == (True, done.drawn, done.knots, done.columns)
    assert repeat.missing == pytest.approx(done.missing, abs=0.5)


def test_whole_repeats_in_a_field_can_be_turned_off() -> None:
    srgb = drawn("star", 12.7)
    plain = woven(srgb, repeats=False)
    assert plain.repeat is None
    assert not np.array_equal(picked(plain), picked(woven(srgb)))
