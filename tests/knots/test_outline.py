"""The inside of an outline, its area and its edge, held against plane geometry."""

from __future__ import annotations

import math

import numpy as np
import pytest
from support.making import make_map, make_rug

from chartmaker.knots.knotmap import NO_KNOT
from chartmaker.knots.outline import edge_length_mm, inside_by_row


def disc(side: int) -> np.ndarray:
    at = np.arange(side) + 0.5 - side / 2
    return np.where(at[:, None] ** 2 + at[None, :] ** 2 <= (side / 2) ** 2, 0, NO_KNOT)


def test_holes_in_a_rectangle_lie_inside_it() -> None:
    cells = np.zeros((50, 40))
    cells[20:30, 10:20] = NO_KNOT
    assert inside_by_row(make_map(cells, make_rug(40, 50))).tolist() == [40] * 50
    # Where the artwork gives the outline, only what is tied lies inside.
    assert inside_by_row(make_map(cells, make_rug(40, 50, shape="artwork"))).sum() == 50 * 40 - 100


def test_a_circle_has_pi_quarters_of_its_square() -> None:
    cells = disc(400)
    cells[180:220, 190:210] = NO_KNOT  # a hole in the middle is not part of the edge
    round_map = make_map(cells, make_rug(400, 400, "40x40 per dm", shape="ellipse"))
    inside = inside_by_row(round_map)
    assert inside.sum() / 400**2 == pytest.approx(math.pi / 4, rel=2e-3)
    assert (inside == inside[::-1]).all()
    # The circle is 1 m across and pi m round; a line from knot to knot is a little longer than the curve.
    assert 1 <= edge_length_mm(round_map) / (1000 * math.pi) <= 1.04


def test_the_edge_of_a_rectangle_is_its_two_lengths() -> None:
    assert edge_length_mm(make_map(np.zeros((50, 40)), make_rug(40, 50, "40x50 per dm"))) == pytest.approx(200)
