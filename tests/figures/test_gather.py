"""All figures together; what is left after a row."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from making import knot_maps, make_map, make_rug

from chartmaker.errors import RugError
from chartmaker.figures.gather import figures_of, remaining_after
from chartmaker.knotmap import NO_KNOT, KnotMap
from chartmaker.workshop import Workshop


@settings(max_examples=40)
@given(knot_maps(), st.floats(0, 1))
def test_what_was_woven_and_what_is_left_are_the_whole(knot_map: KnotMap, share: float) -> None:
    figures = figures_of(knot_map)
    row = round(share * knot_map.rows)
    left = remaining_after(figures, row)
    assert left.rows == knot_map.rows - row
    assert left.knots == int((knot_map.knots[row:] != NO_KNOT).sum())
    assert left.pile.knots == left.knots
    assert left.days.best == pytest.approx(figures.labour.days.best * left.knots / knot_map.tied)
    assert left.pile.mass_g.best == pytest.approx(figures.pile.mass_g.best * left.knots / knot_map.tied)
    assert left.weft_mass_g.best == pytest.approx(figures.foundation.weft_mass_g.best * left.rows / knot_map.rows)


def test_a_row_that_is_not_there_is_refused() -> None:
    figures = figures_of(make_map(np.zeros((50, 40))))
    assert remaining_after(figures, 50).knots == 0
    for row in (-1, 51):
        with pytest.raises(RugError, match=r"--finished-row: row -?[0-9]+ is not one of this rug's: give 0 to 50"):
            remaining_after(figures, row)


def test_the_density_notation_is_an_assumption_where_it_leaves_something_open() -> None:
    nominal = figures_of(make_map(np.zeros((50, 40)), make_rug(40, 50, "80 knot tibetan")))
    assert nominal.assumptions[0].key == "[rug] density"
    assert figures_of(make_map(np.zeros((50, 40)))).assumptions[0].key != "[rug] density"


def test_the_finished_rug_weighs_its_parts() -> None:
    figures = figures_of(make_map(np.zeros((50, 40))))
    # each end stays in the rug but for its 40 cm of loom waste, the default
    warp_g = figures.foundation.warp_mass_g * (figures.foundation.warp_end_m - 0.4) / figures.foundation.warp_end_m
    parts = figures.pile.net_mass_g.best + warp_g + figures.foundation.weft_mass_g.best
    assert figures.mass_g.best == pytest.approx(parts)
    assert figures.mass_g.low < figures.mass_g.best < figures.mass_g.high


def test_a_map_without_a_knot_has_figures_of_zero() -> None:
    figures = figures_of(make_map(np.full((50, 40), NO_KNOT), workshop=Workshop()))
    assert (figures.pile.knots, figures.labour.days.best, figures.labour.mean_runs) == (0, 0, 0)
    assert figures.labour.slow == ()
