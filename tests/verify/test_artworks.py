"""Which yarn the artwork asks for is worked out by its colours alone, at hand-worked pixels of small pictures."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from support.making import make_map

from chartmaker.artwork.artwork import Artwork
from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.verify.artworks import Judged, Shown, judged_artwork
from chartmaker.verify.drawnyarns import UNTOLD, Drawn

MAP = make_map(np.kron(np.array([[0, 1], [2, 0]]), np.ones((10, 10), dtype=int))[::-1])
#: The picture of the map with a knot of two pixels, its top row first, by yarns and by colours.
DUE = MAP.knots[::-1].astype(np.int32).repeat(2, axis=0).repeat(2, axis=1)
SRGB = np.array([yarn.srgb for yarn in MAP.yarns], dtype=np.uint8)


def judged(due: np.ndarray = DUE, coverage: np.ndarray | None = None, **more: Any) -> Judged:
    asked = {"knot_map": MAP, "flat": True, "merged_share": 0.0, **more}
    return Judged(Artwork(SRGB[np.maximum(due, 0)], coverage), **asked)


def drawn(yarns: np.ndarray = DUE, fields: np.ndarray | None = None, scale: float = 1.0) -> Drawn:
    return Drawn(yarns.astype(np.int32), (yarns if fields is None else fields).astype(np.int32) + 5, scale)


def faults(shown: Drawn, against: Judged) -> list[str]:
    return list(against.differences(shown))


def spotted(side: int, yarn: int, row: int = 4, column: int = 8) -> np.ndarray:
    """Return the picture with a square spot of another yarn in it, which lies in yarn 0."""
    spot = DUE.copy()
    spot[row : row + side, column : column + side] = yarn
    return spot


def test_the_picture_has_three_yarns_that_are_far_apart() -> None:
    assert MAP.yarns[0].lab != MAP.yarns[1].lab and DUE.shape == (40, 40)
    assert (DUE[0, 0], DUE[0, 39], DUE[39, 0]) == (0, 1, 2)
    assert faults(drawn(), judged()) == faults(drawn(DUE.repeat(2, axis=1)), judged()) == []


def test_too_much_in_another_yarn_is_found_with_its_first_pixel() -> None:
    """1444 = 38 x 38 pixels lie off the edges of the four quarters; one in 200 may differ, and what was merged."""
    three = drawn(spotted(3, 1), DUE)
    shares = f"{100 * 9 / 1444:.2f} % of its area is not in the artwork's yarn, the first at pixel 9 x 5 of what"
    (fault,) = faults(three, judged())
    assert fault.startswith(shares) and shares.startswith("0.62 %")
    assert faults(drawn(spotted(2, 1), DUE), judged()) == []
    assert faults(three, judged(merged_share=0.002)) == []
    assert faults(three, judged(flat=False, merged_share=0.001))[0].endswith("of what the rug shows")
    assert faults(drawn(spotted(3, UNTOLD), DUE), judged()) == []
    assert faults(drawn(spotted(3, -1), DUE), judged())[0].startswith(shares)


def test_a_field_with_another_number_is_named_unless_it_is_small() -> None:
    """A field of 4 x 4 pixels has 16 square millimetres at one pixel a millimetre, and 4 at two; less is not told."""

    def named(yarn: int, scale: float = 1.0, **more: Any) -> list[str]:
        shown = drawn(spotted(4, yarn), np.where(spotted(4, 1) != DUE, 3, DUE), scale)
        return [fault for fault in faults(shown, judged(**more)) if "of its area" not in fault]

    field = "a field is Y001 where the artwork is Y000, at pixel 9 x 5 of what the rug shows"
    assert named(1) == named(1, 2.0) == named(1, merged_share=0.0049) == [field]
    assert named(-1) == [field.replace("is Y001", "is left out")]
    assert named(1, 2.1) == named(1, flat=False) == named(1, scale=2.1, merged_share=0.9) == []


def test_where_much_was_merged_a_field_keeps_a_twentieth_of_itself() -> None:
    """A field of yarn 1 grew over yarn 0: of its 40 pixels some are its own."""
    for own, named in ((1, 1), (2, 0), (3, 0)):
        yarns, fields = DUE.copy(), DUE.copy()
        yarns[2:7, 8:16] = 1
        fields[2:7, 8:16] = 3
        asked = DUE.copy()
        asked[2, 8 : 8 + own] = 1
        found = faults(drawn(yarns, fields), judged(asked, merged_share=0.3))
        assert len(found) == named, own
        assert len(faults(drawn(yarns, fields), judged(asked, merged_share=0.0049))) >= 1
        assert named or faults(drawn(yarns, fields), judged(asked, merged_share=0.005 + 0.1)) == []


def test_only_what_the_artwork_covers_is_judged() -> None:
    seen = np.full(DUE.shape, 255, dtype=np.uint8)
    seen[4:7, 8:11] = 254
    wrong = drawn(spotted(3, 1), DUE)
    assert faults(wrong, judged(coverage=seen)) == []
    assert faults(wrong, judged(coverage=np.full(DUE.shape, 255, dtype=np.uint8))) != []
    nothing = ["nothing of the artwork can be held against it"]
    assert faults(wrong, judged(coverage=np.zeros(DUE.shape, dtype=np.uint8))) == nothing


def test_where_the_order_asked_for_something_else_the_artwork_is_not_held() -> None:
    """A mirror image or a region's ground may lie where the artwork has another colour; a knot from it, it tells."""
    assert faults(drawn(), judged(spotted(9, 2))) == []  # the map is not as the artwork, but the pattern is as the map
    shifted = np.roll(DUE, 2, axis=1)
    assert faults(drawn(shifted), judged(shifted)) == []
    assert faults(drawn(), judged(shifted)) != []  # by one knot the artwork may tell


