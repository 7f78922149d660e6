"""Readers that are no part of the project find the same knots in every printed form of generated maps."""

from __future__ import annotations

import numpy as np
import pytest
from support.exactness import FORMS, wrong_cells
from support.generated import generated_map
from support.making import SettledMap

#: The long form, tests/soak/maps.py, takes other maps.
MAPS, AT_ONCE = 100, 10


@pytest.mark.parametrize("first", range(0, MAPS, AT_ONCE))
def test_no_cell_differs_in_any_form(first: int) -> None:
    for number in range(first, first + AT_ONCE):
        knot_map = generated_map(0, number, most=22, large=0.02)
        found = wrong_cells(knot_map, knot_map)
        assert {form: differ for form, (_, differ) in found.items() if differ} == {}, f"map {number}"
        assert {read for read, _ in found.values()} == {knot_map.knots.size}


@pytest.mark.parametrize("number", range(40, 400, 60))
def test_one_wrong_knot_is_seen_in_every_form(number: int) -> None:
    """Each reader finds one wrong cell in a map that is printed with one knot in another yarn."""
    knot_map = next(
        each
        for each in (generated_map(0, number + n) for n in range(400))
        if each.workshop.chart.marks == "both" and len({yarn.srgb for yarn in each.yarns}) > 5
    )
    knots = knot_map.knots.copy()
    place = tuple(np.argwhere(knots < len(knot_map.yarns))[7])
    right = knot_map.yarns[knots[place]].srgb
    knots[place] = next(index for index, yarn in enumerate(knot_map.yarns) if yarn.srgb != right)
    found = wrong_cells(knot_map, SettledMap(knots, knot_map.yarns, knot_map.rug, knot_map.workshop))
    assert {form: differ for form, (_, differ) in found.items()} == dict.fromkeys(FORMS, 1)
