"""Rows are gathered into bands and repeats, and expanding these gives the rows back."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from chartmaker.knots.bands import Band, banded, folded
from chartmaker.knots.knotmap import NO_KNOT


@given(st.lists(st.integers(0, 2), min_size=1, max_size=60))
def test_bands_and_repeats_expand_to_the_rows(yarns: list[int]) -> None:
    knots = np.array(yarns, dtype=np.uint16)[:, None].repeat(3, axis=1)
    found = banded(knots)
    assert not found.free.any()
    told: list[int] = []
    for fold in folded(found.bands):
        assert fold.bands[0].first == len(told)
        told += [yarn for band in fold.bands for yarn in [band.yarn] * band.lines] * fold.times
        assert fold.end == len(told)
    assert told == yarns


def test_a_repeat_is_listed_once() -> None:
    # By hand: one end, three times the same pair of bands, and the other end.
    rows = [0, 0, 1, 2, 2, 1, 2, 2, 1, 2, 2, 0]
    bands = banded(np.array(rows, dtype=np.uint16)[:, None]).bands
    assert [(len(fold.bands), fold.times) for fold in folded(bands)] == [(1, 1), (2, 3), (1, 1)]


def test_a_line_has_its_commonest_yarn_or_of_equals_that_of_the_line_before() -> None:
    knots = np.array([[1, 1, 1, 0], [0, 0, 1, 1], [NO_KNOT, NO_KNOT, 0, 1], [0, 0, 0, 1]], dtype=np.uint16)
    found = banded(knots)
    assert found.bands == (Band(1, 0, 3), Band(0, 3, 4))
    off = [(0, 3), (1, 0), (1, 1), (2, 2), (3, 3)]
    assert [tuple(place) for place in np.argwhere(found.free).tolist()] == off
    assert banded(knots, columns=True).bands[0] == Band(0, 0, 3)