def test_an_inlay_alone_is_drawn_and_judged() -> None:
    """Of the rug only the quarter of yarn 1 is drawn, which the inlay counts as its first."""
    cells = np.where(MAP.knots == 1, 0, NO_KNOT)
    inlay = replace(make_map(cells), yarns=(MAP.yarns[1],))
    shown = np.where(DUE == 1, 0, -1)
    assert faults(drawn(shown), judged(inlay=inlay)) == []
    other = replace(inlay, yarns=(MAP.yarns[2],))
    assert faults(drawn(shown), judged(inlay=other))[0].startswith("100.00 % of its area")
    left = shown.copy()
    left[2:6, 22:26] = -1
    assert faults(drawn(left, shown), judged(inlay=inlay))[0].startswith("4.")


@pytest.mark.parametrize(("off", "named"), [(0, 0), (2.9, 0), (3.1, 1)])
def test_a_yarn_nearly_as_near_is_as_right(off: float, named: int) -> None:
    """Lightness 50 is L* of both yarns' middle, where a difference of L* is one in CIEDE2000."""
    grey = {0: 50.0, 1: 50.0 + off}
    yarns = tuple(replace(MAP.yarns[0], code=f"G{number}", lab=(level, 0.0, 0.0)) for number, level in grey.items())
    knots = np.zeros((20, 20), dtype=int)
    knots[:, 10:] = 1
    grey_map = replace(make_map(knots), yarns=yarns)
    picture = Artwork(np.full((40, 40, 3), 119, dtype=np.uint8))  # L* 50.03
    against = Judged(picture, grey_map, True, 0.0)
    assert bool(faults(drawn(np.ones((40, 40))), against)) == bool(named)


@pytest.mark.parametrize(
    ("said", "flat", "merged"),
    [
        ({}, False, 0.0),
        ({"conversion": {"style": "flat"}}, True, 0.0),
        ({"conversion": {"style": "shaded"}}, False, 0.0),
        ({"pattern": {"merged_cm2": 3, "width_mm": 300, "height_mm": 400}}, False, 0.0025),
        ({"pattern": {"merged_cm2": 3, "width_mm": 0, "height_mm": 400}}, False, 0.0),
        ({"pattern": {"merged_cm2": -3, "width_mm": 10, "height_mm": 10}}, False, 0.0),
        ({"pattern": {"merged_cm2": 3000, "width_mm": 10, "height_mm": 10}}, False, 1.0),
        ({"conversion": "flat", "pattern": None}, False, 0.0),
    ],
)
def test_what_was_merged_is_read_from_the_summary(said: dict[str, Any], flat: bool, merged: float) -> None:
    """3 square centimetres of 30 x 40 cm are a quarter of a per cent."""
    found = judged_artwork(Shown(judged().shown, {}), MAP, said)
    assert (found.flat, found.merged_share, found.inlay) == (flat, pytest.approx(merged), None)


