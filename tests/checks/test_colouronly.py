"""A chart of colours alone is remarked on where it cannot show what was asked for, or what a grey copy shows."""

from __future__ import annotations

from itertools import combinations, pairwise

import numpy as np
import pytest
from skimage.color import rgb2lab
from support.making import make_rug, make_yarn

from chartmaker.checks.colouronly import ONE_GREY, colours_alone, one_grey
from chartmaker.knots.knotmap import KnotMap
from chartmaker.order.workshop import Chart, Workshop

#: Two reds and a green of about one lightness, and an ivory (CIELAB by scikit-image).
COLOURS = ((120, 40, 40), (124, 36, 46), (30, 86, 50), (235, 225, 205))


def remarks(**chart: object) -> list[tuple[str, str]]:
    yarns = tuple(make_yarn(number, colour) for number, colour in enumerate(COLOURS))
    cells = (np.arange(400) % 4).reshape(20, 20).astype(np.uint16)
    knot_map = KnotMap(cells, yarns, make_rug(20, 20))
    asked = Workshop(chart=Chart(**chart))
    return [(finding.where, finding.what) for finding in colours_alone(knot_map, asked)]


def test_counts_without_symbols_are_not_dropped_in_silence() -> None:
    where, what = remarks(marks="colour", counts=True)[0]
    assert where == "[chart] counts"
    assert "prints no counts" in what


def test_yarns_of_one_lightness_are_named_for_the_copier() -> None:
    ((where, what),) = remarks(marks="colour")
    lightness = rgb2lab(np.array(COLOURS)[None] / 255)[0, :, 0]
    assert np.ptp(lightness[:3]) < ONE_GREY < lightness[3] - lightness[:3].max()
    assert where == "[chart] marks"
    assert all(code in what for code in ("Y000", "Y001", "Y002"))
    assert "Y003" not in what


def test_all_groups_of_one_grey_are_told_in_one_remark() -> None:
    """Five remarks of one kind stood among the figures of one rug."""
    yarns = tuple(make_yarn(each, (level, level, level)) for each, level in enumerate((20, 22, 120, 122, 230)))
    knot_map = KnotMap((np.arange(400) % 5).reshape(20, 20).astype(np.uint16), yarns, make_rug(20, 20))
    (told,) = colours_alone(knot_map, Workshop(chart=Chart(marks="colour")))
    assert "each with the next: Y000, Y001; Y002, Y003. Give" in told.what


@pytest.mark.parametrize("marks", ["both", "symbol"])
def test_symbols_leave_nothing_to_remark_on(marks: str) -> None:
    assert remarks(marks=marks, counts=True) == []


def test_no_two_yarns_of_one_grey_stand_in_different_groups() -> None:
    """From the darkest the third is too far, but it is one grey with the second; and so it goes in any rug."""
    rng = np.random.default_rng(3)
    for number in (3, 12, 24):
        greys = (
            [(40, 40, 40), (48, 48, 48), (58, 58, 58)] if number == 3 else rng.integers(0, 256, (number, 3)).tolist()
        )
        yarns = [make_yarn(place, tuple(srgb)) for place, srgb in enumerate(greys)]
        groups = one_grey(yarns)
        lightness = rgb2lab(np.array(greys, dtype=float)[None] / 255)[0, :, 0].tolist()
        for one, other in combinations(range(number), 2):
            if abs(lightness[one] - lightness[other]) < ONE_GREY - 0.1:
                assert any({yarns[one].code, yarns[other].code} <= set(group) for group in groups)
        near = dict(zip((yarn.code for yarn in yarns), lightness, strict=True))
        for group in groups:
            assert all(0 <= near[lighter] - near[darker] < ONE_GREY + 0.1 for darker, lighter in pairwise(group))
        assert len({code for group in groups for code in group}) == sum(map(len, groups))  # each is named once
    assert one_grey([make_yarn(0, (40, 40, 40)), make_yarn(1, (200, 200, 200))]) == []
