"""In a drawing that repeats all over every repeat is woven alike, and nothing that differs is painted over."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.ndimage import binary_propagation
from support import ornament
from support.drawings import card_of, picked
from support.holdouts import INKS
from support.making import SQUARE, make_rug

from chartmaker.artwork.artwork import Artwork
from chartmaker.convert.conversion import Conversion, convert
from chartmaker.convert.repeats import copying
from chartmaker.convert.repeats.wholes import Period, exact_period
from chartmaker.ground.errors import ArtworkError
from chartmaker.order.design import Design, Repeat, YarnChoice

PITCHES = st.integers(100, 260)


def drawn(name: str, tenths: int, kind: str, columns: int, rows: int, scale: float = 5.3) -> np.ndarray:
    """Return a tiling with a pitch in tenths of a knot, at a scale where no repeat is a whole number of pixels."""
    paint = ornament.tiling(ornament.MOTIFS[name], tenths / 10, kind, 0.9)
    shape = round(rows * scale), round(columns * scale)
    return ornament.rendered(paint, columns, rows, shape, INKS, fine=3)[0]


def woven(srgb: np.ndarray, columns: int, rows: int, said: Repeat | None = None, **design: object) -> Conversion:
    order = Design.model_validate({"style": "flat", "fit": "stretch", **design})
    rug = make_rug(columns, rows, SQUARE)
    return convert(Artwork(srgb), rug, card_of(INKS), order, YarnChoice(), repeats=() if said is None else (said,))


def inner(conversion: Conversion) -> np.ndarray:
    """Return the knots away from the rim, which takes up what whole repeats leave over."""
    return picked(conversion)[9:-9, 9:-9]


@settings(max_examples=4, deadline=None)
@given(st.sampled_from(["star", "drop", "flower", "hook"]), PITCHES, st.sampled_from(["square", "centred"]))
def test_all_repeats_are_the_same_to_the_knot(name: str, tenths: int, kind: str) -> None:
    found = woven(drawn(name, tenths, kind, 90, 80), 90, 80)
    assume(found.repeat is not None and found.repeat.knots is not None)
    assert found.repeat is not None and found.repeat.knots is not None
    assert found.repeat.drawn == pytest.approx((tenths / 10, tenths / 10), abs=0.1)
    high, wide = found.repeat.knots
    knots = inner(found)
    assert np.array_equal(knots[:, wide:], knots[:, :-wide])
    if kind == "centred":
        assert np.array_equal(knots[high:, wide // 2 :], knots[:-high, : -(wide // 2)])
    else:
        assert np.array_equal(knots[high:], knots[:-high])


def test_most_pitches_come_out_whole() -> None:
    """The test above must not pass by finding nothing: a pitch of 10 knots or more is within 4 % of a whole number."""
    for tenths in (104, 143, 188):
        found = woven(drawn("flower", tenths, "square", 90, 80), 90, 80).repeat
        assert found is not None and found.knots is not None
        assert max(abs(knots / (tenths / 10) - 1) for knots in found.knots) <= 0.041


@settings(max_examples=3, deadline=None)
@given(st.sampled_from(["drop", "hook", "leaf"]), PITCHES, st.sampled_from(["square", "centred"]))
def test_a_mirrored_or_turned_tiling_gives_the_mirrored_or_turned_map(name: str, tenths: int, kind: str) -> None:
    srgb = drawn(name, tenths, kind, 70, 66)
    knots = picked(woven(srgb, 70, 66))
    assert np.array_equal(picked(woven(srgb[:, ::-1], 70, 66)), knots[:, ::-1])
    assert np.array_equal(picked(woven(srgb[::-1, ::-1], 70, 66)), knots[::-1, ::-1])


@settings(max_examples=3, deadline=None)
@given(st.sampled_from(["drop", "star"]), st.integers(70, 130), st.integers(1, 3), st.integers(1, 3))
def test_a_tiling_moved_by_whole_repeats_gives_the_same_map(name: str, pitch: int, down: int, across: int) -> None:
    """The artwork is one tile of whole pixels over and over, and a knot is 7.3 pixels wide and high."""
    paint = ornament.tiling(ornament.MOTIFS[name], pitch / 7.3, "square", 0.8)
    one = ornament.rendered(paint, pitch / 7.3, pitch / 7.3, (pitch, pitch), INKS, fine=3)[0]
    srgb = np.tile(one, (5, 5, 1))
    side = round(5 * pitch / 7.3)
    knots = picked(woven(srgb, side, side))
    assert np.array_equal(picked(woven(np.roll(srgb, (down * pitch, across * pitch), (0, 1)), side, side)), knots)


def test_a_motif_that_is_missing_stays_away() -> None:
    changed = drawn("star", 127, "square", 100, 90, 7.3)
    pitch = 12.7 * 7.3
    top, left = round(3 * pitch + pitch / 2), round(4 * pitch + pitch / 2)
    gone = (slice(top - 25, top + 25), slice(left - 25, left + 25))
    assert (changed[gone] != INKS[0]).any()
    changed[gone] = INKS[0]  # one star is left out of the drawing
    found = woven(changed, 100, 90)
    assert found.repeat is not None
    assert found.repeat.knots == (13, 13)
    at = found.placed.placement
    rows, columns = np.searchsorted(at.raster_row_edges, top), np.searchsorted(at.column_edges, left)
    star = (slice(rows - 3, rows + 2), slice(columns - 3, columns + 2))
    assert (picked(found)[star] == 0).all()
    beside = (star[0], slice(star[1].start + 13, star[1].stop + 13))
    assert (picked(found)[beside] != 0).any()


def test_a_repeat_given_by_the_order_serves_as_well_as_one_that_is_found() -> None:
    srgb = drawn("hook", 153, "square", 110, 95, 7.3)
    found = woven(srgb, 110, 95)
    said = woven(srgb, 110, 95, Repeat(box=(30, 40, 30 + 112, 40 + 111)))
    assert found.repeat is not None
    assert said.repeat == found.repeat
    assert np.array_equal(picked(said), picked(found))
    wrong = woven(srgb, 110, 95, Repeat(box=(30, 40, 130, 120)))  # this size is no repeat of the drawing
    assert wrong.repeat == found.repeat
    assert np.array_equal(picked(wrong), picked(found))
    warned = " ".join(str(finding.said) for finding in wrong.findings)
    assert "Neither the drawing nor its field repeats by 100 x 80 pixels, so this box counts for nothing" in warned
    with pytest.raises(ArtworkError, match="reaches beyond the artwork"):
        woven(srgb, 110, 95, Repeat(box=(0, 0, 9000, 9000)))


def test_the_box_is_turned_with_the_artwork() -> None:
    paint = ornament.tiling(ornament.star, 15.3, "square", 0.9)
    # turned, the repeats are taller than wide
    srgb = ornament.rendered(lambda x, y: paint(x, y * 0.8), 95, 100, (680, 690), INKS, fine=3)[0]
    box = Repeat(box=(0, 0, round(15.3 * 690 / 95), round(15.3 / 0.8 * 680 / 100)))
    upright, turned = woven(srgb, 95, 100, box).repeat, woven(srgb, 100, 95, box, turn=90).repeat
    assert upright is not None and turned is not None
    assert upright.drawn == pytest.approx((19.1, 15.3), abs=0.1)
    assert turned.drawn == upright.drawn[::-1]


def test_a_note_says_what_became_of_the_repeats_and_which_sizes_keep_them_whole() -> None:
    told = woven(drawn("star", 127, "square", 120, 100), 120, 100)
    said = " ".join(str(finding.said) for finding in told.findings)
    # 120 columns hold 9.45 repeats and 100 rows hold 7.87: at 12 knots each that is 113 and 94, at 13 knots 123 and
    # 102.
    assert {int(word) for word in said.replace(".", "").split() if word.isdigit()} >= {113, 123, 94, 102}
    assert "12.7 x 12.7 knots; each repeat is woven as the same 13 x 13" in said
    assert "cut off" in said
    short = woven(drawn("star", 103, "square", 80, 70), 80, 70)  # 80 / 10.3 repeats of 10 knots are 2.3 knots too few
    assert "there are 1.2 knots more at left and at right, 1.0 at top" in " ".join(str(f.said) for f in short.findings)
    whole = woven(drawn("star", 120, "square", 72, 60), 72, 60)
    assert whole.repeat is not None
    assert not [finding for finding in whole.findings if "columns and" in str(finding.said)]


def test_whole_repeats_can_be_turned_off() -> None:
    srgb = drawn("flower", 125, "square", 90, 80)
    plain = woven(srgb, 90, 80, repeats=False)
    assert plain.repeat is None
    assert not np.array_equal(picked(plain), picked(woven(srgb, 90, 80)))


@given(st.integers(30, 90), st.integers(3, 8), st.integers(0, 10_000))
@settings(max_examples=20, deadline=None)
def test_a_period_of_whole_pixels_is_found_exactly(period: int, times: int, seed: int) -> None:
    lines = np.random.default_rng(seed).integers(0, 4, (period, 50)).astype(np.uint8)
    inks = np.tile(lines, (times, 1))
    assert exact_period(inks, period + 0.3) == period
    assert exact_period(inks[::-1], period - 0.3) == period


def test_a_repeat_that_would_be_scaled_too_much_is_not_whole() -> None:
    # from 9.4 to 9 knots
    assert Period(Fraction(94), Fraction(94), False).whole((72, 90), (Fraction(10), Fraction(10))) is None
    whole = Period(Fraction(98), Fraction(98), False).whole((72, 90), (Fraction(10), Fraction(10)))
    assert whole is not None
    assert (whole.down.knots, whole.across.knots) == (10, 10)


def test_two_rows_make_a_repeat_where_an_even_number_of_knots_would_force_the_drawing() -> None:
    """A repeat of 13.3 knots is 13 wide, half of which no row can be moved by; checked by hand."""
    period, knot_px = Period(Fraction(150), Fraction(150), True), (Fraction(1200, 142), Fraction(900, 80))
    whole = period.whole((142, 80), knot_px)
    assert whole is not None
    assert (whole.across.knots, whole.down.knots, whole.shift) == (13, 36, 0)
    assert whole.down.period_px == 300
    even = period.whole((133, 100), (Fraction(9), Fraction(9)))
    assert even is not None
    assert (even.across.knots, even.down.knots, even.shift) == (16, 17, 8)


def test_what_lies_together_is_the_same_in_bands_as_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """The reference is scipy's propagation over the whole map, along paths that wind up and down through all bands."""
    monkeypatch.setattr(copying, "GROW_ROWS", 5)
    chance = np.random.default_rng(8)
    for dense in (0.3, 0.42, 0.5):
        together = chance.random((83, 40)) < dense
        near = together & (chance.random(together.shape) < 0.01)
        whole = binary_propagation(near, np.ones((3, 3)), together)
        copying.grow(near, together)
        assert np.array_equal(near, whole) and 0 < whole.sum() < together.sum()
