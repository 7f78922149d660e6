"""Tufted rugs: backing, mass by area with pile."""

from __future__ import annotations

import numpy as np
import pytest
from making import make_map, make_rug

from chartmaker.figures.gather import Figures, figures_of
from chartmaker.figures.tufting import TUFTED_M2_PER_WORKER_DAY, backing_of
from chartmaker.workshop import Loom, Pile, Workshop


def tufted(cut: str) -> Figures:
    rug = make_rug(200, 200, "20x20 per dm", technique="tufted")  # one square metre
    return figures_of(make_map(np.zeros((200, 200)), rug, Workshop(pile=Pile(cut=cut, yarn="Nm 2", waste=0))))


def test_the_common_rate() -> None:
    # Common practice: about ten worker-days for 5 x 8 ft, 40 square feet.
    assert pytest.approx(4 * 0.09290304) == TUFTED_M2_PER_WORKER_DAY


def test_mass_by_area_and_pile() -> None:
    # By hand: 40,000 tufts of 2 x 10 mm with a stitch of 5 mm are 1,000 m; at 2 m/g 500 g.
    assert tufted("10 mm").pile.mass_g.best == pytest.approx(500)
    assert tufted("20 mm").pile.mass_g.best == pytest.approx(900)


def test_backing_cloth_has_a_margin_all_round() -> None:
    foundation = tufted("10 mm").foundation
    assert foundation.backing_cloth_m2 == pytest.approx(1.3 * 1.3)
    assert (foundation.warp_ends, foundation.warp_mass_g, foundation.weft_mass_g.best) == (0, 0, 0)
    rug = make_rug(200, 200, "20x20 per dm", technique="tufted")
    loom = Loom(backing_margin="0 cm", shrinkage_across=0.01, shrinkage_along=0)
    given = backing_of(rug, Workshop(loom=loom))
    assert given.backing_cloth_m2 == pytest.approx(1 / 0.99)
    assert given.assumptions == ()
