"""Tufted rugs: backing, mass by area with pile."""

from __future__ import annotations

import numpy as np
import pytest
from support.making import make_map, make_rug, settled

from chartmaker.figures.reckoning import Figures, figures_of
from chartmaker.ground.ranges import Range
from chartmaker.order.workshop import Loom, Pile, Workshop
from chartmaker.techniques.tufted import M2_PER_WORKER_DAY, backing_of


def tufted(cut: str) -> Figures:
    rug = make_rug(200, 200, "20x20 per dm", technique="tufted")  # one square metre
    return figures_of(*settled(make_map(np.zeros((200, 200)), rug, Workshop(pile=Pile(cut=cut, yarn="Nm 2", waste=0)))))


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


def test_the_frame_by_hand() -> None:
    # Woven 1 m x 2 m; cloth gives way 20 % across, 0 along: 1.25 m in the frame, so 20 tufts a dm come to 16.
    rug = make_rug(200, 400, "20x20 per dm", technique="tufted")
    plain = backing_of(rug, Workshop(loom=Loom(backing_margin="10 cm", shrinkage_across="20%", shrinkage_along="0%")))
    assert (plain.loom_width_mm, plain.loom_length_mm) == pytest.approx((1250, 2000))
    assert (plain.knots_across_per_dm, plain.rows_per_dm) == pytest.approx((16, 20))
    assert plain.backing_cloth_m2 == pytest.approx(1.45 * 2.2, rel=1e-9)
    # Nothing is warped, nothing woven in.
    nothing = (plain.warp_ends, plain.warp_pitch_mm, plain.warp_end_m, plain.warp_length_m, plain.warp_mass_g)
    assert nothing == (0, 0, 0, 0, 0)
    assert (plain.weft_rows, plain.picks) == (0, 0)
    assert (plain.weft_length_m, plain.weft_mass_g) == (Range.exact(0), Range.exact(0))
    # A warp or weft that the rug file gives is told as it stands, else the one that a loom would get.
    knotted = figures_of(*settled(make_map(np.zeros((400, 200)), make_rug(200, 400, "20x20 per dm")))).foundation
    assert (plain.warp, plain.weft) == (knotted.warp, knotted.weft)
    given = backing_of(rug, Workshop(loom=Loom(warp="tex 500", weft="tex 1000")))
    assert given.warp.tex == 500
    assert given.weft.tex == 1000


def test_the_common_rate() -> None:
    # Common practice: about ten worker-days for 5 x 8 ft. 1 ft = 0.3048 m since 1959, so 40 ft2 are 3.7161216 m2.
    assert pytest.approx(0.37161216, rel=1e-9) == M2_PER_WORKER_DAY
