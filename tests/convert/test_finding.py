"""The repeats of a framed drawing are found for the field and for each border apart, each with its own size."""

from __future__ import annotations

import numpy as np
import pytest
from support import ornament
from support.holdouts import INKS

from chartmaker.colours.labelling import Labels
from chartmaker.convert.repeats.finding import Repeats, repeats_of

KNOT_PX = 6.0
LINES = [(2.0, 1), (1.0, 4), (9.0, 9), (1.0, 4), (2.0, 3)]


def found(paint: ornament.Paint, columns: float, rows: float) -> Repeats:
    shape = (round(rows * KNOT_PX), round(columns * KNOT_PX))
    inks = ornament.rendered(paint, columns, rows, shape, INKS, fine=2)[1]
    labels = Labels(inks, inks, np.zeros_like(inks))
    return repeats_of(labels, (KNOT_PX, KNOT_PX))


def test_field_and_borders_have_repeats_of_their_own() -> None:
    field = ornament.tiling(ornament.hook, 13.7, "centred", 0.0)
    repeats = found(ornament.framed(field, 140, 110, LINES, ornament.star, 10.4), 140, 110)
    assert repeats.field is not None
    lattice = repeats.field.lattice
    assert (lattice.height, lattice.width, lattice.shift) == pytest.approx((82.2, 82.2, 41.1), abs=0.5)
    assert repeats.field.box.left == pytest.approx(15 * KNOT_PX, abs=3)
    periods = {border.run.side: border.period.length for border in repeats.borders}
    assert periods == pytest.approx(dict.fromkeys(("top", "bottom", "left", "right"), 62.4), abs=0.5)


def test_a_field_without_repeats_is_found_within_borders_that_repeat() -> None:
    places = np.array([[40.0, 40.0], [77.0, 52.0], [100.0, 70.0], [50.0, 80.0]])
    field = ornament.scattered(ornament.leaf, places, 8.0, np.array([0, 1, 2, 5]))
    repeats = found(ornament.framed(field, 140, 110, LINES, ornament.drop, 11.3), 140, 110)
    assert repeats.field is None
    assert len(repeats.borders) == 4