def banded(knots: list[int], pixels: list[int]) -> list[str]:
    """Return which bands are wrong; both are given from the foot."""
    band_map = replace(make_map(np.array(knots)[:, None].repeat(6, axis=1)), yarns=MAP.yarns)
    picture = Artwork(SRGB[np.array(pixels[::-1])[:, None].repeat(9, axis=1)])
    return list(Judged(picture, band_map, True, 0.0).band_differences())


def test_a_band_has_the_yarn_that_most_of_the_artwork_has_there() -> None:
    knots = [0] * 6 + [1] * 3 + [2] * 3
    assert banded(knots, knots) == banded(knots, [each for each in knots for _ in "ab"]) == []
    wrong = "band 2 is Y001, and the artwork has another colour there"
    assert banded(knots, [0] * 6 + [2] * 6) == [wrong]
    assert banded(knots, [0] * 7 + [1] + [2] * 4) == []  # the edges of a band may lie within a pixel
    doubled = [0] * 12 + [1] * 6 + [2] * 6
    assert banded(knots, doubled[:12] + [1, 1, 1, 2, 2, 2] + [2] * 6) == []  # half of it is enough
    assert banded(knots, doubled[:12] + [1, 1, 2, 2, 2, 2] + [2] * 6) == [wrong]
    assert banded(knots, [1] * 6 + [1] * 3 + [0] * 3) == [
        "band 3 is Y002, and the artwork has another colour there",
        "band 1 is Y000, and the artwork has another colour there",
    ]
    assert list(judged(DUE[::-1]).band_differences()) == []  # not all bands
    assert list(replace(judged(DUE[::-1]), flat=False).band_differences()) == []


def test_shaded_artwork_is_seen_through_a_blur_of_less_than_a_knot() -> None:
    """A knot is 10 pixels wide and 5 high; white and black pixels by turns are grey from where the rug is looked at."""
    yarns = tuple(
        replace(MAP.yarns[0], code=code, lab=(level, 0.0, 0.0))
        for code, level in (("K", 0.0), ("G", 53.4), ("W", 100.0))
    )
    knots = np.ones((12, 20), dtype=int)
    knots[:, :8], knots[:3] = 2, 0
    shaded_map = replace(make_map(knots), yarns=yarns)
    due = knots[::-1].repeat(5, axis=0).repeat(10, axis=1)
    levels = np.array([0, 127, 255], dtype=np.uint8)[due]
    levels[due == 1] = (np.indices(due.shape).sum(axis=0) % 2 * 255)[due == 1]
    against = Judged(Artwork(levels[..., None].repeat(3, axis=2)), shaded_map, False, 0.0)
    assert faults(drawn(due), against) == []
    for wrong in ((due == 1, 2), (due == 2, 1), (due == 0, 1)):
        (share,) = faults(drawn(np.where(wrong[0], wrong[1], due)), against)
        assert float(share.split(" %")[0]) == pytest.approx(100 * wrong[0].mean(), abs=8)


def test_colours_of_shaded_artwork_count_by_the_middle_of_their_steps() -> None:
    """119 counts as 118, of L* 49.6: of yarns of 48.5 and of 52.5 either is as near, within 3."""
    yarns = tuple(replace(MAP.yarns[0], code=f"G{level}", lab=(level, 0.0, 0.0)) for level in (48.5, 52.5))
    knots = np.zeros((20, 20), dtype=int)
    knots[:, 10:] = 1
    grey_map = replace(make_map(knots), yarns=yarns)
    for level, wrong in ((119, 0), (115, 1)):  # 114 has an L* of 48.0
        picture = Artwork(np.full((40, 40, 3), level, dtype=np.uint8))
        assert len(faults(drawn(np.ones((40, 40))), Judged(picture, grey_map, False, 0.0))) == wrong


def test_what_the_artwork_leaves_out_has_no_part_in_the_blur() -> None:
    levels, seen = np.full((40, 40, 3), 255, dtype=np.uint8), np.full((40, 40), 255, dtype=np.uint8)
    levels[:, 20:], seen[:, 20:] = 0, 0
    yarns = tuple(replace(MAP.yarns[0], code=f"G{level:g}", lab=(level, 0.0, 0.0)) for level in (100.0, 70.0))
    knots = np.zeros((8, 8), dtype=int)
    knots[:, 4:] = 1
    against = Judged(Artwork(levels, seen), replace(make_map(knots), yarns=yarns), False, 0.0)
    assert faults(drawn(np.zeros((40, 40))), against) == []
    (share,) = faults(drawn(np.ones((40, 40))), against)
    assert share.startswith("100.00 %")
