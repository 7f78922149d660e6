"""Shaded artwork is averaged in linear light, matched exactly to yarns, and stippled without streaks."""

from __future__ import annotations

from collections.abc import Callable

import colour
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from scipy.ndimage import gaussian_filter
from skimage import data
from skimage.color import deltaE_ciede2000
from support.drawings import card_of, converted, picked
from support.eye import s_cielab, seen
from support.making import SQUARE, make_rug

from chartmaker.artwork.artwork import Artwork
from chartmaker.artwork.placing import evenly_placed
from chartmaker.colours.matching import nearest_yarns
from chartmaker.convert.shaded import shaded, stipple
from chartmaker.convert.shaded.sampling import linear_averages
from chartmaker.convert.shaded.shaded import MOST_COLOURS, CellColours, gathered_colours
from chartmaker.ground.colour import LINEAR_OF_BYTE, ciede2000, lab_from_linear
from chartmaker.order.design import YarnChoice

CARD = np.random.default_rng(12).integers(0, 256, (24, 3)).astype(np.uint8)


def photograph(side: int = 256) -> np.ndarray:
    return np.asarray(Image.fromarray(data.astronaut()).resize((side, side)))


def test_each_knot_takes_the_yarn_nearest_to_its_average_in_linear_light() -> None:
    srgb = photograph(240)
    result = converted(srgb, make_rug(60, 60, SQUARE), card_of(CARD), detail=0)
    assert result.style.style == "shaded"
    # The averages of 4 x 4 pixels come from colour-science, and the colour difference from scikit-image.
    linear = colour.models.eotf_sRGB(srgb / 255).reshape(60, 4, 60, 4, 3).mean(axis=(1, 3))
    lab = colour.XYZ_to_Lab(colour.RGB_to_XYZ(linear, "sRGB"), colour.CCS_ILLUMINANTS["cie_2_1931"]["D65"])
    card = colour.XYZ_to_Lab(
        colour.RGB_to_XYZ(colour.models.eotf_sRGB(CARD / 255), "sRGB"), colour.CCS_ILLUMINANTS["cie_2_1931"]["D65"]
    )
    de00 = np.stack([deltaE_ciede2000(lab, np.broadcast_to(yarn, lab.shape)) for yarn in card], axis=-1)
    chosen = np.take_along_axis(de00, picked(result)[..., None], axis=2)[..., 0]
    assert (chosen - de00.min(axis=2)).max() < 2e-3  # the matrices of the two libraries differ in the fourth digit
    assert (picked(result) == de00.argmin(axis=2)).mean() > 0.999
    assert result.report.mean_de00 == pytest.approx(chosen.mean(), abs=1e-3)
    assert result.report.p95_de00 == pytest.approx(np.percentile(chosen, 95), abs=0.02)
    assert result.report.max_de00 == pytest.approx(chosen.max(), abs=2e-3)


@settings(max_examples=10)
@given(st.permutations(range(24)))
def test_the_order_of_the_card_does_not_matter(order: list[int]) -> None:
    srgb, rug = photograph(64), make_rug(32, 32, SQUARE)
    plain, shuffled = converted(srgb, rug, card_of(CARD)), converted(srgb, rug, card_of(CARD[order]))
    assert (CARD[picked(plain)] == CARD[order][picked(shuffled)]).all()


def test_the_report_adds_up() -> None:
    result = converted(photograph(), make_rug(64, 64, SQUARE), card_of(CARD))
    report, knot_map = result.report, result.knot_map
    assert [match.code for match in report.yarns] == [yarn.code for yarn in knot_map.yarns]
    assert [match.knots for match in report.yarns] == knot_map.counts.tolist()
    total = sum(match.knots * match.mean_de00 for match in report.yarns)
    assert total / knot_map.tied == pytest.approx(report.mean_de00)
    assert max(match.max_de00 for match in report.yarns) == report.max_de00
    assert {match.code for match in report.stand_ins} == {m.code for m in report.yarns if m.mean_de00 > 5}


