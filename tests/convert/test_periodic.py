"""Lines of the grid over a drawing that repeats lie the same wherever its edges recur."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from chartmaker.convert.laying.fitting import Line
from chartmaker.convert.laying.keys import BINS, Keys
from chartmaker.convert.laying.periodic import Anchor, periodic_edges
from chartmaker.convert.repeats.wholes import Side


@pytest.mark.parametrize(("knots", "part"), [(35, 7), (55, 11), (30, 6)])
def test_edges_that_recur_within_a_repeat_get_the_same_lines_each_time(knots: int, part: int) -> None:
    """Edges at every tenth of a repeat of 300 pixels: of 35 knots each fifth gets 7, which are 3 and 4."""
    place = 30.0 * np.arange(1, 30)
    keys = Keys(place, np.full(len(place), 0.5), np.ones((len(place), BINS), dtype=bool))
    line = Line(0.0, 900.0, 3 * knots)
    edges = periodic_edges(line, keys, Side(knots, Fraction(300)), Anchor(axis=45.0, astride=True), mirror=False)
    assert edges is not None
    assert np.abs(edges[:, None] - place).min(axis=0).max() < 0.01 * line.knot_px
    width = np.round(np.diff(edges), 3)
    assert (width[part:] == width[:-part]).all()