def seen_at(metres: float, srgb: np.ndarray, cells: int) -> Callable[[np.ndarray], float]:
    """Return what tells by how much knots look other than the picture, which is itself looked at only once."""
    step = srgb.shape[0] // cells
    target = LINEAR_OF_BYTE[srgb].reshape(cells, step, cells, step, 3).mean(axis=(1, 3))
    looks = s_cielab(target, metres, (2.5, 2.5))
    return lambda woven: float(ciede2000(looks, s_cielab(LINEAR_OF_BYTE[woven], metres, (2.5, 2.5))).mean())


def runs(knots: np.ndarray) -> float:
    return float(1 + (knots[:, 1:] != knots[:, :-1]).sum(axis=1).mean())


def stippled(srgb: np.ndarray, yarns: np.ndarray, rows: int, columns: int, fine: float) -> np.ndarray:
    """Return stippled knots, 2.5 mm wide and long, made from plain averages."""
    where = evenly_placed(0, 0, *srgb.shape[:2], rows, columns)
    linear, light = linear_averages(Artwork(srgb), where, 0, rows), LINEAR_OF_BYTE[yarns]
    lab = lab_from_linear(linear).reshape(-1, 3)
    start = nearest_yarns(lab, lab_from_linear(light)).reshape(rows, columns)
    return stipple.stippled(linear, light, start, np.ones(start.shape, dtype=bool), fine, (2.5, 2.5))


def test_stipple_looks_better_from_afar_and_no_worse_from_near_with_fewer_runs() -> None:
    srgb, cells = photograph(256), 128
    rug = make_rug(cells, cells, SQUARE)
    quantised = Image.fromarray(srgb).quantize(24, Image.Quantize.MEDIANCUT).getpalette()
    yarns = np.array(quantised, dtype=np.uint8).reshape(-1, 3)[:24]
    plain = picked(converted(srgb, rug, card_of(yarns), detail=0))
    small = np.asarray(Image.fromarray(srgb).resize((cells, cells), Image.Resampling.BOX))
    palette = Image.new("P", (1, 1))
    palette.putpalette(np.vstack([yarns, np.repeat(yarns[-1:], 232, axis=0)]).tobytes())
    spread = np.asarray(Image.fromarray(small).quantize(palette=palette, dither=Image.Dither.FLOYDSTEINBERG))
    spread = np.minimum(spread, 23)
    fineness = (0.0, 0.25, 0.5, 0.75, 1.0)
    curve = [stippled(srgb, yarns, cells, cells, fine) for fine in fineness]
    many = [runs(knots) for knots in curve]
    assert many == sorted(many)
    for metres, than_plain in ((2.5, 1.01), (5.0, 0.98)):
        error_of = seen_at(metres, srgb, cells)
        errors = [error_of(yarns[knots]) for knots in curve]
        for rival, fewer, better in ((plain, 1.0, than_plain), (spread, 0.85, 1.03)):
            limit = fewer * runs(rival)
            at_most = [error for count, error in zip(many, errors, strict=True) if count <= limit]
            assert at_most
            assert min(at_most) < better * error_of(yarns[rival])
    assert many[-1] < runs(spread)


def test_of_many_knots_the_colours_are_gathered_in_boxes_one_unit_wide(monkeypatch: pytest.MonkeyPatch) -> None:
    """The boxes of CIELAB hold the means of their knots, and the yarns chosen from these are about the best."""
    srgb, side = photograph(210), 210
    inside = np.ones((side, side), dtype=bool)
    inside[:5] = False
    frame = evenly_placed(0, 0, side, side, side, side)
    colours, knots = gathered_colours(CellColours(Artwork(srgb), frame, 0.0), inside)
    lab = lab_from_linear(LINEAR_OF_BYTE[srgb])[inside]
    assert knots.sum() == len(lab) == 205 * 210 > MOST_COLOURS
    box = np.unique(np.floor(lab), axis=0, return_inverse=True)[1].ravel()
    counts = np.bincount(box)
    means = np.stack([np.bincount(box, lab[:, axis]) / counts for axis in range(3)], axis=1)
    assert knots.tolist() == counts.tolist()
    np.testing.assert_allclose(colours, means, atol=1e-9)
    rug, card, choice = make_rug(side, side, SQUARE), card_of(CARD), YarnChoice(colours=6)
    boxed = converted(srgb, rug, card, choice)
    monkeypatch.setattr(shaded, "MOST_COLOURS", 10**6)
    single = converted(srgb, rug, card, choice)
    assert boxed.report.mean_de00 == pytest.approx(single.report.mean_de00, rel=0.01)


@pytest.mark.parametrize("side", [(64, 64), (3, 40), (40, 3)])
def test_stipple_goes_on_until_its_rounds_are_over(monkeypatch: pytest.MonkeyPatch, side: tuple[int, int]) -> None:
    """No round looks worse when blended, up to the last, even on rugs narrower than a step of the lattice."""
    srgb = np.asarray(Image.fromarray(data.astronaut()).resize((side[1], side[0])))
    yarns = card_of(CARD[:8])
    monkeypatch.setattr(stipple, "SETTLED", -1)
    monkeypatch.setattr(stipple, "CHANGE_COST", 0.0)
    blended = []
    for rounds in (1, 2, 8):
        monkeypatch.setattr(stipple, "ROUNDS", rounds)
        knots = stippled(srgb, CARD[:8], *side, 1.0)
        blended.append(seen(LINEAR_OF_BYTE[srgb], LINEAR_OF_BYTE[CARD[knots]], 5.0, (2.5, 2.5)))
    nearest = picked(converted(srgb, make_rug(side[1], side[0], SQUARE), yarns, style="shaded"))
    assert blended[0] < seen(LINEAR_OF_BYTE[srgb], LINEAR_OF_BYTE[CARD[nearest]], 5.0, (2.5, 2.5))
    # the search has its own model of the eye, a little simpler than S-CIELAB
    assert blended[0] > blended[1] - 0.1
    assert blended[1] > blended[2] - 0.1


def test_stipple_goes_on_while_a_round_still_changes_many_knots(monkeypatch: pytest.MonkeyPatch) -> None:
    """A round that changes many knots is followed by another; the last is one that changes few."""
    srgb = photograph(64)
    settled = stippled(srgb, CARD[:8], 64, 64, 1.0)
    monkeypatch.setattr(stipple, "ROUNDS", 1)
    assert (stippled(srgb, CARD[:8], 64, 64, 1.0) != settled).mean() > 0.01
    monkeypatch.setattr(stipple, "ROUNDS", 40)
    assert (stippled(srgb, CARD[:8], 64, 64, 1.0) == settled).all()


def test_the_same_input_gives_the_same_map() -> None:
    srgb = photograph()
    for design in ({}, {"stipple": 0.5}):
        maps = {converted(srgb, make_rug(64, 64, SQUARE), card_of(CARD), **design).knot_map.sha256 for _ in range(2)}
        assert len(maps) == 1


@pytest.mark.parametrize("light", [0.27, 0.3, 0.33])
def test_an_even_half_tone_is_mixed_without_streaks(light: float) -> None:
    """The rows differ from each other no more than chance would have it, and neither do the columns."""
    yarns = np.array([(0.25, 0.25, 0.25), (0.35, 0.35, 0.35)])
    start, inside = np.zeros((90, 120), dtype=np.uint16), np.ones((90, 120), dtype=bool)
    knots = stipple.stippled(np.full((90, 120, 3), light), yarns, start, inside, 1.0, (2.54, 1.905)).astype(float)
    assert knots.mean() == pytest.approx((light - 0.25) / 0.1, abs=0.2)
    for axis, size in ((1, 120), (0, 90)):
        chance = knots.mean() * (1 - knots.mean()) / size
        assert gaussian_filter(knots.mean(axis=axis), 2)[6:-6].var() < chance
